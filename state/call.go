package state

import (
	"maps"
	"slices"
	"time"
)

// Truth has three values: a missing reading is CannotTell, never No.
type Truth int8

// The three truths. The zero value is CannotTell.
const (
	CannotTell Truth = iota
	No
	Yes
)

// String is the truth in plain words.
func (t Truth) String() string { return [...]string{"cannot tell", "no", "yes"}[t] }

// Compared is one comparison that a rule made: its text and the two numbers. It is the "why" of
// a call. Words compare as text, with L and R empty numbers.
type Compared struct {
	Text string
	L, R float64
	LeftWord,
	RightWord string
	Is Truth
}

// Subject is what a rule is about: a stay, a named place, lot, post or meter, or the mill.
type Subject struct {
	Kind string // "stay", "place", "lot", "post", "meter", "mill"
	Name string // the place of a stay, else the thing's own name
	Stay StayID // zero unless Kind is "stay"
}

// The kinds of Subject.
const (
	OfStay  = "stay"
	OfPlace = "place"
	OfPost  = "post"
	OfMill  = "mill"
)

// The words of CallStep.What. The first four are Lotbell's or a person's doing while a call
// stands; the rest end it.
const (
	Rang      = "rang"
	Again     = "again"     // the next of the ladder, or the same once more
	Taken     = "taken"     // acknowledged
	Aside     = "put aside" // shelved until
	Handed    = "handed"    // to whoever took over the shift
	Over      = "over"      // returned to normal
	Done      = "done"      // the subject is gone: washed, unloaded
	TakenBack = "taken back"
	Withdrawn = "withdrawn" // its rule is gone or off
)

// CallStep is one step in the life of a call. The first one, Rang, opens it and its event names
// the call. Why keeps the numbers it rested on and Book the version of the book: they are facts
// and are never worked out anew.
type CallStep struct {
	Rule     string
	Of       Subject
	What     string
	Number   int // 1 to 999: what people name the call by
	Priority int // 1 highest to 4
	To       []PersonID
	For      []PersonID // who was spared: they have had their hour's calls
	Rung     int        // place on the ladder
	Until    Instant    // put aside until
	Since    Instant    // true since
	Window   [2]Instant
	Why      []Compared
	Book     int
	Reason   string
}

// Ends says whether the step ends its call.
func (s CallStep) Ends() bool {
	return s.What == Over || s.What == Done || s.What == TakenBack || s.What == Withdrawn
}

// CallState is where a call stands in its life, by the words of ISA-18.2 / IEC 62682.
type CallState string

// The states of a standing call, and of one that is over but that nobody has taken. One that was
// taken and has returned to normal is no call any more: that is normal.
const (
	Unacknowledged CallState = "unacknowledged"
	Acknowledged   CallState = "acknowledged"
	Shelved        CallState = "shelved"
	Returned       CallState = "returned to normal, unacknowledged"
)

// CallKey is what at most one call stands for: a rule and a subject.
type CallKey struct {
	Rule string
	Of   Subject
}

// Call is something Lotbell rang and that is not over.
type Call struct {
	ID       Seq // the event that opened it
	Rule     string
	Of       Subject
	Number   int
	Priority int
	State    CallState
	Rang     Instant
	Last     Instant // last step
	Rung     int
	RungAt   Instant // when that rung was rung
	Until    Instant // shelved until
	By       PersonID
	To       []PersonID // whom it was rung to last
	Told     []PersonID // everyone it was rung to, in order
	Why      []Compared
	Since    Instant
	Window   [2]Instant
	Book     int
}

// Key is the call's rule and subject.
func (c *Call) Key() CallKey { return CallKey{c.Rule, c.Of} }

// applyStep folds a step into the standing calls. Rang for a call that stands and any other step
// for one that does not have no effect.
func (m *Mill) applyStep(e *Event, s CallStep) {
	k := CallKey{s.Rule, s.Of}
	c := m.calls[k]
	if c == nil && s.What == Rang {
		m.openCall(e, s, k)
	}
	if r := m.returned[s.Number]; c == nil && s.What == Taken && r != nil && r.Key() == k {
		delete(m.returned, s.Number)
	}
	if c == nil || s.What == Rang {
		return
	}
	c.Last, c.Until = e.At, 0
	switch {
	case s.Ends():
		delete(m.calls, k)
		if m.numbers[c.Number] == c {
			delete(m.numbers, c.Number)
		}
		if s.What == Over && c.State == Unacknowledged {
			c.State = Returned
			m.returned[c.Number] = c
		}
	case s.What == Again:
		c.State, c.Rung, c.RungAt, c.By = Unacknowledged, s.Rung, e.At, 0
		c.tell(s.To)
		m.ring(s.To, e.At)
	case s.What == Taken:
		c.State, c.By = Acknowledged, e.By
	case s.What == Aside:
		c.State, c.By, c.Until = Shelved, e.By, s.Until
	case s.What == Handed:
		c.State, c.By, c.Rung, c.RungAt = Unacknowledged, 0, s.Rung, e.At
		c.tell(s.To)
	}
}

// openCall opens the call of a Rang step.
func (m *Mill) openCall(e *Event, s CallStep, k CallKey) {
	c := &Call{ID: e.Seq, Rule: s.Rule, Of: s.Of, Number: s.Number, Priority: s.Priority,
		State: Unacknowledged, Rang: e.At, Last: e.At, Rung: s.Rung, RungAt: e.At, Why: s.Why,
		Since: s.Since, Window: s.Window, Book: s.Book}
	c.tell(s.To)
	m.ring(s.To, e.At)
	m.calls[k] = c
	m.numbers[s.Number] = c
	m.lastNumber = s.Number
	delete(m.returned, s.Number)
	for n, r := range m.returned { // it has come again
		if r.Key() == k {
			delete(m.returned, n)
		}
	}
}

// ring notes that people were rung; of each, the rings of the hour before are kept.
func (m *Mill) ring(to []PersonID, at Instant) {
	for _, p := range to {
		rings := m.rings[p]
		old := 0
		for old < len(rings) && rings[old] <= at.Add(-time.Hour) {
			old++
		}
		m.rings[p] = append(rings[old:], at)
	}
}

// Rings is how many calls rang somebody in the hour up to an instant.
func (m *Mill) Rings(p PersonID, at Instant) int {
	n := 0
	for _, x := range m.rings[p] {
		if x > at.Add(-time.Hour) && x <= at {
			n++
		}
	}
	return n
}

// tell notes whom the call is rung to, and adds them to those it was rung to.
func (c *Call) tell(to []PersonID) {
	if len(to) > 0 {
		c.To = to
	}
next:
	for _, p := range to {
		for _, q := range c.Told {
			if p == q {
				continue next
			}
		}
		c.Told = append(c.Told, p)
	}
}

// NextNumber is the number for the next call: the one after the last given, leaving out those
// that stand and those in given. When all 999 are in use a number is shared, by the later call.
func (m *Mill) NextNumber(given map[int]bool) int {
	first := m.lastNumber%999 + 1
	for i := range 999 {
		if n := (first+i-1)%999 + 1; m.numbers[n] == nil && !given[n] {
			return n
		}
	}
	return first
}

// Returned lists the calls that returned to normal and that nobody has taken, until somebody does,
// they ring again or their number is given anew; by number.
func (m *Mill) Returned() []*Call {
	return slices.SortedFunc(maps.Values(m.returned), func(a, b *Call) int {
		return a.Number - b.Number
	})
}

// CallsOf lists the standing calls of a subject, by number.
func (m *Mill) CallsOf(of Subject) []*Call {
	var out []*Call
	for k, c := range m.calls {
		if k.Of == of {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b *Call) int { return a.Number - b.Number })
	return out
}

// ApplyStep folds one call step that is in no journal, as a rehearsal makes it.
func (m *Mill) ApplyStep(e Event) {
	if s, ok := e.Body.(CallStep); ok {
		m.applyStep(&e, s)
	}
}
