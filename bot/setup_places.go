package bot

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lotbell/state"
)

// placing is what places a question is about.
type placing struct {
	kind   state.Kind
	prefix string       // of the usual names
	least  float64      // a smaller figure is no size of such a place
	bare   float64      // the same for a figure without a unit, which may be a reading
	area   bool         // has square metres
	dial   bool         // has a dial
	vat    bool         // may be covered, and may have a thermometer
	also   []state.Kind // kinds that may be named in the same answer
}

// mostPlaces is how many places one answer may name.
const mostPlaces = 60

// placeReader reads the places of an answer. Names come first, then what is true of them; a name
// after that begins the next group. What comes before any name is true of all.
type placeReader struct {
	t      *turn
	p      placing
	out    []state.SetPlace
	from   int            // where the present group begins in out
	told   bool           // something was said of the present group
	common state.SetPlace // said before any name
	count  int            // "4 tanks"
}

// readPlaces reads the places of an answer, none for "none". The second value is the first word
// that was not understood, "" when all was.
func (t *turn) readPlaces(a answer, p placing) ([]state.SetPlace, string) {
	if len(a.words) == 1 && t.means(a.words[0], "answer.none") {
		return nil, ""
	}
	r := &placeReader{t: t, p: p, common: state.SetPlace{Kind: p.kind}}
	for i := 0; i < len(a.words); {
		n := r.next(a.words[i:])
		if n == 0 || len(r.out) > mostPlaces {
			return nil, a.words[i]
		}
		i += n
	}
	if len(r.out) == 0 {
		for i := range r.count {
			r.name(p.prefix + strconv.Itoa(i+1))
		}
	}
	if len(r.out) == 0 {
		return nil, a.raw
	}
	for _, s := range r.out {
		is, known := t.mill.Place(s.Name)
		if !goodName(s.Name) || t.taken(s.Name, s.Kind) || known && is.Kind != s.Kind {
			return nil, s.Name
		}
	}
	return r.out, ""
}

// next takes what stands at the front of some words, and gives how many it took; 0 when it is
// nothing of a place. The rules apply in this order.
func (r *placeReader) next(ws []string) int {
	if n := r.span(ws); n > 0 {
		return n
	}
	if n := 1; r.p.vat && r.t.means(ws[0], "answer.under") { // under water, bajo el agua
		for n < len(ws) && r.t.idle(ws[n]) {
			n++
		}
		if n < len(ws) && r.vat(ws[n:]) > 0 {
			return n + 1
		}
	}
	if a, n := r.t.amountAt(ws); n > 0 {
		return r.size(a, ws, n)
	}
	if r.t.idle(ws[0], r.p.kind) {
		return 1
	}
	if r.p.dial && r.needle(ws[0]) {
		return 1
	}
	if n := r.vat(ws); r.p.vat && n > 0 {
		return n
	}
	if k, ok := r.t.kind(ws[0]); ok && slices.Contains(r.p.also, k) {
		return r.other(k, ws)
	}
	if named(ws[0]) {
		r.name(ws[0])
		return 1
	}
	return 0
}

// placeName is how most places are called: letters, a number, for part of a patio one more letter.
var placeName = regexp.MustCompile(`^[a-z]+-?[0-9]+[a-z]?$`)

// named says whether a word is such a name.
func named(word string) bool { return placeName.MatchString(word) && goodName(word) }

// other takes the word for another kind of place: before the name of one ("store st1"), behind it
// ("st1 store"), or as its name.
func (r *placeReader) other(k state.Kind, ws []string) int {
	took := 1
	switch {
	case len(ws) > 1 && named(ws[1]):
		r.told = len(r.out) > 0
		r.name(ws[1])
		took = 2
	case len(r.out) == 0 || r.told:
		r.name(ws[0])
	}
	r.out[len(r.out)-1].Kind = k
	return took
}

// span reads t1-t4, t1-4, t1..t4, and the same with words between: t1 to t4, t1 a t4.
func (r *placeReader) span(ws []string) int {
	took := 1
	text := strings.Replace(ws[0], "..", "-", 1)
	if len(ws) > 2 && (ws[1] == "-" || r.t.means(ws[1], "answer.to")) {
		text, took = ws[0]+"-"+ws[2], 3
	}
	first, last, ok := strings.Cut(text, "-")
	stem := strings.TrimRight(first, "0123456789")
	if !ok || stem == "" || stem == first {
		return 0
	}
	low, err := strconv.Atoi(first[len(stem):])
	high, err2 := strconv.Atoi(strings.TrimPrefix(last, stem))
	if err != nil || err2 != nil || high < low || high-low >= mostPlaces {
		return 0
	}
	for n := low; n <= high; n++ {
		r.name(stem + strconv.Itoa(n))
	}
	return took
}

// name begins a place, and a new group when something was said of those before.
func (r *placeReader) name(name string) {
	if r.told {
		r.from, r.told = len(r.out), false
	}
	s := r.common
	s.Name = name
	r.out = append(r.out, s)
}

// each says something of the present group, or of all to come.
func (r *placeReader) each(set func(s *state.SetPlace)) {
	if len(r.out) == 0 {
		set(&r.common)
		return
	}
	r.told = true
	for i := r.from; i < len(r.out); i++ {
		set(&r.out[i])
	}
}

// size takes a figure: so many of the kind, square metres, or what a place holds.
func (r *placeReader) size(a amount, ws []string, took int) int {
	if a.unit == "" && len(ws) > took && a.x == float64(int(a.x)) && a.x <= mostPlaces {
		if k, ok := r.t.kind(ws[took]); ok && k == r.p.kind && len(r.out) == 0 {
			r.count = int(a.x)
			return took + 1
		}
	}
	if a.unit == "m2" || a.unit == "m" && r.p.area {
		if !r.p.area || a.x < r.p.least || a.x > 1e5 {
			return 0
		}
		r.each(func(s *state.SetPlace) { s.Area = a.x })
		return took
	}
	if r.p.dial && took == 2 && (a.unit == "C" || a.unit == "F") {
		a.unit, took = "", 1 // "d1 inlet 3500 C": the degrees are the dial's
	}
	x, ok := a.kilos()
	if !ok || x < r.p.least || a.unit == "" && x < r.p.bare || x >= 1e6 {
		return 0
	}
	r.each(func(s *state.SetPlace) { s.Capacity = state.Kg(x) })
	return took
}

// needle takes a word for where a dial's needle sits, or in which degrees it is.
func (r *placeReader) needle(word string) bool {
	for _, where := range [...]string{"inlet", "exhaust", "coffee"} {
		if r.t.means(word, "answer."+where) {
			r.each(func(s *state.SetPlace) { s.DialWhere = where })
			return true
		}
	}
	if u := r.t.unitOf(word); u == "C" || u == "F" {
		r.each(func(s *state.SetPlace) { s.DialUnit = u })
		return true
	}
	return false
}

// vat takes what stands for how a tank is covered or whether it has a thermometer, and says how many
// words that took.
func (r *placeReader) vat(ws []string) int {
	for _, cover := range [...]string{"open", "covered", "water"} {
		if r.t.means(ws[0], "answer."+cover) {
			r.each(func(s *state.SetPlace) { s.Cover = cover })
			return 1
		}
	}
	took, probe := 1, "yes"
	if r.t.means(ws[0], "answer.without") && len(ws) > 1 {
		took, probe = 2, "no"
	}
	if !r.t.means(ws[took-1], "answer.thermometer") {
		return 0
	}
	r.each(func(s *state.SetPlace) { s.Probe = probe })
	return took
}
