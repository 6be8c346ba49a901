package drying

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// other: a material whose rate goes as a power of what is left, of any time scale.
func other(seed uint64) (Run, float64) {
	r := rand.New(rand.NewPCG(seed, 9))
	p := within(r, .1, 1.1)
	total := math.Exp(within(r, math.Log(4), math.Log(100)))
	start, target := dry(within(r, 22, 40)), dry(within(r, 11, 14))
	n := 15 + r.IntN(30)
	noise := within(r, .1, .5)
	run := Run{Target: wet(target)}
	u, _ := usualAir(dawn, &Run{Air: []Air{{dawn, 50, 20, .7}}}, nil)
	me := u.me
	x0, x1 := start-me, target-me
	m := func(f float64) float64 { // f: share of the time to target
		if math.Abs(p-1) < .01 {
			return me + x0*math.Pow(x1/x0, f)
		}
		a, b := math.Pow(x0, 1-p), math.Pow(x1, 1-p)
		return me + math.Pow(math.Max(0, a+(b-a)*f), 1/(1-p))
	}
	for i := range n {
		f := float64(i) / float64(n)
		at := dawn.Add(hours(f * total))
		run.Readings = append(run.Readings, Reading{At: at, Moisture: math.Round(10*(wet(m(f))+noise*r.NormFloat64())) / 10})
		run.Air = append(run.Air, Air{at, 50 + math.Round(r.NormFloat64()), 20, .7})
	}
	return run, total
}

func TestOther(t *testing.T) { otherScore(true) }

func otherScore(show bool) (score, cov float64) {
	for _, part := range []float64{.5, .75, .875} {
		var own, two, three, ref tally
		var bias float64
		var n, in float64
		for seed := range uint64(300) {
			run, total := other(seed)
			cut := until(run, dawn.Add(hours(part*total)))
			last := cut.Readings[len(cut.Readings)-1].At
			truth := total - last.Sub(dawn).Hours()
			f := cut.Forecast()
			if f.Likely.IsZero() {
				own.none++
				continue
			}
			e := f.Likely.Sub(last).Hours()/truth - 1
			own.add(e)
			bias += e
			n++
			if f.Early.Sub(dawn).Hours() <= total && f.Late.Sub(dawn).Hours() >= total {
				in++
			}
			me := 5.01
			two.add(twoLines(me)(cut)/truth - 1)
			three.add(lastThree(cut)/truth - 1)
			ref.add(reference(me)(cut)/truth - 1)
		}
		score += math.Log(own.mean()/two.mean()) / 3
		cov += math.Abs(in/n-.82) / 3
		if show {
			fmt.Printf("other %.3f own %.3f/%.3f bias %+.3f cover %.2f none %d | two %.3f/%.3f three %.3f/%.3f ref %.3f/%.3f\n", part, own.mean(), own.median(), bias/n, in/n, own.none, two.mean(), two.median(), three.mean(), three.median(), ref.mean(), ref.median())
		}
	}
	return
}
