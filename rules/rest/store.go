package rest

import (
	"math"
	"slices"
	"time"
)

// Period is when a lot may leave its rest and when it should have left, from the day it went in
// and the least and most days of its class. Days of 24 h are counted. An instant is zero when its
// number of days is 0, which means: not set.
func Period(in time.Time, least, most int) (from, until time.Time) {
	if least > 0 {
		from = in.Add(time.Duration(least) * day)
	}
	if most > 0 {
		until = in.Add(time.Duration(most) * day)
	}
	return from, until
}

// Days of rest before the mill has set its own: common practice, no source.
const (
	LeastDays = 30 // may leave
	MostDays  = 60 // should have left
)

// Verdict is a judgement in one word.
type Verdict int8

const (
	CannotTell Verdict = iota // something needed was not read
	Good                      // within all limits
	Warn                      // look, and measure again
	Alarm                     // over a limit
)

// String is the word of the verdict.
func (v Verdict) String() string {
	return [...]string{"cannot-tell", "good", "warn", "alarm"}[v]
}

// Limits of water activity and moisture; see the package comment.
const (
	ActivityWarn  = 0.67 // 0 to 1
	ActivityAlarm = 0.70 // 0 to 1
	MoistureMost  = 12.5 // % w.b.
)

// The band that resting parchment should lie in, % w.b.: 10 to 12 % (a growers' guide, kept at 20 °C
// and 65 %; ITC, The Coffee Exporter's Guide, by way of the handbook).
const (
	BandLow  = 10.0
	BandHigh = 12.0
)

// Water is the water activity of a lot against the safe limit.
type Water struct {
	Verdict  Verdict
	Activity float64 // 0 to 1; NaN if neither measured nor computable
	Measured bool    // by an instrument, which overrides the isotherm
}

// Safe judges a lot by its measured activity (NaN: none), or by its moisture in % w.b. and its
// temperature in °C. Over 12.5 % the verdict is an alarm whatever the activity.
func Safe(measured, moisture, celsius float64) Water {
	w := Water{Activity: measured, Measured: !math.IsNaN(measured)}
	if !w.Measured {
		w.Activity = Activity(celsius, moisture)
	}
	switch {
	case w.Activity >= ActivityAlarm || moisture > MoistureMost:
		w.Verdict = Alarm
	case math.IsNaN(w.Activity):
	case w.Activity >= ActivityWarn:
		w.Verdict = Warn
	default:
		w.Verdict = Good
	}
	return w
}

// Rule of evenness, our own proposal: see the package comment.
const (
	EvenSamples = 9   // or more
	EvenSD      = 0.5 // points
	EvenRange   = 1.5 // points
)

// Evenness is how alike the sub-samples of one lot are. Figures are NaN without samples, SD also
// with one.
type Evenness struct {
	Verdict         Verdict // CannotTell with fewer than nine, unless they fail already
	Count           int
	Mean, SD, Range float64
	Wettest         float64
}

// Even judges sub-samples in % w.b. taken at one time from different spots: an alarm if one is over
// 12.5 %, a warning if they differ too much. NaN values are left out. Fewer than nine never pass.
func Even(moistures []float64) Evenness {
	xs := slices.DeleteFunc(slices.Clone(moistures), math.IsNaN)
	e := Evenness{Count: len(xs), Mean: math.NaN(), SD: math.NaN(), Range: math.NaN(),
		Wettest: math.NaN()}
	if len(xs) == 0 {
		return e
	}
	sum, squares := 0.0, 0.0
	for _, x := range xs {
		sum += x
	}
	n := float64(len(xs))
	e.Mean = sum / n
	for _, x := range xs {
		squares += (x - e.Mean) * (x - e.Mean)
	}
	if n > 1 {
		e.SD = math.Sqrt(squares / (n - 1))
	}
	e.Wettest = slices.Max(xs)
	e.Range = e.Wettest - slices.Min(xs)
	switch {
	case e.Wettest > MoistureMost:
		e.Verdict = Alarm
	case e.SD > EvenSD || e.Range > EvenRange:
		e.Verdict = Warn
	case e.Count >= EvenSamples:
		e.Verdict = Good
	}
	return e
}

// Probe is a temperature in the coffee, °C. Several depths at one time are several probes.
type Probe struct {
	At      time.Time
	Celsius float64
}

// Limits of warming, for stored grain, from memory, verify.
const (
	WarmWarn   = 3.0 // °C in a week
	WarmAlarm  = 5.0 // °C in a week
	AboveAlarm = 5.0 // °C above the neighbours
)

// Warming is how fast a lot warms. Figures are NaN where they cannot be told.
type Warming struct {
	Verdict Verdict
	Week    float64 // °C risen in the last week, or since the first probe if that is less
	Above   float64 // °C above the median neighbour
}

// Warms judges the probes of one lot and the latest temperatures of its neighbours (none: nil).
// The hottest depth of a time counts: probes within an hour of the latest are one time, as are
// those within an hour of the coolest time of the week before.
func Warms(probes []Probe, neighbours []float64) Warming {
	w := Warming{Week: math.NaN(), Above: math.NaN()}
	var last time.Time
	for _, p := range probes {
		if p.At.After(last) {
			last = p.At
		}
	}
	now := hottest(probes, last)
	if math.IsNaN(now) {
		return w
	}
	w.Verdict = Good
	for _, p := range probes {
		age := last.Sub(p.At)
		if age <= time.Hour || age > 7*day+time.Hour {
			continue
		}
		if rise := now - hottest(probes, p.At); !(rise <= w.Week) {
			w.Week = rise
		}
	}
	if xs := slices.DeleteFunc(slices.Clone(neighbours), math.IsNaN); len(xs) > 0 {
		slices.Sort(xs)
		w.Above = now - (xs[len(xs)/2]+xs[(len(xs)-1)/2])/2
	}
	switch {
	case w.Week >= WarmAlarm || w.Above > AboveAlarm:
		w.Verdict = Alarm
	case w.Week >= WarmWarn:
		w.Verdict = Warn
	case math.IsNaN(w.Week) && math.IsNaN(w.Above):
		w.Verdict = CannotTell
	}
	return w
}

// hottest is the highest probe within an hour of an instant, NaN without.
func hottest(probes []Probe, at time.Time) float64 {
	top := math.NaN()
	for _, p := range probes {
		if p.At.Sub(at).Abs() <= time.Hour && !(p.Celsius <= top) && !math.IsNaN(p.Celsius) {
			top = p.Celsius
		}
	}
	return top
}
