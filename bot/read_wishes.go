package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// What is wished, ordered, counted or asked after.
//
//	t3 wash            ordered by who decides, asked for by all others
//	t3 wash 0510       has happened: a past time stands beside it
//	t3 no lavar        refused by who decides, else said not to be so
//	t3 wash?           asked for; of who decides a question: how is it?
//	tapen p1           asked for, and urgent in the rain
//	drum free?         which drums are free
//	s1 conte 96        a count, for the manager alone
//	t3?, t3 ready?     how it is there: what is asked after is not told

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
		for _, p := range c.places {
			if x.name != "load" || !c.manyKinds(r) || oneOf(r.c.Places[p].Kind, fits(x.name)) {
				r.order(c, x, p)
			}
		}
		if c.says(words.Talk, SaysLater) || c.has(isSpan) != nil { // "t3 lavar mas tarde"
			r.ask(AskSure, x.text, "")
		}
	}
	for _, p := range c.places { // "dont wash 4 wash 5": the other place was not found
		if r.toldOf(state.WashRefused, p) && r.toldOf(state.WashOrdered, p) {
			r.ask(AskSure, r.place(p), "")
		}
	}
}

// toldOf says that the line has told something of a place.
func (r *reader) toldOf(what string, p int) bool {
	for i := range r.h.Facts {
		if f := &r.h.Facts[i]; f.What == what && f.Place == r.place(p) {
			return true
		}
	}
	return false
}

// order notes one wish about one place.
func (r *reader) order(c *clause, x *item, p int) {
	f := Fact{Place: r.place(p)}
	orders := r.c.Decides && !c.asks
	kinds := fits(x.name)
	switch {
	case (x.name == "wash" || x.name == "unload") && !oneOf(r.c.Places[p].Kind, kinds):
		if len(r.h.Facts) == 0 {
			r.ask(AskWhat, x.text, "")
		}
		return
	case moves(x.name) && r.machine(p):
		r.dropped++
		return
	case x.not && x.name == "wash" && r.c.Decides:
		f.What = state.WashRefused
	case x.not:
		f.What, f.Word = SaysNot, x.name
		f.doubt("what", 0.8, AskSure)
	case r.c.Decides && c.asks, c.asked: // one who decides and asks wants to know
		f.What = SaysHow
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
		if c.has(isFigure) != nil || c.has(isReading) != nil { // to be, or as it was?
			r.ask(AskSure, x.text, "")
		}
	case x.name == "unload":
		f.What = state.OutAsked
	default:
		f.What, f.Word, f.Urgent = SaysAsks, x.name, x.name == state.Covered && r.raining()
	}
	if x.both { // the word may as well tell that it has happened
		f.doubt("what", 0.8, AskSure)
	}
	r.add(f)
}

// machine says that no coffee stays at a place: nothing can be moved out of it.
func (r *reader) machine(p int) bool {
	switch r.c.Places[p].Kind {
	case state.Pulper, state.Meter, state.Air:
		return true
	}
	return false
}

// further notes what the left-over words of a clause tell: a wish for room, a count, a hold, the
// fuel that is left.
func (r *reader) further(c *clause) {
	r.room(c)
	r.counted(c)
	r.fuelOf(c)
	p := c.subject()
	if c.says(words.Talk, SaysHold) && (p >= 0 || c.lot != 0) {
		f := Fact{What: SaysHold}
		if p >= 0 && r.c.Places[p].Kind != state.Lab {
			f.Place = r.place(p)
		}
		r.add(f)
	}
	for _, process := range [...]string{"honey", "natural", "washed"} {
		if p >= 0 && c.says(words.Talk, process) {
			r.add(Fact{Place: r.place(p), What: SaysProcess, Word: process})
		}
	}
}

// room notes a wish for a free place: "drum free?", "no hay patio", "ya esta pa la guardiola".
func (r *reader) room(c *clause) {
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isTalk && x.name == SaysCap {
			r.add(Fact{What: SaysCap, Word: x.word})
			return
		}
	}
	k := c.kindWord()
	if k != nil && k.name == "mill" && c.asks {
		r.add(Fact{What: SaysMill})
		return
	}
	ready := c.says(words.Talk, "ready") && k != nil && k.role == 't'
	alone := c.asks && !r.items[0].joins("who") && k != nil && !c.named() && c.has(isAct) == nil && c.has(isOrder) == nil
	if !c.says(words.Talk, SaysCap) && !ready && !alone {
		return
	}
	f := Fact{What: SaysCap}
	if k != nil {
		f.Word = k.name
	}
	if c.has(isReading) == nil && c.has(isFigure) == nil && c.subject() >= 0 {
		f.Place = r.place(c.subject())
	}
	r.add(f)
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
	if !f.Has {
		r.ask(AskKg, r.place(p), "")
		return
	}
	r.add(f)
}

// fuelOf notes how much fuel is left, in sacks or trips: "quedan 14 sacos de cascarilla".
func (r *reader) fuelOf(c *clause) {
	w := c.detail("wood", "husk")
	m := c.has(isAmount)
	if w == "" || m == nil || c.has(isAct) != nil || c.named() && !c.says(words.Talk, "left") {
		return
	}
	f := Fact{Place: state.Whole, What: SaysFuel, Word: w, Value: m.fig.v, Has: true, Unit: m.unit}
	if m.kind = isSkipped; m.unit != "sack" { // how many hours is that?
		r.wonder(&f, AskMeasure, m.name, 0.5)
	}
	r.add(f)
}

// question answers a clause that only asks: "t3?", "t3 ready?". A mark or an act that is asked
// after is not told.
func (r *reader) question(c *clause, from int) {
	if c.subject() < 0 {
		return
	}
	how := Fact{Place: r.place(c.subject()), What: SaysHow}
	if len(r.h.Facts) == from && !r.must && (c.asks || c.says(words.Talk, SaysHow)) {
		r.add(how)
		return
	}
	if !c.asks || c.has(isOrder) != nil && !c.asked || c.says(words.Talk, SaysCap) ||
		c.has(isTalk) != nil ||
		c.has(isReading) != nil || c.has(isFigure) != nil || r.hedge == "think" {
		return
	}
	kept := r.h.Facts[:from]
	for _, f := range r.h.Facts[from:] {
		if !tells(f.What) || f.Urgent {
			kept = append(kept, f)
		}
	}
	r.h.Facts = kept
	r.add(how)
}
