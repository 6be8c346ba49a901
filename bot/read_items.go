package bot

import (
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

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

// nearLimit is how many unknown words of a line are compared with the vocabulary.
const nearLimit = 12

// itemise turns tokens into items: places by name, the longest known phrase, figures, separators.
// Words that mean nothing here are dropped.
func (r *reader) itemise() {
	if cap(r.items) < len(r.tokens) {
		r.items = make([]item, 0, len(r.tokens))
		r.spare = make([]item, 0, len(r.tokens))
	}
	for i := 0; i < len(r.tokens); {
		t := r.tokens[i]
		if n, p := r.placeAt(i); n > 0 {
			r.items = append(r.items, item{kind: isPlace, text: t.text, ps: []int{p}, sure: true})
			i += n
			continue
		}
		if t.form == inDigits {
			r.items = append(r.items, item{kind: isFigure, text: t.text, fig: r.figure(t.text)})
			i++
			continue
		}
		if n, is := r.w.Match(r.texts[i:]); n > 0 {
			is = r.ofSender(is)
			if !onlyFiller(is) {
				text := strings.Join(r.texts[i:i+n], " ")
				r.items = append(r.items, item{kind: isWord, text: text, is: is})
			}
			i += n
			continue
		}
		if t.form == inStop {
			r.items = append(r.items, item{kind: isStop, text: t.text})
		} else {
			r.unknown(t.text)
		}
		i++
	}
}

// unknown adds a word that nobody knows here, or the word it was nearly.
func (r *reader) unknown(text string) {
	for _, p := range r.c.People {
		if words.FoldText(p) == text {
			return
		}
	}
	x := item{kind: isOther, text: text}
	if p := r.nearPlace(text); p >= 0 {
		x.kind, x.ps, x.near = isPlace, []int{p}, r.c.Places[p].Name
		r.items = append(r.items, x)
		return
	}
	if r.looked++; r.looked <= nearLimit {
		if near := r.w.Near(text); near != "" {
			if n, is := r.w.Match([]string{near}); n > 0 {
				is = r.ofSender(is)
				if onlyFiller(is) {
					return
				}
				if nearly(is[0], r.w, near) {
					x.kind, x.is, x.near = isWord, is, near
				}
			}
		}
	}
	r.items = append(r.items, x)
}

// nearly says that a mistyped word may be taken for a known one. Small words of time and joining
// are too easily meant; a cry for help only for its plainest words.
func nearly(m words.Meaning, w *words.Words, near string) bool {
	switch m.In {
	case words.Time, words.Join, words.Danger, words.Hedge:
		return false
	case words.Mark:
		if m.Name != state.Help {
			return true
		}
		for _, lang := range w.Langs() {
			if near == w.Show(lang, m.In, m.Name) {
				return true
			}
		}
		return false
	}
	return true
}

// nearPlace finds the place that a name such as t33 was meant for; -1 for other words.
func (r *reader) nearPlace(text string) int {
	digit := strings.IndexAny(text, "0123456789")
	if digit < 1 || !r.prefix(text[:digit]) {
		return -1
	}
	best, far := -1, 99
	for i, n := range r.names {
		if strings.HasPrefix(n, text[:digit]) && len(n) > digit && isDigit(n[digit]) {
			if d := apart(n[digit:], text[digit:]); d < far {
				best, far = i, d
			}
		}
	}
	return best
}

// apart is a rough distance of two short figures: the characters that differ by place.
func apart(a, b string) int {
	d := len(a) - len(b)
	if d < 0 {
		d = -d
	}
	for i := 0; i < len(a) && i < len(b); i++ {
		if a[i] != b[i] {
			d += 2
		}
	}
	return d
}

// placeAt finds a place by its name at a token; names may have several words.
func (r *reader) placeAt(i int) (took, place int) {
	for p, n := range r.names {
		if r.tokens[i].text == n {
			return 1, p
		}
		if !strings.HasPrefix(n, r.tokens[i].text) || !strings.Contains(n, " ") {
			continue
		}
		parts := strings.Fields(n)
		if i+len(parts) <= len(r.texts) && strings.Join(r.texts[i:i+len(parts)], " ") == n {
			return len(parts), p
		}
	}
	return 0, -1
}

// ofSender keeps the meanings of the sender's language where a word has one there.
func (r *reader) ofSender(is []words.Meaning) []words.Meaning {
	if len(is) < 2 || r.c.Lang == "" {
		return is
	}
	mine := 0
	for i := range is {
		if strings.Contains(is[i].Lang, r.c.Lang) {
			mine++
		}
	}
	if mine == 0 || mine == len(is) {
		return is
	}
	kept := make([]words.Meaning, 0, mine)
	for i := range is {
		if strings.Contains(is[i].Lang, r.c.Lang) {
			kept = append(kept, is[i])
		}
	}
	return kept
}

func onlyFiller(is []words.Meaning) bool { return len(is) == 1 && is[0].In == words.Filler }

// fits lists the kinds of place at which something is seen, done or measured; nil for any. The
// first is the likeliest.
func fits(what string) []state.Kind {
	switch what {
	case state.SoakStart, state.Rinsed, state.Overflow:
		return []state.Kind{state.Tank, state.Channel, state.Waiting}
	case state.Full:
		return []state.Kind{state.Tank, state.Silo, state.Drum, state.Waiting, state.Channel}
	case state.ActAdd:
		return []state.Kind{state.Tank, state.Drum}
	case state.Slippery, state.Rough, state.Foam, state.ActWash, state.MassC, state.PH:
		return []state.Kind{state.Tank}
	case state.Turned, state.Covered, state.Uncovered, state.Rewetted, state.Cracked,
		state.ActSpread, state.ActGather, state.Depth:
		return []state.Kind{state.Patio}
	case state.FireOut, state.FireLow, state.FireLit, state.AirC, state.ActLoad, state.ActUnload,
		state.BiteDry:
		return []state.Kind{state.Drum, state.Predryer}
	case state.ActStore, state.Insects, state.Aw, SaysCount, state.Bags:
		return []state.Kind{state.Silo, state.Store}
	case state.ActIntake, state.Unripe, SaysPicked:
		return []state.Kind{state.Intake}
	case SaysClass, state.Mistake:
		return []state.Kind{state.Channel}
	case state.Stopped, state.Running:
		return []state.Kind{state.Drum, state.Pulper, state.Predryer, state.Intake, state.Meter}
	}
	return nil
}
