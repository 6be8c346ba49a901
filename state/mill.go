package state

import (
	"cmp"
	"slices"
)

// Mill is everything known at one instant: the fold of the journal. One goroutine owns it.
type Mill struct {
	floor  []*Event // by Seq: floor events as they count now; nil for others and withdrawn ones
	lines  map[string]*line
	ledger []*Event // moves, tags and the notes that bear on them, in order
	books  *books   // what the ledger comes to
	epoch  uint64   // counts replays of the ledger

	places     map[string]*Place
	sorted     []Place  // the places in order; nil: to be put in order
	air        []string // names of the places of air
	measures   map[[2]string]Grams
	sets       map[string]Set
	persons    map[PersonID]*Person
	crew       []*Person // the same people, by number
	calls      map[CallKey]*Call
	numbers    map[int]*Call
	returned   map[int]*Call // over, and nobody has taken them
	lastNumber int
	adopted    []Adopted
	blind      []Blind
	strays     []Conflict // amendments of nothing
	next       Seq
	lastLot    LotID
	lastPerson PersonID
	heard      Instant
	wrote      map[PersonID]Instant
	rings      map[PersonID][]Instant // of the last hour
	past       uint64                 // counts changes of what is over
}

// NewMill is a mill of which nothing is known.
func NewMill() *Mill {
	return &Mill{lines: map[string]*line{}, books: newBooks(0), places: map[string]*Place{},
		measures: map[[2]string]Grams{}, sets: map[string]Set{}, persons: map[PersonID]*Person{},
		calls: map[CallKey]*Call{}, numbers: map[int]*Call{}, returned: map[int]*Call{}, next: 1,
		wrote: map[PersonID]Instant{}, rings: map[PersonID][]Instant{}}
}

// Load folds a whole journal: everything is put in order once and the ledger is replayed once.
func Load(es []Event) *Mill {
	m := NewMill()
	m.floor = make([]*Event, 0, len(es)+1)
	own := slices.Clone(es)
	for i := range own {
		m.take(&own[i])
	}
	for _, e := range m.floor {
		if e == nil {
			continue
		}
		if place, ok := linePlace(e.Body); ok {
			l := m.lineOf(place)
			l.events = append(l.events, e)
		}
		if inLedger(e.Body) {
			m.ledger = append(m.ledger, e)
		}
	}
	for _, l := range m.lines {
		byKey(l.events)
	}
	byKey(m.ledger)
	m.replay()
	return m
}

// byKey sorts events that are nearly in order: those that came late are put aside, sorted among
// themselves and merged in.
func byKey(es []*Event) {
	var late []*Event
	n := 0
	for _, e := range es {
		if n > 0 && e.key().before(es[n-1].key()) {
			late = append(late, e)
			continue
		}
		es[n], n = e, n+1
	}
	slices.SortFunc(late, func(a, b *Event) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Seq, b.Seq))
	})
	for i, j := n-1, len(late)-1; j >= 0; {
		to := &es[i+j+1]
		if i >= 0 && late[j].key().before(es[i].key()) {
			*to, i = es[i], i-1
		} else {
			*to, j = late[j], j-1
		}
	}
}

// take folds the part of an event that does not depend on the order of the floor.
func (m *Mill) take(e *Event) {
	m.note(e)
	switch b := e.Body.(type) {
	case Reading, Note, Tag, Move:
		m.keep(e)
	case Amend:
		m.amend(e, b)
	default:
		m.settle(e)
	}
}

// note counts the numbers an event uses up.
func (m *Mill) note(e *Event) {
	m.next, m.heard = max(m.next, e.Seq+1), max(m.heard, e.Heard)
	if e.By != 0 {
		m.wrote[e.By] = max(m.wrote[e.By], e.Heard)
	}
	b := e.Body
	if a, ok := b.(Amend); ok {
		b = a.Body
	}
	switch b := b.(type) {
	case Move:
		for _, p := range b.In {
			m.lastLot = max(m.lastLot, p.Lot)
		}
	case Staff:
		m.lastPerson = max(m.lastPerson, b.Person)
	case Set:
		if b.Name == SetFirstLot {
			m.lastLot = max(m.lastLot, LotID(b.Number))
		}
	}
}

// keep files a floor event, which is the mill's own from here on, under its journal place.
func (m *Mill) keep(e *Event) {
	for Seq(len(m.floor)) <= e.Seq {
		m.floor = append(m.floor, nil)
	}
	m.floor[e.Seq] = e
}

// amend changes the floor event that e names, and returns how it was.
func (m *Mill) amend(e *Event, a Amend) (was, is *Event) {
	if was, is = m.amended(a); was == nil {
		m.strays = append(m.strays, Conflict{Of: e.Seq, Kind: NothingToAmend})
		return nil, nil
	}
	m.floor[a.Of] = is
	return was, is
}

// amended is the event an amendment names, as it is and as it would be; nil when there is none
// or when what should take its place did not happen on the floor.
func (m *Mill) amended(a Amend) (was, is *Event) {
	if a.Of >= Seq(len(m.floor)) || m.floor[a.Of] == nil || a.Body != nil && !ofFloor(a.Body) {
		return nil, nil
	}
	was = m.floor[a.Of]
	now := *was
	if now.Body = a.Body; a.Body == nil {
		now.Body = withdrawn{was.Body}
	}
	if a.At != 0 {
		now.At = a.At
	}
	return was, &now
}

// withdrawn is the body of an event that was taken back. It is on no line and in no ledger, and
// a later amendment may bring the event back.
type withdrawn struct{ was Body }

func (withdrawn) body() {}

// ofFloor says whether a body is of the floor's kinds.
func ofFloor(b Body) bool {
	switch b.(type) {
	case Reading, Note, Tag, Move:
		return true
	}
	return false
}

// linePlace says on which line a body stands.
func linePlace(b Body) (string, bool) {
	switch b := b.(type) {
	case Reading:
		return b.Place, true
	case Note:
		return b.Place, true
	}
	return "", false
}

// inLedger says whether a body bears on where the coffee is.
func inLedger(b Body) bool {
	switch b := b.(type) {
	case Move, Tag:
		return true
	case Note:
		return b.What == Full || b.What == WashOrdered
	}
	return false
}

func (m *Mill) lineOf(place string) *line {
	l := m.lines[place]
	if l == nil {
		l = &line{}
		m.lines[place] = l
	}
	return l
}

// Apply folds events as they are heard and says which subjects they touched.
func (m *Mill) Apply(es ...Event) []Subject {
	var t touched
	stale := false
	for i := range es {
		e := &es[i]
		was, is := (*Event)(nil), (*Event)(nil)
		m.note(e)
		switch b := e.Body.(type) {
		case Reading, Note, Tag, Move:
			own := *e
			is = &own
			m.keep(is)
		case Amend:
			was, is = m.amend(e, b)
		default:
			stale = m.settle(e) || stale
			t.add(m.touchedBy(e.Body)...)
			continue
		}
		stale = m.shift(was, is, stale) || stale
		for _, x := range []*Event{was, is} {
			if x != nil {
				t.add(m.touchedBy(x.Body)...)
			}
		}
	}
	if stale {
		m.replay()
		t.add(m.Everything()...)
	}
	return t.subjects
}

// shift moves an event on its lines and in the ledger, and says whether the ledger must be
// replayed because something before its end has changed.
func (m *Mill) shift(was, is *Event, stale bool) bool {
	if was != nil {
		if place, ok := linePlace(was.Body); ok {
			m.lineOf(place).remove(was.key())
			if m.inPast(place, was.key()) {
				m.past++
			}
		}
		if inLedger(was.Body) {
			l := line{events: m.ledger}
			l.remove(was.key())
			m.ledger, stale = l.events, true
		}
	}
	if is == nil {
		return stale
	}
	if place, ok := linePlace(is.Body); ok {
		m.lineOf(place).insert(is)
		if m.inPast(place, is.key()) {
			m.past++
		}
	}
	if !inLedger(is.Body) {
		return stale
	}
	l := line{events: m.ledger}
	last := m.isLast(is)
	l.insert(is)
	m.ledger = l.events
	if !last || stale {
		return true
	}
	m.enter(is)
	for _, place := range placesOf(is.Body) {
		m.lineOf(place).rev++
	}
	return false
}

// inPast says whether an instant of a line is before the end of a stay that is over, which what
// was read then may bear on.
func (m *Mill) inPast(place string, k key) bool {
	end := m.books.ended[place]
	if place == Whole || m.KindOf(place) == Air {
		end = m.books.ended[Whole]
	}
	return !end.before(k)
}

// isLast says whether an event comes after all of the ledger.
func (m *Mill) isLast(e *Event) bool {
	n := len(m.ledger)
	return n == 0 || m.ledger[n-1].key().before(e.key())
}

// settle folds what counts in the order it was heard. It says whether the ledger depends on it.
func (m *Mill) settle(e *Event) bool {
	switch b := e.Body.(type) {
	case Set:
		m.sets[b.Name] = b
		m.epoch++
	case SetMeasure:
		m.measures[[2]string{b.Word, b.Product}] = b.Mass
	case SetPlace:
		m.setPlace(e, b)
		return true
	case Staff:
		m.staff(b)
	case Duty:
		m.duty(e, b)
	case Reach:
		if p := m.persons[b.Person]; p != nil {
			p.Reachable = b.OK
		}
	case Adopt:
		m.adopted = append(m.adopted, Adopted{b, e.At, e.By})
	case CallStep:
		m.applyStep(e, b)
	case Blind:
		m.blind = append(m.blind, b)
	case Clock:
		m.setBack(b.Is)
		return true
	}
	return false
}

// setPlace names a place. One that is closed is kept for what happened in it.
func (m *Mill) setPlace(e *Event, b SetPlace) {
	named := e.At
	if old := m.places[b.Name]; old != nil {
		named = old.Named
		if b.Gone {
			b = old.SetPlace
			b.Gone = true
		}
	}
	m.places[b.Name] = &Place{SetPlace: b, Since: e.Seq, Named: named}
	m.sorted = nil
	m.air = nil
	for _, p := range m.Places() {
		if p.Kind == Air {
			m.air = append(m.air, p.Name)
		}
	}
	m.epoch++
}

func (m *Mill) staff(s Staff) {
	if s.Gone {
		delete(m.persons, s.Person)
		m.crew = slices.DeleteFunc(m.crew, func(p *Person) bool { return p.ID == s.Person })
		return
	}
	p := m.persons[s.Person]
	if p == nil {
		p = &Person{ID: s.Person, Reachable: true}
		m.persons[s.Person] = p
		i, _ := slices.BinarySearchFunc(m.crew, p, func(a, b *Person) int { return cmp.Compare(a.ID, b.ID) })
		m.crew = slices.Insert(m.crew, i, p)
	}
	p.Roles, p.Posts, p.Lang, p.Wakes = s.Roles, s.Posts, s.Lang, s.Wakes
}

func (m *Mill) duty(e *Event, d Duty) {
	p := m.persons[d.Person]
	if p == nil {
		return
	}
	p.DutySaid, p.OnSince, p.Leaving = true, 0, 0
	p.Away, p.AwayUntil = d.Away && !d.On, d.Until
	switch {
	case d.On:
		p.OnSince = e.At
	case !d.Over && !d.Away:
		p.Leaving = e.At
	}
}
