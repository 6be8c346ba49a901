package state

import (
	"cmp"
	"maps"
	"slices"
	"time"
)

// Next is the journal place the next event will have.
func (m *Mill) Next() Seq { return m.next }

// NextLot is a lot number that nobody has; each call of the desk gives the next.
func (m *Mill) NextLot() LotID { m.lastLot++; return m.lastLot }

// NextPerson is a person's number that nobody has.
func (m *Mill) NextPerson() PersonID { m.lastPerson++; return m.lastPerson }

// Heard is when the last event was heard.
func (m *Mill) Heard() Instant { return m.heard }

// Event finds a floor event as it counts now; nil for others and for withdrawn ones.
func (m *Mill) Event(s Seq) *Event {
	if s >= Seq(len(m.floor)) || m.floor[s] == nil {
		return nil
	}
	if _, gone := m.floor[s].Body.(withdrawn); gone {
		return nil
	}
	return m.floor[s]
}

// Said lists the floor events of one line of chat that count, in order.
func (m *Mill) Said(msg Seq) []*Event {
	var out []*Event
	for s := msg; s < Seq(len(m.floor)); s++ {
		if e := m.Event(s); e != nil && e.Msg == msg {
			out = append(out, e)
		} else if m.floor[s] != nil && m.floor[s].Msg > msg {
			break
		}
	}
	return out
}

// Place finds a place by name.
func (m *Mill) Place(name string) (Place, bool) {
	if p := m.places[name]; p != nil && !p.Gone {
		return *p, true
	}
	return Place{}, false
}

// KindOf is what a place is for; Waiting for the floor, "" for a place nobody named. A
// closed place keeps its kind.
func (m *Mill) KindOf(place string) Kind {
	if place == Floor {
		return Waiting
	}
	if p := m.places[place]; p != nil {
		return p.Kind
	}
	return ""
}

// Places lists the places by kind along the coffee's way, then by name. The slice is the mill's
// own.
func (m *Mill) Places() []Place {
	if m.sorted != nil || len(m.places) == 0 {
		return m.sorted
	}
	order := Kinds()
	for _, p := range m.places {
		if !p.Gone {
			m.sorted = append(m.sorted, *p)
		}
	}
	slices.SortFunc(m.sorted, func(a, b Place) int {
		return cmp.Or(slices.Index(order, a.Kind)-slices.Index(order, b.Kind),
			len(a.Name)-len(b.Name), cmp.Compare(a.Name, b.Name))
	})
	return m.sorted
}

// AirPlaces names the places where the air is read, in order.
func (m *Mill) AirPlaces() []string { return m.air }

// StaysAt lists the open stays of a place in the order they began. The slice is the mill's own.
func (m *Mill) StaysAt(place string) []*Stay { return m.books.open[place] }

// OpenStays lists every open stay in the order they began.
func (m *Mill) OpenStays() []*Stay {
	var out []*Stay
	for _, at := range m.books.open {
		out = append(out, at...)
	}
	slices.SortFunc(out, func(a, b *Stay) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.ID.Opened, b.ID.Opened),
			cmp.Compare(a.ID.Lot, b.ID.Lot))
	})
	return out
}

// Stay finds a stay, open or closed; nil when a refold has done away with it.
func (m *Mill) Stay(id StayID) *Stay { return m.books.stays[id] }

// Closed lists the ended stays of a kind in the order they ended. The slice is the mill's own.
func (m *Mill) Closed(k Kind) []*Stay { return m.books.closed[k] }

// Lot finds a lot.
func (m *Mill) Lot(id LotID) *Lot { return m.books.lots[id] }

// Lots lists the lots by number.
func (m *Mill) Lots() []*Lot {
	return slices.SortedFunc(maps.Values(m.books.lots),
		func(a, b *Lot) int { return cmp.Compare(a.ID, b.ID) })
}

// SumOf is what a move came to.
func (m *Mill) SumOf(s Seq) (Sum, bool) { sum, ok := m.books.sums[s]; return sum, ok }

// Conflicts lists what is doubted, those of the ledger in the order of the moves.
func (m *Mill) Conflicts() []Conflict {
	return append(slices.Clone(m.books.conflicts), m.strays...)
}

// ConflictsOf lists what is doubted about one event.
func (m *Mill) ConflictsOf(s Seq) []Conflict {
	var out []Conflict
	for _, all := range [...][]Conflict{m.books.conflicts, m.strays} {
		for _, c := range all {
			if c.Of == s {
				out = append(out, c)
			}
		}
	}
	return out
}

// Measure is what a measure word weighs here for a product, else for any product.
func (m *Mill) Measure(word, product string) (Grams, bool) {
	if g, ok := m.measures[[2]string{word, product}]; ok {
		return g, true
	}
	g, ok := m.measures[[2]string{word, ""}]
	return g, ok
}

// Measures lists what is known of the mill's measures: word and product to grams.
func (m *Mill) Measures() map[[2]string]Grams { return maps.Clone(m.measures) }

// Setting is a fact about the site.
func (m *Mill) Setting(name string) (Set, bool) { s, ok := m.sets[name]; return s, ok }

// Zone is the mill's time zone; UTC until it is told or when it is not known.
func (m *Mill) Zone() *time.Location {
	if z, err := time.LoadLocation(m.sets[SetZone].Text); err == nil && m.sets[SetZone].Text != "" {
		return z
	}
	return time.UTC
}

// Person finds somebody; nil when they are not of the mill.
func (m *Mill) Person(id PersonID) *Person { return m.persons[id] }

// Persons lists the people by number.
func (m *Mill) Persons() []*Person { return slices.Clone(m.crew) }

// Standing finds the call that stands for a rule and a subject; nil when none does.
func (m *Mill) Standing(k CallKey) *Call { return m.calls[k] }

// Numbered finds the standing call people name by a number.
func (m *Mill) Numbered(n int) *Call { return m.numbers[n] }

// Calls lists the standing calls, the most urgent first, then the oldest.
func (m *Mill) Calls() []*Call {
	return slices.SortedFunc(maps.Values(m.calls), func(a, b *Call) int {
		return cmp.Or(a.Priority-b.Priority, cmp.Compare(a.Rang, b.Rang), a.Number-b.Number)
	})
}

// Book is the rule book in force and its version; "" and 0 before any was adopted.
func (m *Mill) Book() (string, int) {
	if n := len(m.adopted); n > 0 {
		return m.adopted[n-1].Text, m.adopted[n-1].Version
	}
	return "", 0
}

// Books lists every book that was ever in force.
func (m *Mill) Books() []Adopted { return m.adopted }

// Adopted is a book that was put in force: when, and by whom (0: with the program).
type Adopted struct {
	Adopt
	At Instant
	By PersonID
}

// LastFrom is when somebody last wrote; 0 for never.
func (m *Mill) LastFrom(p PersonID) Instant { return m.wrote[p] }

// PastRevision changes whenever something may have changed about stays that are over: what was
// learned from them must then be learned anew.
func (m *Mill) PastRevision() uint64 { return m.past + m.epoch }

// BlindUntil is the end of the last gap in which nothing could ring; 0 when there was none.
func (m *Mill) BlindUntil() Instant {
	if n := len(m.blind); n > 0 {
		return m.blind[n-1].To
	}
	return 0
}

// LastNote is the last of some notes at a place up to an instant; nil when there is none.
func (m *Mill) LastNote(place string, at Instant, what ...string) *Event {
	l := m.Line(place, at)
	for i := len(l) - 1; i >= 0; i-- {
		if n, ok := l[i].Body.(Note); ok && slices.Contains(what, n.What) {
			return l[i]
		}
	}
	return nil
}

// MovesSince lists the moves that happened at an instant or later, in order.
func (m *Mill) MovesSince(at Instant) []*Event {
	var out []*Event
	for i := len(m.ledger) - 1; i >= 0 && m.ledger[i].At >= at; i-- {
		if _, ok := m.ledger[i].Body.(Move); ok {
			out = append(out, m.ledger[i])
		}
	}
	slices.Reverse(out)
	return out
}

// PowerOut is since when the power has been out at an instant; 0 when it is there.
func (m *Mill) PowerOut(at Instant) Instant { return m.since(at, PowerOut, PowerBack) }

// WaterOut is since when the water has been out at an instant; 0 when it runs.
func (m *Mill) WaterOut(at Instant) Instant { return m.since(at, WaterOut, WaterBack) }

// Raining is since when it has rained at an instant; 0 when it does not.
func (m *Mill) Raining(at Instant) Instant { return m.since(at, RainStart, RainOver) }

// since finds the first of a run of notes that begin something and that nothing has ended.
func (m *Mill) since(at Instant, begins, ends string) Instant {
	l, first := m.Line(Whole, at), Instant(0)
	for i := len(l) - 1; i >= 0; i-- {
		n, ok := l[i].Body.(Note)
		if ok && n.What == ends {
			break
		}
		if ok && n.What == begins {
			first = l[i].At
		}
	}
	return first
}

// LastLine is the last line of chat by somebody of which a floor event still counts; 0 for none.
func (m *Mill) LastLine(by PersonID) Seq {
	e := m.LastAlike(by, func(*Event) bool { return true }, 0)
	if e == nil {
		return 0
	}
	return e.Msg
}

// LastAlike is the last floor event by somebody, heard since an instant, that a test holds for;
// nil when there is none.
func (m *Mill) LastAlike(by PersonID, test func(e *Event) bool, since Instant) *Event {
	for s := Seq(len(m.floor)) - 1; s > 0 && s < Seq(len(m.floor)); s-- {
		if m.floor[s] == nil {
			continue
		}
		if m.floor[s].Heard < since {
			return nil
		}
		if e := m.Event(s); e != nil && e.By == by && test(e) {
			return e
		}
	}
	return nil
}
