package rules

import (
	"strconv"
	"strings"
)

// String writes the condition in the one way that every condition of this meaning is written: it
// can be read again and gives the same tree. Books are compared by it.
func (c *Cond) String() string { return c.root.String() }

// String is the part of a condition as a book would write it, with no more brackets than needed.
func (n *node) String() string {
	switch n.op {
	case opAnd:
		return n.kids[0].within(ofAnd) + " and " + n.kids[1].within(ofAnd)
	case opOr:
		return n.kids[0].within(ofOr) + " or " + n.kids[1].within(ofOr)
	case opNot:
		return "not " + n.kids[0].within(ofNot)
	case opConst:
		return strconv.FormatBool(n.is)
	}
	return n.text
}

// How closely the parts of a condition hold together.
const (
	ofOr = iota
	ofAnd
	ofCompare
	ofNot
)

// binds is how closely the part holds together.
func (n *node) binds() int {
	switch n.op {
	case opOr:
		return ofOr
	case opAnd:
		return ofAnd
	case opCompare:
		return ofCompare
	}
	return ofNot
}

// within is the part as one of another that holds together at least so closely.
func (n *node) within(binds int) string {
	if n.binds() < binds {
		return "(" + n.String() + ")"
	}
	return n.String()
}

// String is the side as a book would write it.
func (s *side) String() string {
	switch s.op {
	case 'n':
		switch {
		case s.word != "":
			return s.word
		case s.unit == Span:
			return spanText(s.num)
		}
		return strconv.FormatFloat(s.num, 'f', -1, 64)
	case 'w':
		return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(s.word) + "'"
	case 'f':
		return s.fact.Name
	case '~':
		return "-" + s.kids[0].within(4)
	case '?':
		return "(" + s.choices() + ")"
	case 'a':
		return "abs(" + s.kids[0].String() + ")"
	case '<':
		return "min(" + s.kids[0].String() + ", " + s.kids[1].String() + ")"
	case '>':
		return "max(" + s.kids[0].String() + ", " + s.kids[1].String() + ")"
	}
	own := s.binds()
	return s.kids[0].within(own) + " " + string(s.op) + " " + s.kids[1].within(own+1)
}

// choices is a choice without its brackets; one that follows in its last part needs none.
func (s *side) choices() string {
	last := s.kids[1].String()
	if s.kids[1].op == '?' {
		last = s.kids[1].choices()
	}
	return s.cond.String() + " ? " + s.kids[0].String() + " : " + last
}

// binds is how closely a side holds together: sums least, then products, then minus, then all
// else.
func (s *side) binds() int {
	switch s.op {
	case '+', '-':
		return 1
	case '*', '/':
		return 2
	case '~':
		return 3
	}
	return 4
}

// within is the side as a part of one that holds together at least so closely.
func (s *side) within(binds int) string {
	if s.binds() < binds {
		return "(" + s.String() + ")"
	}
	return s.String()
}
