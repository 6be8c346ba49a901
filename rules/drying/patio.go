package drying

import (
	"math"
	"slices"
	"time"
)

// Weather is the air over a patio at an instant. NaN stands for what was not read.
type Weather struct {
	At    time.Time
	TempC float64
	RH    float64 // 0..1
	Rain  float64 // mm since the row before; NaN or 0: none
}

// Patio is one lot spread out to dry, as known at the instant of looking. Slices are in time
// order. The zero value forecasts nothing.
type Patio struct {
	Readings []Reading
	Weather  []Weather
	Covers   []Stop         // under cover, or heaped; one still open is taken off at seven next day
	Turned   []time.Time    // when it was raked; none: as often as it should be
	DepthCm  float64        // of the layer; 0: 3 cm
	Target   float64        // percent wet basis
	Zone     *time.Location // whose clock makes days and nights; nil: that of the first reading
	Past     PatioPast
}

// PatioPast is what a site taught in earlier lots: [Past], with the site for the drum. Make it
// with [LearnPatio].
type PatioPast = Past

// EndedPatio is an earlier lot and when it reached its target; zero End: where readings crossed.
type EndedPatio struct {
	Patio Patio
	End   time.Time
}

// A layer of washed parchment, drained (Oliveros and others 2006, Cenicafé Avance Técnico 353:
// 60 kg on 3.3 m² at 3 cm) and dry (399 kg/m³, a roaster's page; 380 from memory, verify).
const (
	usualDepth  = 3.0 // cm
	wetDensity  = 606.0
	wetMoisture = 53.0
	dryDensity  = 399.0
	dryMoisture = 11.0
)

// PatioArea is the ground in m² that kg of parchment of a moisture, percent wet basis, cover at a
// depth in cm. The density between wet and dry goes straight with the dry basis. NaN for a depth,
// mass or moisture that cannot be.
func PatioArea(kg, depthCm, moisture float64) float64 {
	if !(kg >= 0 && depthCm > 0 && moisture >= 0 && moisture < 90) {
		return math.NaN()
	}
	share := (dry(moisture) - dry(dryMoisture)) / (dry(wetMoisture) - dry(dryMoisture))
	return kg / ((dryDensity + share*(wetDensity-dryDensity)) * depthCm / 100)
}

// patioBelief is what is held of a site before its lots taught more. Washed coffee went from 50 to
// 11.5 % in 8 days (Resende and others 2011, RBPA 13:177), which is 0.425 a day; published days
// for washed coffee run from 6 to 14. On a clock of deficit, with nine hours and a quarter of 1 kPa
// after the dew of a clear day, that is 2.3 times the thin-layer pace of shaded air: the sun heats
// the layer.
var patioBelief = belief{2.3, .35, [shapes]float64{.55, .10, .10, .20, .05}, .5}

// Forecast says when the lot will reach its target. It takes the coming days to be like the last
// three at first and then like the site's common day; its instants are the beginning, middle and
// end of half-days, six to noon and noon to six. It needs three readings, or two where earlier lots
// have taught the site's pace; those of ten to seven o'clock count, after the dew and before it.
// There is no fire, so its statuses are good, few-readings, stalling and unreachable; Slope is per
// hour at a deficit of 1 kPa.
func (p Patio) Forecast() Forecast {
	f, zone := p.exact()
	f.Early, _, _ = halfDay(f.Early, zone)
	_, f.Likely, _ = halfDay(f.Likely, zone)
	_, _, f.Late = halfDay(f.Late, zone)
	return f
}

// exact is the forecast before it is rounded.
func (p Patio) exact() (Forecast, *time.Location) {
	f := Forecast{Status: FewReadings, Slope: math.NaN()}
	r := Run{Readings: p.Readings, Target: p.Target}
	readings := r.weighed()
	if len(readings) == 0 {
		return f, nil
	}
	l, sky := p.look(readings)
	f.Reason = Reason{Used: len(readings), Equilibrium: wet(l.usual.me), Air: l.usual.inlet,
		AirAssumed: l.usual.noInlet, DampAssumed: l.usual.noRH, Bed: math.NaN(),
		Expected: math.NaN(), BedPast: 1 / p.Past.over(patioBelief).pace,
		PastRuns: p.Past.Taught, PastWeight: p.Past.Weight}
	last := readings[len(readings)-1]
	f.Next = sky.afternoon(last.At)
	if len(readings) < 3 && (len(readings) < 2 || p.Past.Taught == 0) {
		return f, sky.zone
	}
	l.word = p.Past.took.word(l)
	l.follow(&f, p.held())
	switch f.Status = l.judge(&f, dry(p.Target)); f.Status {
	case FireOut: // there is none: it just does not dry
		f.Status = Stalling
	case HeatingQuick:
		f.Status = Good
	}
	l.window(&f, dry(p.Target), p.Past.widen())
	if last.Moisture <= p.Target {
		f.Next = time.Time{}
	}
	return f, sky.zone
}

// held is what is believed of the site for a layer of this depth: twice as deep, half the pace.
func (p *Patio) held() belief {
	held := p.Past.over(patioBelief)
	if p.DepthCm > 0 && p.Past.Taught == 0 {
		held.pace *= min(2, max(.4, usualDepth/p.DepthCm))
	}
	return held
}

const (
	fickleSky = 0.3 // of an hour of work to come: a day gives a fifth more or less than the last
	wetNight  = 4.0 // hours² of work: a night in the open gives back one to three points
	wetRain   = 9.0 // hours² of work: rain on the open layer
)

// look makes the lot ready. Nothing is sifted: a patio may well take up water.
func (p *Patio) look(readings []Reading) (*look, *sky) {
	s := newSky(p, readings)
	readings = s.daily(readings)
	l := &look{zero: readings[0].At, usual: s.usual, clock: s.clock, fickle: fickleSky}
	l.kept = make([]seen, len(readings))
	for i, x := range readings {
		l.kept[i] = ready(x)
		l.kept[i].work = l.clock.work(l.clock.hours(x.At))
		if i > 0 {
			l.kept[i].slack = s.wetting(readings[i-1].At, x.At)
		}
	}
	l.scale = newScale(l.usual, l.kept[0].m, l.kept[len(readings)-1].m)
	for i := range l.kept {
		l.kept[i].age, l.kept[i].slope = l.scale.at(law, l.kept[i].m)
	}
	return l, s
}

// halfDay is the beginning, middle and end of the half-day in which an instant lies; the night
// goes with the half-day next to it. A zero instant stays zero.
func halfDay(at time.Time, zone *time.Location) (from, middle, to time.Time) {
	if at.IsZero() {
		return at, at, at
	}
	at = at.In(zone)
	from = time.Date(at.Year(), at.Month(), at.Day(), 6, 0, 0, 0, zone)
	if at.Hour() >= 12 {
		from = from.Add(6 * time.Hour)
	}
	return from, from.Add(3 * time.Hour), from.Add(6 * time.Hour)
}

// LearnPatio sums up the earlier lots of one site, in time order. Each is forecast again at three,
// two, one and half a day before its end, knowing only the lots before it.
func LearnPatio(past []EndedPatio) PatioPast {
	p := pupil{published: patioBelief, runSpread: lotSpread, scores: slices.Clone(firstScores[:])}
	for _, e := range past {
		if e.End.IsZero() {
			e.End, _ = Run{Readings: e.Patio.Readings, Target: e.Patio.Target}.Reached()
		}
		e.Patio.Past = p.past()
		p.runs++
		if e.End.IsZero() {
			continue
		}
		p.takeScores(e.End, []float64{72, 48, 24, 12}, func(at time.Time) Forecast {
			then := e.Patio.Until(at)
			then.Past.Widen = 0
			f, _ := then.exact()
			return f
		})
		e.Patio = e.Patio.Until(e.End)
		if readings := (&Run{Readings: e.Patio.Readings}).weighed(); len(readings) >= 3 {
			l, s := e.Patio.look(readings)
			p.skies = append(p.skies, s.days(e.End))
			p.took.add(e.End.Sub(readings[0].At).Hours(), e.Patio.Target)
			p.takePace(l, e.Patio.held())
		}
	}
	return p.past()
}

// Until is the lot as it was known at an instant.
func (p Patio) Until(at time.Time) Patio {
	r := Run{Readings: p.Readings, Stops: p.Covers}.Until(at)
	p.Readings, p.Covers = r.Readings, r.Stops
	p.Weather = p.Weather[:through(p.Weather, at, func(x Weather) time.Time { return x.At })]
	p.Turned = p.Turned[:through(p.Turned, at, func(x time.Time) time.Time { return x })]
	return p
}
