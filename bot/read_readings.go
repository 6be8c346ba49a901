package bot

import (
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

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

// measure notes one reading: in its unit, within what can be true, with its doubts.
func (r *reader) measure(f Fact, p int, g figure, unit string) {
	q, _ := state.QuantityOf(f.What)
	low, high := usual(f.What)
	if g.alt != 0 && (g.v < low || g.v > high) {
		g.turn()
	}
	f.Value, f.Digits, f.Unit = g.v, g.digits, q.Unit
	if g.guess || g.raw == "" { // put together, or spoken in words
		f.doubt("decimal", 0.9, AskFigure)
	}
	if q.Unit == "C" && !r.celsius(&f, p, unit) {
		return
	}
	if unit == "lb" && f.What == state.WeightKg {
		f.Value, f.Said = pounds(f.Value), show(g)+" lb"
	}
	low, high = usual(f.What)
	switch {
	case f.Value < q.Low || f.Value > q.High || f.What == state.AirC && f.Value > onlyFAir:
		r.impossible(f, g)
		return
	case f.Value < low || f.Value > high:
		f.doubt("what", 0.5, AskFigure)
		r.ask(AskFigure, show(g), "")
		r.leave(f)
		return
	}
	f.Urgent = f.Urgent || f.What == state.AirC && f.Value >= hotAir
	r.add(f)
}

// celsius brings a temperature to °C by its unit or the place's dial. It is false when the unit
// must be asked for.
func (r *reader) celsius(f *Fact, p int, unit string) bool {
	limit := float64(onlyFMass)
	if f.What == state.AirC {
		limit = onlyFAir
	}
	dial := r.c.Places[p].Dial
	if unit == "C" || unit == "F" {
		dial = unit
	}
	if dial == "" && f.Value > limit && f.Value <= 300 && (f.Value-32)/1.8 <= limit {
		g := *f
		g.fahrenheit()
		g.doubt("unit", 0.8, AskDial)
		r.ask(AskDial, show(figure{v: f.Value, digits: f.Digits}), "F", "C", "F")
		r.leave(g)
		return false
	}
	if dial == "F" {
		f.fahrenheit()
	} else if dial == "" && f.What == state.AirC && f.Value > 75 {
		f.doubt("unit", 0.7, AskDial)
	}
	return true
}

// fahrenheit turns a fact's value from °F into °C.
func (f *Fact) fahrenheit() {
	f.Said = show(figure{v: f.Value, digits: f.Digits}) + " F"
	f.Value, f.Digits = round((f.Value-32)/1.8, 1), 1
}

// impossible refuses a figure that cannot be true and offers the one it was likely meant for.
func (r *reader) impossible(f Fact, g figure) {
	low, high := usual(f.What)
	q, _ := state.QuantityOf(f.What)
	for _, factor := range [...]float64{0.1, 0.01, 10} {
		v := g.v * factor
		if v >= low && v <= high && v >= q.Low && v <= q.High {
			f.Value = round(v, 3)
			f.Digits = g.digits
			switch factor {
			case 0.1:
				f.Digits++
			case 0.01:
				f.Digits += 2
			}
			f.Unit, f.Said = q.Unit, ""
			r.refuse(AskFigure, show(g), strconv.FormatFloat(f.Value, 'f', int(f.Digits), 64))
			r.leave(f)
			return
		}
	}
	r.refuse(AskFigure, show(g), "")
}

// show writes a figure as it was said.
func show(g figure) string {
	if g.raw != "" {
		return g.raw
	}
	return strconv.FormatFloat(g.v, 'f', int(g.digits), 64)
}

// round rounds to a number of decimals.
func round(v float64, digits int) float64 {
	s := strconv.FormatFloat(v, 'f', digits, 64)
	v, _ = strconv.ParseFloat(s, 64)
	return v
}

// pounds gives the kilograms of avoirdupois pounds; one is 0.45359237 kg exactly (international
// yard and pound agreement of 1959).
func pounds(lb float64) float64 { return round(lb*0.45359237, 1) }
