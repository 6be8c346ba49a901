package state

import "sort"

// StayID names a stay by the event that opened it and its lot, so that it survives every
// amendment of that event's mass or time.
type StayID struct {
	Opened Seq
	Lot    LotID
}

// Arrival is coffee that came to a stay, or left it in part, at one instant.
type Arrival struct {
	At   Instant
	Seq  Seq
	Mass Grams // 0: not weighed
}

// Stay is one lot in one place from one instant to another. Its readings and notes are those on
// the line of the place between the two; see [Mill.During].
type Stay struct {
	ID      StayID
	Place   string
	Kind    Kind
	From    Instant
	To      Instant // 0: still there
	Loads   []Arrival
	Drawn   []Arrival // what left it in part
	Mass    Grams     // wet, as last weighed or reckoned; 0: not known
	Partly  bool      // one of the loads was not weighed, so Mass is a lower bound
	Moist   float64   // % wet basis when it came; 0: not known
	Came    string    // the place it came from
	Full    Instant   // called full
	Ordered Instant   // its wash was ordered
	Left    string    // the act that ended it

	opened, closed key
	lot            *Lot
}

// Tag is an attribute of the stay's lot, "" when it has none. What a lot loses when it becomes one
// with another is not lost to the stays that were over by then.
func (s *Stay) Tag(name string) string { return s.lot.Tag(name) }

// MassAt is what the stay held at an instant, as later loads and departures tell it from now.
func (s *Stay) MassAt(at Instant) Grams {
	g := s.Mass
	for i := len(s.Drawn) - 1; i >= 0 && s.Drawn[i].At > at; i-- {
		g += s.Drawn[i].Mass
	}
	for i := len(s.Loads) - 1; i >= 0 && s.Loads[i].At > at; i-- {
		g -= s.Loads[i].Mass
	}
	return max(0, g)
}

// FirstIn is when the oldest coffee of the stay arrived.
func (s *Stay) FirstIn() Instant { return s.Loads[0].At }

// LastIn is when the youngest coffee that had arrived by an instant did so.
func (s *Stay) LastIn(at Instant) Instant {
	last := s.Loads[0].At
	for _, l := range s.Loads {
		if l.At <= at {
			last = l.At
		}
	}
	return last
}

// OpenAt says whether the stay was going on at an instant.
func (s *Stay) OpenAt(at Instant) bool { return s.From <= at && (s.To == 0 || at < s.To) }

// Subject is the stay as a rule speaks of it.
func (s *Stay) Subject() Subject { return Subject{OfStay, s.Place, s.ID} }

// line is what was read and noted at one place, in order. A late event is an insertion and moves
// nothing else.
type line struct {
	events []*Event
	rev    uint64
	redone uint64 // counts changes other than growing at the end
}

// insert puts e at its place in the line.
func (l *line) insert(e *Event) {
	l.rev++
	n := len(l.events)
	if n == 0 || l.events[n-1].key().before(e.key()) {
		l.events = append(l.events, e)
		return
	}
	l.redone++
	i := l.after(e.key())
	l.events = append(l.events, nil)
	copy(l.events[i+1:], l.events[i:])
	l.events[i] = e
}

// remove takes the event with that key out of the line.
func (l *line) remove(k key) {
	l.rev++
	l.redone++
	i := sort.Search(len(l.events), func(i int) bool { return !l.events[i].key().before(k) })
	if i < len(l.events) && l.events[i].key() == k {
		l.events = append(l.events[:i], l.events[i+1:]...)
	}
}

// after is the index of the first event past k.
func (l *line) after(k key) int {
	return sort.Search(len(l.events), func(i int) bool { return k.before(l.events[i].key()) })
}

// During lists what was read and noted at the stay's place while it lasted, up to an instant. The
// slice is the mill's own: it must not be changed or kept. Events of another lot of the same
// place are among them; see [Event.Concerns].
func (m *Mill) During(s *Stay, at Instant) []*Event {
	l := m.lines[s.Place]
	if l == nil {
		return nil
	}
	end := key{at, ^Seq(0)}
	if s.To != 0 && s.closed.before(end) {
		end = s.closed
	}
	i, j := l.after(s.opened), l.after(end)
	if i >= j {
		return nil
	}
	return l.events[i:j]
}

// Line lists what was read and noted at a place up to an instant. The slice is the mill's own.
func (m *Mill) Line(place string, at Instant) []*Event {
	l := m.lines[place]
	if l == nil {
		return nil
	}
	return l.events[:l.after(key{at, ^Seq(0)})]
}

// Concerns says whether a reading or note on the line of the stay's place is about its lot.
func (e *Event) Concerns(s *Stay) bool {
	switch b := e.Body.(type) {
	case Reading:
		return b.Lot == 0 || b.Lot == s.ID.Lot
	case Note:
		return b.Lot == 0 || b.Lot == s.ID.Lot
	}
	return false
}

// Revision changes whenever anything that bears on a place does: a cache may be keyed by it.
func (m *Mill) Revision(place string) uint64 {
	if l := m.lines[place]; l != nil {
		return l.rev + m.epoch
	}
	return m.epoch
}

// Redone changes whenever what was read and noted at a place does so other than by growing: what
// was worked out of the beginning of its line still holds while it does not.
func (m *Mill) Redone(place string) uint64 {
	if l := m.lines[place]; l != nil {
		return l.redone
	}
	return 0
}
