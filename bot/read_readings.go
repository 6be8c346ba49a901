package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Measured values: the right quantity for the place, in its unit, within what can be true.

// usual is the range in which a figure raises no doubt; outside, up to what can be true of a mill,
// it is said back (common practice, no source).
func usual(what string) (low, high float64) {
	switch what {
	case state.MassC:
		return 10, 42
	case state.AirC:
		return 20, 110
	case state.BeanC:
		return 8, 70
	case state.AmbientC:
		return -5, 48
	case state.Moisture:
		return 6, 62
	case state.PH:
		return 3, 7.5
	case state.Aw:
		return 0.2, 0.95
	}
	q, _ := state.QuantityOf(what)
	return q.Low, q.High
}

// onlyF are the temperatures above which a figure can only be in °F where the dial's unit is not
// known (common practice, no source); hotAir is where a drum's air is passed on at once whatever
// its dial.
const (
	onlyFAir  = 110
	onlyFMass = 50
	hotAir    = 70
)

// readings notes what was measured at the clause's place.
func (r *reader) readings(c *clause) {
	method := ""
	for i := range c.parts {
		x := &c.parts[i]
		if m, ok := x.of(words.Method); ok {
			if method != "" && method != m || c.kindSaid("meter") {
				r.ask(AskWhat, x.text, "") // two methods compared
				return
			}
			method = m
		}
		if q, ok := x.of(words.Quantity); ok && !x.says(words.Class, "") && c.subject() >= 0 &&
			!c.asks {
			y := c.has(isFigure)
			if y == nil {
				r.ask(AskWhat, x.text, "") // the word is there, its figure is not
				continue
			}
			y.kind, y.name = isReading, q // "temp t1 20.5", "4.1 de ph"
			x.kind = isSkipped
		}
	}
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isClass && x.word == "floats" && r.kind(c) == state.Intake {
			r.measure(Fact{Place: r.place(c.subject()), What: state.FloatPct, Has: true},
				c.subject(), x.fig, "%")
			x.kind = isSkipped
		}
		if x.kind != isReading {
			continue
		}
		if x.name == state.FuelH {
			r.add(Fact{Place: state.Whole, What: state.FuelH, Value: x.fig.v, Has: true, Unit: "h",
				Digits: x.fig.digits})
			continue
		}
		if x.word == "" {
			x.word = method
		}
		for _, p := range c.places {
			r.reading(x, p)
		}
	}
}

// reading notes one measured value at one place.
func (r *reader) reading(x *item, p int) {
	f := Fact{Place: r.place(p), What: r.quantity(x.name, p), Has: true, Word: x.word}
	if x.near != "" {
		f.doubt("what", 0.8, AskNear)
		r.wonder(nil, AskNear, x.text, 0.8)
	}
	k := r.c.Places[p].Kind
	if (k == state.Silo || k == state.Store) && x.name == "temp" && x.unit == "" && x.fig.v < 17 {
		r.ask(AskWhat, show(x.fig), "", state.Moisture, state.BeanC) // "12.5 at the bottom"
		return
	}
	if x.both { // "humo 18": a phone's "hum", or smoke
		r.ask(AskWhat, x.text, "", state.Moisture, state.Smoke)
		r.leave(Fact{Place: f.Place, What: state.Smoke, Urgent: true})
		f.Value, f.Digits, f.Unit = x.fig.v, x.fig.digits, "%"
		r.leave(f)
		return
	}
	r.measure(f, p, x.fig, x.unit)
}

// quantity is what a word measures at a place: a temperature is the mass's in a tank, the air's in
// a drum; moisture in the open is the air's.
func (r *reader) quantity(name string, p int) string {
	k := r.c.Places[p].Kind
	switch {
	case name == "temp":
		switch k {
		case state.Drum, state.Predryer:
			return state.AirC
		case state.Air:
			return state.AmbientC
		case state.Silo, state.Store, state.Patio, state.Waiting:
			return state.BeanC
		}
		return state.MassC
	case name == state.Moisture && k == state.Air:
		return state.AmbientH
	case name == state.AirC && k != state.Drum && k != state.Predryer:
		return state.AmbientC
	case name == state.Unripe, name == state.FloatPct:
		return name
	}
	return name
}
