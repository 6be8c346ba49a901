package rest

import (
	"math"
	"slices"
	"time"
)

// Kind is how the coffee lies, which sets how fast it follows the air before it has shown it.
type Kind int8

const (
	Bulk Kind = iota // silo or deep heap
	Bags             // sacks, or a heap's edge
)

// Sample is the mean moisture of a lot in % w.b. at an instant and its standard error in points;
// an Error of 0 stands for 0.3, a good meter on a cooled sample.
type Sample struct {
	At       time.Time
	Moisture float64
	Error    float64
}

// Air is a reading of the store's air: °C and relative humidity 0 to 1.
type Air struct {
	At                time.Time
	Celsius, Humidity float64
}

// Lot is coffee at rest in one place: samples and air in any order, and what earlier lots of the
// same kind taught (nil: none). Samples before the first reading of the air are matched with it.
type Lot struct {
	Kind    Kind
	Samples []Sample
	Air     []Air
	Past    *Past
}

// Past is what earlier lots of one kind in one store taught about how fast they follow the air.
type Past struct {
	like [rates]float64
	lots int
}

// Drift is where the moisture of a lot goes. The zero value, and a Drift whose Known is false,
// tells nothing: a sample or the air is missing.
type Drift struct {
	Known       bool
	Equilibrium float64 // % w.b. with the mean air of the last week
	Rate        float64 // a day, the share of the distance made good; geometric mean
	Lots        int     // earlier lots that taught the rate
	Since       time.Time

	ends    [rates]end
	settled float64 // equilibrium on the dry basis
}

// end is the state after the last sample under one rate.
type end struct{ weight, rate, moisture, variance float64 }

const (
	rates       = 18
	fastest     = 3.0  // days to make good 63 % of the distance, first of the lattice
	rateStep    = 1.35 // from one to the next
	curveError  = 0.54 // % d.b., of the isotherm (Trejos et al. 1989)
	meterError  = 0.30 // points
	wander      = 0.05 // % d.b. in the root of a day that no law explains, a guess
	bulkDays    = 30.0
	bulkDoubt   = 0.9 // standard deviation of the logarithm
	bagDays     = 7.0
	bagDoubt    = 0.6
	day         = 24 * time.Hour
	airSpan     = 7 * day
	farthest    = 180 // days ahead that are looked at
	other       = 4.0 // standard errors over which a sample is of other coffee than was foreseen
	tenthToMean = 1.2815515655446004
)

// Learn makes a Past of the drift of earlier lots of one kind; nil when none taught anything.
func Learn(lots []Lot) *Past {
	var p *Past
	for _, l := range lots {
		ends, ok := l.filter()
		if !ok || len(l.Samples) < 2 {
			continue
		}
		if p == nil {
			p = &Past{}
		}
		p.lots++
		for i, e := range ends {
			p.like[i] += e.weight
		}
	}
	return p
}

// Drift tells where the moisture of the lot goes.
func (l Lot) Drift() Drift {
	ends, ok := l.filter()
	if !ok {
		return Drift{}
	}
	d := Drift{Known: true, ends: ends}
	d.settled = l.toCome()
	d.Equilibrium = wet(d.settled)
	for _, s := range l.Samples {
		if s.At.After(d.Since) {
			d.Since = s.At
		}
	}
	days, doubt := bulkDays, bulkDoubt
	if l.Kind == Bags {
		days, doubt = bagDays, bagDoubt
	}
	if l.Past != nil {
		d.Lots = l.Past.lots
	}
	top := math.Inf(-1)
	for i := range d.ends {
		e := &d.ends[i]
		off := math.Log(1/e.rate/days) / doubt
		e.weight -= off * off / 2
		if l.Past != nil {
			e.weight += l.Past.like[i]
		}
		top = max(top, e.weight)
	}
	sum, logs := 0.0, 0.0
	for i := range d.ends {
		e := &d.ends[i]
		e.weight = math.Exp(e.weight - top)
		sum, logs = sum+e.weight, logs+e.weight*math.Log(e.rate)
	}
	for i := range d.ends {
		d.ends[i].weight /= sum
	}
	d.Rate = math.Exp(logs / sum)
	return d
}

// At is the moisture in % w.b. at an instant not before the last sample: the middle, and the 10 and
// 90 % points. NaN where the drift is not known.
func (d Drift) At(at time.Time) (low, likely, high float64) {
	if !d.Known {
		return math.NaN(), math.NaN(), math.NaN()
	}
	days := max(at.Sub(d.Since).Hours()/24, 0)
	mean, square, within := 0.0, 0.0, 0.0
	for _, e := range d.ends {
		m, v := e.after(days, d.settled)
		mean, square, within = mean+e.weight*m, square+e.weight*m*m, within+e.weight*v
	}
	sd := math.Sqrt(within + max(square-mean*mean, 0))
	return wet(max(mean-tenthToMean*sd, 0)), wet(mean), wet(mean + tenthToMean*sd)
}

// after is the state so many days later with the air at one equilibrium. The isotherm's own error
// comes in as far as the coffee has followed it.
func (e end) after(days, settled float64) (moisture, variance float64) {
	left := math.Exp(-e.rate * days)
	doubt := curveError * (1 - left)
	return settled + (e.moisture-settled)*left,
		e.variance*left*left + wander*wander*days + doubt*doubt
}

// Reaches is when the moisture comes to a limit in % w.b., from whichever side it is on now: early,
// likely and late. Each is zero if that is not within 180 days of the last sample, and the instant
// of the last sample if it is there already.
func (d Drift) Reaches(limit float64) (early, likely, late time.Time) {
	low, now, high := d.At(d.Since)
	rising := now < limit
	passed := func(x float64) bool { return x >= limit == rising || x == limit }
	pick := [3]func(a, b, c float64) float64{
		func(low, _, high float64) float64 { return or(rising, high, low) },
		func(_, mid, _ float64) float64 { return mid },
		func(low, _, high float64) float64 { return or(rising, low, high) },
	}
	var out [3]time.Time
	for i, side := range pick {
		if passed(side(low, now, high)) {
			out[i] = d.Since
			continue
		}
		for n := 1; d.Known && n <= farthest; n++ {
			if to := d.Since.Add(time.Duration(n) * day); passed(side(d.At(to))) {
				out[i] = d.narrow(to, func(at time.Time) bool { return passed(side(d.At(at))) })
				break
			}
		}
	}
	return out[0], out[1], out[2]
}

// narrow finds the hour within the day before to at which passed turns true.
func (d Drift) narrow(to time.Time, passed func(time.Time) bool) time.Time {
	from := to.Add(-day)
	for to.Sub(from) > time.Hour {
		mid := from.Add(to.Sub(from) / 2)
		if passed(mid) {
			to = mid
		} else {
			from = mid
		}
	}
	return to.Truncate(time.Minute)
}

func or(first bool, a, b float64) float64 {
	if first {
		return a
	}
	return b
}

// filter runs the samples under each rate; weight comes back as log likelihood.
func (l *Lot) filter() (ends [rates]end, ok bool) {
	samples, air := l.ordered()
	if len(samples) == 0 || len(air) == 0 {
		return ends, false
	}
	for i := range ends {
		e := end{rate: 1 / (fastest * math.Pow(rateStep, float64(i)))}
		e.moisture, e.variance = samples[0].dry()
		for j, s := range samples[1:] {
			e.pass(air, samples[j].At, s.At)
			e.see(s)
		}
		ends[i] = e
	}
	return ends, true
}

// pass moves the state over the air between two samples.
func (e *end) pass(air []Air, from, to time.Time) {
	before, total := from, 0.0
	for i, a := range air {
		until := to
		if i+1 < len(air) && air[i+1].At.Before(to) {
			until = air[i+1].At
		}
		if days := until.Sub(before).Hours() / 24; days > 0 {
			left := math.Exp(-e.rate * days)
			me := settled(a.Celsius, a.Humidity)
			e.moisture = me + (e.moisture-me)*left
			total += days
			before = until
		}
	}
	left := math.Exp(-e.rate * total)
	doubt := curveError * (1 - left)
	e.variance = e.variance*left*left + wander*wander*total + doubt*doubt
}

// see takes in one sample.
func (e *end) see(s Sample) {
	m, v := s.dry()
	off, all := m-e.moisture, e.variance+v
	if off*off > other*other*all { // no drift of this lot: it was added to, or the first was wrong
		e.moisture, e.variance = m, v
		e.weight -= other * other / 2
		return
	}
	e.weight -= (off*off/all + math.Log(all)) / 2
	gain := e.variance / all
	e.moisture += gain * off
	e.variance *= 1 - gain
}

// dry is the sample on the dry basis, and its variance.
func (s Sample) dry() (moisture, variance float64) {
	sd := s.Error
	if sd == 0 {
		sd = meterError
	}
	sd *= 1e4 / ((100 - s.Moisture) * (100 - s.Moisture))
	return dry(s.Moisture), sd * sd
}

// toCome is the mean equilibrium of the last week of air, % d.b.: one reading would be that of
// an hour.
func (l *Lot) toCome() float64 {
	_, air := l.ordered()
	last, sum, n := air[len(air)-1].At, 0.0, 0.0
	for _, a := range air {
		if last.Sub(a.At) <= airSpan {
			sum, n = sum+settled(a.Celsius, a.Humidity), n+1
		}
	}
	return sum / n
}

// ordered gives samples and air by instant, leaving out what is not a number. What is in order
// already is given as it stands, and must not be changed.
func (l *Lot) ordered() ([]Sample, []Air) {
	return inOrder(l.Samples, func(s Sample) (time.Time, bool) {
			return s.At, s.Moisture > 0 && s.Moisture < 100
		}), inOrder(l.Air, func(a Air) (time.Time, bool) {
			return a.At, a.Humidity >= 0 && a.Humidity <= 1 && !math.IsNaN(a.Celsius)
		})
}

// inOrder gives rows by their instants, without those that are not fit.
func inOrder[R any](rows []R, read func(R) (at time.Time, fit bool)) []R {
	var last time.Time
	good := true
	for _, r := range rows {
		at, fit := read(r)
		if good = fit && !at.Before(last); !good {
			break
		}
		last = at
	}
	if good {
		return rows
	}
	rows = slices.DeleteFunc(slices.Clone(rows), func(r R) bool { _, fit := read(r); return !fit })
	slices.SortStableFunc(rows, func(a, b R) int {
		x, _ := read(a)
		y, _ := read(b)
		return x.Compare(y)
	})
	return rows
}
