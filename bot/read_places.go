package bot

import (
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

// Places that are not written by their names: by their kind ("tina 3"), letter by letter ("te
// tres"), or by a bare number of the sender's post ("el 4", "turned 1 2 4"). The last kind is a
// guess and is said back.
//
// Which kind a bare number is of is decided by what the line speaks of, and else by the sender's
// post: "el 4 ya raspa" is a tank even from a drum hand, because only tanks are rubbed; "la 3
// marca 72" is whatever the sender works at. A number that no place has is left to be a figure.

// placeRule finds places that are not written by their names: "tina 3", "te tres", "el 4".
func (r *reader) placeRule(before *item, at []item) (item, int) {
	if len(at[0].text) == 1 && (at[0].kind == isOther || at[0].kind == isWord) ||
		at[0].says(words.Letter, "") {
		if to, n := r.spelled(before, at); n > 0 {
			return to, n
		}
	}
	if name, ok := r.kindOf(at); ok {
		if at[0].says(words.Act, "") && before.kind == isPlace && len(at) > 1 {
			return item{}, 0 // "s1 store d1": the verb
		}
		return r.byKind(state.Kind(name), at)
	}
	if at[0].kind == isFigure && at[0].fig.v == 1 && before.says(words.Time, "at") && r.elsewhere(at) {
		return item{}, 0 // "a la una": the hour
	}
	if at[0].kind == isFigure && before.kind == isWord && (before.joins("in", "from", "but") ||
		before.joins("to") && (len(at) < 2 || at[1].kind != isFigure)) {
		return r.afterJoin(at)
	}
	if at[0].joins("the", "number") || at[0].stops("#") {
		return r.byNumber(at)
	}
	if at[0].kind == isWord && !r.hasPlaces() && len(at) > 1 && at[1].kind == isFigure {
		if to, n := r.numbersAfter(at); n > 0 {
			return to, n
		}
	}
	if before.stops("\n") && at[0].kind == isFigure && len(at) > 1 && at[1].kind == isWord {
		return r.leading(at)
	}
	return item{}, 0
}

// elsewhere says that a line names a place before what is left of it.
func (r *reader) elsewhere(left []item) bool {
	said := r.items[:len(r.items)-len(left)]
	for i := range said {
		x := &said[i]
		next := i+1 < len(said) && said[i+1].kind == isFigure || i+1 < len(said) &&
			said[i+1].says(words.Number, "")
		if x.kind == isPlace || next && (x.joins("the", "in") || x.says(words.Kind, "")) {
			return true
		}
	}
	return false
}

// kindOf is the kind of place that a word names; of several the one that has the number behind it.
func (r *reader) kindOf(at []item) (name string, ok bool) {
	name, ok = at[0].of(words.Kind)
	if len(at) < 2 || at[1].kind != isFigure || !at[1].fig.whole() {
		return name, ok
	}
	for _, m := range at[0].is {
		if ok && m.In == words.Kind && r.numbered(state.Kind(m.Name), int(at[1].fig.v)) >= 0 {
			return m.Name, true
		}
	}
	return name, ok
}

// spelled finds "t 3", "t-3" and "te tres". A letter's name that is also another word counts only
// at the front of a line.
func (r *reader) spelled(before *item, at []item) (item, int) {
	letter := at[0].text
	if name, ok := at[0].of(words.Letter); ok {
		letter = name
		if len(at[0].is) > 1 && !before.stops("\n") {
			return item{}, 0
		}
	}
	n := 1
	if n < len(at) && at[n].stops("-") {
		n++
	}
	if n >= len(at) || at[n].kind != isFigure || !at[n].fig.whole() {
		return item{}, 0
	}
	p := r.named(letter + strconv.Itoa(int(at[n].fig.v)))
	if p < 0 {
		return item{}, 0
	}
	spelt := len(at[0].text) == 1
	return item{kind: isPlace, text: textOf(at[:n+1]), ps: []int{p}, sure: spelt}, n + 1
}

// byKind finds "tina 3", and a kind of place without a number.
func (r *reader) byKind(k state.Kind, at []item) (item, int) {
	n := 1
	bed := k == "bed" // a raised bed is a patio; named so only where the mill does
	if bed {
		k = state.Patio
	}
	for n < len(at) && (at[n].says(words.Join, "number") || at[n].stops("#")) {
		n++
	}
	if n < len(at) && at[n].kind == isFigure && at[n].fig.whole() && at[n].fig.v < 1000 {
		number := int(at[n].fig.v)
		if p := r.numbered(k, number); p >= 0 {
			x := item{kind: isPlace, text: textOf(at[:n+1]), ps: []int{p}, sure: true}
			if bed && r.names[p][0] != at[0].text[0] {
				x.near = r.c.Places[p].Name
			}
			return x, n + 1
		}
		if number < 20 && r.count(k) > 1 && (n+1 == len(at) || at[n+1].kind != isWord ||
			!at[n+1].says(words.Unit, "")) {
			near := r.firstOf(k)
			return item{kind: isPlace, text: textOf(at[:n+1]), ps: []int{near},
				near: r.c.Places[near].Name}, n + 1
		}
	}
	return item{kind: isKind, text: at[0].text, name: string(k), is: at[0].is}, 1
}

// byNumber finds "el 4", "la uno", "number 4": a place of the kind the line speaks of, or of the
// sender's post.
func (r *reader) byNumber(at []item) (item, int) {
	n := 1
	for n < len(at) && (at[n].says(words.Join, "number") || at[n].stops("#")) {
		n++
	}
	if n >= len(at) || at[n].kind != isFigure || !at[n].fig.whole() || at[n].fig.v > 99 ||
		n+1 < len(at) && (at[n+1].says(words.Unit, "") || at[n+1].says(words.Measure, "")) {
		return item{}, 0
	}
	if p := r.numbered(r.spokenOf(), int(at[n].fig.v)); p >= 0 {
		return item{kind: isPlace, text: textOf(at[:n+1]), ps: []int{p}}, n + 1
	}
	return item{}, 0
}

// afterJoin finds a place named by its number after a word such as "en el" or "pra": "al 6".
func (r *reader) afterJoin(at []item) (item, int) {
	f := at[0].fig
	if !f.whole() || f.v > 20 || len(f.raw) > 2 || len(at) > 1 && (at[1].says(words.Unit, "") ||
		at[1].says(words.Measure, "")) {
		return item{}, 0
	}
	k := r.spokenOf()
	if n := len(r.items) - len(at); n > 1 && r.items[n-1].joins("from") &&
		r.items[n-2].says(words.Class, "") {
		k = state.Tank // "la segunda de la tres"
	}
	if p := r.numbered(k, int(f.v)); p >= 0 {
		return item{kind: isPlace, text: at[0].text, ps: []int{p}}, 1
	}
	return item{}, 0
}

// leading finds a place that is named by a bare number at the front of a line: "4 rough".
func (r *reader) leading(at []item) (item, int) {
	f := at[0].fig
	if !f.whole() || f.v > 20 || !at[1].says(words.Mark, "") && !at[1].says(words.Act, "wash") &&
		!at[1].says(words.Join, "no-more") && !at[1].says(words.Join, "still") &&
		!at[1].says(words.Order, "wash") {
		return item{}, 0
	}
	if p := r.numbered(r.spokenOf(), int(f.v)); p >= 0 {
		return item{kind: isPlace, text: at[0].text, ps: []int{p}}, 1
	}
	return item{}, 0
}

// spokenOf is the kind of place the line speaks of by its marks and acts; else the sender's post.
func (r *reader) spokenOf() state.Kind {
	if r.spoken == nil {
		k := r.speaksOf()
		r.spoken = &k
	}
	return *r.spoken
}

func (r *reader) speaksOf() state.Kind {
	first := state.Kind("")
	for i := range r.items {
		if x := &r.items[i]; x.kind == isKind && (x.role == 'f' || x.role == 't') {
			first = state.Kind(x.name)
		}
	}
	for i := range r.items {
		x := &r.items[i]
		for _, in := range [...]words.Section{words.Mark, words.Act, words.Order, words.Quantity} {
			name, ok := x.of(in)
			if !ok {
				continue
			}
			kinds := fits(name)
			for _, post := range r.c.Posts {
				if oneOf(post, kinds) {
					return post
				}
			}
			if len(kinds) > 0 && first == "" {
				if first = kinds[0]; (name == state.Covered || name == state.Uncovered) &&
					len(r.c.Posts) > 0 && r.c.Posts[0] == state.Tank {
					first = state.Tank // who works at the tanks covers a tank
				}
			}
		}
	}
	if first == "" && len(r.c.Posts) > 0 {
		return r.c.Posts[0]
	}
	return first
}
