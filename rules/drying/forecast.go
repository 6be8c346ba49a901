package drying

import (
	"math"
	"time"
)

// Status says what a forecast is worth, in one word.
type Status string

// The statuses. A window comes with Good, Stalling and HeatingQuick, and with FireOut when the
// stop was not logged but found: then as if the fire were lit again at the last thing known.
const (
	Good         Status = "good"          // the window can be used
	FewReadings  Status = "few-readings"  // fewer than four, or over too short a time
	SurfaceWater Status = "surface-water" // water still outside the bean: no law holds yet
	Stalling     Status = "stalling"      // drying at under half the expected rate
	FireOut      Status = "fire-out"      // the fire or the fan is out, logged or found out
	HeatingQuick Status = "heating-quick" // the air is climbing too fast for the bean
	Unreachable  Status = "unreachable"   // this air leaves the coffee wetter than the target
)

// Forecast is when a lot will reach its target, and how far that can be trusted.
// Instants are absolute. The zero value is no answer.
type Forecast struct {
	Early, Likely, Late time.Time // zero: no answer
	Confidence          float64   // chance that the truth lies in Early..Late; 0: no answer
	Status              Status
	Slope               float64   // points of wet basis an hour with the heat on; NaN: unknown
	Next                time.Time // when a reading would next be useful; zero: none needed
	Reason              Reason

	curve curve
}

// Reason carries the facts that a forecast rests on, for whoever words it.
type Reason struct {
	Used        int       // readings used
	Odd         time.Time // last reading set aside as a sampling jump; zero: none
	Torn        bool      // the last reading is far off: a second sample would tell
	Equilibrium float64   // where this air would leave the coffee, percent wet basis
	Expected    float64   // slope that law and drum give at this moisture, points an hour
	Air         float64   // usual inlet air taken, °C
	AirAssumed  bool      // the inlet was not read, a default was taken
	DampAssumed bool      // the ambient air was not read, a default was taken
	Stop        Stop      // the last stop counted; zero: none
	StopFound   bool      // that stop was not logged but found in readings or air
	Stoked      time.Time // since when the fire burns clearly hotter than before; zero: it does not
	Bed         float64   // bed factor by all that is known: time over thin-layer time
	BedPast     float64   // bed factor before this run's readings
	PastRuns    int       // earlier runs that BedPast rests on
	PastWeight  float64   // their weight in it, 0..1, against the published BedFactor
}

// MoistureAt reads the forecast at an instant, in percent wet basis. It never rises with t and
// stands still while a stop is open. It is NaN before the first reading used and when there is
// no curve.
func (f Forecast) MoistureAt(t time.Time) float64 {
	return f.curve.at(t)
}

// curve is the drying curve a forecast draws: to each moisture the mean of the shapes' times. Times
// are averaged, not moistures, since a shape that is long dry says nothing of when; and a mean of
// falling curves taken so falls too, which makes a drier target never sooner.
type curve struct {
	clock clock
	scale scale
	work  float64 // at the last reading
	now   float64 // moisture there, percent dry basis
	lines [shapes]line
}

// line is where a shape stands at the last reading. Pace is above zero.
type line struct{ weight, age, pace float64 }

// draw makes the curve of a bank that has followed its readings up to some work.
func draw(c clock, sc scale, b *bank, work float64) curve {
	out := curve{clock: c, scale: sc, work: work}
	for i := range b {
		m := &b[i]
		l := &out.lines[m.shape]
		l.weight += m.weight
		l.age += m.weight * m.age
		l.pace += m.weight * m.fair()
	}
	for i := range out.lines {
		if l := &out.lines[i]; l.weight > 0 {
			l.age, l.pace = l.age/l.weight, l.pace/l.weight
		}
	}
	out.now = out.moisture(0)
	return out
}

// fair is the pace to draw with. Of drums that are some hours from their end more are forecast late
// than early, because an error that goes with the time left is wider the further off the end seems;
// the variance of the relative pace, while it is small, makes up for that.
func (k *track) fair() float64 {
	p := max(k.pace, slowest)
	return p * (1 + min(k.vPace/sq(p), fairMost))
}

// fairMost is the variance up to which it does.
const fairMost = 0.05

// drawn tells whether there is a curve at all.
func (c *curve) drawn() bool { return !c.clock.zero.IsZero() }

func (c *curve) at(t time.Time) float64 {
	if !c.drawn() || t.Before(c.clock.zero) {
		return math.NaN()
	}
	return wet(c.moisture(c.clock.work(c.clock.hours(t)) - c.work))
}

// until is the work from the last reading to a moisture, percent dry basis.
func (c *curve) until(m float64) float64 {
	work := 0.0
	for i, l := range c.lines {
		if l.weight > 0 {
			age, _ := c.scale.at(i, m)
			work += l.weight * (age - l.age) / l.pace
		}
	}
	return work
}

// moisture is the inverse of until, by halving between what the coffee began with and the
// equilibrium.
func (c *curve) moisture(work float64) float64 {
	lo, hi := c.scale.me, c.scale.start
	for range 26 {
		if mid := (lo + hi) / 2; c.until(mid) > work {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// slope is the fall now, points of wet basis an hour of work; negative while drying.
func (c *curve) slope() float64 {
	return -sq(100-wet(c.now)) / 1e4 / c.perPoint(c.now)
}

// perPoint is the hours of work that a point of dry basis takes at a moisture.
func (c *curve) perPoint(m float64) float64 {
	hours := 0.0
	for i, l := range c.lines {
		if l.weight > 0 {
			_, slope := c.scale.at(i, m)
			hours += l.weight * slope / l.pace
		}
	}
	return hours
}
