package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// placeRule finds places that are not written by their names: "tina 3", "te tres", "el 4".
func (r *reader) placeRule(before *item, at []item) (item, int) {
	if at[0].kind == isOther && len(at[0].text) == 1 || at[0].says(words.Letter, "") ||
		at[0].says(words.Unit, "") && len(at[0].text) == 1 {
		return r.spelled(before, at)
	}
	if name, ok := at[0].of(words.Kind); ok {
		return r.byKind(state.Kind(name), at)
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
	spelt := at[0].kind == isOther || at[0].says(words.Unit, "")
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
	if p := r.numbered(r.spokenOf(), int(f.v)); p >= 0 {
		return item{kind: isPlace, text: at[0].text, ps: []int{p}}, 1
	}
	return item{}, 0
}

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
				first = kinds[0]
			}
		}
	}
	if first == "" && len(r.c.Posts) > 0 {
		return r.c.Posts[0]
	}
	return first
}

// numbered is the place of a kind whose name ends with a number; -1 when none or several do.
func (r *reader) numbered(k state.Kind, number int) int {
	tail, found := strconv.Itoa(number), -1
	for i, n := range r.names {
		if r.c.Places[i].Kind != k || !strings.HasSuffix(n, tail) {
			continue
		}
		if rest := len(n) - len(tail); rest > 0 && isDigit(n[rest-1]) {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = i
	}
	return found
}

// count is how many places of a kind there are.
func (r *reader) count(k state.Kind) int {
	n := 0
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k {
			n++
		}
	}
	return n
}

// firstOf is the first place of a kind; -1 when there is none.
func (r *reader) firstOf(k state.Kind) int {
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k {
			return i
		}
	}
	return -1
}

func oneOf(k state.Kind, kinds []state.Kind) bool {
	for _, x := range kinds {
		if x == k {
			return true
		}
	}
	return false
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
			at[m].text == "+" || at[m].says(words.Talk, SaysLater)) {
			if joint = at[m].text; at[m].says(words.Join, "and") || joint == "&" {
				joint = "and"
			}
			m++
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

// alike says that two places are of one kind.
func (r *reader) alike(a, b int) bool { return r.c.Places[a].Kind == r.c.Places[b].Kind }

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

// holding are the places of a kind that hold coffee.
func (r *reader) holding(k state.Kind) []int {
	var ps []int
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k && r.c.Places[i].Holds {
			ps = append(ps, i)
		}
	}
	return ps
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
