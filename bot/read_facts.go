package bot

import (
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// From clauses to facts, in one fixed order. Each step uses up the parts it understands; what is
// left over at the end makes the line doubtful.
//
// To add something that the reader should understand, look first whether words suffice (a further
// word in the language files). If not, a further rule belongs into the pass of its subject, and a
// line for it into the tables.
//
//	lot number          taken out first, so that it is no reading
//	place               see read_where.go; without one the rest is asked about
//	what has moved      uses up its kilograms and the moisture beside it
//	what was measured   figures with their words
//	what was seen       marks, then what the words beside them add
//	what is wished      orders, then room, counts, holds, fuel
//	bare figures        what only they can be at such a place
//	question            takes back what was only asked after
//	time                last, for all facts of the clause

// clause turns one clause into facts: the place first, then what has moved, what was measured,
// what was seen and done, what is wished; bare figures last, when all else is known.
func (r *reader) clause(c *clause) {
	r.lotOf(c)
	r.condition(c)
	if r.goesOn(c) {
		return
	}
	r.handingOver(c)
	before := len(r.h.Facts)
	compared := r.compares(c)
	r.millClock(c)
	if !r.where(c) {
		r.millMarks(c)
		return
	}
	switch {
	case compared:
	case r.isSplit(c):
		r.split(c)
	case r.isReceipt(c):
		r.receipt(c)
	default:
		r.act(c)
		r.recipient(c, before)
	}
	if r.kind(c) == state.Intake {
		r.supplier(c)
		if c.says(words.Talk, "picked") {
			r.picked(c, c.subject())
		}
	}
	r.readings(c)
	r.marks(c)
	r.orders(c)
	r.further(c)
	r.figuresLeft(c)
	r.hotSample(c, before)
	r.question(c, before)
	r.stamp(c, before)
	if c.named() && len(r.h.Facts) == before && len(r.open) == 0 && len(c.parts) > 0 {
		r.dropped += 2 // a place was named and nothing understood of it
		if r.h.Place == "" {
			r.h.Place = r.place(append(c.places, append(c.from, append(c.to, c.except...)...)...)[0])
		}
		if r.h.About == "" {
			r.h.About = r.place(append(c.places, append(c.from, append(c.to, c.except...)...)...)[0])
		}
	}
	r.dropped += r.leftOver(c, before)
	if len(c.places) > 0 {
		if r.last = c.places; r.h.Ask != "" && r.h.Place == "" {
			r.h.Place = r.place(c.places[0])
		}
	}
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isMark {
			r.lastMark = x.name
		}
	}
}

// condition leaves out what a wish waits for, "t3 lavar si raspa": it has not happened.
func (r *reader) condition(c *clause) {
	for i := 1; i < len(c.parts); i++ {
		if x := &c.parts[i]; x.kind == isHedge && x.name == "if" {
			c.parts = c.parts[:i+1]
			r.dropped++
			return
		}
	}
}

// recipient makes the places that something was done "to" the subject, where no coffee was moved:
// "a la pila uno le di agua".
func (r *reader) recipient(c *clause, before int) {
	if len(c.places) > 0 || len(r.h.Facts) > before || r.must || c.has(isMark) == nil {
		return
	}
	c.places, c.from, c.to = append(c.from, c.to...), nil, nil
}

// leftOver counts the parts of a clause that tell something and that no rule could use: an amount
// without an act, a class without an amount, a thing without its state.
func (r *reader) leftOver(c *clause, before int) int {
	n, act, sure := 0, false, true
	if c.detail("vinegar", "burnt") != "" && c.mark(state.Smell) == nil { // "t5 cheio azedo"
		n++
	}
	for _, f := range r.h.Facts[before:] {
		act, sure = act || moved(f.What), sure && len(f.Doubt) == 0
	}
	for i := range c.parts {
		x := &c.parts[i]
		if sure && x.joins("not") && c.tellsAfter(i) && r.hedge == "" {
			r.hedge = "think" // "dont let them wash t3", "no sign of rain"
		}
		switch {
		case x.kind == isAmount && !act, x.kind == isWeigh && !act, x.kind == isClass && !act,
			x.kind == isAct && !act && !x.not, x.says(words.Thing, ""), x.says(words.Mark, ""),
			sure && x.unheard():
			n++
		case x.says(words.State, "") && !x.says(words.Act, ""):
			n++
		}
	}
	return n
}

// tellsAfter says that something is told behind a part of a clause, close to it, that it may deny.
func (c *clause) tellsAfter(i int) bool {
	if i > 0 && c.parts[i-1].telling() { // "nao parou nao": said twice
		return false
	}
	for j := i + 1; j < len(c.parts) && j < i+5 && !c.parts[j].joins("nothing"); j++ {
		if c.parts[j].telling() {
			return !c.parts[j].not
		}
	}
	return false
}

// unheard says that a left-over word could have changed what the clause tells: a "no", a "half", an
// "or", a wish, another time.
func (x *item) unheard() bool {
	for _, in := range [...]words.Section{words.Quantity, words.Order, words.Number, words.Weigh} {
		if x.says(in, "") && !x.says(words.Join, "") && !x.says(words.Talk, "") {
			return true
		}
	}
	for _, talk := range [...]string{SaysLater, SaysUndo, SaysUnknown, SaysCorrect, "absent", "other",
		"same"} {
		if x.says(words.Talk, talk) {
			return true
		}
	}
	return x.joins("not", "or", "but")
}

// goesOn reads a clause of only places and a "no" after one with a mark: "movi p1 y p2, p3 no".
func (r *reader) goesOn(c *clause) bool {
	no, nots := len(c.except) > 0, 0
	for i := range c.parts {
		if x := &c.parts[i]; x.says(words.Join, "not") || x.says(words.Talk, SaysNo) {
			no = true
			nots++
		} else if x.says(words.Join, "nothing") {
			nots += 2
		}
	}
	if nots > 1 { // "no hay nada"
		return false
	}
	if r.lastMark == "" || !no || len(c.places)+len(c.except) == 0 {
		return false
	}
	for i := range c.parts {
		if k := c.parts[i].kind; k != isWord && k != isOther {
			return false
		}
	}
	for _, p := range append(c.places, c.except...) {
		r.deny(r.lastMark, p)
	}
	return true
}

// deny notes that a mark or an act is not so at a place: its opposite where it has one.
func (r *reader) deny(what string, p int) {
	f := Fact{Place: r.place(p), What: SaysNot, Word: what}
	if other := opposites()[what]; other != "" {
		f.What, f.Word, f.Urgent = other, clearedOf(what), urgent(other)
	}
	f.doubt("what", 0.8, AskSure)
	r.add(f)
}

// mostLots is more than the lots of any mill's life.
const mostLots = 1e9

// lotOf takes the number of a lot out of a clause; at a laboratory a bare whole number of three
// digits or four is one too.
func (r *reader) lotOf(c *clause) {
	lab := len(r.c.Posts) > 0 && r.c.Posts[0] == state.Lab
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isFigure || !x.fig.whole() || x.unit != "" || c.lot != 0 {
			continue
		}
		named := i > 0 && c.parts[i-1].says(words.Talk, "lot")
		if named || lab && x.fig.v >= 100 && x.fig.v < 10000 && !x.fig.sure {
			if x.fig.v > mostLots {
				r.ask(AskWhat, show(x.fig), "")
				continue
			}
			c.lot, x.kind = state.LotID(x.fig.v), isSkipped
		}
	}
}

// stamp gives the facts of a clause the time that was said, its lot, and the doubts of its place.
func (r *reader) stamp(c *clause, from int) {
	at, when := c.when(r, from)
	if c.soon() && from < len(r.h.Facts) && tells(r.h.Facts[from].What) {
		r.ask(AskSure, "", "")
	}
	stamped := false
	for i := from; i < len(r.h.Facts); i++ {
		f := &r.h.Facts[i]
		f.Lot = c.lot
		if f.Place != state.Whole {
			f.Doubt = append(f.Doubt, c.guess...)
		}
		if at == nil && !f.Told && lasts(f.What) && c.untimed() {
			f.doubt("time", 0.5, AskTime)
		}
		if at == nil || f.Told || !lasts(f.What) {
			continue
		}
		stamped = true
		f.At, f.Told = at.at, true
		if at.vague || c.tellings() > 1 { // whose hour is it?
			f.doubt("time", 0.7, AskTime)
		}
	}
	if at != nil && at.ahead && from < len(r.h.Facts) { // "t3 wash tomorrow 6"
		r.ask(AskSure, when, "")
	}
	switch {
	case !stamped:
	case at.ahead:
		r.ask(AskSure, when, "")
	case at.ask && moved(r.h.Facts[from].What), r.longGone(at), r.beforeIt(at, from):
		r.ask(AskTime, when, "")
		r.h.Near = r.dayOf(at)
	}
}

// longestAgo is how long ago a line of the floor may lie before its hour is asked: the length of a
// harvest, half a year (common practice, no source).
const longestAgo = 183 * 24 * time.Hour

// longGone says that a moment lies further back than a harvest is long.
func (r *reader) longGone(at *moment) bool { return r.c.At.Sub(at.at) > longestAgo }

// beforeIt says that what is told of coffee would have happened before that coffee came to the
// place.
func (r *reader) beforeIt(at *moment, from int) bool {
	for i := from; i < len(r.h.Facts); i++ {
		f := &r.h.Facts[i]
		p := r.byName(f.Place)
		if p < 0 || !r.c.Places[p].Holds || at.at >= r.c.Places[p].Since {
			continue
		}
		switch f.What {
		case state.ActWash, state.ActUnload, state.ActGather, state.ActShip, state.Rough,
			state.Slippery, state.Full, state.Turned:
			return true
		}
	}
	return false
}

// dayOf is the day and hour of a moment that is asked about: with its year, so that no other is
// meant.
func (r *reader) dayOf(at *moment) string {
	return at.at.Time().In(r.zone).Format("02.01.2006 15:04")
}

// lasts says that a fact has an instant of its own that a line may tell.
func lasts(what string) bool {
	switch what {
	case state.NotClean, state.RainComing, state.WashOrdered, state.OutOrdered, state.WashAsked,
		state.OutAsked, state.WashRefused, SaysHow, SaysCap, SaysNot, SaysPicked, SaysAsks:
		return false
	}
	return true
}
