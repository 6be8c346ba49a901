package drying

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
	"time"
)

type family struct {
	name string
	make func(*rand.Rand) plan
}

func within(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func families() []family {
	base := func(r *rand.Rand) plan {
		return plan{airC: within(r, 45, 60), bed: within(r, 1.1, 1.35), start: within(r, 48, 53),
			target: within(r, 10.5, 12), noise: .3}
	}
	fire := func(r *rand.Rand) plan {
		p := base(r)
		p.swing, p.drift = 2.5, within(r, -4, 4)
		return p
	}
	stop := func(r *rand.Rand) []Stop {
		at := dawn.Add(hours(within(r, 3, 12)))
		return []Stop{{at, at.Add(90 * time.Minute)}}
	}
	return []family{
		{"steady", base},
		{"bed 1", func(r *rand.Rand) plan { p := base(r); p.bed = 1; p.start = 53; return p }},
		{"fire", fire},
		{"fire, stop logged", func(r *rand.Rand) plan { p := fire(r); p.stops = stop(r); p.logged = true; return p }},
		{"fire, stop not logged", func(r *rand.Rand) plan { p := fire(r); p.stops = stop(r); return p }},
		{"pre-dried", func(r *rand.Rand) plan { p := fire(r); p.start = within(r, 30, 40); return p }},
		{"sampling jump", func(r *rand.Rand) plan { p := fire(r); p.jump = 3 + r.IntN(6); return p }},
		{"stoked late", func(r *rand.Rand) plan {
			p := fire(r)
			p.stoked, p.hotter = within(r, 7, 12), within(r, 5, 9)
			return p
		}},
		{"let down late", func(r *rand.Rand) plan {
			p := fire(r)
			p.stoked, p.hotter = within(r, 7, 12), -within(r, 5, 9)
			return p
		}},
		{"sparse", func(r *rand.Rand) plan { p := fire(r); p.sparse = true; return p }},
		{"no air read", func(r *rand.Rand) plan { p := fire(r); p.bareAir = true; return p }},
		{"other law", func(r *rand.Rand) plan {
			p := base(r)
			p.page, p.strength = within(r, .85, 1.25), within(r, .6, 1.6)
			return p
		}},
		{"constant rate first", func(r *rand.Rand) plan {
			p := base(r)
			p.flat, p.start = within(r, 20, 45), within(r, 40, 50)
			p.bed = within(r, .6, 1.2)
			return p
		}},
		{"stalls", func(r *rand.Rand) plan {
			p := base(r)
			p.stall, p.slow = within(r, 6, 12), within(r, .2, .35)
			return p
		}},
	}
}

type tally struct {
	errs    []float64
	none    int
	in, out int
}

func (t *tally) add(e float64) {
	if math.IsNaN(e) {
		t.none++
		return
	}
	t.errs = append(t.errs, math.Abs(e))
}
func (t *tally) mean() float64 {
	s := 0.0
	for _, e := range t.errs {
		s += math.Min(e, 48)
	}
	return s / float64(len(t.errs))
}
func (t *tally) median() float64 {
	sort.Float64s(t.errs)
	if len(t.errs) == 0 {
		return math.NaN()
	}
	return t.errs[len(t.errs)/2]
}

type row struct {
	fam                                          string
	lead, own, med, bias, cover, ref, three, two float64
	n, none                                      int
	z                                            float64
}

func measure(fam family, n int) (rows []row) {
	type acc struct {
		own, ref, three, two tally
		bias                 float64
	}
	var as [4]acc
	for seed := range uint64(n) {
		rng := rand.New(rand.NewPCG(seed, 5))
		p := fam.make(rng)
		run, end := simulate(p, seed)
		if end.IsZero() {
			continue
		}
		for li, lead := range leads {
			a := &as[li]
			look := end.Add(-hours(lead))
			cut := until(run, look)
			if len(cut.Readings) < 4 || p.pending(look) {
				continue
			}
			last := cut.Readings[len(cut.Readings)-1].At
			truth := end.Sub(last).Hours()
			u, _ := usualAir(dawn, &cut, cut.Stops)
			me := u.me
			a.ref.add(reference(me)(cut) - truth)
			a.three.add(lastThree(cut) - truth)
			a.two.add(twoLines(me)(cut) - truth)
			f := cut.Forecast()
			if f.Likely.IsZero() {
				a.own.none++
				continue
			}
			a.own.add(f.Likely.Sub(end).Hours())
			a.bias += f.Likely.Sub(end).Hours()
			if f.Early.After(end) || f.Late.Before(end) {
				a.own.out++
			} else {
				a.own.in++
			}
		}
	}
	for li, lead := range leads {
		a := &as[li]
		k := float64(len(a.own.errs))
		rows = append(rows, row{fam.name, lead, a.own.mean(), a.own.median(), a.bias / k, float64(a.own.in) / k,
			a.ref.mean(), a.three.mean(), a.two.mean(), int(k), a.own.none, 0})
	}
	return rows
}

func TestTable(t *testing.T) {
	score, cov, count := 0.0, 0.0, 0.0
	for _, fam := range families() {
		for _, r := range measure(fam, 150) {
			fmt.Printf("%-22s %2g h  own %.2f/%.2f bias %+.2f cover %3.0f%% n %d none %d | ref %.2f three %.2f two %.2f\n",
				r.fam, r.lead, r.own, r.med, r.bias, 100*r.cover, r.n, r.none, r.ref, r.three, r.two)
			score += math.Log(r.own / math.Sqrt(r.ref*r.two))
			cov += math.Abs(r.cover - .82)
			count++
			fmt.Printf("")
		}
	}
	fmt.Printf("SCORE %.4f cov %.4f\n", math.Exp(score/count), cov/count)
}

// pending tells whether something that nobody can foresee is still to come at an instant.
func (p plan) pending(at time.Time) bool {
	h := at.Sub(dawn).Hours()
	for _, s := range p.stops {
		if s.To.After(at) {
			return true
		}
	}
	return p.hotter != 0 && h < p.stoked+1 || p.stall > 0 && h < p.stall+1
}
