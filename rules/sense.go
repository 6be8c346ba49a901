package rules

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"lotbell/state"
)

// What a condition says, however it is written: the same as another, or nothing that can be.

// sense writes a condition so that most that say the same are written the same: limits as their
// figures, what is joined in the order of the alphabet, nots carried to the comparisons.
func (c *Cond) sense() string { return c.root.sense(false) }

// sense is the part, or its opposite.
func (n *node) sense(not bool) string {
	switch n.op {
	case opNot:
		return n.kids[0].sense(!not)
	case opConst:
		return strconv.FormatBool(n.is != not)
	case opFact:
		return n.said(not).String()
	case opCompare:
		if n.l.constant() && n.r.constant() {
			return strconv.FormatBool((compared(n.l.value(nil), n.cmp, n.r.value(nil)) == state.Yes) != not)
		}
		return n.said(not).String()
	}
	word := n.joins(not)
	nothing := map[string]string{"and": "true", "or": "false"}[word]
	var parts []string
	for _, k := range n.joined(word, not) {
		if p := k.part.sense(k.not); p != nothing {
			parts = append(parts, p)
		}
	}
	slices.Sort(parts)
	switch parts = slices.Compact(parts); len(parts) {
	case 0:
		return nothing
	case 1:
		return parts[0]
	}
	return "(" + strings.Join(parts, " "+word+" ") + ")"
}

// joins is the word that joins the parts of an and or an or; of its opposite the other one.
func (n *node) joins(not bool) string {
	if (n.op == opAnd) != not {
		return "and"
	}
	return "or"
}

// meant is a part of a condition, or its opposite.
type meant struct {
	part *node
	not  bool
}

// joined lists the parts that a word joins: the node itself when it is not joined by that word.
func (n *node) joined(word string, not bool) []meant {
	switch {
	case n.op == opNot:
		return n.kids[0].joined(word, !not)
	case (n.op == opAnd || n.op == opOr) && n.joins(not) == word:
		return append(n.kids[0].joined(word, not), n.kids[1].joined(word, not)...)
	}
	return []meant{{n, not}}
}

// saying is a part that is not joined of others: two sides and what is said of them, with what is
// read on the left.
type saying struct {
	l, r string
	cmp  string
	fact *Fact   // that alone is on the left; nil: something else is
	x    float64 // the right side, when it is a number; else NaN
}

// String is the saying as it is compared with others.
func (s saying) String() string { return s.l + " " + s.cmp + " " + s.r }

// opposites and mirrors of comparisons.
var (
	denied = map[string]string{"<": ">=", ">=": "<", ">": "<=", "<=": ">", "==": "!=", "!=": "=="}
	turned = map[string]string{"<": ">", ">": "<", "<=": ">=", ">=": "<=", "==": "==", "!=": "!="}
)

// said is what a comparison or a fact says, or the opposite of it.
func (n *node) said(not bool) saying {
	if n.op == opFact {
		s := saying{l: n.fact.Name, cmp: "is", r: "yes", fact: n.fact, x: 1}
		if not {
			s.r, s.x = "no", 0
		}
		return s
	}
	l, r, sign := n.l, n.r, n.cmp
	left, right := l.sense(), r.sense() // once: sides nest
	if l.fixed() && !r.fixed() || l.fixed() == r.fixed() && right < left {
		l, r, left, right, sign = r, l, right, left, turned[sign]
	}
	if not {
		sign = denied[sign]
	}
	s := saying{l: left, cmp: sign, r: right, x: math.NaN()}
	if l.op == 'f' {
		s.fact = l.fact
	}
	if r.constant() {
		s.x = r.value(nil)
	}
	return s
}

// fixed says whether a side reads nothing: a figure or a word.
func (s *side) fixed() bool { return s.op == 'w' || s.constant() }

// sense is the side with limits and times as plain figures.
func (s *side) sense() string {
	if s.op == 'w' {
		return strconv.Quote(s.word)
	}
	if s.constant() {
		return strconv.FormatFloat(s.value(nil), 'g', -1, 64)
	}
	if s.op == 'f' {
		return s.fact.Name
	}
	out := "(" + string(s.op)
	if s.cond != nil {
		out += " " + s.cond.sense(false)
	}
	for _, k := range s.kids {
		out += " " + k.sense()
	}
	return out + ")"
}

// impossible says whether a condition, or its opposite, can hold at no time, whatever is read; as
// far as that is seen from single parts and pairs of them.
func (n *node) impossible(not bool) bool {
	if n.op == opNot {
		return n.kids[0].impossible(!not)
	}
	if n.op == opFact || n.op == opConst {
		return n.op == opConst && n.is == not
	}
	if n.op == opCompare {
		s := n.said(not)
		if n.l.constant() && n.r.constant() {
			return compared(n.l.value(nil), n.cmp, n.r.value(nil)) != isTrue(!not)
		}
		return !s.meets(s)
	}
	parts := n.joined("and", not)
	if len(parts) == 1 { // joined by or
		return n.kids[0].impossible(not) && n.kids[1].impossible(not)
	}
	for i, a := range parts {
		if a.part.impossible(a.not) {
			return true
		}
		for _, b := range parts[:i] {
			if a.single() && b.single() && !a.part.said(a.not).meets(b.part.said(b.not)) {
				return true
			}
		}
	}
	return false
}

// single says whether a part is one comparison or one fact.
func (m meant) single() bool { return m.part.op == opCompare || m.part.op == opFact }

// meets says whether two sayings can hold together: of the same fact there is something that both
// allow.
func (s saying) meets(o saying) bool {
	switch {
	case s.l != o.l || s.fact == nil:
		return true
	case s.cmp == "is" || o.cmp == "is":
		return s.r == o.r
	case math.IsNaN(s.x) || math.IsNaN(o.x): // words, or what is only known when it is read
		words := strings.HasPrefix(s.r, `"`) && strings.HasPrefix(o.r, `"`)
		if s.r == o.r {
			return o.cmp != denied[s.cmp]
		}
		return !words || s.cmp != "==" || o.cmp != "=="
	}
	low, high := s.fact.low(), s.fact.high()
	for _, x := range []float64{s.x, o.x} {
		for _, at := range []float64{x, x - 1e-6, x + 1e-6, (s.x + o.x) / 2, low, high} {
			if at >= low && at <= high && compared(at, s.cmp, s.x) == state.Yes &&
				compared(at, o.cmp, o.x) == state.Yes {
				return true
			}
		}
	}
	return false
}

// low is the least that a fact can be.
func (f *Fact) low() float64 {
	if f.Moves == Age && f.Unit == Span {
		return 0
	}
	if f.span == [2]float64{} {
		return math.Inf(-1)
	}
	return f.span[0]
}

// high is the most that a fact can be.
func (f *Fact) high() float64 {
	return cmp.Or(f.span[1], math.Inf(1))
}
