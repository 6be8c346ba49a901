package rules

import (
	"time"

	"lotbell/rules/ferment"
	"lotbell/state"
)

// tank is the forecast of a tank's stay, as it can be made from what counts at the view's instant.
func (v *View) tank() ferment.Forecast {
	if v.stay == nil || v.stay.Kind != state.Tank {
		return ferment.Forecast{}
	}
	v.know.refresh(v.mill)
	return keep(v.know.tanks, v.stay.ID, v.basis(), func() ferment.Forecast {
		t := v.tankOf(v.stay, v.at)
		t.Past = v.tankLessons()
		return t.Forecast()
	})
}

// tankOf is a stay in a tank in the plain numbers of the computation.
func (v *View) tankOf(s *state.Stay, at state.Instant) ferment.Tank {
	t := ferment.Tank{Name: s.Place, Class: v.mill.Lot(s.ID.Lot).Tag("class"), Site: v.tankSite()}
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

// tankSite is what the mill has said about itself.
func (v *View) tankSite() ferment.Site {
	s := ferment.NewSite()
	if x, ok := v.mill.Setting(state.SetAltitude); ok {
		s.Altitude = x.Number
	}
	if x, ok := v.mill.Setting(state.SetUsual); ok {
		s.UsualWarm = time.Duration(x.Number * float64(time.Hour))
	}
	if x, ok := v.weather(state.AmbientC); ok {
		s.Ambient = x
	}
	return s
}

// tankLessons is what washed tanks taught that were over when this stay began: so a stay's
// forecast never changes for what other tanks do meanwhile.
func (v *View) tankLessons() *ferment.Past {
	n := 0
	closed := v.mill.Closed(state.Tank)
	for n < len(closed) && closed[n].To <= v.stay.From {
		n++
	}
	k := v.know
	for len(k.tankPast) <= n {
		i := len(k.tankPast)
		if i == 0 {
			k.tankPast = append(k.tankPast, nil)
			continue
		}
		past := k.tankPast[i-1]
		if s := closed[i-1]; v.teaches(s) {
			past = past.And(ferment.Stay{Tank: v.tankOf(s, s.To), Washed: s.To.Time()})
		}
		k.tankPast = append(k.tankPast, past)
	}
	return k.tankPast[n]
}

// teaches says whether a tank's end says something about fermentation.
func (v *View) teaches(s *state.Stay) bool {
	process := v.mill.Lot(s.ID.Lot).Tag("process")
	return s.Left == state.ActWash && (process == "" || process == "washed")
}

// tankFacts are the forecast of a tank.
func tankFacts() []*Fact {
	on := []string{"tank", OnGuard}
	at := func(name, doc string, f func(x ferment.Forecast) time.Time) *Fact {
		return &Fact{Name: name, On: on, Unit: Moment, Doc: doc,
			get: func(v *View) Value { return moment(state.At(f(v.tank()))) }}
	}
	return []*Fact{
		at("first_test", "when hand tests should begin",
			func(x ferment.Forecast) time.Time { return x.FirstTest }),
		at("next_test", "when the next hand test is due, the first one included; "+
			"cannot be told once it is rough",
			func(x ferment.Forecast) time.Time { return x.NextTest }),
		at("spoil_warn", "when the oldest fruit begins to be late",
			func(x ferment.Forecast) time.Time { return x.SpoilWarn }),
		at("spoil", "when the oldest fruit spoils",
			func(x ferment.Forecast) time.Time { return x.Spoil }),
		{Name: "ready_time", On: on, Unit: Span, Doc: "from filling to ready at its temperature",
			get: func(v *View) Value { return number(v.tank().ReadyHours * 3600e3) }},
		{Name: "progress", On: on, Unit: Plain, Moves: Curve, Doc: "of the youngest fruit; 1 is ready",
			get:   func(v *View) Value { return number(v.tank().ProgressAt(v.at.Time())) },
			curve: func(v *View, t state.Instant) float64 { return v.tank().ProgressAt(t.Time()) }},
		{Name: "tank_status", On: on, Unit: Word, Doc: "how far the forecast can be trusted",
			get: func(v *View) Value { return word(v.tank().Status.String()) }},
	}
}
