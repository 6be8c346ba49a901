package rules

import (
	"time"

	"lotbell/rules/ferment"
	"lotbell/state"
)

// tankAhead is the forecast of a tank's stay, as it can be made from what counts at the view's
// instant.
func (v *View) tankAhead() *ferment.Forecast {
	if v.tankIs != nil {
		return v.tankIs
	}
	if v.stay == nil || v.stay.Kind != state.Tank {
		v.tankIs = &ferment.Forecast{}
		return v.tankIs
	}
	v.know.refresh(v.mill, v.book)
	past, lesson := v.tankLesson()
	v.tankIs = keep(v.know.tanks, v.stay.ID, v.basis(lesson), func() ferment.Forecast {
		t := v.tankOf(v.stay, v.at)
		t.Past = past
		return t.Forecast()
	})
	return v.tankIs
}

// tankOf is a stay in a tank in the plain numbers of the computation, without what past ones
// taught.
func (v *View) tankOf(s *state.Stay, at state.Instant) ferment.Tank {
	t := ferment.Tank{Name: s.Place, Class: s.Tag("class"),
		Site: v.tankSite(s.Place, at)}
	for _, l := range s.Loads {
		if l.At <= at {
			t.Loads = append(t.Loads, ferment.Load{At: l.At.Time(), Kg: l.Mass.Kg()})
		}
	}
	var at0 state.Instant
	n := 0.0 // temperatures of the same instant so far
	for _, e := range v.mill.During(s, at) {
		if !e.Concerns(s) {
			continue
		}
		r := ferment.NewReading(e.At.Time())
		if e.At == at0 && len(t.Readings) > 0 {
			r = t.Readings[len(t.Readings)-1]
			t.Readings = t.Readings[:len(t.Readings)-1]
		} else {
			n = 0
		}
		if !tankReading(&r, e.Body, &n) && e.At != at0 {
			continue
		}
		at0 = e.At
		t.Readings = append(t.Readings, r)
	}
	return t
}

// tankReading adds what one event says to a reading; several temperatures of one instant are
// depths, and count as their mean.
func tankReading(r *ferment.Reading, b state.Body, n *float64) bool {
	switch b := b.(type) {
	case state.Reading:
		switch b.What {
		case state.MassC:
			if *n == 0 {
				r.Mass = 0
			}
			r.Mass = (r.Mass**n + b.Value) / (*n + 1)
			*n++
		case state.AmbientC:
			r.Ambient = b.Value
		case state.PH:
			r.PH = b.Value
		default:
			return false
		}
		return true
	case state.Note:
		switch b.What {
		case state.Rough:
			r.Hand = ferment.Rough
		case state.Slippery:
			r.Hand = ferment.Slippery
		default:
			return false
		}
		return true
	}
	return false
}

// airMean is how many of the last readings of the air make its mean: a day of hourly ones.
const airMean = 24

// tankSite is what the mill has said about itself and one of its tanks. The air is the mean of its last readings and so
// does not change with the clock.
func (v *View) tankSite(tank string, at state.Instant) ferment.Site {
	s := ferment.NewSite()
	if p, ok := v.mill.Place(tank); ok {
		s.Cool = p.Cover == "covered" || p.Cover == "water"
	}
	if x, ok := v.mill.Setting(state.SetAltitude); ok {
		s.Altitude = x.Number
	}
	if x, ok := v.mill.Setting(state.SetUsual); ok {
		s.UsualWarm = time.Duration(x.Number * float64(time.Hour))
	}
	if x, ok := v.mill.Setting(state.SetUsualCold); ok {
		s.UsualCold = time.Duration(x.Number * float64(time.Hour))
	}
	l := v.mill.Line(v.airPlace(), at)
	sum, n := 0.0, 0
	for i := len(l) - 1; i >= 0 && n < airMean; i-- {
		if r, ok := l[i].Body.(state.Reading); ok && r.What == state.AmbientC {
			sum, n = sum+r.Value, n+1
		}
	}
	if n > 0 {
		s.Ambient = sum / float64(n)
	}
	return s
}

// tankFacts are the forecast of a tank.
func tankFacts() []*Fact {
	on := []string{"tank", OnGuard}
	at := func(name, doc string, f func(x *ferment.Forecast) time.Time) *Fact {
		return &Fact{Name: name, On: on, Unit: Moment, Doc: doc,
			get: func(v *View) Value { return moment(state.At(f(v.tankAhead()))) }}
	}
	return []*Fact{
		at("first_test", "when hand tests should begin",
			func(x *ferment.Forecast) time.Time { return x.FirstTest }),
		at("next_test", "when the next hand test is due, the first one included; "+
			"cannot be told once it is rough",
			func(x *ferment.Forecast) time.Time { return x.NextTest }),
		at("spoil_warn", "when the oldest fruit begins to be late",
			func(x *ferment.Forecast) time.Time { return x.SpoilWarn }),
		at("spoil", "when the oldest fruit spoils",
			func(x *ferment.Forecast) time.Time { return x.Spoil }),
		{Name: "spoil_in", On: on, Unit: Span, Moves: Left,
			Doc: "time left until the oldest fruit spoils; below 0 after it",
			get: func(v *View) Value { return v.until(v.tankAhead().Spoil) }},
		{Name: "ready_time", On: on, Unit: Span, Doc: "from filling to ready at its temperature",
			get: func(v *View) Value { return number(v.tankAhead().ReadyHours * 3600e3) }},
		{Name: "progress", On: on, Unit: Plain, Moves: Curve,
			Doc:   "of the youngest fruit; 1 is ready",
			get:   func(v *View) Value { return number(progressAt(v, v.at)) },
			curve: progressAt},
		{Name: "tank_status", On: on, Unit: Word, Doc: "how far the forecast can be trusted",
			Words: tankStatuses(),
			get:   func(v *View) Value { return word(v.tankAhead().Status.String()) }},
	}
}

// progressAt is the forecast progress at an instant.
func progressAt(v *View, t state.Instant) float64 { return v.tankAhead().ProgressAt(t.Time()) }

// tankStatuses are the words that a tank's forecast may have.
func tankStatuses() []string {
	var out []string
	for s := ferment.Good; s <= ferment.NoSafeHour; s++ {
		out = append(out, s.String())
	}
	return out
}

// until is the time left until an instant; unknown for the zero time.
func (v *View) until(t time.Time) Value {
	if t.IsZero() {
		return unknown()
	}
	return number(float64(state.At(t) - v.at))
}
