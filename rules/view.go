package rules

import (
	"math"
	"sort"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/rest"
	"lotbell/state"
)

// View is a subject of a mill at an instant, as conditions see it: what happened after that
// instant is not in it, though the mill may know. What has no instant of its own is as the mill
// knows it now: places, settings, people, and what a lot is called. A View works every fact out at
// most once, is used by one goroutine and thrown away.
type View struct {
	mill  *state.Mill
	book  *Book
	know  *Knowledge
	at    state.Instant
	of    state.Subject
	stay  *state.Stay    // nil for a mill, a post, an empty place
	place string         // "" for the mill and posts
	last  []*state.Event // the readings and notes that count, up to at
	act   *Act           // guards only

	notes  []*state.Event // those of last that are notes, once sifted
	sifted bool

	slot   [maxFacts]uint8 // where a fact is among the values, from 1
	values []Value
	room   [16]Value // for the first of them, so that a look allocates once

	tankIs  *ferment.Forecast
	dryIs   *drying.Forecast
	driftIs *rest.Drift
}

// Act is what a guard looks at: who wants to do what, from where to where.
type Act struct {
	By    *state.Person
	What  string        // an act or an order: "wash-ordered", "unload", "store", …
	To    string        // the place coffee would go to, "" when it goes nowhere
	Asked state.Instant // since when a call that asks for it has had no answer; 0: none does
	Move  *state.Move   // what has moved; nil for an order
	Told  state.Grams   // what the mill says that a measure of it weighs; 0: it has not said
}

// Value is what a fact is: a number (NaN when it cannot be told), a word ("" then) or a truth.
// Instants are milliseconds since 1970 and times milliseconds.
type Value struct {
	Num  float64
	Word string
	Is   state.Truth
}

// newView looks at a subject at an instant. The knowledge may be shared by many views.
func newView(m *state.Mill, b *Book, k *Knowledge, of state.Subject, at state.Instant) *View {
	v := k.spare
	if k.spare = nil; v == nil {
		v = &View{}
	}
	*v = View{mill: m, book: b, know: k, at: at, of: of, notes: v.notes[:0]}
	v.values = v.room[:0]
	switch of.Kind {
	case state.OfStay:
		v.stay, v.place = m.Stay(of.Stay), of.Name
	case state.OfPlace:
		v.stay, v.place = firstAt(m, of.Name, at), of.Name
	}
	switch {
	case v.stay != nil:
		v.last = m.During(v.stay, at)
	case v.place != "":
		v.last = sinceEmptied(m, v.place, at)
	default:
		v.last = m.Line(state.Whole, at)
	}
	return v
}

// firstAt is the stay that had been at a place for longest at an instant; nil when it was empty.
func firstAt(m *state.Mill, place string, at state.Instant) *state.Stay {
	var first *state.Stay
	for _, s := range m.StaysAt(place) {
		if s.OpenAt(at) {
			first = s
			break
		}
	}
	for _, s := range endedAfter(m, m.KindOf(place), at) {
		if s.Place == place && s.OpenAt(at) && (first == nil || s.From < first.From) {
			first = s
		}
	}
	return first
}

// endedAfter lists the stays of a kind that ended after an instant.
func endedAfter(m *state.Mill, k state.Kind, at state.Instant) []*state.Stay {
	ended := m.Closed(k)
	n := len(ended)
	for n > 0 && ended[n-1].To > at {
		n--
	}
	return ended[n:]
}

// openAt lists the stays of a kind that were going on at the view's instant.
func (v *View) openAt(k state.Kind) []*state.Stay {
	var out []*state.Stay
	for _, s := range v.know.stays(v.mill) {
		if s.Kind == k && s.OpenAt(v.at) {
			out = append(out, s)
		}
	}
	for _, s := range endedAfter(v.mill, k, v.at) {
		if s.OpenAt(v.at) {
			out = append(out, s)
		}
	}
	return out
}

// sinceEmptied is what was read and noted at an empty place since coffee last left it: what was
// read of that coffee says nothing about what comes next.
func sinceEmptied(m *state.Mill, place string, at state.Instant) []*state.Event {
	line, ended := m.Line(place, at), m.Closed(m.KindOf(place))
	for i := len(ended) - 1; i >= 0 && len(line) > 0; i-- {
		if to := ended[i].To; ended[i].Place == place && to <= at {
			return line[sort.Search(len(line), func(i int) bool { return line[i].At > to }):]
		}
	}
	return line
}

// value works a fact out, once.
func (v *View) value(f *Fact) Value {
	if i := v.slot[f.index]; i > 0 {
		return v.values[i-1]
	}
	x := f.get(v)
	v.values = append(v.values, x)
	v.slot[f.index] = uint8(len(v.values))
	return x
}

func unknown() Value         { return Value{Num: math.NaN()} }
func number(x float64) Value { return Value{Num: x} }
func word(w string) Value    { return Value{Num: math.NaN(), Word: w} }
func truth(is bool) Value    { return Value{Num: math.NaN(), Is: isTrue(is)} }
func grams(g state.Grams) Value {
	if g <= 0 {
		return unknown()
	}
	return number(g.Kg())
}

// since is how long ago an instant was, in milliseconds; unknown for 0.
func (v *View) since(i state.Instant) Value {
	if i == 0 {
		return unknown()
	}
	return number(float64(v.at - i))
}

// moment is an instant as a number; unknown for 0.
func moment(i state.Instant) Value {
	if i == 0 {
		return unknown()
	}
	return number(float64(i))
}

// concerns says whether an event on the line is about this view's stay.
func (v *View) concerns(e *state.Event) bool { return v.stay == nil || e.Concerns(v.stay) }

// reading is the last reading of a quantity on the line of the subject; nil when there is none.
func (v *View) reading(what string) *state.Event {
	for i := len(v.last) - 1; i >= 0; i-- {
		if v.reads(v.last[i], what) {
			return v.last[i]
		}
	}
	return nil
}

// reads says whether an event is a reading of a quantity that is about this view's stay.
func (v *View) reads(e *state.Event, what string) bool {
	r, ok := e.Body.(state.Reading)
	return ok && r.What == what && v.concerns(e)
}

// mean is the mean of the readings of a quantity that were said in one line with e: several depths
// or samples of one instant.
func (v *View) mean(e *state.Event, what string) float64 {
	sum, n := 0.0, 0
	for i := len(v.last) - 1; i >= 0 && v.last[i].At >= e.At; i-- {
		if v.last[i].At == e.At && v.last[i].Msg == e.Msg && v.reads(v.last[i], what) {
			sum, n = sum+v.last[i].Body.(state.Reading).Value, n+1
		}
	}
	return sum / float64(n)
}

// noted is the last of some notes; nil when none was made.
func (v *View) noted(what ...string) *state.Event {
	if !v.sifted {
		v.sifted = true
		for _, e := range v.last {
			if _, ok := e.Body.(state.Note); ok && v.concerns(e) {
				v.notes = append(v.notes, e)
			}
		}
	}
	for i := len(v.notes) - 1; i >= 0; i-- {
		n := v.notes[i].Body.(state.Note)
		for _, w := range what {
			if n.What == w {
				return v.notes[i]
			}
		}
	}
	return nil
}

// Read is one fact of a view by name, with its unit; false for a name that is none. A fact that
// the view's kind of subject has not got is looked for all the same and most likely unknown.
func (v *View) Read(name string) (Value, Unit, bool) {
	kind := v.of.Kind
	if v.place != "" {
		kind = string(v.mill.KindOf(v.place))
	}
	f := factOn(kind, name)
	if f == nil {
		return unknown(), "", false
	}
	return v.value(f), f.Unit, true
}

// Tank is the forecast of a tank's stay.
func (v *View) Tank() ferment.Forecast { return *v.tankAhead() }

// Dry is the forecast of a stay on a patio or in a drum.
func (v *View) Dry() drying.Forecast { return *v.dryAhead() }
