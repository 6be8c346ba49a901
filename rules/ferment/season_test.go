package ferment

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// mill is a made-up mill: what is true of it and nobody there knows.
type mill struct {
	rng     *rand.Rand
	ambient float64 // °C, mean of the season
	season  float64 // °C, swing over the season
	swing   float64 // °C, between day and night
	hours   float64 // at 20 °C
	tmin    float64
	scatter float64 // sd of the log between tanks
	heating float64 // °C of the mass above the air, in the end
	probe   bool    // a thermometer for the mass, else for the air
	tests   float64 // hours between hand tests
}

// batch is one stay of it, with the true completion of the youngest fruit.
type batch struct {
	stay  Stay
	ready time.Time
}

func (m mill) air(at time.Time, day float64) float64 {
	hour := at.Sub(monday).Hours()
	return m.ambient + m.season*math.Sin(hour/24/90*2*math.Pi) + day +
		m.swing*math.Sin((math.Mod(hour, 24)-9)/24*2*math.Pi)
}

// batch runs one tank from its loads, in steps of 6 min.
func (m mill) batch(at time.Time) batch {
	const step = 0.1
	s := Stay{Tank: Tank{Name: "t1", Class: "p1", Site: NewSite()}}
	youngest := at
	for range 1 + m.rng.IntN(3) {
		s.Tank.Loads = append(s.Tank.Loads, Load{At: youngest, Kg: math.NaN()})
		youngest = youngest.Add(span(0.5 + m.rng.Float64()))
	}
	youngest = s.Tank.Loads[len(s.Tank.Loads)-1].At
	weather, need := m.rng.NormFloat64(), math.Exp(m.scatter*m.rng.NormFloat64())
	first := 0.65 + 0.15*m.rng.Float64()
	progress, temperature := 0.0, m.air(at, weather)+1
	nextRead, nextTest := 0.0, math.Inf(1)
	wait := 0.5 + 3*m.rng.Float64()
	var b batch
	for i := 0; ; i++ {
		hours := float64(i) * step
		now := at.Add(span(hours))
		if now.After(youngest) {
			x := max(temperature-m.tmin, 0) / (20 - m.tmin)
			progress += x * x / m.hours * step
		}
		aim := m.air(now, weather) + m.heating*min(progress/need, 1)
		temperature += (aim - temperature) * step / 5
		if progress >= need && b.ready.IsZero() {
			b.ready = now
		}
		if math.IsInf(nextTest, 1) && progress >= first*need {
			nextTest = hours
		}
		if hours >= nextRead || hours >= nextTest {
			r := NewReading(now)
			if hours >= nextRead {
				nextRead += 3 + 3*m.rng.Float64()
				r.Ambient = m.air(now, weather) + 0.5*m.rng.NormFloat64()
				if m.probe {
					r.Mass = temperature + 0.5*m.rng.NormFloat64()
				}
			}
			if hours >= nextTest {
				nextTest += m.tests * (0.7 + 0.6*m.rng.Float64())
				r.Hand = Slippery
				if progress >= need {
					r.Hand = Rough
				}
				if m.rng.Float64() < 0.02 {
					r.Hand = Slippery + Rough - r.Hand
				}
			}
			s.Tank.Readings = append(s.Tank.Readings, r)
		}
		if !b.ready.IsZero() && now.Sub(b.ready).Hours() > wait {
			s.Washed = now
			b.stay = s
			return b
		}
	}
}

func (m mill) run(n int) []batch {
	var out []batch
	for i := range n {
		out = append(out, m.batch(monday.Add(span(float64(i)*20+6*m.rng.Float64()))))
	}
	return out
}

// known is the tank as known at an instant, without hand tests if bare.
func (b batch) known(at time.Time, past *Past) Tank {
	t := b.stay.Tank
	t.Past = past
	t.Readings = slices.DeleteFunc(slices.Clone(t.Readings), func(r Reading) bool {
		return r.At.After(at)
	})
	return t
}

// score is how windows did.
type score struct {
	held, n int
	errors  []float64
	widths  []float64
}

func (s *score) add(f Forecast, ready time.Time) {
	if f.Likely.IsZero() {
		return
	}
	s.n++
	if !ready.Before(f.Early) && !ready.After(f.Late) {
		s.held++
	}
	s.errors = append(s.errors, math.Abs(f.Likely.Sub(ready).Hours()))
	s.widths = append(s.widths, f.Late.Sub(f.Early).Hours())
}

func (s score) cover() float64 { return float64(s.held) / float64(s.n) }

func median(xs []float64) float64 {
	xs = slices.Sorted(slices.Values(xs))
	if len(xs) == 0 {
		return math.NaN()
	}
	return xs[len(xs)/2]
}

func someMill(seed uint64) mill {
	rng := rand.New(rand.NewPCG(seed, 7))
	return mill{rng: rng, ambient: 15 + 7*rng.Float64(), season: 2 * rng.Float64(),
		swing: 2 + 3*rng.Float64(), hours: 23.1 * math.Exp(0.2*rng.NormFloat64()),
		tmin: 4 * rng.Float64(), scatter: 0.10 + 0.12*rng.Float64(),
		heating: 2 + 4*rng.Float64(), probe: rng.Float64() < 0.6, tests: 1.5 + 1.5*rng.Float64()}
}

// contest is how windows at one lead before completion did, against two rivals.
type contest struct {
	ours        score
	fixed, line []float64 // errors, hours
}

// season forecasts the tanks from the first to the last-1 of a mill at a lead before completion,
// each knowing only those before it. The rivals are the running median of the mill's own times from
// filling to washing (20 h at first) and the altitude line, as far off as other mountains are.
func (c *contest) season(m mill, seed uint64, lead float64, first, last int) {
	var past *Past
	var took []float64
	metres := (29.42-m.ambient)/0.0061 + 250*rand.New(rand.NewPCG(seed, 3)).NormFloat64()
	for i, b := range m.run(last) {
		loads := b.stay.Tank.Loads
		youngest := loads[len(loads)-1].At
		at := b.ready.Add(-span(lead))
		if hours := b.ready.Sub(youngest).Hours(); i >= first && !at.Before(youngest) {
			c.ours.add(b.known(at, past).Forecast(), b.ready)
			usual := 20.0
			if len(took) > 0 {
				usual = median(took)
			}
			c.fixed = append(c.fixed, math.Abs(usual-hours))
			c.line = append(c.line, math.Abs(Hours(AltitudeAmbient(metres)+SelfHeating)-hours))
		}
		took = append(took, b.stay.Washed.Sub(youngest).Hours())
		past = past.And(b.stay)
	}
}

// Sixty made-up mills of one season each, none of which keeps to the model: another Tmin, hours at
// 20 °C from half to twice, self-heating, day and night, wrong hand tests, late washings. At every
// lead windows said to hold 80 % hold 75 to 90 %, the median error is below both rivals', and both
// error and width fall with learning.
func TestSeasons(t *testing.T) {
	for _, lead := range []float64{12, 6, 3, 1} {
		var early, late contest
		for seed := range uint64(60) {
			early.season(someMill(seed), seed, lead, 0, 3)
			late.season(someMill(seed), seed, lead, 10, 50)
		}
		for i, c := range []contest{early, late} {
			name := []string{"first 3", "10 to 50"}[i]
			e, fixed, line := median(c.ours.errors), median(c.fixed), median(c.line)
			t.Logf("%2.0f h before, tanks %s: n %4d held %.2f error %.1f h width %4.1f h | "+
				"fixed %.1f line %.1f", lead, name, c.ours.n, c.ours.cover(), e,
				median(c.ours.widths), fixed, line)
			if c.ours.cover() < 0.75 || c.ours.cover() > 0.90 {
				t.Errorf("windows held %.3f", c.ours.cover())
			}
			if e >= fixed || e >= line {
				t.Errorf("error %.2f h, fixed hours %.2f, line %.2f", e, fixed, line)
			}
		}
		if median(late.ours.widths) >= 0.8*median(early.ours.widths) ||
			median(late.ours.errors) >= median(early.ours.errors) {
			t.Errorf("%v h before: learning gained nothing", lead)
		}
	}
}

// The mill's own usual hours are worth more than the altitude line, before it has any tank.
func TestUsualHoursAgainstLine(t *testing.T) {
	var byUsual, byLine []float64
	for seed := range uint64(80) {
		m := someMill(seed)
		var hours []float64
		bs := m.run(12)
		for _, b := range bs {
			loads := b.stay.Tank.Loads
			hours = append(hours, b.stay.Washed.Sub(loads[len(loads)-1].At).Hours())
		}
		rng := rand.New(rand.NewPCG(seed, 3))
		for _, b := range bs {
			tank := b.stay.Tank
			tank.Readings = nil
			tank.Site.Altitude = (29.42-m.ambient)/0.0061 + 250*rng.NormFloat64()
			byLine = append(byLine, math.Abs(tank.Forecast().Likely.Sub(b.ready).Hours()))
			tank.Site.UsualCold = span(median(hours) * (0.9 + 0.2*rng.Float64()))
			byUsual = append(byUsual, math.Abs(tank.Forecast().Likely.Sub(b.ready).Hours()))
		}
	}
	t.Logf("error: usual hours %.1f h, altitude line %.1f h", median(byUsual), median(byLine))
	if median(byUsual) >= median(byLine) {
		t.Error("the altitude line did better than usual hours")
	}
}
