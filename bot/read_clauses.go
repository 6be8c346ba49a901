package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// From items to clauses: what is said of one place or list of places. In a line that begins with a
// place, the words after it are its own; in a line that begins with a verb, the verb before it is.
//
//	t3 21 t4 22              place first: two clauses
//	cubri p1 y movi p2       verb first: two clauses
//	d1 load p1 p3 2800kg     one: p1 and p3 are the other end of the load
//	c1 t3 primera 14         one: a channel and its tank
//	p1 tapado, movi p2       a comma gives the verb to the place after it

// clause is what is said of one place or list of places.
type clause struct {
	places []int // plain
	from   []int
	to     []int
	except []int // "not p3"
	but    bool  // they were excepted: "all but p3"
	inside []int // of the plain ones, those said with "in"
	parts  []item
	asks   bool // a question
	asked  bool // it begins with a word of asking
	guess  []Doubt
	lot    state.LotID
	grade  string // the density class of what is moved, said beside its amount
	near   string // a place that was nearly named
	about  string
	verbal int // index of the first part that came after the last place
}

// clauses parts a line by its places: each place owns what stands beside it. In a line that begins
// with a place, that is what follows; in one that begins with a verb, the verbs before it.
func (r *reader) clauses() []clause {
	var done []clause
	var now clause
	verbFirst, soft := false, false
	asked := len(r.items) > 1 && r.items[0].joins("asks", "who")
	finish := func() {
		if !now.empty() {
			now.asks, now.asked = now.asks || asked, asked
			done = append(done, now)
		}
		now = clause{}
		verbFirst, soft = false, false
	}
	for i := range r.items {
		x := r.items[i]
		switch {
		case x.kind == isStop:
			switch x.text {
			case "?":
				now.asks = true
				finish()
			case ".", "!", ";", "\n":
				finish()
			case ",", "-", "(", ")":
				soft = true
			}
		case x.kind == isPlace:
			if !now.named() && now.ofMill() {
				finish()
			}
			if !now.named() {
				verbFirst = len(now.parts) > 0
			}
			if now.opens(r, &x, soft) {
				next := clause{}
				if verbFirst || soft {
					next.parts = now.release(verbFirst, soft)
				}
				first := verbFirst
				finish()
				now, verbFirst = next, first && len(next.parts) > 0
			}
			now.place(&x)
			now.verbal, soft = len(now.parts), false
		default:
			now.parts = append(now.parts, x)
		}
	}
	finish()
	return done
}

// place adds places to a clause by their role.
func (c *clause) place(x *item) {
	switch x.role {
	case 'f':
		c.from = append(c.from, x.ps...)
	case 't':
		c.to = append(c.to, x.ps...)
	case 'n', 'x':
		c.except = append(c.except, x.ps...)
		c.but = c.but || x.role == 'x'
	default:
		c.places = append(c.places, x.ps...)
		if x.in {
			c.inside = append(c.inside, x.ps...)
		}
	}
	if x.near != "" {
		c.near, c.about = x.near, x.text
	}
	if !x.sure {
		c.guess = append(c.guess, Doubt{What: "place", Sure: 0.8, Settle: AskPlace})
	}
}

// opens says whether a further place begins a clause of its own.
func (c *clause) opens(r *reader, x *item, soft bool) bool {
	if x.role == 't' && len(c.to) > 0 {
		for i := c.verbal; i < len(c.parts); i++ {
			if c.parts[i].says(words.Class, "") {
				return true // "primera al 1 segunda al 2"
			}
		}
	}
	if x.role != 0 || len(c.places) == 0 {
		return false
	}
	said := false
	for i := range c.parts {
		switch p := &c.parts[i]; p.kind {
		case isAct:
			if moves(p.name) && !r.alike(c.places[0], x.ps[0]) && !soft &&
				len(c.from)+len(c.to) == 0 && !c.manyKinds(r) {
				return false // the other end of the move
			}
			said = true
		case isOrder:
			if (p.name == "store" || p.name == "load") && !soft && !r.alike(c.places[0], x.ps[0]) {
				return false // "s1 guardar d1", "d1 cargar p1"
			}
			said = true
		case isMark, isReading, isClass, isAmount, isFigure:
			said = true
		case isWord:
			said = said || p.says(words.Class, "") || p.says(words.Talk, "ready") ||
				p.says(words.Join, "still") || p.says(words.Talk, "holds")
		}
	}
	return said || r.shifting // else "c1 t3 primera 14"
}

// manyKinds says that a clause has places of several kinds already.
func (c *clause) manyKinds(r *reader) bool {
	for _, p := range c.places {
		if !r.alike(c.places[0], p) {
			return true
		}
	}
	return false
}

// release gives up the verbs after the last place, for the place that follows them.
func (c *clause) release(verbFirst, soft bool) []item {
	cut := len(c.parts)
	for cut > c.verbal {
		k := c.parts[cut-1].kind
		if k != isMark && k != isAct && k != isOrder && k != isWord && k != isOther &&
			!(c.leads() && (k == isFigure || k == isReading)) {
			break
		}
		cut--
	}
	if !verbFirst && !soft {
		return nil
	}
	away := append([]item(nil), c.parts[cut:]...)
	kept := 0
	for i := range c.parts[:cut] {
		if k := c.parts[i].kind; k == isMark || k == isAct || k == isOrder || k == isReading ||
			k == isFigure || c.parts[i].says(words.Class, "") {
			kept++
		}
	}
	if kept == 0 && len(away) > 0 { // the only verbs are its own
		return nil
	}
	c.parts = c.parts[:cut:cut]
	return away
}

// ofMill says that a clause tells only of the whole mill: "drizzle started, p1 covered".
func (c *clause) ofMill() bool {
	mill := false
	for i := range c.parts {
		switch x := &c.parts[i]; {
		case x.kind == isMark && ofMill(x.name):
			mill = true
		case x.telling(), x.kind == isReading, x.kind == isFigure, x.kind == isAmount:
			return false
		}
	}
	return mill
}

// byHours parts a clause that tells several things each with its hour, "fire out 0240 lit again
// 0300": every hour belongs to what stands before it, or behind it where the clause begins with an
// hour. Other clauses stay whole.
func (c *clause) byHours() []clause {
	hours, first := 0, -1
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isTime {
			hours++
		}
		if first < 0 && (x.kind == isTime || x.telling()) {
			first = i
		}
	}
	if hours < 2 || c.tellings() < 2 {
		return []clause{*c}
	}
	leading, from := c.parts[first].kind == isTime, 0
	var all []clause
	for i := range c.parts {
		last := i+1 == len(c.parts)
		if !last && (c.parts[i].kind != isTime || leading) && (!leading ||
			c.parts[i+1].kind != isTime || i < first) {
			continue
		}
		part := *c
		part.parts, part.verbal = c.parts[from:i+1], 0
		if part.tellings() == 0 && len(all) > 0 { // "0240 fire out, seen 0300"
			n := &all[len(all)-1]
			n.parts = append(n.parts[:len(n.parts):len(n.parts)], part.parts...)
		} else {
			all = append(all, part)
		}
		from = i + 1
	}
	return all
}

// telling says that an item is something seen, done, moved or wished.
func (x *item) telling() bool {
	return x.kind == isMark || x.kind == isAct || x.kind == isOrder
}

// tellings counts what a clause tells that was seen, done, moved or wished.
func (c *clause) tellings() int {
	n := 0
	for i := range c.parts {
		if c.parts[i].telling() {
			n++
		}
	}
	return n
}

// leads says that the clause begins with its figure: "11,4 la s2 11,8 la s3".
func (c *clause) leads() bool {
	return len(c.parts) > 0 && (c.parts[0].kind == isFigure || c.parts[0].kind == isReading)
}
