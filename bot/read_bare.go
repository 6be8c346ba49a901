package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Bare figures. Each is taken only where the other meaning cannot be meant: in a drum above 45 the
// air, below 25 the coffee, and between them it is asked.
//
//	tank       10 to 45 the mass; decimals below 8 the pH; above 450 kilograms
//	drum       above 45 the air; 7 to 25 the moisture; between them asked; above 110 °F or a mistake
//	patio      8 to 60 the moisture
//	silo       below 1 the water activity; 8 to 16 the moisture; above asked: degrees or bags
//	beside a mark, three or four digits may be a clock time: "p1 tapado 530"

// figuresLeft gives the bare figures of a clause their meaning: a clock time beside what is seen
// or done, or else what such a figure can only be at such a place. Each is taken only where the
// other meaning cannot be meant, and then said back.
func (r *reader) figuresLeft(c *clause) {
	var left []*item
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isFigure || c.subject() < 0 || r.bareClock(c, x) {
			continue
		}
		if i > 0 && c.parts[i-1].says(words.Join, "from") && (len(left) > 0 || c.has(isReading) != nil ||
			r.another(c, i)) {
			continue // "up to 60 from 55", "de 14 a 12,5": what it was before
		}
		if i > 0 && len(left) > 0 && (c.parts[i-1].says(words.Join, "not") ||
			c.parts[i-1].says(words.Talk, SaysNo)) {
			continue // "12,8 no 13,8"
		}
		if i+1 < len(c.parts) && c.parts[i+1].says(words.Time, "past") { // "sesenta y tantos"
			r.ask(AskFigure, x.text, "")
		}
		left = append(left, x)
	}
	if p := r.patioOf(c); len(left) > 0 && p >= 0 && r.channels > 0 && c.has(isAct) == nil {
		r.ask(AskClass, r.place(p), "") // "c1 p1 14 p2 5": classes of that name?
	}
	if len(left) > 1 && c.says(words.Join, "or") { // "30 or 31"
		r.ask(AskWhat, show(left[0].fig), "")
		return
	}
	switch {
	case len(left) == 0:
	case len(c.places) == len(left): // "p1 p2 p3 12 13 14"
		for i, x := range left {
			r.bare(c, x, c.places[i])
		}
	case len(left) == 1 && !c.manyKinds(r):
		for _, p := range c.places { // "d1 y d2 en 55"
			r.bare(c, left[0], p)
		}
	case len(c.places) < 2:
		for _, x := range left {
			r.bare(c, x, c.subject())
		}
	default:
		r.ask(AskPlace, show(left[0].fig), "", r.placeNames(c.places)...)
	}
}

// patioOf is the first patio of a clause; -1 when it has none.
func (r *reader) patioOf(c *clause) int {
	for _, p := range c.places {
		if r.c.Places[p].Kind == state.Patio {
			return p
		}
	}
	return -1
}

// another says that a clause has one more bare figure after index i.
func (r *reader) another(c *clause, i int) bool {
	for j := i + 1; j < len(c.parts); j++ {
		if c.parts[j].kind == isFigure {
			return true
		}
	}
	return false
}

// millClock takes a bare figure beside what holds for the whole mill as its hour: "power gone 10 and
// a half". It has no other figure.
func (r *reader) millClock(c *clause) {
	x := c.has(isFigure)
	if x == nil || c.named() || !(&clause{parts: c.told()}).ofMill() {
		return
	}
	s := said{hour: -1, marks: true}
	if x.unit == "" && hourOf(&s, []item{*x}, "") > 0 {
		m := r.moment(s)
		m.vague = true
		x.kind, x.at = isTime, m
	}
}

// told are the parts of a clause that are seen, done, moved or wished.
func (c *clause) told() []item {
	var all []item
	for i := range c.parts {
		if c.parts[i].telling() {
			all = append(all, c.parts[i])
		}
	}
	return all
}

// bareClock takes a bare figure of three or four digits as the time of a mark or an act that needs
// no figure.
func (r *reader) bareClock(c *clause, x *item) bool {
	if x.fig.clock < 0 || c.has(isTime) != nil || x.unit != "" {
		return false
	}
	timed := false
	for i := range c.parts {
		y := &c.parts[i]
		timed = timed || y.kind == isMark && y.name != state.Full ||
			y.kind == isAct && y.name == state.ActWash || y.kind == isOrder && y.name == "wash"
	}
	if !timed || !x.fig.sure && x.fig.v >= 2000 && c.has(isAct) != nil && r.kind(c) != state.Tank {
		return false
	}
	s := said{hour: -1}
	if hourOf(&s, []item{*x}, "") == 0 {
		return false
	}
	m := r.moment(s)
	m.vague = m.vague || !x.fig.sure
	x.kind, x.at = isTime, m
	return true
}

// bare says what a figure alone means at a place.
func (r *reader) bare(c *clause, x *item, p int) {
	v := &r.c.Places[p]
	f := Fact{Place: v.Name, Has: true}
	switch x.unit {
	case "C", "F", "degree":
		f.What = r.quantity("temp", p)
		if f.What == state.BeanC && c.airs() {
			f.What = state.AmbientC
		}
	case "%":
		f.What = r.quantity(state.Moisture, p)
		if v.Kind == state.Tank || v.Kind == state.Intake || v.Kind == state.Channel {
			r.openFigure(x, v, "")
			return
		}
		if (v.Kind == state.Silo || v.Kind == state.Store) && c.airs() {
			f.What = state.AmbientH
		}
	case "cm":
		f.What = state.Depth
	default:
		what, sure := bareAt(v, x.fig)
		if x.fig.minus {
			r.refuse(AskFigure, show(x.fig), "")
			return
		}
		if what == "" {
			r.bareOdd(c, x, v)
			return
		}
		f.What = what
		if sure < 1 {
			f.doubt("what", sure, AskWhat)
		}
	}
	r.measure(f, p, x.fig, x.unit)
}

// wettestRest is the moisture above which no coffee is put to rest: more can only be the air's
// (common practice, no source).
const wettestRest = 30

// airs says that a clause tells the air of a store: by name, or by a humidity that no coffee at
// rest has, "s1 18C 80%".
func (c *clause) airs() bool {
	for i := range c.parts {
		switch x := &c.parts[i]; {
		case x.kind == isReading && (x.name == state.AirC || x.name == state.AmbientC ||
			x.name == state.AmbientH), x.kind == isFigure && x.unit == "%" && x.fig.v > wettestRest:
			return true
		}
	}
	return false
}

// bareAt is what a figure at a kind of place can only be, and how surely; "" when it may be
// several things. A pH has decimals and stays below 8; a drum's air is above 45 and its coffee
// below 25; between them lies what both may be.
func bareAt(v *PlaceView, g figure) (what string, sure float64) {
	n := g.v
	switch v.Kind {
	case state.Tank:
		switch {
		case n >= 10 && n <= 45:
			return state.MassC, 0.9
		case n >= 2.5 && n < 8 && g.digits > 0 && v.Holds:
			return state.PH, 0.9
		case n > 45 && n <= 110 && v.Dial == "F", n > onlyFMass && n <= 110 && v.Dial == "":
			return state.MassC, 0.9
		}
	case state.Drum, state.Predryer:
		switch {
		case v.Dial == "F" && n > 75 && n <= 250, n > 45 && n <= 99 && v.Dial != "F",
			n > 110 && n < 200 && g.whole() && v.Dial == "":
			return state.AirC, 0.9
		case n >= 7 && n < 25:
			return state.Moisture, 0.9
		case n >= 25 && n <= 60 && g.digits > 0 && v.Moisture > 0 && near(n, v.Moisture, 5):
			return state.Moisture, 0.8
		}
	case state.Patio:
		if n >= 8 && n <= 60 {
			return state.Moisture, 0.9
		}
	case state.Silo, state.Store:
		switch {
		case n > 0 && n < 1:
			return state.Aw, 0.9
		case n >= 8 && n < 16:
			return state.Moisture, 0.9
		}
	}
	return "", 0
}

// near says that two figures differ by no more than d.
func near(a, b, d float64) bool { return a-b <= d && b-a <= d }
