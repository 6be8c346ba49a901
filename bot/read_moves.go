package bot

import (
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

// move is coffee on its way: what was said of it, before its act is settled.
type move struct {
	act  string
	from []int
	to   []int
}

// act notes what has moved in a clause, with its kilograms.
func (r *reader) act(c *clause) {
	x := r.verb(c)
	if x == nil {
		return
	}
	if x.near != "" {
		r.ask(AskNear, x.text, x.near)
	}
	switch {
	case x.not:
		for _, p := range c.places {
			r.deny(x.name, p)
		}
		return
	case x.name == state.ActWash && (c.detail("broom") != "" || c.says(words.State, "empty")):
		for _, p := range c.places { // the tank itself was washed
			r.mark1(c, &item{name: state.Cleaned}, p)
		}
		return
	}
	if x.name == state.ActWash { // "washed 2150": rather a time than a weight
		for i := range c.parts {
			if y := &c.parts[i]; y.kind == isFigure {
				r.bareClock(c, y)
			}
		}
	}
	m := r.ends(c, x.name)
	settled, ok := r.settle(m, x.name)
	if !ok {
		r.askEnd(m, x)
		return
	}
	for i := range c.parts {
		if y := &c.parts[i]; y.kind == isAct && y.name != x.name && r.meant(c, y) {
			c.guess = append(c.guess, Doubt{What: "what", Sure: 0.7, Settle: AskSure})
		}
	}
	r.note(c, settled, x)
}

// verb is the act of a clause: the first that is no order and can be meant; nil when there is
// none. "full" with kilograms is a load too, and so is a bare weight in a tank; a place "to"
// another, or an amount of one "from" another, needs no verb.
func (r *reader) verb(c *clause) *item {
	if c.detail("wood", "husk") != "" && len(c.from) == 0 { // wood was put into the drum
		return nil
	}
	for i := range c.parts {
		x := &c.parts[i]
		switch {
		case x.kind == isOrder && x.both && r.happened(c, x):
			x.kind = isAct
			return x
		case x.kind == isMark && x.name == state.Turned && c.travels() && len(c.to) > 0:
			return &item{kind: isAct, name: state.ActMove, text: x.text}
		case x.kind == isMark && x.name == state.Full && r.kind(c) == state.Tank && c.mass(r) != nil:
			return &item{kind: isAct, name: state.ActAdd, text: x.text}
		case x.kind == isAct && r.meant(c, x):
			return x
		}
	}
	guess := &item{kind: isAct, name: state.ActMove, unit: "guess"}
	if r.unknowing() {
		guess.unit = "asked"
	}
	ends := len(c.from) > 0 && len(c.to) > 0 || len(c.places) > 0 && (len(c.to) > 0 || c.kindTo() && !c.says(words.Talk, "ready") ||
		len(c.from) > 0 && c.has(isAmount) != nil)
	switch m := c.has(isAmount); {
	case c.has(isMark) != nil || c.has(isOrder) != nil || c.asks || c.has(isClass) != nil:
		return nil
	case ends:
		return guess
	case r.kind(c) == state.Patio && c.says(words.Class, "") && c.has(isReading) == nil &&
		m == nil && r.count(state.Channel) == 1:
		c.from = append(c.from, r.firstOf(state.Channel))
		guess.name = state.ActSpread
		return guess
	case m != nil && r.kind(c) == state.Tank && len(c.parts) == 1:
		guess.name = state.ActAdd
		return guess
	}
	return nil
}

// meant says that a word for an act tells of coffee that moved, at such a place and with such
// words beside it.
func (r *reader) meant(c *clause, x *item) bool {
	switch x.name {
	case state.ActIntake:
		return r.kind(c) == state.Intake
	case state.ActMove:
		return len(c.from)+len(c.to) > 0 || c.manyKinds(r) || c.kindTo() || c.into(r)
	case state.ActAdd:
		return c.mass(r) != nil || len(c.from) > 0 || r.kind(c) == state.Tank && len(c.parts) == 1
	case state.ActUnload: // "baje la d2 a 55": less heat
		return x.not || c.has(isAmount) != nil || c.has(isReading) != nil || !r.onlyAir(c)
	}
	return true
}

// into says that something was put into the clause's tank: "put 3500 in t3", "t6 i put 3100 kilo in".
func (c *clause) into(r *reader) bool {
	return r.kind(c) == state.Tank && (len(c.inside) > 0 || c.says(words.Join, "in") &&
		c.has(isAmount) != nil)
}

// onlyAir says that the one bare figure of a clause is the air of a drum.
func (r *reader) onlyAir(c *clause) bool {
	x := c.has(isFigure)
	if x == nil || c.subject() < 0 {
		return false
	}
	what, _ := bareAt(&r.c.Places[c.subject()], x.fig)
	return what == state.AirC
}

// happened says that a word which may be an order or an act is the act: figures, another end or a
// past time stand beside it; or, for words that are rather the past, the speaker does not decide.
func (r *reader) happened(c *clause, x *item) bool {
	if x.not || c.asks {
		return false
	}
	figures := c.has(isAmount) != nil || c.has(isReading) != nil || c.has(isFigure) != nil
	switch {
	case x.name == "move":
		return !r.c.Decides || c.past() || c.has(isAmount) != nil
	case r.c.Decides:
		return c.has(isAmount) != nil || c.past()
	case x.name == "wash" && x.says2(words.Act):
		return true
	case x.name == "unload" && r.onlyAir(c) && c.has(isAmount) == nil && c.has(isReading) == nil:
		return false
	}
	return figures || c.past() || len(c.to) > 0
}

// says2 tells whether the word an item was made of had a meaning in a section.
func (x *item) says2(in words.Section) bool {
	for i := range x.is {
		if x.is[i].In == in {
			return true
		}
	}
	return false
}

// kindTo says that a clause names a kind of place to go to, without a number.
func (c *clause) kindTo() bool {
	k := c.kindWord()
	return k != nil && k.role != 0
}

// mass is the amount of a clause: one with its unit, or the first bare figure that can be
// kilograms; nil when there is none.
func (c *clause) mass(r *reader) *item {
	if m := c.has(isAmount); m != nil {
		return m
	}
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isFigure && x.unit == "" && !x.fig.sure && (x.fig.v >= 100 || x.fig.alt >= 100) {
			return x
		}
	}
	return nil
}

// ends sorts the places of a clause into where the coffee comes from and where it goes.
func (r *reader) ends(c *clause, act string) move {
	m := move{act: act, from: append([]int(nil), c.from...), to: append([]int(nil), c.to...)}
	arrives := act == state.ActAdd || act == state.ActSpread || act == state.ActLoad ||
		act == state.ActStore || act == state.ActIntake
	for i, p := range c.places {
		home := oneOf(r.c.Places[p].Kind, fits(act))
		switch {
		case act == state.ActMove && among(p, c.inside) && len(c.places) > 1:
			m.to = append(m.to, p)
		case act == state.ActMove && len(m.to) == 0 && len(c.inside) == 0 && (len(c.from) > 0 || i > 0 &&
			!r.alike(p, c.places[0])), act == state.ActMove && len(c.places) == 1 && len(c.to) == 0 && c.into(r):
			m.to = append(m.to, p)
		case act == state.ActMove:
			m.from = append(m.from, p)
		case arrives && (home || len(c.from) > 0 && len(c.to) == 0 && len(m.to) == 0):
			m.to = append(m.to, p)
		case arrives:
			m.from = append(m.from, p)
		case i == 0 || home:
			m.from = append(m.from, p)
		default:
			m.to = append(m.to, p)
		}
	}
	if k := c.kindWord(); k != nil && len(m.to) == 0 && r.count(state.Kind(k.name)) == 1 &&
		(k.role == 't' || arrives) && !oneOf(state.Kind(k.name), r.kindsAt(m.from)) {
		m.to = append(m.to, r.firstOf(state.Kind(k.name)))
	} else if k != nil && k.role == 'f' && len(m.from) == 0 && r.count(state.Kind(k.name)) == 1 {
		m.from = append(m.from, r.firstOf(state.Kind(k.name)))
	}
	if act == state.ActMove && len(m.from) > 0 && len(m.to) > 0 && len(c.from)+len(c.to) == 0 &&
		len(c.inside) == 0 &&
		r.order2(m.from[0]) > r.order2(m.to[0]) {
		m.from, m.to = m.to, m.from // along the way of the coffee
	}
	return m
}

func among(p int, ps []int) bool {
	for _, x := range ps {
		if x == p {
			return true
		}
	}
	return false
}

// kindsAt are the kinds of some places.
func (r *reader) kindsAt(ps []int) []state.Kind {
	var ks []state.Kind
	for _, p := range ps {
		ks = append(ks, r.c.Places[p].Kind)
	}
	return ks
}

// order2 is how far along the way of the coffee a place is.
func (r *reader) order2(p int) int {
	for i, k := range state.Kinds() {
		if k == r.c.Places[p].Kind {
			return i
		}
	}
	return -1
}

// settle chooses the act by the kinds of place at both ends. It is false when an end is missing
// that must be known.
func (r *reader) settle(m move, verb string) (move, bool) {
	kind := func(ps []int) state.Kind {
		if len(ps) == 0 {
			return ""
		}
		return r.c.Places[ps[0]].Kind
	}
	from, to := kind(m.from), kind(m.to)
	switch to {
	case "":
		switch {
		case from == state.Tank && verb == state.ActWash,
			(from == state.Silo || from == state.Store) && verb == state.ActShip:
		case (from == state.Drum || from == state.Predryer) && (verb == state.ActUnload ||
			verb == state.ActGather):
			m.act = state.ActUnload
		case from == state.Patio && (verb == state.ActGather || verb == state.ActUnload):
			m.act = state.ActGather
		default:
			return m, false
		}
	case state.Tank:
		m.act = state.ActAdd
		if from == state.Tank {
			m.act = state.ActMove
		}
	case state.Patio:
		m.act = state.ActSpread
		if from == state.Patio || from == state.Drum || from == state.Silo {
			m.act = state.ActMove
		}
	case state.Drum, state.Predryer:
		m.act = state.ActLoad
		if from == state.Drum || from == state.Predryer {
			m.act = state.ActMove
		}
	case state.Silo, state.Store:
		m.act = state.ActStore
		switch {
		case from == state.Drum && verb != state.ActStore:
			m.act = state.ActUnload
		case from == state.Silo || from == state.Store:
			m.act = state.ActMove
		}
	case state.Channel:
		m.act = state.ActWash
		if from != state.Tank {
			m.act = state.ActMove
		}
	case state.Intake:
		m.act = state.ActIntake
	default:
		m.act = state.ActMove
	}
	return m, m.act != state.ActMove || len(m.from) > 0
}

// askEnd asks for the end of a move that was not said.
func (r *reader) askEnd(m move, x *item) {
	var room []string
	want := fits(x.name)
	for i := range r.c.Places {
		if oneOf(r.c.Places[i].Kind, want) && len(m.to) == 0 {
			room = append(room, r.place(i))
		}
	}
	f := Fact{What: x.name, From: r.placeNames(m.from)}
	if len(m.to) > 0 {
		f.Place = r.place(m.to[0])
	}
	r.ask(AskPlace, x.text, "", room...)
	r.leave(f)
}

// placeNames are the names of places; nil for none.
func (r *reader) placeNames(ps []int) []string {
	var names []string
	for _, p := range ps {
		names = append(names, r.place(p))
	}
	return names
}

// note makes the facts of a settled move: one for each place that it is about.
func (r *reader) note(c *clause, m move, x *item) {
	at, others := m.to, m.from
	leaves := m.act == state.ActUnload || m.act == state.ActGather || m.act == state.ActWash ||
		m.act == state.ActMove || m.act == state.ActShip
	if leaves {
		at, others = m.from, m.to
	}
	amount := c.mass(r)
	if x.unit == "asked" { // no verb is known: the unknown word may be "let us" or "do not"
		r.ask(AskSure, r.place(at[0]), "")
	}
	if x.unit != "" {
		c.guess = append(c.guess, Doubt{What: "what", Sure: 0.8, Settle: AskMore})
	}
	for i, p := range at {
		f := Fact{Place: r.place(p), What: m.act}
		if m.act == state.ActSpread {
			f.Word = c.detail("thin", "thick")
			for j := range c.parts {
				if class, ok := c.parts[j].of(words.Class); ok {
					f.Word = class
				}
			}
		}
		if leaves && len(others) > 0 {
			f.To = r.place(others[0])
		} else if !leaves {
			f.From = r.placeNames(others)
		}
		if m.act == state.ActMove {
			f.From = []string{r.place(p)}
		}
		if amount != nil && i == 0 {
			r.weigh(&f, c, amount, p)
		}
		n := r.add(f)
		if !n.Has && (m.act == state.ActAdd || m.act == state.ActUnload && c.has(isReading) == nil ||
			m.act == state.ActLoad || m.act == state.ActMove || m.act == state.ActStore) {
			r.wonder(n, AskKg, r.place(p), 0.5)
		}
		if len(at) > 1 && amount != nil {
			r.wonder(n, AskKg, r.place(p), 0.5)
		}
	}
	if amount != nil {
		amount.kind = isSkipped
	}
	r.moistureOf(c, at)
	if len(at) > 0 {
		c.places = at[:1]
	}
}

// moistureOf takes a bare figure beside a move as the moisture of what is moved.
func (r *reader) moistureOf(c *clause, at []int) {
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isFigure && (x.unit == "" || x.unit == "%") && x.fig.v >= 6 && x.fig.v <= 62 &&
			len(at) > 0 && r.c.Places[at[0]].Kind != state.Tank {
			f := Fact{Place: r.place(at[0]), What: state.Moisture, Has: true}
			if x.fig.whole() && x.unit == "" {
				f.doubt("what", 0.9, AskWhat)
			}
			r.measure(f, at[0], x.fig, "")
			x.kind = isSkipped
		}
	}
}

// weigh gives a move its kilograms: from the unit, the mill's own measure, or a bare figure. What
// is more than a place holds is doubted, never refused.
func (r *reader) weigh(f *Fact, c *clause, x *item, p int) {
	f.Has = true
	f.Product = r.product(c, f.What, x)
	g := x.fig
	if g.alt != 0 && g.v < 100 {
		g.turn()
		f.doubt("decimal", 0.9, AskKg)
	} else if g.alt != 0 && r.c.Decimal == 0 {
		f.doubt("decimal", 0.9, AskKg)
	}
	if g.raw == "" {
		f.doubt("mass", 0.9, AskKg)
	}
	r.kilos(f, x, g)
	if f.Unit != "kg" {
		return
	}
	v := &r.c.Places[p]
	switch {
	case v.Capacity > 0 && f.Value > v.Capacity,
		v.Usual > 0 && (f.Value > v.Usual*2 || f.Value < v.Usual/8):
		f.doubt("mass", 0.5, AskKg)
	}
	if x.kind == isFigure && f.What == state.ActUnload {
		f.doubt("mass", 0.8, AskKg)
		if r.lately(g) {
			r.ask(AskTime, show(g), "", "kg", clockText(g.clock))
		}
	}
}

// kilos turns an amount into kilograms, or leaves it in a measure that the mill has not weighed.
func (r *reader) kilos(f *Fact, x *item, g figure) {
	f.Value, f.Unit, f.Digits = g.v, "kg", g.digits
	switch x.unit {
	case "", "kg":
	case "lb":
		f.Said, f.Value = show(g)+" lb", pounds(g.v)
	case "t":
		if x.fig.alt != 0 { // 4.200 t: the decimal reading
			g.v = min(x.fig.v, x.fig.alt)
		}
		f.Said, f.Value, f.Digits = show(x.fig)+" t", round(g.v*1000, 1), 0
	default:
		unit, each := r.eachOf(x, f.Product)
		f.Said = strconv.FormatFloat(g.v, 'f', -1, 64) + " " + unit
		if each > 0 {
			f.Value, f.Digits = round(g.v*each, 1), 0
			f.doubt("mass", 0.8, AskKg)
			return
		}
		f.Value, f.Unit = g.v, unit
		r.wonder(f, AskMeasure, x.name, 0.5)
	}
}

// eachOf is what one measure weighs at this mill for a product, by the mill's word for it; 0 when
// the mill has not weighed it.
func (r *reader) eachOf(x *item, product string) (unit string, kg float64) {
	for _, word := range [...]string{x.name, x.unit} {
		if by, ok := r.c.Measures[word]; ok {
			if by[product] > 0 {
				return word, by[product]
			}
			return word, by[""]
		}
	}
	return x.unit, 0
}

// product is what an amount is of: said, or what the place and measure imply.
func (r *reader) product(c *clause, act string, x *item) string {
	for i := range c.parts {
		if p, ok := c.parts[i].of(words.Product); ok {
			return p
		}
	}
	switch {
	case act == state.ActIntake:
		return "cherry"
	case act == state.ActAdd && (x.unit == "" || x.unit == "kg" || x.unit == "t" || x.unit == "lb"):
		return "pulped"
	case act == state.ActAdd:
		return "cherry"
	case act == state.ActUnload, act == state.ActStore, act == state.ActShip:
		return "dry"
	}
	return "wet"
}

// lately says that a bare figure may as well be a clock time of the last hours: 2010.
func (r *reader) lately(g figure) bool {
	if g.clock < 0 || r.c.At == 0 {
		return false
	}
	s := said{hour: -1}
	if hourOf(&s, []item{{kind: isFigure, fig: g}}, "") == 0 {
		return false
	}
	s.half = false
	m := r.moment(s)
	return !m.ask && r.c.At.Sub(m.at).Hours() < 3
}

// clockText writes minutes since midnight as a clock time.
func clockText(minutes int) string {
	m := strconv.Itoa(minutes % 60)
	if len(m) < 2 {
		m = "0" + m
	}
	return strconv.Itoa(minutes/60) + ":" + m
}
