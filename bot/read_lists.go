package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Several places in one line: lists, ranges, all of a kind, and the part a place plays in a move
// (from it, to it, all but it).
//
//	p1 p3          two places
//	turned 1 2 4   three patios: numbers after what only patios have done to them
//	1 57 2 54      a place and its reading by turns, in a line of nothing else
//	p1, p2 y p3    three; the "y" closes the list
//	p2 e p3 p4     two lists: what follows a closed list begins another clause
//	p1-p4          all patios between
//	all patios     those that hold coffee
//	from t2        where it comes from
//	not p3         the one that it is denied of
//	all but p3     the others that hold coffee

// numbersAfter finds places named by bare numbers after what was done to them: "turned 1 2 4". The
// word itself stays: it is given back as the pass's item when the numbers are taken next.
func (r *reader) numbersAfter(at []item) (item, int) {
	name, ok := at[0].of(words.Mark)
	if !ok {
		if name, ok = at[0].of(words.Order); !ok {
			return item{}, 0
		}
	}
	kinds := fits(name)
	if kinds == nil {
		return item{}, 0
	}
	k := kinds[0]
	for _, post := range r.c.Posts {
		if oneOf(post, kinds) {
			k = post
		}
	}
	end := 1
	for end < len(at) && (at[end].kind == isFigure || at[end].stops(",") ||
		at[end].says(words.Join, "and")) {
		if at[end].kind == isFigure && (!at[end].fig.whole() ||
			r.numbered(k, int(at[end].fig.v)) < 0 || end+1 < len(at) &&
			(at[end+1].says(words.Unit, "") || at[end+1].says(words.Measure, ""))) {
			return item{}, 0
		}
		end++
	}
	for i := range at[:end] {
		if x := &at[i]; x.kind == isFigure {
			*x = item{kind: isPlace, text: x.text, ps: []int{r.numbered(k, int(x.fig.v))}}
		}
	}
	return at[0], 1
}

// pairs reads a line of nothing but figures, place and reading by turns: "1 57 2 54 3 61".
func (r *reader) pairs() {
	if len(r.items) < 4 || len(r.items)%2 != 0 || len(r.c.Posts) == 0 {
		return
	}
	var ps []int
	for i := range r.items {
		x := &r.items[i]
		if x.kind != isFigure {
			return
		}
		p := r.numbered(r.c.Posts[0], int(x.fig.v))
		if i%2 == 0 {
			ps = append(ps, p)
		}
		if (i%2 == 0) != (p >= 0) || i%2 == 0 && !x.fig.whole() {
			return
		}
	}
	for i, p := range ps {
		r.items[2*i] = item{kind: isPlace, text: r.items[2*i].text, ps: []int{p}}
	}
}

// listRule joins places that stand together: "p1 p3", "p1, p2 y p3", "p1-p4". A list that "and"
// has closed takes no further place, so that "p2 e p3 p4 molhou" is two lists.
func (r *reader) listRule(before *item, at []item) (item, int) {
	if at[0].kind != isPlace {
		return r.allRule(at)
	}
	to, n := at[0], 1
	for n < len(at) {
		m := n
		joint := ""
		for m < len(at) && (at[m].stops(",") || at[m].stops("+") || at[m].stops("/") ||
			at[m].stops("&") || at[m].stops("-") || at[m].says(words.Join, "and") ||
			at[m].text == "+" || at[m].says(words.Talk, SaysLater) || at[m].says(words.Class, "1") &&
			r.c.Places[to.ps[0]].Kind == state.Tank) { // "wash t1 first then t4"
			if joint = at[m].text; at[m].says(words.Join, "and") || joint == "&" {
				joint = "and"
			}
			m++
		}
		if joint != "" && m+1 < len(at) && at[m].joins("the") && at[m+1].kind == isPlace {
			m++ // "p1 e o p2"
		}
		if m == len(at) || at[m].kind != isPlace || !r.alike(to.ps[0], at[m].ps[0]) ||
			to.ends && joint != "and" {
			break
		}
		if joint == "-" {
			to.ps = r.through(to.ps, at[m].ps[0])
		} else {
			to.ps = append(to.ps[:len(to.ps):len(to.ps)], at[m].ps...)
		}
		to.ends = to.ends || joint == "and"
		to.sure = to.sure && at[m].sure
		if at[m].near != "" {
			to.near, to.text = at[m].near, at[m].text
		}
		n = m + 1
	}
	if n == 1 {
		return item{}, 0
	}
	return to, n
}

// through adds the places from the last of a list up to another one: p1-p4.
func (r *reader) through(ps []int, to int) []int {
	from := ps[len(ps)-1]
	for i := range r.c.Places {
		if i > from && i < to && r.alike(from, i) {
			ps = append(ps[:len(ps):len(ps)], i)
		}
	}
	return append(ps[:len(ps):len(ps)], to)
}

// allRule finds "all patios": those that hold coffee.
func (r *reader) allRule(at []item) (item, int) {
	if !at[0].says(words.Join, "all") || len(at) < 2 || at[1].kind != isKind {
		return item{}, 0
	}
	if ps := r.holding(state.Kind(at[1].name)); len(ps) > 0 {
		return item{kind: isPlace, text: textOf(at[:2]), ps: ps}, 2
	}
	return item{}, 0
}

// roleRule marks a place by the word before it: from it, to it, or not it.
func (r *reader) roleRule(before *item, at []item) (item, int) {
	n, role, in := 0, byte(0), false
	for n < len(at) && n < 3 && at[n].kind == isWord {
		switch {
		case at[n].says(words.Join, "from"):
			role = 'f'
		case at[n].says(words.Join, "to"):
			role = 't'
		case at[n].says(words.Join, "but"):
			role = 'x'
		case at[n].says(words.Join, "not") || at[n].says(words.Talk, "no"):
			role = 'n'
		case at[n].says(words.Join, "in"):
			in = true
		case at[n].says(words.Join, "the"):
		default:
			return item{}, 0
		}
		n++
	}
	if n == 0 || n == len(at) || at[n].kind != isPlace && at[n].kind != isKind {
		return item{}, 0
	}
	if at[n].kind == isKind && (role == 'n' || role == 'x') {
		return item{}, 0
	}
	to := at[n]
	to.role, to.in = role, in
	return to, n + 1
}
