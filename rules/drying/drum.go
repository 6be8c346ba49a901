package drying

import (
	"math"
	"slices"
	"time"
)

// Run is one load in one drum, as known at the instant of looking: whoever looks cuts the slices
// there. Slices are in time order. The zero value forecasts nothing.
type Run struct {
	Readings []Reading
	Air      []Air
	Stops    []Stop
	Weights  []Weight
	DryKg    float64 // dry matter in the drum; 0: worked out from weights read near readings
	Target   float64 // percent wet basis
	Past     Past
}

const (
	confidence = 0.80
	tooFar     = 1000.0 // hours: longer than any drum is kept waiting for
	wettest    = 45.0   // percent wet basis: above it there is water outside the bean
)

// How wide a window is, set on made-up drums of many kinds, with and without a past.
const (
	sooner = 0.9 // standard errors from the likely end to the early one
	later  = 1.1 // and to the late one: hours left are a quotient, whose tail is late
	judged = 0.9 // of the variance of a reading that the end by readings has
	fired  = 1.5 // on the variance of the fire to come
)

// Forecast says when the run will reach its target. It rests on what is in r and on nothing else:
// the same readings give the same instants, whenever asked.
func (r Run) Forecast() Forecast {
	f := Forecast{Status: FewReadings, Slope: math.NaN()}
	readings := r.weighed()
	if len(readings) == 0 {
		return f
	}
	l := newLook(&r, readings)
	f.Reason = l.reason(&r)
	last := readings[len(readings)-1]
	switch {
	case !l.enough():
	case last.Moisture > wettest:
		f.Status = SurfaceWater
	default:
		l.follow(&f, drumBelief(r.Past, l.usual.noInlet))
		f.Status = l.judge(&f, dry(r.Target))
		l.window(&f, dry(r.Target), r.Past.widen())
	}
	if l.open() {
		f.Status = FireOut
	}
	f.Next = next(&f, last, r.Target)
	return f
}

// look is a run made ready: its air, its clock, its readings sifted.
type look struct {
	held  belief
	zero  time.Time
	usual usual
	dials []dial
	stops []Stop // logged and found
	clock clock
	scale scale
	bank  bank
	sifted
	word   *word   // of earlier lots; nil: none
	fickle float64 // variance, in hours² of work, that an hour of work to come has besides
}

// newLook reads the air first, for the clock; the clock gives each reading its work; sifting may
// find stops, and then the clock is made anew. There is at least one reading.
func newLook(r *Run, readings []Reading) *look {
	l := &look{zero: readings[0].At, stops: merged(r.Stops)}
	l.usual, l.dials = usualAir(l.zero, r, l.stops)
	l.clock = newClock(l.zero, &l.usual, l.dials, l.stops)
	all := make([]seen, len(readings))
	for i, x := range readings {
		all[i] = ready(x)
		all[i].work = l.clock.work(l.clock.hours(x.At))
	}
	l.scale = newScale(l.usual, all[0].m, all[len(all)-1].m)
	for i := range all {
		all[i].age, all[i].slope = l.scale.at(law, all[i].m)
	}
	l.sifted = sift(all)
	if len(l.found) > 0 {
		l.stops = merged(append(slices.Clone(l.stops), l.found...))
		l.clock = newClock(l.zero, &l.usual, l.dials, l.stops)
		for i := range l.kept {
			l.kept[i].work = l.clock.work(l.clock.hours(l.kept[i].at))
		}
	}
	return l
}

// follow runs the readings through the bank and draws the curve.
func (l *look) follow(f *Forecast, held belief) {
	l.held = held
	l.bank.follow(&l.scale, l.kept, held, &l.usual.moods, l.word)
	f.curve = draw(l.clock, l.scale, &l.bank, l.now())
	f.Slope = f.curve.slope()
	f.Reason.Bed = l.bed()
}

// now is the work at the last reading kept.
func (l *look) now() float64 { return l.kept[len(l.kept)-1].work }

// enough tells whether there are readings to forecast from: four over three hours, or eight over
// one. Fewer, or four in a row, show the meter's error and not the drying.
func (l *look) enough() bool {
	n := len(l.kept)
	span := l.kept[n-1].at.Sub(l.zero)
	return n >= 4 && span >= 3*time.Hour || n >= 8 && span >= time.Hour
}

// open tells whether a logged stop has not ended.
func (l *look) open() bool {
	n := len(l.stops)
	return n > 0 && l.stops[n-1].To.IsZero()
}

// bed is the bed factor by the bank.
func (l *look) bed() float64 {
	pace := 0.0
	for i := range l.bank {
		pace += l.bank[i].weight * max(l.bank[i].pace, slowest)
	}
	return 1 / pace
}

// window puts the three instants into a forecast, if there is an answer. It is as wide as the bank
// is unsure, at least of where the coffee stands now, as the fire to come is, and by the reading
// that will judge the end: a crossing midway between two readings has half the variance of one, and
// the last of several crossings more. Nearer to the equilibrium than four errors of a reading,
// where the fall is next to none, that grows no more.
func (l *look) window(f *Forecast, target, widen float64) {
	if f.Status == Unreachable || l.open() || !f.curve.drawn() {
		return
	}
	likely := f.curve.until(target)
	if likely > tooFar {
		f.Status = Unreachable
		return
	}
	_, v := l.bank.left(&l.scale, f.curve.now)
	if likely > 0 {
		_, ahead := l.bank.left(&l.scale, target)
		v = max(v, ahead)
	}
	v += l.fickle * max(0, likely)
	sigma := l.kept[len(l.kept)-1].sigma[0]
	v += judged * sq(sigma*f.curve.perPoint(max(target, l.usual.me+4*sigma)))
	v += fired * l.usual.unsure() * sq(max(0, likely))
	half := min(widen*math.Sqrt(v), tooFar)
	at := func(work float64) time.Time {
		return l.zero.Add(hoursOf(l.clock.when(l.now() + work)))
	}
	f.Early, f.Likely, f.Late = at(early(likely, sooner*half)), at(likely), at(likely+later*half)
	f.Confidence = confidence
}

// early is half a width before the likely end. Nothing is over before the last reading, so where
// less than four halves of a width are left it shrinks toward that, like r²/(r/2+h) for r hours
// left and half a width of h: the two meet with one slope, and both keep the window of a drier
// target from opening sooner.
func early(likely, half float64) float64 {
	if half <= likely/4 || likely <= 0 {
		return likely - half
	}
	return .5625 * likely * likely / (likely/2 + half)
}

// reason gathers the facts known before the readings are followed.
func (l *look) reason(r *Run) Reason {
	out := Reason{Used: len(l.kept), Odd: l.odd, Torn: l.torn,
		Equilibrium: wet(l.usual.me), Air: l.usual.inlet,
		AirAssumed: l.usual.noInlet, DampAssumed: l.usual.noRH, Stoked: l.usual.since,
		Bed: math.NaN(), Expected: math.NaN(),
		BedPast: 1 / drumBelief(r.Past, false).pace, PastRuns: r.Past.Taught,
		PastWeight: r.Past.Weight}
	if !l.usual.noInlet {
		out.Air = math.Round(10*l.usual.fire.inlet) / 10
	}
	if n := len(l.stops); n > 0 {
		out.Stop = l.stops[n-1]
		for _, s := range l.found {
			out.StopFound = out.StopFound || s.From.Equal(out.Stop.From)
		}
	}
	if cold, ok := l.lastCold(); ok && cold.From.After(out.Stop.From) {
		out.Stop, out.StopFound = cold, true
	}
	return out
}

// lastCold is the last stretch in which the dial was seen down though no stop was logged; zero To:
// nobody has seen it up since.
func (l *look) lastCold() (Stop, bool) {
	floor, cold := down(l.usual.inlet, l.usual.ambient), Stop{}
	for i := len(l.dials) - 1; i >= 0; i-- {
		at := l.zero.Add(hoursOf(l.dials[i].t))
		switch {
		case l.dials[i].inlet <= floor:
			cold.From = at
		case !cold.From.IsZero():
			return cold, true
		default:
			cold.To = at
		}
	}
	return cold, !cold.From.IsZero()
}
