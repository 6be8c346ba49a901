package rules

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"
)

// Caps on the text of a condition, checked before anything parses it: a parser that recurses can
// be made to end the process by nesting alone.
const (
	maxCondition = 500
	maxNesting   = 20
)

// Cond is a condition: a tree of and, or and not over comparisons. It gives a truth of three
// values, the comparisons made (its reason), and the next instant at which time alone may change
// it. It keeps no state and may be shared.
type Cond struct {
	Text   string
	Limits []string // the limits it names
	root   *node
	facts  []*Fact
}

// Names lists the facts the condition reads, in the order it first names them.
func (c *Cond) Names() []string {
	var out []string
	for _, f := range c.facts {
		out = append(out, f.Name)
	}
	return out
}

// node is a part of a condition that has a truth.
type node struct {
	op   nodeOp
	kids []*node
	cmp  string
	l, r *side
	fact *Fact
	is   bool // a constant
	text string
}

type nodeOp int8

const (
	opAnd nodeOp = iota
	opOr
	opNot
	opCompare
	opFact
	opConst
)

// side is one side of a comparison: a number, a word, a fact, or arithmetic over such.
type side struct {
	op   byte // n number, w word, f fact, + - * / arithmetic, ~ minus, a abs, < min, > max, ?
	num  float64
	word string
	fact *Fact
	kids []*side
	cond *node
	unit Unit
}

// compiler turns one text into a tree, for one kind of subject.
type compiler struct {
	book  *Book
	names map[string]*Fact
	src   source
	cond  *Cond
}

// compile reads a condition for a kind of subject. Every failure is a *Mistake with its column.
func compile(text string, book *Book, names map[string]*Fact) (*Cond, error) {
	src, err := tokenise(text)
	if err != nil {
		return nil, err
	}
	tree, err := parser.Parse(string(src.runes))
	if err != nil {
		return nil, src.syntax(err)
	}
	c := &compiler{book: book, names: names, src: src, cond: &Cond{Text: text}}
	if c.cond.root, err = c.truth(tree.Node); err != nil {
		return nil, err
	}
	return c.cond, nil
}

// syntax words a parser's error in terms of the text as it was written.
func (s source) syntax(err error) error {
	m := &Mistake{Kind: BadSyntax, Text: string(s.written), Word: s.asWritten(err.Error())}
	var fe *file.Error
	if !errors.As(err, &fe) {
		return m
	}
	m.Col, m.Word = s.column(fe.From), s.asWritten(fe.Message)
	if fe.From < 0 || fe.From >= len(s.runes) {
		return m
	}
	unit, _, _ := strings.Cut(string(s.runes[fe.From:]), " ")
	switch _, isTime := span("1" + unit); {
	case s.runes[fe.From] == '=':
		m.Hint = "=="
	case isTime:
		m.Hint = "2h, 40min, 30d, without a space"
	}
	return m
}

// truth reads a part that has a truth.
func (c *compiler) truth(n ast.Node) (*node, error) {
	switch n := n.(type) {
	case *ast.BinaryNode:
		return c.binary(n)
	case *ast.UnaryNode:
		if n.Operator != "not" && n.Operator != "!" {
			break
		}
		kid, err := c.truth(n.Node)
		if err != nil {
			return nil, err
		}
		if kid.op == opNot { // twice is not at all
			return kid.kids[0], nil
		}
		return &node{op: opNot, kids: []*node{kid}}, nil
	case *ast.BoolNode:
		return &node{op: opConst, is: n.Value}, nil
	case *ast.IdentifierNode:
		if _, is := c.src.spans[n.Location().From]; is {
			break
		}
		f, err := c.fact(n, n.Value)
		if err != nil {
			return nil, err
		}
		if f.Unit != YesNo {
			return nil, c.mistake(n, NotATruth, n.Value, f.example())
		}
		return &node{op: opFact, fact: f, text: f.Name}, nil
	}
	return nil, c.mistake(n, NotATruth, c.text(n), "air > 60 and hum < 20")
}

// example is a comparison that can be made of the fact.
func (f *Fact) example() string {
	switch f.Unit {
	case Word:
		if len(f.Words) > 0 {
			return f.Name + " == '" + f.Words[0] + "'"
		}
		return f.Name + " == 'washed'"
	case Span:
		return f.Name + " > 2h"
	case Moment:
		if f.Moves == Age {
			return f.Name + " >= sunset - 45min"
		}
		return "now >= " + f.Name
	}
	return f.Name + " > 1"
}

func (c *compiler) binary(n *ast.BinaryNode) (*node, error) {
	switch n.Operator {
	case "and", "&&", "or", "||":
		l, err := c.truth(n.Left)
		if err != nil {
			return nil, err
		}
		r, err := c.truth(n.Right)
		if err != nil {
			return nil, err
		}
		op := opAnd
		if n.Operator == "or" || n.Operator == "||" {
			op = opOr
		}
		return &node{op: op, kids: []*node{l, r}}, nil
	case "<", "<=", ">", ">=", "==", "!=":
		return c.compare(n)
	}
	return nil, c.mistake(n, NotATruth, n.Operator, "air > 60 and hum < 20")
}

// compare reads a comparison: both sides of one unit, at most one of them moving with time, and
// that one a bare fact, since only so can the next change be known.
func (c *compiler) compare(n *ast.BinaryNode) (*node, error) {
	l, err := c.side(n.Left)
	if err != nil {
		return nil, err
	}
	r, err := c.side(n.Right)
	if err != nil {
		return nil, err
	}
	if _, err := c.same(n, l, r); err != nil {
		return nil, err
	}
	equals := n.Operator == "==" || n.Operator == "!="
	switch {
	case l.unit == Word && !equals || l.unit == YesNo:
		return nil, c.mistake(n, MixedUnits, c.text(n), "process == 'washed'")
	case l.moves() && r.moves():
		return nil, c.mistake(n, MovesTwice, c.text(n), "now >= ready_early - 2h")
	case equals && (l.moves() || r.moves()):
		return nil, c.mistake(n, EqualMoves, c.text(n), "age >= 2h")
	case l.unit == Word:
		if err := cmp.Or(c.vocabulary(n, l, r), c.vocabulary(n, r, l)); err != nil {
			return nil, err
		}
	}
	return &node{op: opCompare, cmp: n.Operator, l: l, r: r,
		text: l.String() + " " + n.Operator + " " + r.String()}, nil
}

// vocabulary refuses a word that a fact of few words never has.
func (c *compiler) vocabulary(n ast.Node, fact, word *side) *Mistake {
	if fact.op != 'f' || word.op != 'w' || fact.fact.Words == nil ||
		slices.Contains(fact.fact.Words, word.word) {
		return nil
	}
	known := map[string]bool{}
	for _, w := range fact.fact.Words {
		known[w] = true
	}
	m := c.mistake(n, NoSuchName, "'"+word.word+"'", nearest(word.word, known))
	if m.Hint == "" {
		m.Hint = strings.Join(fact.fact.Words, ", ")
	}
	return m
}

// side reads a number, a word or arithmetic.
func (c *compiler) side(n ast.Node) (*side, error) {
	switch n := n.(type) {
	case *ast.IntegerNode:
		return &side{op: 'n', num: float64(n.Value), unit: anyUnit}, nil
	case *ast.FloatNode:
		return &side{op: 'n', num: n.Value, unit: anyUnit}, nil
	case *ast.StringNode:
		return &side{op: 'w', word: n.Value, unit: Word}, nil
	case *ast.IdentifierNode:
		if ms, ok := c.src.spans[n.Location().From]; ok {
			return &side{op: 'n', num: ms, unit: Span}, nil
		}
		f, err := c.fact(n, n.Value)
		if err != nil {
			return nil, err
		}
		return &side{op: 'f', fact: f, unit: f.Unit}, nil
	case *ast.MemberNode:
		return c.limit(n)
	case *ast.UnaryNode:
		if n.Operator != "-" && n.Operator != "+" {
			return nil, c.mistake(n, NotAllowed, c.text(n), "not (hum > 12)")
		}
		kid, err := c.still(n.Node)
		if err != nil || n.Operator == "+" {
			return kid, err
		}
		if kid.unit == Word || kid.unit == YesNo || kid.unit == Moment {
			return nil, c.mistake(n, MixedUnits, c.text(n), "-2h")
		}
		if kid.op == '~' {
			return kid.kids[0], nil
		}
		return &side{op: '~', kids: []*side{kid}, unit: kid.unit}, nil
	case *ast.BinaryNode:
		return c.arithmetic(n)
	case *ast.ConditionalNode:
		return c.choice(n)
	case *ast.BuiltinNode:
		return c.function(n, n.Name, n.Arguments)
	case *ast.CallNode:
		if id, ok := n.Callee.(*ast.IdentifierNode); ok {
			return c.function(n, id.Value, n.Arguments)
		}
	}
	return nil, c.mistake(n, NotAllowed, c.text(n), "air > limit.drum_air_wet")
}

// still reads a side that may not move with time.
func (c *compiler) still(n ast.Node) (*side, error) {
	s, err := c.side(n)
	if err == nil && s.moves() {
		return nil, c.mistake(n, MovesInside, c.text(n), "now >= ready_early - 2h")
	}
	return s, err
}

func (c *compiler) arithmetic(n *ast.BinaryNode) (*side, error) {
	if !slices.Contains([]string{"+", "-", "*", "/"}, n.Operator) {
		return nil, c.mistake(n, NotAllowed, n.Operator, "kg_in / capacity > 0.9")
	}
	l, err := c.still(n.Left)
	if err != nil {
		return nil, err
	}
	r, err := c.still(n.Right)
	if err != nil {
		return nil, err
	}
	u, ok := combine(n.Operator, l.unit, r.unit)
	if !ok {
		return nil, c.mistake(n, MixedUnits, c.text(n), "ready_early - 2h")
	}
	return &side{op: n.Operator[0], kids: []*side{l, r}, unit: u}, nil
}

// choice reads cond ? a : b. An unknown condition makes the side unknown.
func (c *compiler) choice(n *ast.ConditionalNode) (*side, error) {
	cond, err := c.truth(n.Cond)
	if err != nil {
		return nil, err
	}
	a, err := c.still(n.Exp1)
	if err != nil {
		return nil, err
	}
	b, err := c.still(n.Exp2)
	if err != nil {
		return nil, err
	}
	u, err := c.same(n, a, b)
	if err != nil {
		return nil, err
	}
	return &side{op: '?', cond: cond, kids: []*side{a, b}, unit: u}, nil
}

// functions are the few there are, with the number of their arguments and how they are kept.
var functions = map[string]struct {
	args int
	op   byte
	ms   float64 // of the long way of writing a time, hours(2)
}{"abs": {1, 'a', 0}, "min": {2, '<', 0}, "max": {2, '>', 0}, "minutes": {1, 0, 60e3},
	"hours": {1, 0, 3600e3}, "days": {1, 0, 24 * 3600e3}}

// function reads a function of sides that do not move.
func (c *compiler) function(n ast.Node, name string, args []ast.Node) (*side, error) {
	f, ok := functions[name]
	if !ok || len(args) != f.args {
		return nil, c.mistake(n, NotAllowed, name, "abs(a - b) > 3, 2h, 40min")
	}
	var kids []*side
	for _, a := range args {
		k, err := c.still(a)
		if err != nil {
			return nil, err
		}
		if k.unit == Word || k.unit == YesNo || f.op == 'a' && k.unit == Moment {
			return nil, c.mistake(n, MixedUnits, c.text(n), "abs(hum - target) > 1")
		}
		kids = append(kids, k)
	}
	switch {
	case f.ms > 0 && kids[0].op == 'n' && kids[0].unit == anyUnit:
		return &side{op: 'n', num: kids[0].num * f.ms, unit: Span}, nil
	case f.ms > 0:
		return nil, c.mistake(n, NotAllowed, c.text(n), "2h, 40min")
	case f.args == 1:
		return &side{op: f.op, kids: kids, unit: kids[0].unit}, nil
	}
	u, err := c.same(n, kids[0], kids[1])
	return &side{op: f.op, kids: kids, unit: u}, err
}

// fact finds a name, or says what was perhaps meant.
func (c *compiler) fact(n ast.Node, name string) (*Fact, error) {
	f := c.names[name]
	if f == nil {
		m := c.mistake(n, NoSuchName, name, "")
		m.Hint = nearest(name, c.names)
		return nil, m
	}
	if !slices.Contains(c.cond.facts, f) {
		c.cond.facts = append(c.cond.facts, f)
	}
	return f, nil
}

// limit finds limit.name and puts its value in, so that a mistyped name can never be 0.
func (c *compiler) limit(n *ast.MemberNode) (*side, error) {
	id, ok := n.Node.(*ast.IdentifierNode)
	prop, is := n.Property.(*ast.StringNode)
	if !ok || !is || id.Value != "limit" || n.Optional || n.Method {
		return nil, c.mistake(n, NotAllowed, c.text(n), "limit.drum_air_wet")
	}
	l, found := c.book.Limits[prop.Value]
	if !found {
		m := c.mistake(n, NoSuchName, "limit."+prop.Value, "")
		if near := nearest(prop.Value, c.book.Limits); near != "" {
			m.Hint = "limit." + near
		}
		return nil, m
	}
	c.cond.Limits = append(c.cond.Limits, prop.Value)
	return &side{op: 'n', num: l.inner(), word: "limit." + prop.Value, unit: l.unit()}, nil
}

// same checks that two sides can be compared and gives their unit.
func (c *compiler) same(n ast.Node, l, r *side) (Unit, error) {
	if u, ok := unify(l.unit, r.unit); ok {
		return u, nil
	}
	name := func(u Unit) string { return cmp.Or(string(u), string(Plain)) }
	m := c.mistake(n, MixedUnits, name(l.unit)+" / "+name(r.unit), "")
	switch {
	case l.unit == Hours || r.unit == Hours:
		m.Hint = "a plain number of hours"
	case l.unit == Span || r.unit == Span:
		m.Hint = "2h, 40min, 30d"
	case l.unit == Moment || r.unit == Moment:
		m.Hint = "now >= ready_early - 2h"
	}
	return "", m
}

func (c *compiler) mistake(n ast.Node, k MistakeKind, word, example string) *Mistake {
	return &Mistake{Kind: k, Col: c.src.column(n.Location().From), Word: word, Hint: example,
		Text: string(c.src.written)}
}

// text is a part as it was written, shortened.
func (c *compiler) text(n ast.Node) string {
	s := c.src.asWritten(n.String())
	if r := []rune(s); len(r) > 60 {
		s = string(r[:59]) + "…"
	}
	return s
}
