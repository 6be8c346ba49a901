package state

import "slices"

// Conflict is a doubt of the fold: an event that contradicts the rest, and by how much. It is
// kept all the same; the conflict is the question to ask about it.
type Conflict struct {
	Of    Seq
	Kind  ConflictKind
	Place string
	Lot   LotID
	Mass  Grams // what was said
	Fits  Grams // what would fit
}

// ConflictKind is why an event is doubted.
type ConflictKind string

// The kinds of conflict.
const (
	NothingThere   ConflictKind = "nothing-there"  // coffee was taken where none is known
	MoreThanFits   ConflictKind = "more-than-fits" // more than the place holds
	Heavier        ConflictKind = "heavier"        // arrives heavier than it left, over 1 %
	AfterFull      ConflictKind = "after-full"     // a load into a tank that was closed
	Blend          ConflictKind = "blend"          // another lot was in there
	MixedTags      ConflictKind = "mixed-tags"     // owners or claims became one
	NotOrdered     ConflictKind = "not-ordered"    // a wash that nobody ordered
	NoSuchPlace    ConflictKind = "no-such-place"  // a place the mill has not named
	NothingToAmend ConflictKind = "nothing-to-amend"
)

// Serious says whether the conflict stays on the lot until it is settled: a gain beyond 5 %. A
// gain within 1 % is within error and no conflict at all. (Common practice, no source.)
func (c Conflict) Serious() bool {
	return c.Kind == Heavier && float64(c.Mass) > 1.05*float64(c.Fits)
}

// Sum is what a move came to, in grams: Taken + Found = Arrived + Lost. Water is the part of Lost
// that drying explains, when the moisture on both sides is known.
// Dry says that it is, so that what is lost beyond the water went without a reason.
type Sum struct {
	Taken, Found, Arrived, Lost, Water Grams
	Dry                                bool
}

// books is what the ledger comes to when it is replayed.
type books struct {
	stays     map[StayID]*Stay
	open      map[string][]*Stay // by place, in the order they began
	closed    map[Kind][]*Stay
	lots      map[LotID]*Lot
	sums      map[Seq]Sum
	conflicts []Conflict
	ended     map[string]key // when the last stay that is over ended, by place; at Whole, of all
	under     *books         // what a trial stands on; nil when these are the mill's own
}

// newBooks makes room for a number of moves.
func newBooks(moves int) *books {
	return &books{stays: make(map[StayID]*Stay, moves), open: map[string][]*Stay{},
		closed: map[Kind][]*Stay{}, lots: make(map[LotID]*Lot, moves), sums: make(map[Seq]Sum, moves),
		ended: map[string]key{}}
}

// lot finds a lot, also among those a trial has not touched.
func (k *books) lot(id LotID) *Lot {
	if l := k.lots[id]; l != nil || k.under == nil {
		return l
	}
	return k.under.lots[id]
}

// replay works the whole ledger out anew.
func (m *Mill) replay() {
	m.epoch++
	m.books = newBooks(len(m.ledger) / 2)
	for _, e := range m.ledger {
		m.enter(e)
	}
}

// enter adds one event at the end of the ledger.
func (m *Mill) enter(e *Event) {
	switch b := e.Body.(type) {
	case Move:
		m.move(e, b)
	case Tag:
		there := m.there(Part{Place: b.Place, Lot: b.Lot})
		if len(there) == 0 {
			m.doubt(Conflict{Of: e.Seq, Kind: NothingThere, Place: b.Place, Lot: b.Lot})
		}
		for _, s := range there {
			s.lot.set(b.Name, b.Value)
			m.past++
		}
	case Note:
		for _, s := range m.books.open[b.Place] {
			switch {
			case !e.Concerns(s):
			case b.What == Full && s.Full == 0:
				s.Full = e.At
			case b.What == WashOrdered:
				s.Ordered = e.At
			}
		}
	}
}

// May lists the conflicts that an event would have if it were told now, without telling it: its
// own or, of an amendment, those of the event it amends. Seq 0 stands for the next one.
func (m *Mill) May(e Event) []Conflict {
	if e.Seq == 0 {
		e.Seq = m.next
	}
	was, is := (*Event)(nil), &e
	if a, ok := e.Body.(Amend); ok {
		if was, is = m.amended(a); was == nil {
			return []Conflict{{Of: e.Seq, Kind: NothingToAmend}}
		}
	}
	if !inLedger(is.Body) {
		return nil
	}
	var out []Conflict
	for _, c := range m.trial(was, is).conflicts {
		if c.Of == is.Seq {
			out = append(out, c)
		}
	}
	return out
}

// trial is what the books would come to with an event in place of another (nil: of none).
func (m *Mill) trial(was, is *Event) *books {
	t := &Mill{places: m.places}
	if was == nil && m.isLast(is) {
		t.books = m.books.aside(is.Body)
		t.enter(is)
		return t.books
	}
	l := line{events: slices.Clone(m.ledger)}
	if was != nil {
		l.remove(was.key())
	}
	l.insert(is)
	t.ledger = l.events
	t.replay()
	return t.books
}

// aside copies what a body at the end of the ledger can change, so that it is tried on the copy.
func (k *books) aside(b Body) *books {
	t := newBooks(1)
	t.under = k
	for _, place := range placesOf(b) {
		if t.open[place] != nil {
			continue
		}
		for _, s := range k.open[place] {
			stay := *s
			stay.Loads, stay.Drawn = slices.Clip(stay.Loads), slices.Clip(stay.Drawn)
			stay.lot = s.lot.again()
			t.open[place] = append(t.open[place], &stay)
			t.lots[stay.lot.ID] = stay.lot
		}
	}
	return t
}

// move lets coffee leave and arrive.
func (m *Mill) move(e *Event, b Move) {
	in := b.In
	if len(in) == 0 {
		in = []Part{{Place: Floor}}
	}
	takes, said := m.takings(e, b)
	masses, sum := b.weigh(takes, said, in)
	sum.Water, sum.Dry = b.water(sum), moisture(b.Out) > 0 && moisture(b.In) > 0
	m.check(e, b, takes, sum)
	kept := LotID(0)
	if len(in) == 1 {
		kept = onlyWhole(takes)
	}
	for _, t := range takes {
		m.takeFrom(e, b.Act, t)
	}
	founds := Split(sum.Found, masses)
	for i, p := range in {
		lot := m.lotFor(e, p, kept, takes, masses, i)
		lot.Found += founds[i]
		m.arrive(e, b, p, lot, masses[i], takes)
	}
	m.books.sums[e.Seq] = sum
}

// arrive lets a part arrive at its place.
func (m *Mill) arrive(e *Event, b Move, p Part, l *Lot, mass Grams, takes []taking) {
	if p.Place == Outside {
		return
	}
	m.named(e, p.Place)
	kind := m.KindOf(p.Place)
	if at := m.books.open[p.Place]; kind.mixes() && len(at) > 0 {
		m.join(e, at[0], l, mass, fresh(takes))
	} else {
		s := &Stay{ID: StayID{e.Seq, l.ID}, Place: p.Place, Kind: kind, From: e.At,
			Loads: []Arrival{{e.At, e.Seq, mass}}, Mass: mass, Partly: mass == 0, Moist: p.Moisture,
			Came: b.from(), opened: e.key(), lot: l}
		m.books.stays[s.ID] = s
		m.books.open[p.Place] = append(m.books.open[p.Place], s)
	}
	m.room(e, p.Place)
}

// fresh says whether all of a move comes from outside.
func fresh(takes []taking) bool {
	return len(takes) > 0 && !slices.ContainsFunc(takes, func(t taking) bool { return t.stay != nil })
}

// join adds coffee to a stay that is going on: more of the same, or another lot.
func (m *Mill) join(e *Event, s *Stay, l *Lot, mass Grams, same bool) {
	s.Loads = append(s.Loads, Arrival{e.At, e.Seq, mass})
	s.Mass += mass
	s.Partly = s.Partly || mass == 0
	if s.Full != 0 {
		m.doubt(Conflict{Of: e.Seq, Kind: AfterFull, Place: s.Place, Lot: s.ID.Lot, Mass: mass})
	}
	if same {
		s.lot.Found += l.Found
		delete(m.books.lots, l.ID) // its number stays unused
		return
	}
	into := s.lot.again() // so that stays that are over keep what it was then
	m.books.lots[into.ID], s.lot = into, into
	into.Born = min(into.Born, l.Born)
	m.past++
	if into.agree(l) {
		m.doubt(Conflict{Of: e.Seq, Kind: MixedTags, Place: s.Place, Lot: s.ID.Lot})
	}
	if more := m.shares(Share{l.ID, mass}, into.ID); len(more) > 0 {
		into.Parents = append(into.Parents, more...)
		m.doubt(Conflict{Of: e.Seq, Kind: Blend, Place: s.Place, Lot: s.ID.Lot, Mass: mass})
	}
}

// room doubts what does not fit.
func (m *Mill) room(e *Event, place string) {
	p := m.places[place]
	if p == nil || p.Capacity == 0 {
		return
	}
	held := Grams(0)
	for _, s := range m.books.open[place] {
		held += s.Mass
	}
	if held > p.Capacity {
		m.doubt(Conflict{Of: e.Seq, Kind: MoreThanFits, Place: place, Mass: held, Fits: p.Capacity})
	}
}

// named doubts a place that the mill has not got, or had closed when the move was heard.
func (m *Mill) named(e *Event, place string) {
	if place == Floor || place == Outside {
		return
	}
	if p := m.places[place]; p == nil || p.Gone && e.Seq > p.Since {
		m.doubt(Conflict{Of: e.Seq, Kind: NoSuchPlace, Place: place})
	}
}

func (m *Mill) doubt(c Conflict) { m.books.conflicts = append(m.books.conflicts, c) }
