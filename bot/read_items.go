package bot

import "lotbell/bot/words"

// Items are what the passes work on: each starts as a word, a figure, a place or a mark, and is
// joined with its neighbours until it says something by itself. A rule looks at the front of what
// is left of the line and says how much of it it can use; a pass runs a few rules over the whole
// line.
//
// What an item is at each stage of "ya no resbala la 3 a las 5 y 10":
//
//	words      [ya no] [resbala] [la] [3] [a las] [5] [y] [10]
//	places     … [t3, not sure] …
//	clock      … [time 05:10]
//	marks      [mark rough] [place t3] [time 05:10]
//
// and those three are one clause. The kinds are few on purpose: a further kind of item is a
// further thing that every later step must know about.

// itemKind is what a piece of a line has been understood as so far.
type itemKind uint8

const (
	isOther   itemKind = iota // a word nobody knows here
	isWord                    // a known word that no rule has used yet
	isStop                    // a separator
	isFigure                  // a bare figure
	isPlace                   // one place or several
	isKind                    // a kind of place without a number
	isTime                    // an instant
	isSpan                    // a length of time, minutes in fig
	isReading                 // a measured value
	isAmount                  // so much of a unit or measure
	isWeigh                   // gross, tare or net
	isClass                   // so much of a density class
	isMark                    // seen or done
	isAct                     // coffee has moved
	isOrder                   // wished or asked
	isTalk                    // the conversation itself
	isDanger                  // a wish to refuse
	isHedge                   // makes the rest less than a statement
	isSkipped                 // used up by a neighbour
)

// item is a piece of a line. Each pass of the reader joins neighbours into items that say more.
type item struct {
	kind itemKind
	text string // as typed, folded
	is   []words.Meaning
	name string // the program's word
	word string // a further word: a depth, a method, what it smells of
	fig  figure
	unit string
	ps   []int // places, as indices of Context.Places
	role byte  // places: 0, 'f' from, 't' to, 'n' not
	at   moment
	not  bool // a negated act, or a bare "not" before a mark
	both bool // may also be an order (an act) or an act (an order)
	ends bool // a list of places closed by "and"
	near string
	sure bool // places: named, not guessed
	in   bool // places: "in t3"
}

// says tells whether a word may mean a program word of a section; "" is any of the section.
func (x *item) says(in words.Section, name string) bool {
	if x.kind != isWord {
		return false
	}
	for i := range x.is {
		if x.is[i].In == in && (name == "" || x.is[i].Name == name) {
			return true
		}
	}
	return false
}

// joins tells whether a word may be one of some small words that join others.
func (x *item) joins(names ...string) bool {
	for _, n := range names {
		if x.says(words.Join, n) {
			return true
		}
	}
	return false
}

// of gives the program's word that an item means in a section.
func (x *item) of(in words.Section) (string, bool) {
	if x.kind == isWord {
		for i := range x.is {
			if x.is[i].In == in {
				return x.is[i].Name, true
			}
		}
	}
	return "", false
}

// stops tells whether an item is a given separator.
func (x *item) stops(mark string) bool { return x.kind == isStop && x.text == mark }

// rule looks at the items from some place on, and at the one before. It gives the item that takes
// the place of the first n, or 0 when it does not apply.
type rule func(before *item, at []item) (to item, n int)

// pass runs rules over the line from left to right; the first that applies wins. Items are copied
// only from the first change on.
func (r *reader) pass(rules ...rule) {
	none := item{kind: isStop, text: "\n"}
	out, changed := r.spare[:0], false
	for i := 0; i < len(r.items); {
		before := &none
		switch {
		case !changed && i > 0:
			before = &r.items[i-1]
		case len(out) > 0:
			before = &out[len(out)-1]
		}
		var to item
		took := 0
		for _, apply := range rules {
			if to, took = apply(before, r.items[i:]); took > 0 {
				break
			}
		}
		switch {
		case took > 0 && !changed:
			out, changed = append(out, r.items[:i]...), true
			fallthrough
		case took > 0:
			if to.kind != isSkipped {
				out = append(out, to)
			}
		case changed:
			out = append(out, r.items[i])
		}
		i += max(took, 1)
	}
	if changed {
		r.items, r.spare = out, r.items
	}
}

// meant tells whether the word an item was made of had a meaning.
func (x *item) meant(in words.Section, name string) bool {
	for i := range x.is {
		if x.is[i].In == in && x.is[i].Name == name {
			return true
		}
	}
	return false
}

// once tells whether the word an item was made of had a meaning in a section.
func (x *item) once(in words.Section) bool {
	for i := range x.is {
		if x.is[i].In == in {
			return true
		}
	}
	return false
}
