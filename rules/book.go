package rules

import (
	"time"

	"lotbell/state"
)

// Language is the version of the rule book's language that this program speaks.
const Language = 1

// Book is a rule book: limits, calls, guards and summaries, compiled and checked. It is never
// changed once made, so that live running and rehearsals may share it.
type Book struct {
	Text      string
	Limits    map[string]Limit
	Calls     []*Rule
	Guards    []*Guard
	Summaries []*Summary
	on        map[string][]*Rule // by kind of place, "mill" or "post"
	perPlace  map[string][]*Rule
}

// Limit is a figure of the book, with the range in which a keeper may set it.
type Limit struct {
	Name      string
	Value     float64
	Unit      string // C, %, h, min, d, kg, pH or "" for a plain number
	Low, High float64
	Why       string
}

// unit is the limit's unit in conditions: hours, minutes and days are times.
func (l Limit) unit() Unit {
	switch l.Unit {
	case "h", "min", "d":
		return Span
	case "C":
		return Celsius
	case "%":
		return Percent
	case "kg":
		return Kilo
	case "pH":
		return Acidity
	}
	return anyUnit
}

// inner is the limit's value as conditions count it.
func (l Limit) inner() float64 {
	switch l.Unit {
	case "h":
		return l.Value * 3600e3
	case "min":
		return l.Value * 60e3
	case "d":
		return l.Value * 24 * 3600e3
	}
	return l.Value
}

// CallKind is how urgent a call is by its nature (ISA-18.2, EEMUA 191): an alarm needs a timely
// response, an alert needs to be known, a prompt asks for an act of normal work.
type CallKind string

// The kinds of call.
const (
	Alarm  CallKind = "alarm"
	Alert  CallKind = "alert"
	Prompt CallKind = "prompt"
)

// Rule is one call of the book.
type Rule struct {
	Name     string
	Kind     CallKind
	On       string // a kind of place, "mill" or "post"
	PerPlace bool   // rings once for the place, not for each lot in it
	When     *Cond
	Clear    *Cond // nil: when When does not hold
	Only     *Cond // part of When: outside it the call is suppressed by design; nil: nowhere
	Wait     time.Duration
	Off      time.Duration
	Priority int
	Ladder   []Rung
	Again    time.Duration // after the last rung, every so long; 0: not again
	Respond  time.Duration // time to respond; taken but still true after it, it rings again
	Asks     string        // what a bare answer means: a quantity, "hand" or "wash"
	Says     map[string]string
	Private  bool // goes to the named only, and never to a shared phone

	IdleUntil state.Instant // switched off until then; 0: on
	IdleWhy   string

	Cause, Consequence, Action string
}

// private says whether a call goes to nobody but those named; false for no rule.
func (r *Rule) private() bool { return r != nil && r.Private }

// Rung is one step of a ladder: whom to call, and how long after the call first rang.
type Rung struct {
	Whom  []string // roles, kinds of place, "safety", "everyone"
	After time.Duration
}

// Guard is a condition on an act: ask back, pass on to who may decide, or forbid.
type Guard struct {
	Name string
	On   []string // acts and orders
	From string   // the kind of place the coffee is in; "": any
	Stop string   // "ask", "pass-on" or "forbid"
	When *Cond
	Says map[string]string
}

// The words of Guard.Stop, the mildest first.
const (
	StopAsk    = "ask"
	StopPassOn = "pass-on"
	StopForbid = "forbid"
)

// Rule finds a call by name; nil when the book has none of that name.
func (b *Book) Rule(name string) *Rule {
	for _, r := range b.Calls {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// rulesFor lists the rules that are about a subject.
func (b *Book) rulesFor(m *state.Mill, of state.Subject) []*Rule {
	switch of.Kind {
	case state.OfStay:
		if of.Name == state.Floor {
			return b.on[string(state.Waiting)]
		}
		return b.on[string(m.KindOf(of.Name))]
	case state.OfPlace:
		return b.perPlace[string(m.KindOf(of.Name))]
	case state.OfMill:
		return b.on[OnMill]
	case state.OfPost:
		return b.on[OnPost]
	}
	return nil
}

// About lists what a call could be about in a mill as it is: the mill, the posts, the places of its
// kind; of those with coffee the stays, for a call that is about stays.
func (b *Book) About(m *state.Mill, r *Rule) []state.Subject {
	switch r.On {
	case OnMill:
		return []state.Subject{{Kind: state.OfMill, Name: state.Whole}}
	case OnPost:
		return posts(m.Persons())
	}
	var out []state.Subject
	for _, p := range m.Places() {
		if string(p.Kind) != r.On {
			continue
		}
		stays := m.StaysAt(p.Name)
		if r.PerPlace || len(stays) == 0 {
			out = append(out, state.Subject{Kind: state.OfPlace, Name: p.Name})
			continue
		}
		for _, s := range stays {
			out = append(out, s.Subject())
		}
	}
	return out
}
