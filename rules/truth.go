package rules

import (
	"math"
	"time"

	"lotbell/state"
)

// Unit is what a number in a condition is counted in. Sides of different units are refused.
type Unit string

// The units. A number written in a condition takes the unit of the other side; a time must be
// written with its unit (2h, 40min, 30d).
const (
	Plain   Unit = "number"
	Celsius Unit = "C"
	Percent Unit = "%"
	Kilo    Unit = "kg"
	Acidity Unit = "pH"
	Hours   Unit = "h"
	Span    Unit = "time"
	Moment  Unit = "instant"
	Word    Unit = "word"
	YesNo   Unit = "yes or no"
	anyUnit Unit = ""
)

// unify is the common unit of two sides. A bare number goes with any unit but a time.
func unify(a, b Unit) (Unit, bool) {
	switch {
	case a == b:
		return a, true
	case a == anyUnit && b != Span && b != Moment && b != Word && b != YesNo:
		return b, true
	case b == anyUnit && a != Span && a != Moment && a != Word && a != YesNo:
		return a, true
	}
	return "", false
}

// combine is the unit of arithmetic.
func combine(op string, a, b Unit) (Unit, bool) {
	if a == Word || b == Word || a == YesNo || b == YesNo {
		return "", false
	}
	switch op {
	case "+", "-":
		switch {
		case a == Moment && b == Span, op == "+" && a == Span && b == Moment:
			return Moment, true
		case a == Moment && b == Moment:
			return Span, op == "-"
		}
		return unify(a, b)
	case "*", "/":
		switch {
		case a == Moment || b == Moment:
			return "", false
		case b == anyUnit || b == Plain:
			return a, true
		case a == b && op == "/":
			return Plain, true
		case op == "*" && (a == anyUnit || a == Plain):
			return b, true
		}
	}
	return "", false
}

// moves says whether a side changes with time from one millisecond to the next. Steps do not
// count, they say when they change; nor does a choice, whose condition is a comparison of its own.
func (s *side) moves() bool {
	return s.op == 'f' && (s.fact.Moves == Age || s.fact.Moves == Left || s.fact.Moves == Curve)
}

// value is the number of a side; NaN when it cannot be told.
func (s *side) value(v *View) float64 {
	switch s.op {
	case 'n':
		return s.num
	case 'f':
		return v.value(s.fact).Num
	case '~':
		return -s.kids[0].value(v)
	case 'a':
		return math.Abs(s.kids[0].value(v))
	case '?':
		switch s.cond.truth(v) {
		case state.Yes:
			return s.kids[0].value(v)
		case state.No:
			return s.kids[1].value(v)
		}
		return math.NaN()
	case 'w':
		return math.NaN()
	}
	a, b := s.kids[0].value(v), s.kids[1].value(v)
	switch s.op {
	case '+':
		return a + b
	case '-':
		return a - b
	case '*':
		return a * b
	case '/':
		if b == 0 {
			return math.NaN()
		}
		return a / b
	case '<':
		return math.Min(a, b)
	}
	return math.Max(a, b)
}

// text is the word of a side; "" when it cannot be told.
func (s *side) text(v *View) string {
	switch s.op {
	case 'w':
		return s.word
	case 'f':
		return v.value(s.fact).Word
	case '?':
		switch s.cond.truth(v) {
		case state.Yes:
			return s.kids[0].text(v)
		case state.No:
			return s.kids[1].text(v)
		}
	}
	return ""
}

// Truth is the condition's truth in a view.
func (c *Cond) Truth(v *View) state.Truth {
	if c == nil {
		return state.CannotTell
	}
	return c.root.truth(v)
}

func (n *node) truth(v *View) state.Truth {
	switch n.op {
	case opAnd, opOr:
		first := n.kids[0].truth(v)
		decides := state.No
		if n.op == opOr {
			decides = state.Yes
		}
		if first == decides {
			return decides
		}
		second := n.kids[1].truth(v)
		if second == decides || first != state.CannotTell {
			return second
		}
		return state.CannotTell
	case opNot:
		return opposite(n.kids[0].truth(v))
	case opFact:
		return v.value(n.fact).Is
	case opConst:
		return isTrue(n.is)
	}
	if n.l.unit == Word {
		a, b := n.l.text(v), n.r.text(v)
		if a == "" || b == "" {
			return state.CannotTell
		}
		return isTrue((a == b) == (n.cmp == "=="))
	}
	return compared(n.l.value(v), n.cmp, n.r.value(v))
}

func opposite(t state.Truth) state.Truth {
	switch t {
	case state.Yes:
		return state.No
	case state.No:
		return state.Yes
	}
	return state.CannotTell
}

func isTrue(b bool) state.Truth {
	if b {
		return state.Yes
	}
	return state.No
}

func compared(a float64, cmp string, b float64) state.Truth {
	if math.IsNaN(a) || math.IsNaN(b) {
		return state.CannotTell
	}
	switch cmp {
	case "<":
		return isTrue(a < b)
	case "<=":
		return isTrue(a <= b)
	case ">":
		return isTrue(a > b)
	case ">=":
		return isTrue(a >= b)
	case "==":
		return isTrue(a == b)
	}
	return isTrue(a != b)
}

// Why lists the comparisons that make the condition what it is in a view: all that hold of a
// condition that holds, else all that were made.
func (c *Cond) Why(v *View) []state.Compared {
	var out []state.Compared
	c.root.why(v, c.root.truth(v), false, &out)
	return out
}

func (n *node) why(v *View, want state.Truth, flipped bool, out *[]state.Compared) {
	switch n.op {
	case opAnd, opOr:
		for _, k := range n.kids {
			if is := k.truth(v); is == want || want != state.Yes {
				k.why(v, is, flipped, out)
			}
		}
	case opNot:
		n.kids[0].why(v, opposite(want), !flipped, out)
	case opFact:
		text := n.text
		if flipped {
			text = "not " + text
			want = opposite(want)
		}
		*out = append(*out, state.Compared{Text: text, Is: want})
	case opCompare:
		c := state.Compared{Text: n.text, Is: n.truth(v)}
		if n.l.unit == Word {
			c.LeftWord, c.RightWord = n.l.text(v), n.r.text(v)
		} else {
			c.L, c.R = finite(n.l.value(v)), finite(n.r.value(v))
		}
		*out = append(*out, c)
	}
}

// finite keeps a number that JSON can hold; what cannot be told is 0 beside Is CannotTell.
func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// Flips is the next instant after the view's at which time alone may change the condition; 0 for
// never. The truth is the same at every millisecond before it. What new readings do is another
// matter: every event looks again.
func (c *Cond) Flips(v *View) state.Instant {
	if c == nil {
		return 0
	}
	return c.root.flips(v)
}

func (n *node) flips(v *View) state.Instant {
	switch n.op {
	case opAnd, opOr:
		return n.joint(v)
	case opNot:
		return n.kids[0].flips(v)
	case opFact:
		return n.fact.step(v)
	case opConst:
		return 0
	}
	next := sooner(n.l.jumps(v), n.r.jumps(v))
	switch {
	case n.l.moves():
		next = sooner(next, n.solve(v, n.l.fact, n.cmp, n.r))
	case n.r.moves():
		next = sooner(next, n.solve(v, n.r.fact, mirrored(n.cmp), n.l))
	}
	return next
}

// joint is the next change of an and or an or: a part that decides it must change first, and all
// such parts if there are several.
func (n *node) joint(v *View) state.Instant {
	decides := state.No
	if n.op == opOr {
		decides = state.Yes
	}
	next, decided := state.Instant(0), false
	for _, k := range n.kids {
		if k.truth(v) != decides {
			continue
		}
		t := k.flips(v)
		if t == 0 {
			return 0
		}
		next, decided = max(next, t), true
	}
	if decided {
		return next
	}
	return sooner(n.kids[0].flips(v), n.kids[1].flips(v))
}

// jumps is the next change among the steps and the choices' conditions in a side.
func (s *side) jumps(v *View) state.Instant {
	next := state.Instant(0)
	if s.cond != nil {
		next = s.cond.flips(v)
	}
	if s.op == 'f' {
		next = s.fact.step(v)
	}
	for _, k := range s.kids {
		next = sooner(next, k.jumps(v))
	}
	return next
}

// step is the next change of a fact that moves in steps; 0 for others. It is always ahead, also
// where a calendar or an almanac rounds down.
func (f *Fact) step(v *View) state.Instant {
	if f.next == nil {
		return 0
	}
	if t := f.next(v); t == 0 || t > v.at {
		return t
	}
	return v.at + 1
}

// mirrored is the comparison seen from its right side.
func mirrored(cmp string) string {
	switch cmp {
	case "<":
		return ">"
	case "<=":
		return ">="
	case ">":
		return "<"
	}
	return "<="
}

// curveHorizon is how far ahead the next flip of a curve is looked for. What has not flipped by
// then is looked at again then.
const curveHorizon = 10 * 24 * time.Hour

// solve is when a moving fact next changes its comparison with a still side.
func (n *node) solve(v *View, f *Fact, cmp string, still *side) state.Instant {
	value, other := v.value(f).Num, still.value(v)
	if math.IsNaN(value) || math.IsNaN(other) {
		return 0
	}
	switch f.Moves {
	case Age: // value + (t - at)
		return ahead(v.at, other-value, cmp == ">" || cmp == "<=")
	case Left: // value - (t - at)
		return ahead(v.at, value-other, cmp == "<" || cmp == ">=")
	}
	end := v.at.Add(curveHorizon)
	last := f.curve(v, end)
	if compared(last, cmp, other) == compared(value, cmp, other) {
		return end
	}
	return crossing(v, f, func(x float64) bool {
		return compared(x, cmp, other) == compared(value, cmp, other)
	}, other, point{v.at, value}, point{end, last})
}

// point is a curve's value at an instant.
type point struct {
	at state.Instant
	is float64
}

// crossing is the first millisecond at which a curve that goes one way is no longer as it was at
// lo, knowing that it is not at hi: by looking close on both sides of where a straight line would
// cross, and in the middle when that does not narrow it down.
func crossing(v *View, f *Fact, asWas func(float64) bool, other float64, lo,
	hi point) state.Instant {
	look := func(t state.Instant) {
		if t <= lo.at || t >= hi.at {
			return
		}
		if x := f.curve(v, t); asWas(x) {
			lo = point{t, x}
		} else {
			hi = point{t, x}
		}
	}
	for hi.at-lo.at > 1 {
		wide := hi.at - lo.at
		if by := (lo.is - other) / (lo.is - hi.is); by >= 0 && by <= 1 {
			x, near := lo.at+state.Instant(by*float64(wide)), wide/512+1
			look(x - near)
			look(x + near)
		}
		if hi.at-lo.at > wide/2 {
			look(lo.at + (hi.at-lo.at)/2)
		}
	}
	return hi.at
}

// ahead is the first whole millisecond at least (or, if past is set, more than) ms after at; 0 if
// that is not in the future or further than 300 years.
func ahead(at state.Instant, ms float64, past bool) state.Instant {
	d := math.Ceil(ms)
	if past {
		d = math.Floor(ms) + 1
	}
	if d <= 0 || d > 1e13 {
		return 0
	}
	return at + state.Instant(d)
}

// sooner is the earlier of two instants of which 0 means never.
func sooner(a, b state.Instant) state.Instant {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}
