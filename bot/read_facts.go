package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// clause turns one clause into facts: the place first, then what has moved, what was measured,
// what was seen and done, what is wished; bare figures last, when all else is known.
func (r *reader) clause(c *clause) {
	r.handingOver(c)
	if !r.where(c) {
		return
	}
	before := len(r.h.Facts)
	switch {
	case r.isSplit(c):
		r.split(c)
	case r.isReceipt(c):
		r.receipt(c)
	default:
		r.act(c)
	}
	r.readings(c)
	r.marks(c)
	r.orders(c)
	r.further(c)
	r.figuresLeft(c)
	r.question(c, len(r.h.Facts) > before)
	r.stamp(c, before)
	if len(c.places) > 0 {
		r.last = c.places
	}
}

// subject is the place that readings and marks of a clause are about; -1 when there is none.
func (c *clause) subject() int {
	if len(c.places) == 0 {
		return -1
	}
	return c.places[0]
}

// kind is the kind of the clause's place; "" when it has none.
func (r *reader) kind(c *clause) state.Kind {
	if p := c.subject(); p >= 0 {
		return r.c.Places[p].Kind
	}
	return ""
}

// stamp gives the facts of a clause the time that was said, and the doubts of its place.
func (r *reader) stamp(c *clause, from int) {
	t := c.has(isTime)
	if t == nil {
		if s := c.has(isSpan); s != nil && from < len(r.h.Facts) && r.h.Facts[from].What != SaysLater &&
			tells(r.h.Facts[from].What) {
			back := state.Instant(s.fig.v * 60000)
			t = &item{at: moment{at: r.c.At - back, told: true, vague: true}}
		}
	}
	for i := from; i < len(r.h.Facts); i++ {
		f := &r.h.Facts[i]
		f.Doubt = append(f.Doubt, c.guess...)
		if t != nil && !f.Told && f.What != state.NotClean {
			f.At, f.Told = t.at.at, true
			if t.at.vague {
				f.doubt("time", 0.7, AskTime)
			}
		}
	}
	if t == nil || from == len(r.h.Facts) {
		return
	}
	switch {
	case t.at.ahead:
		r.ask(AskSure, t.text, "")
	case t.at.ask && moved(r.h.Facts[from].What):
		r.ask(AskTime, t.text, "")
	}
}

// past says that a clause tells of a time gone by: what it says has happened.
func (c *clause) past() bool {
	t := c.has(isTime)
	return t != nil && !t.at.ahead
}

// marks notes what was seen or done, at every place of the clause or at the mill.
func (r *reader) marks(c *clause) {
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isMark {
			continue
		}
		if x.near != "" {
			r.ask(AskNear, x.text, x.near)
		}
		name := x.name
		if name == state.Turned && c.travels() {
			continue // "movi p1 a p2": told as a move
		}
		switch {
		case x.not:
			r.ask(AskSure, x.text, "")
			continue
		case x.both:
			r.ask(r.handOr(name), x.text, "", state.Slippery, state.Rough)
			continue
		case ofMill(name):
			r.add(Fact{Place: state.Whole, What: name, Word: r.fuel(c, x), Urgent: urgent(name)})
			continue
		}
		for _, p := range c.places {
			r.mark1(c, x, p)
		}
		if other, ok := opposites()[name]; ok {
			for _, p := range c.except {
				r.add(Fact{Place: r.place(p), What: other, Urgent: urgent(other)})
			}
		}
	}
}

// handOr is the question about a mark with a bare "no" behind it.
func (r *reader) handOr(mark string) string {
	if mark == state.Slippery || mark == state.Rough {
		return AskHand
	}
	return AskSure
}

// fuel is the fuel that a line about fuel names.
func (r *reader) fuel(c *clause, x *item) string {
	if x.name != state.FuelOut {
		return ""
	}
	if x.word != "" {
		return x.word
	}
	return c.detail("wood", "husk")
}

// mark1 notes a mark at one place, with what the words beside it add.
func (r *reader) mark1(c *clause, x *item, p int) {
	v := &r.c.Places[p]
	f := Fact{Place: v.Name, What: x.name, Urgent: urgent(x.name)}
	switch x.name {
	case state.Smell:
		f.Word = c.detail("vinegar", "burnt")
	case state.Covered:
		f.Word = c.detail("plastic", "cloth")
	case state.Stopped:
		f.Word = c.detail("belt", "motor")
	case state.Warm:
		if v.Kind == state.Drum || v.Kind == state.Predryer {
			r.ask(AskWhat, x.text, "")
			return
		}
	case state.Rough, state.Slippery:
		if v.Kind != state.Tank { // "de punto" of a drum: dry
			if c.mark(state.BiteDry) == nil {
				r.ask(AskWhat, x.text, "")
			}
			return
		}
	}
	if kinds := fits(x.name); kinds != nil && !oneOf(v.Kind, kinds) && strange(x.name) {
		f.doubt("place", 0.6, AskPlace)
	}
	n := r.add(f)
	switch {
	case x.name == state.Mistake && v.Kind == state.Channel:
		r.wonder(n, AskKg, v.Name, 0.5)
	case x.name == state.SoakStart && !v.Washed:
		r.wonder(n, AskWashed, v.Name, 0.7)
	case x.name == state.Cleaned && v.Kind == state.Tank && v.Holds:
		r.ask(AskEmpty, v.Name, "")
	case x.name == state.Stopped && v.Kind == state.Drum:
		r.wonder(n, AskFire, v.Name, 0.9)
	}
}

// strange says that a mark at another kind of place than its own is doubtful.
func strange(mark string) bool {
	switch mark {
	case state.Slippery, state.Rough, state.Full, state.Turned, state.FireOut, state.FireLow,
		state.FireLit, state.BiteDry, state.SoakStart:
		return true
	}
	return false
}

// isMarkWord says that a fact's word is a mark.
func isMarkWord(what string) bool {
	for _, m := range state.Marks() {
		if m == what {
			return what != state.WashAsked && what != state.OutAsked
		}
	}
	return false
}

// orders notes what is wished: a wash or an unloading is ordered by who may and asked for by all
// others; other wishes are passed on. With a past time it is no wish: it has happened.
func (r *reader) orders(c *clause) {
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isOrder {
			continue
		}
		if x.near != "" {
			r.ask(AskNear, x.text, x.near)
		}
		if len(c.places) == 0 {
			continue
		}
		for _, p := range c.places {
			r.order(c, x, p)
		}
	}
}

// order notes one wish about one place.
func (r *reader) order(c *clause, x *item, p int) {
	f := Fact{Place: r.place(p)}
	orders := r.c.Decides && !c.asks
	switch {
	case x.not && x.name == "wash" && r.c.Decides:
		f.What = state.WashRefused
	case x.not:
		r.ask(AskSure, x.text, "")
		return
	case x.name == "wash" && c.past():
		f.What = state.ActWash
	case x.name == "wash" && orders:
		f.What = state.WashOrdered
	case x.name == "wash":
		f.What = state.WashAsked
	case x.name == "unload" && c.past():
		f.What = state.ActUnload
	case x.name == "unload" && orders:
		f.What = state.OutOrdered
	case x.name == "unload":
		f.What = state.OutAsked
	default:
		f.What, f.Word, f.Urgent = SaysAsks, x.name, x.name == state.Covered && r.raining()
	}
	n := r.add(f)
	if kinds := fits(map[string]string{"wash": state.ActWash, "unload": state.ActUnload}[x.name]); kinds !=
		nil && !oneOf(r.c.Places[p].Kind, kinds) {
		r.wonder(n, AskWhat, x.text, 0.5)
	}
}

// further notes what the left-over words of a clause tell: a wish for room, a count, a hold.
func (r *reader) further(c *clause) {
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isTalk && x.name == SaysCap {
			r.add(Fact{What: SaysCap, Word: x.word})
		}
	}
	if c.says(words.Talk, SaysCap) {
		f := Fact{What: SaysCap}
		if k := c.kindWord(); k != nil {
			f.Word = k.name
		}
		if c.has(isReading) == nil && c.has(isFigure) == nil && c.subject() >= 0 {
			f.Place = r.place(c.subject())
		}
		r.add(f)
	}
	r.counted(c)
	if p := c.subject(); p >= 0 && c.says(words.Talk, "hold") {
		r.add(Fact{Place: r.place(p), What: SaysHold})
	}
	for _, process := range [...]string{"honey", "natural", "washed"} {
		if p := c.subject(); p >= 0 && c.says(words.Talk, process) {
			r.add(Fact{Place: r.place(p), What: SaysProcess, Word: process})
		}
	}
}

// question answers a clause that only asks: "t3?", "t3 ready?". A mark that is asked after is not
// told.
func (r *reader) question(c *clause, told bool) {
	if c.subject() < 0 {
		return
	}
	how := c.says(words.Talk, SaysHow)
	if !told && (c.asks || how) {
		r.add(Fact{Place: r.place(c.subject()), What: SaysHow})
		return
	}
	if !c.asks || c.has(isOrder) != nil || c.says(words.Talk, SaysCap) || c.has(isTalk) != nil ||
		c.has(isReading) != nil || c.has(isFigure) != nil {
		return
	}
	kept := r.h.Facts[:0]
	for _, f := range r.h.Facts {
		if f.Place != r.place(c.subject()) || !tells(f.What) || f.Urgent {
			kept = append(kept, f)
		}
	}
	r.h.Facts = append(kept, Fact{Place: r.place(c.subject()), What: SaysHow, At: r.c.At})
}

// counted notes a count of bags, which is for the manager alone, and what the book says beside it.
func (r *reader) counted(c *clause) {
	p := c.subject()
	if p < 0 || !c.says(words.Talk, SaysCount) {
		return
	}
	f := Fact{Place: r.place(p), What: SaysCount, Unit: "bag", Urgent: true}
	book := false
	for i := range c.parts {
		x := &c.parts[i]
		switch {
		case x.says(words.Talk, "book"):
			book = true
		case x.kind != isFigure && x.kind != isAmount:
		case book:
			f.Said, x.kind = "book "+show(x.fig), isSkipped
		case !f.Has:
			f.Value, f.Has, x.kind = x.fig.v, true, isSkipped
		}
	}
	r.add(f)
}
