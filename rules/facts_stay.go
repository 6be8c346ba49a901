package rules

import (
	"strings"
	"time"

	"lotbell/state"
)

// stayFacts are true of a stay, whatever the place.
func stayFacts() []*Fact {
	on := stayKinds()
	tag := func(name, none string) func(v *View) Value {
		return func(v *View) Value {
			if v.stay == nil {
				return unknown()
			}
			if t := v.stay.Tag(name); t != "" {
				return word(t)
			}
			return word(none)
		}
	}
	ofStay := func(f func(s *state.Stay, v *View) Value) func(v *View) Value {
		return func(v *View) Value {
			if v.stay == nil {
				return unknown()
			}
			return f(v.stay, v)
		}
	}
	return []*Fact{
		{Name: "held", On: on, Unit: YesNo, Doc: "coffee is there",
			get: func(v *View) Value { return truth(v.stay != nil && v.stay.OpenAt(v.at)) }},
		{Name: "age", On: on, Unit: Span, Moves: Age, Doc: "since the first coffee came",
			get: ofStay(func(s *state.Stay, v *View) Value { return v.since(s.From) })},
		{Name: "came", On: on, Unit: Moment, Doc: "when the first coffee came",
			get: ofStay(func(s *state.Stay, v *View) Value { return moment(s.From) })},
		{Name: "last_in", On: on, Unit: Moment, Doc: "when the youngest coffee came",
			get: ofStay(func(s *state.Stay, v *View) Value { return moment(s.LastIn(v.at)) })},
		{Name: "fill_span", On: on, Unit: Span, Doc: "from the first load to the last",
			get: ofStay(func(s *state.Stay, v *View) Value {
				return number(float64(s.LastIn(v.at) - s.FirstIn()))
			})},
		{Name: "mass_kg", On: on, Unit: Kilo, Doc: "kilograms there, as last weighed",
			get: ofStay(func(s *state.Stay, v *View) Value { return grams(s.MassAt(v.at)) })},
		{Name: "capacity_kg", On: on, Unit: Kilo, Doc: "what the place holds",
			get: func(v *View) Value { p, _ := v.mill.Place(v.place); return grams(p.Capacity) }},
		{Name: "closed", On: on, Unit: YesNo, Doc: "was called full",
			get: ofStay(func(s *state.Stay, v *View) Value {
				return truth(s.Full != 0 && s.Full <= v.at)
			})},
		{Name: "process", On: on, Unit: Word, Doc: "washed unless told: washed, honey, natural",
			get: tag("process", "washed")},
		{Name: "class", On: on, Unit: Word, Doc: "the class; normal unless told",
			get: tag("class", "normal")},
		{Name: "owner", On: on, Unit: Word, Doc: "whose coffee; mill unless told",
			get: tag("owner", "mill")},
		{Name: "claim", On: on, Unit: Word, Doc: "what it is certified as; none unless told",
			get: tag("claim", "none")},
		{Name: "on_hold", On: on, Unit: YesNo, Doc: "the lot is on hold",
			get: ofStay(func(s *state.Stay, v *View) Value {
				h := s.Tag("hold")
				return truth(h != "" && h != "no")
			})},
		{Name: "last_word_age", On: on, Unit: Span, Moves: Age,
			Doc: "since anything was read or noted of it, else since it came",
			get: ofStay(func(s *state.Stay, v *View) Value {
				if n := len(v.last); n > 0 {
					return v.since(v.last[n-1].At)
				}
				return v.since(s.From)
			})},
		{Name: "wet", On: on, Unit: YesNo,
			Doc: "last read over 20 %, or never read and never in a drum",
			get: func(v *View) Value { return v.wet() }},
	}
}

// dialFacts are what the mill has said of the dials of its drums.
func dialFacts() []*Fact {
	return []*Fact{
		{Name: "dial_told", On: []string{"drum", "predryer"}, Unit: YesNo,
			Doc: "the mill has said where the needle sits",
			get: func(v *View) Value {
				p, _ := v.mill.Place(v.place)
				return truth(p.DialWhere != "")
			}},
		{Name: "dial_known", On: []string{"drum", "predryer"}, Unit: YesNo,
			Doc: "the mill has said where the needle sits; cannot be told until then",
			get: func(v *View) Value {
				if p, _ := v.mill.Place(v.place); p.DialWhere != "" {
					return truth(true)
				}
				return unknown()
			}},
		{Name: "air_before_fire_out", On: []string{"drum", "predryer"}, Unit: YesNo,
			Doc: "the fire is out, and the air was last read before it went out",
			get: func(v *View) Value {
				e, read := v.noted(state.FireOut, state.FireLit), v.readAt(state.AirC)
				return truth(e != nil && e.Body.(state.Note).What == state.FireOut && read != 0 &&
					read < e.At)
			}},
	}
}

// wet says whether the coffee of the view's stay is still wet.
func (v *View) wet() Value {
	if v.stay == nil {
		return unknown()
	}
	if hum := v.lastValue(state.Moisture).Num; hum == hum {
		return truth(hum > 20)
	}
	switch v.mill.KindOf(v.stay.Came) {
	case state.Drum, state.Predryer, state.Silo, state.Store:
		return truth(false)
	case state.Waiting: // what came by way of the floor may have left a drum before
		for _, k := range []state.Kind{state.Drum, state.Predryer} {
			for _, s := range v.mill.Closed(k) {
				if s.ID.Lot == v.stay.ID.Lot && s.To <= v.at {
					return truth(false)
				}
			}
		}
	}
	return truth(true)
}

// readingFacts are made by one rule: x is the last value, x_age how old it is, x_slope its change
// an hour, x_known whether there is one.
func readingFacts() []*Fact {
	var out []*Fact
	for _, q := range []struct {
		name, what string
		unit       Unit
		doc        string
	}{
		{"air", state.AirC, Celsius, "air at the dial"}, {"temp", state.MassC, Celsius, "the mass"},
		{"bean", state.BeanC, Celsius, "the coffee itself"},
		{"hum", state.Moisture, Percent, "moisture, % wet basis"},
		{"ph", state.PH, Acidity, "acidity"}, {"aw", state.Aw, Plain, "water activity"},
		{"weight_kg", state.WeightKg, Kilo, "the drum's scale"},
		{"depth_cm", state.Depth, Plain, "the layer, cm"},
		{"ambient", state.AmbientC, Celsius, "the air outside or in the store"},
		{"rh", state.AmbientH, Percent, "relative humidity of that air"},
	} {
		what, on := q.what, stayKinds()
		moves, next := Still, func(*View) state.Instant { return 0 }
		if ofAir(what) {
			moves, next = Steps, func(v *View) state.Instant { return v.airEnds(what) }
		}
		out = append(out,
			&Fact{Name: q.name, On: on, Unit: q.unit, Moves: moves, Doc: "last reading of " + q.doc,
				span: rangeOf(what),
				get:  func(v *View) Value { return v.lastValue(what) }, next: next},
			&Fact{Name: q.name + "_age", On: on, Unit: Span, Moves: Age, ofReading: true,
				Doc: "age of that reading",
				get: func(v *View) Value { return v.since(v.readAt(what)) }},
			&Fact{Name: q.name + "_slope", On: on, Unit: q.unit,
				Doc: "its change an hour, over a quarter of an hour or more",
				get: func(v *View) Value { return v.slope(what) }},
			&Fact{Name: q.name + "_known", On: on, Unit: YesNo, Moves: moves,
				Doc:  "there is such a reading",
				get:  func(v *View) Value { return truth(!isNaN(v.lastValue(what).Num)) },
				next: next})
	}
	return out
}

// rangeOf is what a reading of a quantity can be.
func rangeOf(what string) [2]float64 {
	q, _ := state.QuantityOf(what)
	return [2]float64{q.Low, q.High}
}

func isNaN(x float64) bool { return x != x }

// ofAir says whether a quantity is read of the air, at a place of its own.
func ofAir(what string) bool { return what == state.AmbientC || what == state.AmbientH }

// lastValue is the last reading of a quantity; several at one instant count as their mean. A drum
// or a silo knows the moisture its coffee came with, and the air is read at a place of its own.
func (v *View) lastValue(what string) Value {
	if e := v.reading(what); e != nil {
		return number(v.mean(e, what))
	}
	switch {
	case what == state.Moisture && v.stay != nil && v.stay.Moist > 0:
		return number(v.stay.Moist)
	case ofAir(what):
		if e := v.weather(what); e != nil {
			return number(e.Body.(state.Reading).Value)
		}
	}
	return unknown()
}

// readAt is when what [View.lastValue] gives was read, however old; 0 for never.
func (v *View) readAt(what string) state.Instant {
	if e := v.reading(what); e != nil {
		return e.At
	}
	switch {
	case what == state.Moisture && v.stay != nil && v.stay.Moist > 0:
		return v.stay.From
	case ofAir(what):
		l := v.mill.Line(v.airPlace(), v.at)
		for i := len(l) - 1; i >= 0; i-- {
			if r, ok := l[i].Body.(state.Reading); ok && r.What == what {
				return l[i].At
			}
		}
	}
	return 0
}

// airEnds is when the last reading of the weather becomes too old to stand for now; 0 when the
// place has one of its own or there is none.
func (v *View) airEnds(what string) state.Instant {
	if v.reading(what) != nil {
		return 0
	}
	if e := v.weather(what); e != nil {
		return e.At.Add(airHolds) + 1
	}
	return 0
}

// slopeOver is the least time between two readings that a slope is made of: a needle is read to a
// degree or two, which over some minutes is more than any fire does.
const slopeOver = 15 * time.Minute

// slope is the change an hour from the last reading that is old enough to the last of all.
func (v *View) slope(what string) Value {
	last := v.reading(what)
	for i := len(v.last) - 1; last != nil && i >= 0; i-- {
		before := v.last[i]
		if last.At.Sub(before.At) >= slopeOver && v.reads(before, what) {
			hours := last.At.Sub(before.At).Hours()
			return number((v.mean(last, what) - v.mean(before, what)) / hours)
		}
	}
	return unknown()
}

// opposites are the notes that end what another began.
func opposites(mark string) []string {
	return map[string][]string{
		state.Rough: {state.Slippery}, state.Slippery: {state.Rough},
		state.Uncovered: {state.Covered}, state.FireOut: {state.FireLit},
		state.FireLow: {state.FireLit}, state.FireLit: {state.FireOut},
		state.Stopped: {state.Running}, state.Running: {state.Stopped},
		state.Cleaned: {state.NotClean}, state.NotClean: {state.Cleaned},
		state.WashAsked:   {state.WashOrdered, state.WashRefused},
		state.WashOrdered: {state.WashRefused}, state.OutAsked: {state.OutOrdered},
		state.Help: {state.HelpOver}, state.Smoke: {state.Cleared}, state.Smell: {state.Cleared},
		state.Foam: {state.Cleared}, state.Mould: {state.Cleared}, state.Warm: {state.Cleared},
		state.Insects: {state.Cleared}, state.Overflow: {state.Cleared},
	}[mark]
}

// markFacts are made by one rule: a mark is true from its note until its opposite, and mark_age
// is how long ago it was last noted. A cover is taken off in the morning at the latest, and coffee
// that was never turned was turned when it was spread.
func markFacts() []*Fact {
	var out []*Fact
	for _, mark := range state.Marks() {
		if mark == state.Full || mark == state.MeterCheck || strings.HasPrefix(mark, "power") ||
			strings.HasPrefix(mark, "water-") || strings.HasPrefix(mark, "rain") {
			continue // facts of their own
		}
		name, all := strings.ReplaceAll(mark, "-", "_"), append([]string{mark}, opposites(mark)...)
		on := append(stayKinds(), OnMill)
		is := &Fact{Name: name, On: on, Unit: YesNo, Doc: "noted, and nothing against it since",
			get: func(v *View) Value {
				e := v.noted(all...)
				return truth(e != nil && e.Body.(state.Note).What == mark)
			}}
		if mark == state.Covered {
			is = &Fact{Name: name, On: on, Unit: YesNo, Moves: Steps,
				Doc: "noted, not uncovered or turned since; until seven the next morning at most",
				get: func(v *View) Value { return truth(v.covered()) }, next: coverEnds}
		}
		age := &Fact{Name: name + "_age", On: on, Unit: Span, Moves: Age, Doc: "since it was noted"}
		age.get = func(v *View) Value {
			switch e := v.noted(mark); {
			case e != nil:
				return v.since(e.At)
			case mark == state.Turned && v.stay != nil:
				return v.since(v.stay.From)
			}
			return unknown()
		}
		if mark == state.Turned {
			age.Doc = "since it was turned, else since it came"
		}
		out = append(out, is, age)
	}
	return out
}
