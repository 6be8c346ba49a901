package ferment

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// taughtPast is the past of a made-up mill with thermometers.
func taughtPast() *Past {
	m := someMill(5)
	m.probe = true
	var stays []Stay
	for _, b := range m.run(25) {
		stays = append(stays, b.stay)
	}
	return Learn(stays)
}

// anyTank draws a tank with 1-3 loads, temperatures at which a window is given, hand tests and pH.
func anyTank(t *rapid.T, past *Past) Tank {
	tank := Tank{Site: NewSite(), Past: past}
	hours := 0.0
	for range rapid.IntRange(1, 3).Draw(t, "loads") {
		tank.Loads = append(tank.Loads, Load{At: after(hours), Kg: math.NaN()})
		hours += rapid.Float64Range(0.1, 2).Draw(t, "pause")
	}
	celsius := rapid.Float64Range(15, 27)
	onlyAir := rapid.Bool().Draw(t, "air")
	hours = 0
	for i := range rapid.IntRange(1, 10).Draw(t, "readings") {
		r := NewReading(after(hours))
		kind := rapid.IntRange(0, 4).Draw(t, "kind")
		switch {
		case i == 0 || kind <= 1:
			if c := celsius.Draw(t, "celsius"); onlyAir {
				r.Ambient = c
			} else {
				r.Mass = c
			}
		case kind == 2:
			r.PH = rapid.Float64Range(3.5, 6.5).Draw(t, "pH")
		case kind == 3:
			r.Hand = Slippery
		default:
			r.Hand = Rough
		}
		tank.Readings = append(tank.Readings, r)
		hours += rapid.Float64Range(0.2, 5).Draw(t, "gap")
	}
	return tank
}

// pasts are the pasts under which the properties must hold.
func pasts() map[string]*Past { return map[string]*Past{"no past": nil, "past": taughtPast()} }

// notAfter fails if any instant of a is later than that of b by more than the rounding.
func notAfter(t *rapid.T, what string, a, b Forecast) {
	const rounding = 2 * time.Millisecond
	for _, x := range []struct {
		name string
		a, b time.Time
	}{{"early", a.Early, b.Early}, {"likely", a.Likely, b.Likely}, {"late", a.Late, b.Late}} {
		if x.a.Sub(x.b) > rounding {
			t.Fatalf("%s: %s %v is after %v", what, x.name, x.a, x.b)
		}
	}
}

func TestProgressNeverFalls(t *testing.T) {
	for name, past := range pasts() {
		t.Run(name, rapid.MakeCheck(func(t *rapid.T) {
			f := anyTank(t, past).Forecast()
			a := rapid.Float64Range(-5, 80).Draw(t, "a")
			b := a + rapid.Float64Range(0, 40).Draw(t, "b")
			if f.ProgressAt(after(b)) < f.ProgressAt(after(a)) ||
				f.OldestAt(after(b)) < f.OldestAt(after(a)) {
				t.Fatal("progress fell")
			}
			if f.OldestAt(after(b)) < f.ProgressAt(after(b)) {
				t.Fatal("the youngest fruit is ahead of the oldest")
			}
			if !f.Likely.IsZero() && math.Abs(f.ProgressAt(f.Likely)-1) > 1e-5 {
				t.Fatalf("progress at likely is %v", f.ProgressAt(f.Likely))
			}
			if f.Early.After(f.Likely) || f.Likely.After(f.Late) || f.SpoilWarn.After(f.Spoil) {
				t.Fatalf("out of order: %+v", f)
			}
		}))
	}
}

// A reading never takes back progress that was made before it.
func TestReadingTakesNothingBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := anyTank(t, nil)
		before := tank.Forecast()
		last := tank.Readings[len(tank.Readings)-1].At
		at := last.Add(span(rapid.Float64Range(0.1, 9).Draw(t, "later")))
		r := NewReading(at)
		r.Mass = rapid.Float64Range(5, 35).Draw(t, "celsius")
		if before.Reason.Source != FromMass {
			t.Skip("the first mass reading replaces a guess")
		}
		tank.Readings = append(tank.Readings, r)
		now := tank.Forecast()
		if now.course.made(at) != before.course.made(at) {
			t.Fatalf("progress made: %v, then %v", before.course.made(at), now.course.made(at))
		}
	})
}

func TestWarmerIsNeverLater(t *testing.T) {
	for name, past := range pasts() {
		t.Run(name, rapid.MakeCheck(func(t *rapid.T) {
			cool := anyTank(t, past)
			warm := cool
			warm.Readings = slices.Clone(cool.Readings)
			for i := range warm.Readings {
				by := rapid.Float64Range(0, 3).Draw(t, "by")
				warm.Readings[i].Mass += by
				warm.Readings[i].Ambient += by
			}
			a, b := warm.Forecast(), cool.Forecast()
			if a.Likely.IsZero() || b.Likely.IsZero() {
				t.Skip("no window")
			}
			notAfter(t, "warmer", a, b)
			if a.Spoil.Sub(b.Spoil) > 2*time.Millisecond ||
				a.FirstTest.Sub(b.FirstTest) > 2*time.Millisecond {
				t.Fatal("spoil or first test is later in the warmer tank")
			}
		}))
	}
}

func TestSlipperyNeverEarlierRoughNeverLater(t *testing.T) {
	for name, past := range pasts() {
		t.Run(name, rapid.MakeCheck(func(t *rapid.T) {
			tank := anyTank(t, past)
			plain := tank.Forecast()
			more := tank
			h := rapid.Float64Range(0, 60).Draw(t, "at")
			more.Readings = append(slices.Clone(tank.Readings), hand(h, Slippery))
			if plain.Likely.IsZero() {
				t.Skip("no window")
			}
			notAfter(t, "slippery", plain, more.Forecast())
			more.Readings[len(more.Readings)-1].Hand = Rough
			notAfter(t, "rough", more.Forecast(), plain)
		}))
	}
}

func TestRepeatedReadingSplitsNothing(t *testing.T) {
	for name, past := range pasts() {
		t.Run(name, rapid.MakeCheck(func(t *rapid.T) {
			tank := anyTank(t, past)
			i := rapid.IntRange(0, len(tank.Readings)-1).Draw(t, "which")
			r := tank.Readings[i]
			if math.IsNaN(r.Mass) && math.IsNaN(r.Ambient) {
				t.Skip("no temperature")
			}
			next := slices.IndexFunc(tank.Readings[i+1:], func(n Reading) bool {
				return !math.IsNaN(n.Mass) || !math.IsNaN(n.Ambient)
			})
			if next < 0 {
				t.Skip("repeated at the end it is news")
			}
			gap := tank.Readings[i+1+next].At.Sub(r.At).Hours()
			again := r
			again.At = r.At.Add(span(gap * rapid.Float64Range(0.01, 0.99).Draw(t, "part")))
			split := tank
			split.Readings = append(slices.Clone(tank.Readings), again)
			if a, b := split.Forecast(), tank.Forecast(); !same(a, b) {
				t.Fatalf("%+v\n%+v", a, b)
			}
		}))
	}
}

// A reading that was withdrawn, and a past tank that was, leave no trace; nothing given is changed.
func TestWithdrawnLeavesNoTrace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := anyTank(t, nil)
		plain := tank.Forecast()
		kept := slices.Clone(tank.Readings)
		with := tank
		with.Readings = append(slices.Clone(tank.Readings),
			mass(rapid.Float64Range(-2, 40).Draw(t, "at"), 30))
		with.Forecast()
		with.Readings = slices.Delete(with.Readings, len(kept), len(kept)+1)
		if !same(with.Forecast(), plain) || !same(tank.Forecast(), plain) {
			t.Fatal("a withdrawn reading left a trace")
		}
	})
	m := someMill(2)
	bs := m.run(6)
	var stays []Stay
	for _, b := range bs {
		stays = append(stays, b.stay)
	}
	past := Learn(stays[:5])
	past.And(stays[5])
	tank := bs[5].stay.Tank
	tank.Past = past
	a := tank.Forecast()
	tank.Past = Learn(stays[:5])
	if !same(a, tank.Forecast()) {
		t.Error("a past tank learned aside left a trace")
	}
}

// The quantiles of a cut spread against sums over its density, also far out in the tail.
func TestCutSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := spread{1, rapid.Float64Range(0.02, 0.3).Draw(t, "scale"),
			rapid.Float64Range(-1, 5).Draw(t, "above")}
		q := rapid.Float64Range(0.05, 0.95).Draw(t, "q")
		x := s.at(q)
		top := max(1, s.above)
		density := func(x float64) float64 { // over that at top
			log := func(x float64) float64 {
				z := math.Abs(x-1) / s.scale
				return -z - 2*math.Log1p(math.Exp(-z))
			}
			return math.Exp(log(x) - log(top))
		}
		const n = 20000
		var under, all float64
		end := top + 15*s.scale
		for i := range n {
			y := s.above + (float64(i)+0.5)/n*(end-s.above)
			all += density(y)
			if y <= x {
				under += density(y)
			}
		}
		if math.Abs(under/all-q) > 0.01 {
			t.Fatalf("%v of the mass lies below the %v point %v", under/all, q, x)
		}
	})
	far := spread{1, 0.01, 30}
	near(t, "a thousand scales out", far.at(0.9), 30+0.01*math.Log(10), 1e-9)
}
