package rules

import (
	"math"

	"lotbell/state"
)

// View is a subject of a mill at an instant, as conditions see it. It works every fact out at
// most once. A View is used by one goroutine and thrown away.
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

	values [maxFacts]Value
	done   [maxFacts]bool
}

// Act is what a guard looks at: who wants to do what, from where to where.
type Act struct {
	By    *state.Person
	What  string // an act or an order: "wash-ordered", "unload", "store", …
	To    string // the place coffee would go to, "" when it goes nowhere
	Asked state.Instant
}

// Value is what a fact is: a number (NaN when it cannot be told), a word ("" then) or a truth.
type Value struct {
	Num  float64
	Word string
	Is   state.Truth
}

// newView looks at a subject at an instant. The knowledge may be shared by many views.
func newView(m *state.Mill, b *Book, k *Knowledge, of state.Subject, at state.Instant) *View {
	v := &View{mill: m, book: b, know: k, at: at, of: of}
	switch of.Kind {
	case state.OfStay:
		v.stay, v.place = m.Stay(of.Stay), of.Name
	case state.OfPlace:
		v.place = of.Name
		if at := m.StaysAt(of.Name); len(at) > 0 {
			v.stay = at[0]
		}
	}
	switch {
	case v.stay != nil:
		v.last = m.During(v.stay, at)
	case v.place != "":
		v.last = m.Line(v.place, at)
	default:
		v.last = m.Line(state.Whole, at)
	}
	return v
}

// value works a fact out, once.
func (v *View) value(f *Fact) Value {
	if !v.done[f.index] {
		v.done[f.index] = true
		v.values[f.index] = f.get(v)
	}
	return v.values[f.index]
}

func unknown() Value         { return Value{Num: math.NaN()} }
func number(x float64) Value { return Value{Num: x} }
func word(w string) Value    { return Value{Num: math.NaN(), Word: w} }
func truth(is bool) Value    { return Value{Num: math.NaN(), Is: isTrue(is)} }
func grams(g state.Grams) Value {
	if g == 0 {
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

// reading is the last reading of a quantity, and the one before it at another instant.
func (v *View) reading(what string) (last, before *state.Event) {
	for i := len(v.last) - 1; i >= 0; i-- {
		e := v.last[i]
		r, ok := e.Body.(state.Reading)
		if !ok || r.What != what || !v.concerns(e) {
			continue
		}
		if last == nil {
			last = e
		} else if e.At != last.At {
			return last, e
		}
	}
	return last, nil
}

// mean is the mean of the readings of a quantity that were taken together with e.
func (v *View) mean(e *state.Event, what string) float64 {
	sum, n := 0.0, 0
	for i := len(v.last) - 1; i >= 0 && v.last[i].At >= e.At; i-- {
		r, ok := v.last[i].Body.(state.Reading)
		if ok && r.What == what && v.last[i].At == e.At && v.concerns(v.last[i]) {
			sum, n = sum+r.Value, n+1
		}
	}
	return sum / float64(n)
}

// noted is the last of some notes; nil when none was made.
func (v *View) noted(what ...string) *state.Event {
	for i := len(v.last) - 1; i >= 0; i-- {
		n, ok := v.last[i].Body.(state.Note)
		if !ok || !v.concerns(v.last[i]) {
			continue
		}
		for _, w := range what {
			if n.What == w {
				return v.last[i]
			}
		}
	}
	return nil
}
