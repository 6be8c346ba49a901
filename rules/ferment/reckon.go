package ferment

import (
	"math"
	"time"
)

// Forecast tells what is to come in the tank from what is known of it, with no clock.
func (t Tank) Forecast() Forecast {
	f := Forecast{likely: math.NaN(), ReadyHours: math.NaN(), WarnHours: math.NaN(),
		SpoilHours: math.NaN(), Reason: noReason()}
	var ok bool
	if f.Oldest, f.Youngest, ok = t.filled(); !ok {
		f.Status = NoLoad
		return f
	}
	f.FillSpan = f.Youngest.Sub(f.Oldest)
	rs := t.ordered()
	past := t.Past.taught(thermometer(rs))
	f.course = newCourse(&t, rs, past.lesson.tmin)
	s := f.weigh(&t, past)
	f.unit = s.centre
	f.hours()
	f.window(view{s, f.support(rs), f.hands(rs)})
	f.tests(t.Site)
	return f
}

func noReason() Reason {
	n := math.NaN()
	return Reason{Celsius: n, Mean: n, At: n, Prior: n, Usual: n, Learned: n, Used: n,
		TankFactor: 1, ClassFactor: 1, Scatter: n, HalfWidth: n, PH: n, PHExpected: n, PHShift: n}
}

// thermometer tells whether any temperature was read.
func thermometer(rs []Reading) bool {
	for _, r := range rs {
		if !math.IsNaN(r.Mass) || !math.IsNaN(r.Ambient) {
			return true
		}
	}
	return false
}

// about is the hours that a tank takes at this mill, whatever its temperature.
func (t *Tank) about() float64 {
	basis := t.Site.basis()
	clock := t.Past.taught(false).lesson
	return pooled(t.Site.prior(basis), t.Site.habit(basis, clock), clock.own).hours(math.NaN())
}

// weigh pools the published pace, the mill's habit and its past, and gives the spread of the
// progress at which this tank completes before any test of its own.
func (f *Forecast) weigh(t *Tank, past *tally) spread {
	r, c, l := &f.Reason, &f.course, past.lesson
	r.Source, r.Tmin, r.TminLearned, r.PastStays = c.source, l.tmin, l.tminLearned, l.stays
	r.Scatter = l.scatter
	prior, habit := t.Site.prior(c.source), t.Site.habit(c.source, l)
	all := pooled(prior, habit, l.own)
	at := math.NaN()
	if c.source.read() {
		at = l.mean
	}
	r.At = at
	r.Prior, r.Usual = prior.hours(at), habit.hours(at)
	r.Learned, r.Used = l.own.hours(at), all.hours(at)
	r.PriorWeight = prior.weight / all.weight
	r.UsualWeight, r.LearnedWeight = habit.weight/all.weight, l.own.weight/all.weight
	centre := math.Exp(all.mean)
	if c.source.read() {
		centre *= math.Exp(shift(l.mean, l.tmin))
	}
	r.TankFactor = past.tanks.factor(t.Name, l.scatter)
	r.ClassFactor = past.classes.factor(t.Class, l.scatter)
	centre *= r.TankFactor * r.ClassFactor
	r.Celsius, r.LastRead = c.knots[len(c.knots)-1].celsius, c.lastRead
	r.Coming = r.Celsius
	left := c.left(c.lastRead, t.about())
	if c.source.read() {
		r.Coming = past.coming.temperature(r.Celsius, left)
		c.expect(r.Coming, pace(r.Coming, l.tmin))
	}
	r.Mean = c.mean(c.youngest, c.when(centre))
	coming := left * 2 * past.coming.miss / (l.mean - l.tmin)
	sd := f.sd(l, all, coming) * past.misses.stretch()
	r.HalfWidth = sd / sdOfScale * math.Log(highTail/lowTail)
	return spread{centre, centre * sd / sdOfScale, math.Inf(-1)}
}

// sd is the relative standard deviation of the completion before any hand test; coming is what
// the temperature still to come adds. What the source of the temperature leaves open shows in the
// scatter of the past tanks, so that it counts less the more was learned.
func (f *Forecast) sd(l lesson, all belief, coming float64) float64 {
	r := &f.Reason
	v := 1/all.weight + l.scatter*l.scatter
	open := weatherSD
	switch f.course.source {
	case FromMass:
		open = 0
	case FromAmbient:
		open = ambientSD
	}
	v += open * open * (1 - r.LearnedWeight)
	if !f.course.source.read() {
		return math.Sqrt(v)
	}
	return math.Sqrt(v + coming*coming)
}

// hours states the hours from filling to completion and from there to spoiling, at the last known
// temperature.
func (f *Forecast) hours() {
	k := f.course.knots[len(f.course.knots)-1]
	if k.pace <= 0 {
		return
	}
	f.ReadyHours = f.unit / k.pace
	f.WarnHours, f.SpoilHours = f.ReadyHours*(warnAt-1), f.ReadyHours*(spoilAt-1)
}

// hands reads the hand tests of this tank.
func (f *Forecast) hands(rs []Reading) bounds {
	b := handBounds(&f.course, rs)
	f.Reason.Slippery, f.Reason.Rough = b.from, b.to
	for _, r := range rs {
		if r.Hand == Rough && r.At.After(f.Youngest) && !r.At.After(b.from) {
			f.Status = HandsDiffer
		}
	}
	return b
}

// A pH shifts the hours by so much for each unit that it lies off the expected one: strips are
// good to ±0.5 and published ends run from 3.3 to 4.7, which leaves it about a fifth of the say.
const (
	pHSay   = 0.2
	pHLimit = 0.5           // units, no more is believed
	pHFresh = 3 * time.Hour // from the last load, while a reading shows the pH at filling
)

// support is what the last pH says of the hours, at most a tenth of them.
func (f *Forecast) support(rs []Reading) (last acid) {
	start, r := pHStart, &f.Reason
	for _, x := range rs {
		if math.IsNaN(x.PH) || x.At.Before(f.Youngest) {
			continue
		}
		if x.At.Sub(f.Youngest) <= pHFresh {
			start = min(max(x.PH, 5), 6)
		}
		r.PH, r.PHExpected = x.PH, PH(start, f.course.young(x.At)/f.unit)
		r.PHShift = math.Expm1(pHSay * clamp(r.PH-r.PHExpected, pHLimit))
		last = acid{x.At, r.PHShift}
	}
	return last
}

// widest is the half-width beyond which a window says nothing and is not given.
const widest = 0.55

// window turns the spread into instants, where the model may speak at all.
func (f *Forecast) window(v view) {
	r, c := &f.Reason, &f.course
	switch {
	case r.Mean < Coldest:
		f.Status = TooCold
	case r.Mean > Hottest:
		f.Status = TooHot
	case r.HalfWidth > widest:
		f.Status = NoBasis
		return
	}
	likely := v.at(c, 0.5)
	f.likely = f.unit // where the pace is nil
	if !likely.IsZero() {
		f.likely = c.young(likely)
	}
	if f.Status == TooCold || f.Status == TooHot {
		return
	}
	early, late := v.at(c, lowTail), v.at(c, highTail)
	if early.IsZero() || likely.IsZero() || late.IsZero() { // it may never be ready: no half window
		f.Status = TooCold
		return
	}
	f.Early, f.Likely, f.Late, f.Confidence = early, likely, late, confidence
	done := f.likely - c.offset // where the oldest fruit completes
	f.SpoilWarn = c.when(done + (warnAt-1)*f.unit)
	f.Spoil = c.when(done + (spoilAt-1)*f.unit)
	switch {
	case !f.Spoil.IsZero() && !f.Spoil.After(f.Likely):
		f.Status = NoSafeHour
	case f.Status == Good && !r.Rough.IsZero():
		f.Status = TestedRough
	}
}
