package ferment

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// evenMill is a made-up mill without surprises: steady air, mass read, tests every two hours.
func evenMill(seed uint64, hours float64) mill {
	return mill{rng: rand.New(rand.NewPCG(seed, 11)), ambient: 18, swing: 2, hours: hours,
		scatter: 0.10, heating: 4, probe: true, tests: 2}
}

func stays(m mill, n int) []Stay {
	var out []Stay
	for _, b := range m.run(n) {
		out = append(out, b.stay)
	}
	return out
}

// A mill nearly twice as slow as published is believed the more, the more tanks say so; the weights
// say how much. In the end the window is narrower than it began.
func TestShrinkage(t *testing.T) {
	all := stays(evenMill(1, 40), 40)
	var last Reason
	for _, n := range []int{0, 1, 3, 10, 40} {
		tank := filled(mass(0, 20))
		tank.Past = Learn(all[:n])
		r := tank.Forecast().Reason
		if r.PastStays != n {
			t.Errorf("%d stays, want %d", r.PastStays, n)
		}
		near(t, "weights", r.PriorWeight+r.UsualWeight+r.LearnedWeight, 1, 1e-9)
		if n > 0 {
			if !(r.Used > r.Prior && r.Used < r.Learned+1e-9) {
				t.Errorf("%d stays: %.1f, learned %.1f, used %.1f", n, r.Prior, r.Learned, r.Used)
			}
			if !(r.LearnedWeight > last.LearnedWeight) {
				t.Errorf("%d stays: weight %.2f after %.2f", n, r.LearnedWeight, last.LearnedWeight)
			}
			near(t, "pooled in logarithms", math.Log(r.Used),
				r.PriorWeight*math.Log(r.Prior)+r.LearnedWeight*math.Log(r.Learned), 1e-9)
		}
		last = r
	}
	near(t, "pace over published pace", last.Used/Hours(last.At), 40/23.1, 0.12)
	near(t, "weight of 40 tanks", last.LearnedWeight, 1, 0.05)
	near(t, "scatter", last.Scatter, 0.10, 0.04)
	if last.HalfWidth > 0.25 {
		t.Errorf("±%.2f after 40 tanks", last.HalfWidth)
	}
}

// One more learned is the same as all learned together, and order of calls does not matter.
func TestAndIsLearn(t *testing.T) {
	all := stays(evenMill(2, 23), 12)
	var p *Past
	for _, s := range all {
		p = p.And(s)
	}
	tank := filled(mass(0, 21))
	tank.Past = p
	a := tank.Forecast()
	tank.Past = Learn(all)
	if b := tank.Forecast(); !same(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
}

// Bounds on one side only move the belief to that side; a stay without bounds teaches nothing.
func TestBoundsOnly(t *testing.T) {
	stay := func(rs ...Reading) Stay {
		return Stay{Tank: filled(append(rs, mass(0, 20))...)}
	}
	learned := func(s Stay, n int) Reason {
		all := make([]Stay, n)
		for i := range all {
			all[i] = s
		}
		tank := filled(mass(0, 20))
		tank.Past = Learn(all)
		return tank.Forecast().Reason
	}
	if p := Learn([]Stay{stay(), {}}); p != nil {
		t.Errorf("learned from nothing: %+v", p)
	}
	low := learned(stay(hand(32, Slippery)), 5)
	high := learned(stay(hand(14, Rough)), 5)
	both := learned(stay(hand(28, Slippery), hand(30, Rough)), 12)
	if low.Used <= 26 || high.Used >= 21 {
		t.Errorf("slippery at 32 h: %.1f; rough at 14 h: %.1f", low.Used, high.Used)
	}
	near(t, "between 28 and 30 h", both.Used, 29, 1.5)
	// A bound that the prior holds anyway says next to nothing.
	r := learned(stay(hand(1, Slippery)), 5)
	near(t, "slippery at 1 h", r.Used, 23.1, 0.3)
	near(t, "its weight", r.LearnedWeight, 0, 0.05)
	// A test far off all belief is taken for wrong rather than for impossible.
	if l := (bounds{above: 3, below: 3.1}).likelihood(1, 0.05); l < 1e-5 {
		t.Errorf("likelihood %g of a test that may be wrong", l)
	}
	// Washings alone: completion lay before, and not so long before as to spoil it.
	washed := stay()
	washed.Washed = after(36)
	w := learned(washed, 20)
	if !(w.Used > 36/spoilAt && w.Used < 36) {
		t.Errorf("washed at 36 h each time: %.1f", w.Used)
	}
}

// A washing while it still slipped is no completion, nor is anything after a washing.
func TestWashingAgainstTests(t *testing.T) {
	s := Stay{Tank: filled(mass(0, 20), hand(20, Slippery), hand(30, Rough)), Washed: after(20)}
	c := newCourse(&s.Tank, s.heard(), 0)
	b := s.bounds(&c, s.heard())
	near(t, "above", b.above, 20/HoursAt20, 1e-9)
	if !math.IsInf(b.below, 1) || b.washed {
		t.Errorf("%+v", b)
	}
}

// Tmin is learned only once temperatures differ enough, and then towards the truth.
func TestTmin(t *testing.T) {
	lesson := func(spread float64, n int) lesson {
		rng := rand.New(rand.NewPCG(4, uint64(n)))
		var p *Past
		for i := range n {
			celsius := 20 + spread*math.Sin(float64(i))
			hours := 23.1 * math.Pow(16/(celsius-4), 2) * math.Exp(0.05*rng.NormFloat64())
			p = p.And(Stay{Tank: filled(mass(0, celsius), hand(hours-0.7, Slippery),
				hand(hours+0.7, Rough))})
		}
		return p.read.lesson
	}
	if l := lesson(0.5, 60); l.tminLearned || l.tmin != 0 {
		t.Errorf("tanks alike: Tmin %.1f", l.tmin)
	}
	if l := lesson(4, 5); l.tminLearned {
		t.Errorf("five tanks: Tmin %.1f", l.tmin)
	}
	l := lesson(4, 60)
	if !l.tminLearned {
		t.Error("sixty tanks from 16 to 24 °C teach no Tmin")
	}
	near(t, "Tmin", l.tmin, 4, 1)
	// The usual hours at the temperature of the past tanks are those hours, whatever the Tmin.
	s := NewSite()
	s.Ambient, s.UsualCold = l.mean-SelfHeating, 30*time.Hour
	near(t, "usual hours", s.habit(FromMass, l).hours(l.mean), 30, 1e-9)
}

// Old tanks fade: a mill that changed its way is followed.
func TestFading(t *testing.T) {
	all := append(stays(evenMill(8, 23), 60), stays(evenMill(9, 36), 40)...)
	d := Learn(all).read.lesson
	share := d.own.mean / math.Log(36/23.1)
	if share < 0.5 || share > 0.9 {
		t.Errorf("%.2f of the way to the new pace after 40 of 100 tanks", share)
	}
}

// A tank gets a factor of its own only when the data carry it.
func TestGroups(t *testing.T) {
	factor := func(slower float64, n int) Reason {
		rng := rand.New(rand.NewPCG(5, uint64(n)))
		var p *Past
		for i := range n {
			hours := 23.1 * math.Exp(0.08*rng.NormFloat64())
			name := "t1"
			if i%2 == 0 {
				name, hours = "t2", hours*slower
			}
			s := Stay{Tank: filled(mass(0, 20), hand(hours-1, Slippery), hand(hours+1, Rough))}
			s.Tank.Name, s.Tank.Class = name, name+" class"
			p = p.And(s)
		}
		tank := filled(mass(0, 20))
		tank.Name, tank.Past = "t2", p
		return tank.Forecast().Reason
	}
	near(t, "tanks alike", factor(1, 40).TankFactor, 1, 0)
	near(t, "few stays", factor(2, 10).TankFactor, 1, 0)
	var g groups
	for range groupStays - 1 {
		g.add("t2", 0.5)
	}
	near(t, "too few stays, however clear", g.factor("t2", 0.1), 1, 0)
	g.add("t2", 0.5)
	near(t, "enough", math.Log(g.factor("t2", 0.1)), 0.5/(1+1.0/groupStays), 1e-9)
	r := factor(1.3, 60)
	if r.TankFactor < 1.05 || r.TankFactor > 1.2 || r.ClassFactor != 1 {
		t.Errorf("tank slower by 1.3: factor %.2f, class %.2f", r.TankFactor, r.ClassFactor)
	}
}

// What a missing thermometer in the mass leaves open shows in the scatter of the past tanks.
func TestOpenSource(t *testing.T) {
	sd := func(source Source, learned float64) float64 {
		f := Forecast{course: course{source: source}, Reason: Reason{LearnedWeight: learned}}
		return f.sd(untaught(), believed(0, 0.1), 0)
	}
	for _, s := range []Source{FromAmbient, FromUsual, FromAltitude} {
		if sd(s, 0) <= sd(FromMass, 0) {
			t.Errorf("%v is as good as the mass", s)
		}
		near(t, "learned", sd(s, 1), sd(FromMass, 1), 1e-12)
	}
}

// A few wrong hand tests move the pace by little.
func TestWrongTests(t *testing.T) {
	right := stays(evenMill(6, 23.1), 40)
	wrong := append([]Stay{}, right...)
	for i := 5; i < 40; i += 10 {
		wrong[i].Tank.Readings = append([]Reading{}, wrong[i].Tank.Readings...)
		wrong[i].Tank.Readings[1].Hand = Rough // hours too early, and the later ones not tested
		for j := range wrong[i].Tank.Readings[2:] {
			wrong[i].Tank.Readings[2+j].Hand = NotTested
		}
	}
	a, b := Learn(right).read.lesson.own, Learn(wrong).read.lesson.own
	near(t, "log of the pace", b.mean, a.mean, 0.06)
}

// A mill without any thermometer learns its hours by the clock, and then has a window.
func TestLearningByTheClock(t *testing.T) {
	all := stays(evenMill(7, 23.1), 30)
	for i := range all {
		all[i].Tank.Readings = append([]Reading{}, all[i].Tank.Readings...)
		for j := range all[i].Tank.Readings {
			all[i].Tank.Readings[j].Mass, all[i].Tank.Readings[j].Ambient = math.NaN(), math.NaN()
		}
	}
	if Learn(all).read.stays != 0 {
		t.Error("learned a pace at a temperature without any")
	}
	tank := filled()
	tank.Past = Learn(all)
	f := tank.Forecast()
	var sum time.Duration
	for _, b := range evenMill(7, 23.1).run(30) {
		l := b.stay.Tank.Loads
		sum += b.ready.Sub(l[len(l)-1].At)
	}
	near(t, "likely", hoursTo(f.Likely), sum.Hours()/30, 1)
	if f.Status != Good || f.Reason.Source != NoSource || f.Reason.PastStays != 30 ||
		f.Reason.HalfWidth > 0.3 {
		t.Errorf("%v from %v, %d stays, ±%.2f", f.Status, f.Reason.Source, f.Reason.PastStays,
			f.Reason.HalfWidth)
	}
}

// Hindcasts stretch the windows of a mill whose tanks scatter more than they state.
func TestStretch(t *testing.T) {
	var m moments
	near(t, "untaught", m.stretch(), 1, 0)
	for range 200 {
		m.add(4)
	}
	near(t, "misses of twice what was stated", m.stretch(), 2, 0.15)
	var calm moments
	for range 200 {
		calm.add(0)
	}
	near(t, "no misses at all", calm.stretch(), narrowest, 0)

	p := Learn(stays(evenMill(10, 23), 10))
	tank := filled(mass(0, 20))
	tank.Past = p
	was, stretch := tank.Forecast().Reason.HalfWidth, p.read.misses.stretch()
	wide := *p
	wide.read.misses = m
	tank.Past = &wide
	near(t, "window", tank.Forecast().Reason.HalfWidth/was, m.stretch()/stretch, 1e-9)

	// What the hand tests leave open is no miss.
	miss := filled(mass(0, 20), hand(5, Rough)).miss
	near(t, "squared miss of 40 %", miss(after(1.4*HoursAt20), 0), math.Pow(0.4/0.3122, 2), 0.02)
	near(t, "with bounds ten hours apart", miss(after(1.4*HoursAt20), 10), 0, 0)
	one := Stay{Tank: filled(hand(20, Slippery), hand(30, Rough))}
	near(t, "misses by the clock", Learn([]Stay{one}).clock.misses.n, 1, 0)
}
