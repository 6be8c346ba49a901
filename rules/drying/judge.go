package drying

import (
	"math"
	"time"
)

// Shares are of the pace that was to be expected. They are bounds, not fitted: half is the trade's
// own word for a stall, a seventh is what the air of a stopped drum still does.
const (
	outOfReach = 0.2  // percent dry basis above the equilibrium that no drying ever closes
	stall      = 0.5  // of the expected pace
	dead       = 0.15 // of the expected pace: nothing dries
	quickRise  = 12.0 // °C of inlet in an hour and a quarter (common practice, no source)
	quickDry   = 1.9  // of the expected pace
	freshHours = 2.0  // of work, over which a pace is called fresh
	slowDrum   = 0.4  // of the believed pace: what a drum slow from the start may be
	standHours = 8.0  // of work, over which coffee that has not dried at all stands still
)

// judge names the state of a run whose readings the bank has followed, the gravest first. A share
// must be under or over its bound by some of its own error; a last reading that nothing explains
// yet makes no stall.
func (l *look) judge(f *Forecast, target float64) Status {
	share, err, expected := l.freshPace()
	f.Reason.Expected = f.Slope * expected * f.Reason.Bed
	still := l.still()
	if still { // no line to go by
		f.Slope, f.curve = 0, curve{}
	}
	switch {
	case target <= l.usual.me+outOfReach:
		return Unreachable
	case l.cold(share+err < stall), l.usual.noInlet && share < dead && share+err < stall:
		return FireOut
	case still, share+err/2 < stall && !l.torn:
		return Stalling
	case l.climbing() || l.usual.noInlet && share-2*err > quickDry:
		return HeatingQuick
	}
	return Good
}

// cold tells whether the last look at the dial found the fire down, and no reading since shows that
// the coffee dries all the same.
func (l *look) cold(slow bool) bool {
	s, ok := l.lastCold()
	return ok && s.To.IsZero() && (slow || !l.kept[len(l.kept)-1].at.After(l.lastDial()))
}

func (l *look) lastDial() time.Time {
	return l.zero.Add(hoursOf(l.dials[len(l.dials)-1].t))
}

// climbing tells whether the inlet has shot up between looks that found the fire on.
func (l *look) climbing() bool {
	n := len(l.dials)
	if n == 0 {
		return false
	}
	top, floor := l.dials[n-1], down(l.usual.inlet, l.usual.ambient)
	for i := n - 2; i >= 0 && top.t-l.dials[i].t <= 1.25; i-- {
		if d := l.dials[i]; d.inlet > floor && top.inlet-d.inlet >= quickRise {
			return true
		}
	}
	return false
}

// freshPace compares the pace over the last two hours or more with the best that this run has kept
// up, or that is believed of the drum before it showed any: their ratio, its standard error, and
// the expected pace. The ratio is 1 with a wide error while there is nothing to compare.
func (l *look) freshPace() (share, err, expected float64) {
	n := len(l.kept)
	from := n - 2
	for from > 0 && l.kept[n-1].work-l.kept[from].work < freshHours {
		from--
	}
	expected = max(l.bestPace(from), slowest)
	pace, err := l.straight(from, expected)
	if from == 0 || math.IsInf(err, 1) {
		return 1, 1, expected
	}
	return pace / expected, err / expected, expected
}

// straight is the pace of a weighted straight line of age over work through the readings from one
// on, and its standard error; +Inf where they have no width. Surges go with the pace.
func (l *look) straight(from int, surging float64) (pace, err float64) {
	var s, sw, sa, sww, swa float64
	for _, x := range l.kept[from:] {
		g := 1 / (sq(x.sigma[0]*x.slope) + moods[1].surge*sq(surging))
		w := x.work - l.now()
		s, sw, sa = s+g, sw+g*w, sa+g*x.age
		sww, swa = sww+g*w*w, swa+g*w*x.age
	}
	wide := s*sww - sw*sw
	if wide <= 1e-9 {
		return 0, math.Inf(1)
	}
	return (s*swa - sw*sa) / wide, math.Sqrt(s / wide)
}

// still tells whether the coffee has not dried over the last eight hours, and four readings.
func (l *look) still() bool {
	from := max(0, len(l.kept)-4)
	for from > 0 && l.now()-l.kept[from-1].work <= standHours {
		from--
	}
	pace, _ := l.straight(from, 0)
	return pace <= 0
}

// bestPace is the highest pace that a calm track showed up to a reading.
func (l *look) bestPace(to int) float64 {
	held := l.held
	first := l.kept[0]
	k := track{mood: moods[0], age: first.age, vAge: sq(first.sigma[0] * first.slope),
		pace: held.pace, vPace: sq(held.pace * max(held.spread, .3)), spread: 1}
	best := k.pace
	for i := 1; i <= to; i++ {
		x := l.kept[i]
		k.advance(x.work-l.kept[i-1].work, x.slack, x.loose)
		k.see(x.age, sq(x.sigma[0]*x.slope), 1/sq(x.slope))
		if i <= 2 {
			best = slowDrum * held.pace
		}
		best = max(best, k.pace)
	}
	return best
}

// next is when a reading would next tell something: half way to the early end, but at least every
// two hours, and hourly in the last point and a half (ITC Coffee Guide); soon where something is
// wrong; not at all while the fire is out or when the target is reached.
func next(f *Forecast, last Reading, target float64) time.Time {
	wait := time.Hour
	switch {
	case f.Status == FireOut:
		return time.Time{}
	case f.Reason.Torn:
		wait = 20 * time.Minute
	case f.Status == Stalling || f.Status == HeatingQuick:
		wait = 30 * time.Minute
	case f.Status == SurfaceWater || f.Status == Unreachable:
		wait = 2 * time.Hour
	case f.Status == Good && last.Moisture <= target && !f.Likely.After(last.At):
		return time.Time{}
	case f.Status == Good:
		longest := 2 * time.Hour
		if last.Moisture-target <= 1.5 {
			longest = time.Hour
		}
		wait = min(max(f.Early.Sub(last.At)/2, 20*time.Minute), longest)
	}
	return last.At.Add(wait)
}
