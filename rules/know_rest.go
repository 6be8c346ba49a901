package rules

import (
	"math"
	"time"

	"lotbell/rules/rest"
	"lotbell/state"
)

// Rest is what is known of coffee at rest in a silo or a store: how long it has to lie, where its
// moisture goes in the air of the store, whether it is safe, cool and even, and what airing it
// with the air outside would do. Figures that cannot be told are NaN, verdicts rest.CannotTell.
type Rest struct {
	From    time.Time // may be prepared: its days are over
	Days    float64   // that its class has to rest
	Drift   rest.Drift
	Water   rest.Water
	Warming rest.Warming
	Even    rest.Evenness
	Airing  rest.Airing
}

// Rest judges the coffee of a silo or a store at the view's instant.
func (v *View) Rest() Rest {
	r := Rest{Days: v.restDays(), Drift: *v.driftAhead(), Water: v.water(), Warming: v.warming(),
		Even: rest.Even(v.samples()), Airing: v.airing()}
	if v.stay != nil {
		r.From, _ = rest.Period(v.stay.From.Time(), int(math.Ceil(r.Days)), 0)
	}
	return r
}

// restDays are the days that the class of the view's coffee has to rest, by the book.
func (v *View) restDays() float64 {
	if v.stay != nil {
		own := v.mill.Lot(v.stay.ID.Lot).Tag("class")
		if l, ok := v.book.Limits["rest_"+own]; ok {
			return l.Value
		}
	}
	if l, ok := v.book.Limits["rest_normal"]; ok {
		return l.Value
	}
	return rest.LeastDays
}

// driftAhead is where the moisture of a resting stay goes, as far as it can be told at the view's
// instant.
func (v *View) driftAhead() *rest.Drift {
	switch {
	case v.driftIs != nil:
	case v.stay == nil || v.stay.Kind != state.Silo && v.stay.Kind != state.Store:
		v.driftIs = &rest.Drift{}
	default:
		v.know.refresh(v.mill, v.book)
		past, lesson := v.restLesson()
		v.driftIs = keep(v.know.drifts, v.stay.ID, v.basis(lesson), func() rest.Drift {
			l := v.restOf(v.stay, v.at)
			l.Past = past
			return l.Drift()
		})
	}
	return v.driftIs
}

// driftAt is the likely moisture at an instant, % w.b.; NaN where it is not known.
func (v *View) driftAt(t state.Instant) float64 {
	_, likely, _ := v.driftAhead().At(t.Time())
	return likely
}

// restOf is a stay at rest in the plain numbers of the computation, without what past ones taught.
func (v *View) restOf(s *state.Stay, at state.Instant) rest.Lot {
	l := rest.Lot{Air: v.storeAir(s, at)}
	if s.Kind == state.Store {
		l.Kind = rest.Bags
	}
	for _, m := range v.moistures(s, at) {
		l.Samples = append(l.Samples, rest.Sample{At: m.At, Moisture: m.Moisture, Error: m.Sigma})
	}
	return l
}

// airEvery is the span over which readings of the store's air are put together: coffee in bulk
// follows the air over weeks, and hourly readings of a season are many.
const airEvery = 6 * time.Hour

// storeAir is the air that a stay rests in: what was read at its own place, else in the store, else
// outside. A humidity goes with the temperature last read within the week.
func (v *View) storeAir(s *state.Stay, at state.Instant) []rest.Air {
	var own airRows
	for _, e := range v.mill.During(s, at) {
		if e.Concerns(s) {
			own.add(e)
		}
	}
	if len(own.rows) > 0 {
		return own.rows
	}
	return v.airFrom(s, at)
}

// airFrom is the air outside or in the store while a stay lies in it. What was put together of it
// before is gone on with while the line of the air has only grown.
func (v *View) airFrom(s *state.Stay, at state.Instant) []rest.Air {
	es := v.skyFrom(s.From, at).ahead
	redone, x := v.mill.Redone(v.airPlace()), v.know.rows[s.ID]
	if len(es) == 0 {
		return nil
	}
	same := x.redone == redone && x.first == es[0]
	back := same && x.used > len(es) // a delay looks back
	if !same || back {
		x = airRows{redone: redone, first: es[0]}
	}
	for _, e := range es[x.used:] {
		x.add(e)
	}
	if x.used = len(es); back {
		return x.rows
	}
	if len(v.know.rows) > keptStays {
		clear(v.know.rows)
	}
	v.know.rows[s.ID] = x
	return x.rows
}

// airRows are rows of air made from readings, one a span of [airEvery], the mean of those in it.
type airRows struct {
	rows []rest.Air
	n    float64 // readings in the last row
	warm *state.Event

	first  *state.Event // of those that were used
	used   int
	redone uint64
}

// add adds one more reading; anything else changes nothing.
func (a *airRows) add(e *state.Event) {
	b, ok := e.Body.(state.Reading)
	if ok && b.What == state.AmbientC {
		a.warm = e
	}
	if !ok || b.What != state.AmbientH || a.warm == nil || e.At.Sub(a.warm.At) > aWeek {
		return
	}
	row := rest.Air{At: e.At.Time(), Celsius: a.warm.Body.(state.Reading).Value,
		Humidity: b.Value / 100}
	k := len(a.rows) - 1
	if k < 0 || row.At.Sub(a.rows[k].At) >= airEvery {
		a.rows, a.n = append(a.rows, row), 1
		return
	}
	a.rows[k].Celsius = (a.rows[k].Celsius*a.n + row.Celsius) / (a.n + 1)
	a.rows[k].Humidity = (a.rows[k].Humidity*a.n + row.Humidity) / (a.n + 1)
	a.n++
}

// water is the water activity against the safe limit: measured, else reckoned from the moisture
// now at the heat of the coffee.
func (v *View) water() rest.Water {
	measured := math.NaN()
	if e := v.reading(state.Aw); e != nil {
		measured = v.mean(e, state.Aw)
	}
	return rest.Safe(measured, v.moistureNow(), v.heat())
}

// moistureNow is the moisture by its drift, else as last read, % w.b.
func (v *View) moistureNow() float64 {
	if m := v.driftAt(v.at); !math.IsNaN(m) {
		return m
	}
	return v.lastValue(state.Moisture).Num
}

// heat is the temperature of the coffee, else of the air it lies in, °C.
func (v *View) heat() float64 {
	if c := v.lastValue(state.BeanC).Num; !math.IsNaN(c) {
		return c
	}
	return v.lastValue(state.AmbientC).Num
}

// warming is how the coffee's temperature has risen, and how it stands among its neighbours.
func (v *View) warming() rest.Warming {
	return rest.Warms(v.probes(), v.neighbours())
}

// probes are the temperatures read in the coffee.
func (v *View) probes() []rest.Probe {
	var out []rest.Probe
	for _, e := range v.last {
		if v.reads(e, state.BeanC) {
			out = append(out, rest.Probe{At: e.At.Time(), Celsius: e.Body.(state.Reading).Value})
		}
	}
	return out
}

// neighbours are the temperatures last read within the week in other coffee of the same kind of
// place.
func (v *View) neighbours() []float64 {
	var out []float64
	if v.stay == nil {
		return nil
	}
	for _, s := range v.openAt(v.stay.Kind) {
		if s.ID == v.stay.ID {
			continue
		}
		during := v.mill.During(s, v.at)
		for i := len(during) - 1; i >= 0 && v.at.Sub(during[i].At) <= aWeek; i-- {
			b, ok := during[i].Body.(state.Reading)
			if ok && b.What == state.BeanC && during[i].Concerns(s) {
				out = append(out, b.Value)
				break
			}
		}
	}
	return out
}

// samples are the moistures of the last line that told several, % w.b.; none if no line did.
func (v *View) samples() []float64 {
	var line state.Seq
	var out []float64
	for i := len(v.last) - 1; i >= 0; i-- {
		e := v.last[i]
		switch {
		case !v.reads(e, state.Moisture):
			continue
		case e.Msg == line:
		case len(out) > 1:
			return out
		default:
			line, out = e.Msg, out[:0]
		}
		out = append(out, e.Body.(state.Reading).Value)
	}
	if len(out) < 2 {
		return nil
	}
	return out
}

// airing is what blowing the air outside through the coffee would do. It is judged from readings
// of that air that are young enough, for the band between the mill's target and [rest.BandHigh].
func (v *View) airing() rest.Airing {
	air := rest.Air{At: v.at.Time(), Celsius: math.NaN(), Humidity: math.NaN()}
	if e := v.weatherAt(v.outside(), state.AmbientC); e != nil {
		air.Celsius = e.Body.(state.Reading).Value
	}
	if e := v.weatherAt(v.outside(), state.AmbientH); e != nil {
		air.Humidity = e.Body.(state.Reading).Value / 100
	}
	return rest.Blow(air, v.moistureNow(), v.heat(), min(rest.BandLow, v.target()), rest.BandHigh)
}
