package rules

import (
	"slices"
	"strings"

	"lotbell/state"
)

// Fact is a name that conditions may use, for some kinds of subject. How it moves between events
// decides how its next change is found.
type Fact struct {
	Name  string
	On    []string // kinds of place, "mill", "post", "guard"; nil: all
	Unit  Unit
	Moves Moves
	Doc   string

	index int
	get   func(v *View) Value
	next  func(v *View) state.Instant            // Steps: its next change
	curve func(v *View, t state.Instant) float64 // Curve: its value later
}

// Moves is how a fact moves between events.
type Moves int8

// Still facts change by events only. An Age grows and a Left shrinks with the clock, Now being an
// age from the beginning of time; a Curve is a forecast read at an instant; Steps change at
// instants they can name; a Count is over many subjects and is looked at anew in every step.
const (
	Still Moves = iota
	Age
	Left
	Curve
	Steps
	Count
)

// maxFacts is the room of a View; a test holds it above the length of the table.
const maxFacts = 192

// The kinds of subject that a rule may be on.
const (
	OnMill  = "mill"
	OnPost  = "post"
	OnGuard = "guard"
)

// stayKinds are the kinds of place in which coffee stays.
func stayKinds() []string {
	return []string{"tank", "channel", "waiting", "patio", "predryer", "drum", "silo", "store"}
}

// onKinds are all the words that a call's `on` may be.
func onKinds() []string { return append(stayKinds(), OnMill, OnPost) }

// Facts lists every fact, in the order of the reference.
func Facts() []*Fact { return slices.Clone(table) }

// table is built once and never changed.
var table = buildTable()

func buildTable() []*Fact {
	var t []*Fact
	for _, part := range [][]*Fact{clockFacts(), millFacts(), postFacts(), stayFacts(),
		readingFacts(), markFacts(), tankFacts(), dryingFacts(), restFacts(), guardFacts()} {
		t = append(t, part...)
	}
	for i, f := range t {
		f.index = i
	}
	return t
}

// namesOn is the vocabulary for one kind of subject.
func namesOn(kind string) map[string]*Fact {
	out := map[string]*Fact{}
	for _, f := range table {
		if f.On == nil || slices.Contains(f.On, kind) {
			out[f.Name] = f
		}
	}
	return out
}

// clockFacts are true of every subject.
func clockFacts() []*Fact {
	return []*Fact{
		{Name: "now", Unit: Moment, Moves: Age, Doc: "the instant of looking",
			get: func(v *View) Value { return moment(v.at) }},
		{Name: "hour", Unit: Hours, Moves: Steps, Doc: "the hour of the mill's clock, 0 to 23",
			get:  func(v *View) Value { return number(float64(v.local().Hour())) },
			next: nextHour},
		{Name: "night", Unit: YesNo, Moves: Steps,
			Doc: "between sunset and sunrise; 18 to 6 until the mill's position is known",
			get: func(v *View) Value { return truth(v.isNight()) }, next: nextNight},
		{Name: "sunset", Unit: Moment, Moves: Steps,
			Doc: "today's sunset; 18:00 until the mill's position is known",
			get: func(v *View) Value { return moment(v.sunset()) }, next: nextMidnight},
		{Name: "power_out", Unit: YesNo, Doc: "the power is out",
			get: func(v *View) Value { return truth(v.mill.PowerOut(v.at) != 0) }},
		{Name: "power_out_age", Unit: Span, Moves: Age, Doc: "since the power went",
			get: func(v *View) Value { return v.since(v.mill.PowerOut(v.at)) }},
		{Name: "water_out", Unit: YesNo, Doc: "the water is out",
			get: func(v *View) Value { return truth(v.mill.WaterOut(v.at) != 0) }},
		{Name: "water_out_age", Unit: Span, Moves: Age, Doc: "since the water stopped",
			get: func(v *View) Value { return v.since(v.mill.WaterOut(v.at)) }},
		{Name: "raining", Unit: YesNo, Doc: "it rains",
			get: func(v *View) Value { return truth(v.mill.Raining(v.at) != 0) }},
		{Name: "rain_age", Unit: Span, Moves: Age, Doc: "since it began to rain",
			get: func(v *View) Value { return v.since(v.mill.Raining(v.at)) }},
	}
}

// stayFacts are true of a stay, whatever the place.
func stayFacts() []*Fact {
	on := stayKinds()
	tag := func(name, none string) func(v *View) Value {
		return func(v *View) Value {
			if v.stay == nil {
				return unknown()
			}
			if t := v.mill.Lot(v.stay.ID.Lot).Tag(name); t != "" {
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
			get: ofStay(func(s *state.Stay, v *View) Value { return grams(s.Mass) })},
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
				h := v.mill.Lot(s.ID.Lot).Tag("hold")
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
			Doc: "last read over 20 %, or never read and not out of a drum or a silo",
			get: func(v *View) Value { return v.wet() }},
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
	}
	return truth(true)
}

// readingFacts are made by one rule: x is the last value, x_age how old it is, x_slope its change
// an hour between the last two.
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
		{"depth_cm", state.Depth, Plain, "the layer"},
		{"ambient", state.AmbientC, Celsius, "the air outside or in the store"},
		{"rh", state.AmbientH, Percent, "relative humidity of that air"},
	} {
		what := q.what
		out = append(out,
			&Fact{Name: q.name, On: stayKinds(), Unit: q.unit, Doc: "last reading of " + q.doc,
				get: func(v *View) Value { return v.lastValue(what) }},
			&Fact{Name: q.name + "_age", On: stayKinds(), Unit: Span, Moves: Age,
				Doc: "age of that reading", get: func(v *View) Value {
					if e, _ := v.reading(what); e != nil {
						return v.since(e.At)
					}
					return unknown()
				}},
			&Fact{Name: q.name + "_slope", On: stayKinds(), Unit: q.unit,
				Doc: "its change an hour between the last two readings",
				get: func(v *View) Value { return v.slope(what) }})
	}
	return out
}

// lastValue is the last reading of a quantity; several at one instant count as their mean. A drum
// or a silo knows the moisture its coffee came with, and the air is read at a place of its own.
func (v *View) lastValue(what string) Value {
	if e, _ := v.reading(what); e != nil {
		return number(v.mean(e, what))
	}
	switch {
	case what == state.Moisture && v.stay != nil && v.stay.Moist > 0:
		return number(v.stay.Moist)
	case what == state.AmbientC || what == state.AmbientH:
		if x, ok := v.weather(what); ok {
			return number(x)
		}
	}
	return unknown()
}

func (v *View) slope(what string) Value {
	last, before := v.reading(what)
	if before == nil {
		return unknown()
	}
	hours := last.At.Sub(before.At).Hours()
	return number((v.mean(last, what) - v.mean(before, what)) / hours)
}

// opposites are the notes that end what another began.
func opposites(mark string) []string {
	return map[string][]string{
		state.Rough: {state.Slippery}, state.Slippery: {state.Rough},
		state.Covered: {state.Uncovered}, state.Uncovered: {state.Covered},
		state.FireOut: {state.FireLit}, state.FireLow: {state.FireLit},
		state.FireLit: {state.FireOut}, state.Stopped: {state.Running},
		state.Running: {state.Stopped}, state.Cleaned: {state.NotClean},
		state.NotClean:    {state.Cleaned},
		state.WashAsked:   {state.WashOrdered, state.WashRefused},
		state.WashOrdered: {state.WashRefused}, state.OutAsked: {state.OutOrdered},
		state.Help: {state.HelpOver},
	}[mark]
}

// markFacts are made by one rule: a mark is true from its note until its opposite, and mark_age
// is how long ago it was last noted.
func markFacts() []*Fact {
	var out []*Fact
	for _, mark := range state.Marks() {
		if mark == state.Full || strings.HasPrefix(mark, "power") ||
			strings.HasPrefix(mark, "water-") || strings.HasPrefix(mark, "rain") {
			continue // facts of their own
		}
		mark, name := mark, strings.ReplaceAll(mark, "-", "_")
		all := append([]string{mark}, opposites(mark)...)
		on := append(stayKinds(), OnMill)
		out = append(out,
			&Fact{Name: name, On: on, Unit: YesNo, Doc: "noted, and nothing against it since",
				get: func(v *View) Value {
					e := v.noted(all...)
					return truth(e != nil && e.Body.(state.Note).What == mark)
				}},
			&Fact{Name: name + "_age", On: on, Unit: Span, Moves: Age, Doc: "since it was noted",
				get: func(v *View) Value {
					if e := v.noted(mark); e != nil {
						return v.since(e.At)
					}
					return unknown()
				}})
	}
	return out
}

// Where lists the kinds of subject that have the fact; "everything" for all.
func (f *Fact) Where() string {
	if f.On == nil {
		return "everything"
	}
	return strings.Join(f.On, " ")
}
