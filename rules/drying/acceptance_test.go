package drying

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// family is a kind of made-up drum.
type family struct {
	name string
	draw func(*rand.Rand) plan
}

func within(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// steady is the law with a bed factor and 0.3 points of noise; fire adds swings and a drift, of a
// size at which the reference method errs as published for wood fires.
func steady(r *rand.Rand) plan {
	return plan{airC: within(r, 45, 60), bed: within(r, 1.1, 1.35), start: within(r, 48, 53),
		target: within(r, 10.5, 12), noise: .3}
}

func fire(r *rand.Rand) plan {
	p := steady(r)
	p.swing, p.drift = 2.5, within(r, -3, 3)
	return p
}

// changed is a fire plan with one thing more.
func changed(change func(*plan, *rand.Rand)) func(*rand.Rand) plan {
	return func(r *rand.Rand) plan {
		p := fire(r)
		change(&p, r)
		return p
	}
}

func stops(p *plan, r *rand.Rand) {
	at := dawn.Add(hours(within(r, 3, 12)))
	p.stops = []Stop{{at, at.Add(90 * time.Minute)}}
}

var families = []family{
	{"thin layer", func(r *rand.Rand) plan { p := steady(r); p.bed, p.start = 1, 53; return p }},
	{"steady", steady},
	{"fire", fire},
	{"stop logged", changed(func(p *plan, r *rand.Rand) { stops(p, r); p.logged = true })},
	{"stop not logged", changed(stops)},
	{"pre-dried", changed(func(p *plan, r *rand.Rand) { p.start = within(r, 30, 40) })},
	{"sampling jump", changed(func(p *plan, r *rand.Rand) { p.jump = 3 + r.IntN(6) })},
	{"sparse", changed(func(p *plan, r *rand.Rand) { p.step = 4 })},
	{"dial not read", changed(func(p *plan, r *rand.Rand) { p.bareAir = true })},
	{"stoked late", changed(func(p *plan, r *rand.Rand) {
		p.stoked, p.hotter = within(r, 7, 12), within(r, 5, 9)
	})},
	{"let down late", changed(func(p *plan, r *rand.Rand) {
		p.stoked, p.hotter = within(r, 7, 12), -within(r, 5, 9)
	})},
	{"another law", func(r *rand.Rand) plan {
		p := steady(r)
		p.page, p.strength = within(r, .85, 1.25), within(r, .6, 1.6)
		return p
	}},
	{"constant rate first", func(r *rand.Rand) plan {
		p := steady(r)
		p.flat, p.start, p.bed = within(r, 20, 45), within(r, 40, 50), within(r, .6, 1.2)
		return p
	}},
	{"stalls", func(r *rand.Rand) plan {
		p := steady(r)
		p.stall, p.slow = within(r, 6, 12), within(r, .2, .35)
		return p
	}},
}

// pending tells whether something that nobody can foresee is still to come at an instant, or came
// less than an hour before.
func (p plan) pending(at time.Time) bool {
	h := after(at)
	for _, s := range p.stops {
		if s.To.After(at) {
			return true
		}
	}
	return p.hotter != 0 && h < p.stoked+1 || p.stall > 0 && h < p.stall+1
}

var leads = [4]float64{12, 6, 3, 1}

// tally gathers errors in hours.
type tally struct {
	errs     []float64
	none, in int
}

func (t *tally) add(e float64) {
	if math.IsNaN(e) {
		t.none++
		return
	}
	t.errs = append(t.errs, math.Abs(e))
}

func (t *tally) mean() float64 {
	sum := 0.0
	for _, e := range t.errs {
		sum += min(e, 48)
	}
	return sum / float64(len(t.errs))
}

func (t *tally) median() float64 {
	if len(t.errs) == 0 {
		return math.NaN()
	}
	slices.Sort(t.errs)
	return t.errs[len(t.errs)/2]
}

func (t *tally) held() float64 { return float64(t.in) / float64(len(t.errs)) }

// result is one row of the table.
type result struct{ own, ref, line, two tally }

// trial forecasts the drums of a family at one lead before their end.
func trial(fam family, lead float64, drums int) *result {
	out := &result{}
	for seed := range uint64(drums) {
		p := fam.draw(rand.New(rand.NewPCG(seed, 5)))
		run, end := simulate(p, seed)
		at := end.Add(-hours(lead))
		cut := run.Until(at)
		if end.IsZero() || len(cut.Readings) < 4 || p.pending(at) {
			continue
		}
		truth := end.Sub(cut.Readings[len(cut.Readings)-1].At).Hours()
		u, _ := usualAir(dawn, &cut, cut.Stops)
		out.ref.add(reference(u.me)(cut) - truth)
		out.line.add(lastThree(cut) - truth)
		out.two.add(twoLines(u.me)(cut) - truth)
		f := cut.Forecast()
		if f.Likely.IsZero() {
			out.own.add(math.NaN())
			continue
		}
		out.own.add(f.Likely.Sub(end).Hours())
		if !f.Early.After(end) && !f.Late.Before(end) {
			out.own.in++
		}
	}
	return out
}

// A reference (a weighted ln line over eight hours), the line through the last three readings and
// the mean of a straight and an ln line are beaten; windows hold what they say.
func TestAcceptance(t *testing.T) {
	table := map[string][4]*result{}
	t.Log("mean error h, share held |  own        | reference  last three  two lines |   n")
	for _, fam := range families {
		var rows [4]*result
		for i, lead := range leads {
			r := trial(fam, lead, 100)
			rows[i] = r
			t.Logf("%-19s %2g h  | %.2f  %3.0f %%  | %5.2f      %5.2f       %5.2f     | %3d",
				fam.name, lead, r.own.mean(), 100*r.own.held(), r.ref.mean(), r.line.mean(),
				r.two.mean(), len(r.own.errs))
		}
		table[fam.name] = rows
	}
	beatReference(t, table)
	beatLines(t, table)
	holdTruth(t, table)
}

func beatReference(t *testing.T, table map[string][4]*result) {
	published := map[string][4]float64{ // the reference's own published errors at 12, 6, 3 and 1 h
		"thin layer":      {.66, .35, .20, .17},
		"steady":          {.66, .35, .20, .17},
		"stop not logged": {2.42, 1.68, .96, .62},
	}
	for name, rows := range table {
		for i, r := range rows {
			if len(r.own.errs) < 20 {
				continue
			}
			if r.own.mean() >= r.ref.mean() {
				t.Errorf("%s %g h: %.2f h, reference %.2f", name, leads[i], r.own.mean(), r.ref.mean())
			}
			if p, ok := published[name]; ok && r.own.mean() > p[i] {
				t.Errorf("%s %g h: %.2f h, published reference %.2f", name, leads[i], r.own.mean(), p[i])
			}
		}
	}
	// Published, fire with a logged stop. These fires are rougher than the published ones: the
	// reference itself errs by 1.6 h at 12 h on them.
	for i, most := range [4]float64{1.23, .70, .44, .33} {
		if r := table["stop logged"][i]; r.own.mean() > most {
			t.Errorf("stop logged %g h: %.2f h, published reference %.2f", leads[i], r.own.mean(), most)
		}
	}
	for i, most := range [4]float64{99, .5, .3, .25} {
		if m := table["thin layer"][i].own.median(); m > most {
			t.Errorf("thin layer %g h: median %.2f, must be under %g", leads[i], m, most)
		}
	}
}

func beatLines(t *testing.T, table map[string][4]*result) {
	for _, name := range []string{"thin layer", "steady", "fire", "stop logged", "stop not logged",
		"pre-dried", "sparse", "dial not read"} {
		for i, r := range table[name] {
			if r.own.mean() > r.line.mean()/2 {
				t.Errorf("%s %g h: %.2f h is no half of the last three readings' %.2f",
					name, leads[i], r.own.mean(), r.line.mean())
			}
		}
	}
	for _, name := range []string{"another law", "constant rate first", "stalls"} {
		for i, r := range table[name] {
			if r.own.mean() > r.two.mean() {
				t.Errorf("%s %g h: %.2f h, two lines %.2f", name, leads[i], r.own.mean(), r.two.mean())
			}
		}
	}
}

func holdTruth(t *testing.T, table map[string][4]*result) {
	in, all := 0, 0
	for _, name := range []string{"fire", "stop logged", "stop not logged", "pre-dried", "sparse"} {
		for _, r := range table[name] {
			in, all = in+r.own.in, all+len(r.own.errs)
		}
	}
	held := float64(in) / float64(all)
	t.Logf("windows of 80 %% held the truth in %.0f %% of %d", 100*held, all)
	if held < .75 || held > .90 {
		t.Errorf("windows held the truth in %.0f %%", 100*held)
	}
}

// A drum that slows to a third says so before it has lost six hours, one that does not never does.
func TestStallsAreSaid(t *testing.T) {
	said, late, false_, all := 0, 0.0, 0, 0
	for _, fam := range families {
		if fam.name != "stalls" && fam.name != "fire" {
			continue
		}
		for seed := range uint64(60) {
			p := fam.draw(rand.New(rand.NewPCG(seed, 5)))
			run, end := simulate(p, seed)
			for _, x := range run.Readings {
				if x.At.After(end) {
					break
				}
				stalling := run.Until(x.At).Forecast().Status == Stalling
				switch h := after(x.At); {
				case p.stall == 0 || h < p.stall:
					all++
					if stalling {
						false_++
					}
				case stalling:
					said, late = said+1, late+h-p.stall
					end = x.At
				}
			}
		}
	}
	t.Logf("said in %d of 60 stalls, %.1f h after; falsely in %d of %d", said, late/float64(said),
		false_, all)
	if said < 58 || late/float64(said) > 6 || false_*50 > all {
		t.Errorf("said %d of 60, %.1f h late, falsely %d of %d", said, late/float64(said), false_, all)
	}
}
