package state

// lotFor is the lot that part i of a move arrives as: the one that left, when it left whole and
// in one piece, else a new one with its parents.
func (m *Mill) lotFor(e *Event, p Part, kept LotID, takes []taking, masses []Grams, i int) *Lot {
	if kept != 0 {
		l := m.books.lots[kept]
		if p.Class != "" { // from here on: what is over keeps what it was
			l = l.again()
			m.books.lots[kept] = l
			l.set("class", p.Class)
		}
		return l
	}
	l := &Lot{ID: m.number(e, p, i), Born: e.At}
	m.books.lots[l.ID] = l
	parents := make([]*Lot, 0, len(takes))
	for _, t := range takes {
		if t.stay == nil {
			continue
		}
		from := m.books.lots[t.stay.ID.Lot]
		parents = append(parents, from)
		l.Parents = append(l.Parents, Share{from.ID, Split(t.mass, masses)[i]})
		l.Born = min(l.Born, from.Born)
	}
	if l.inherit(parents) {
		m.doubt(Conflict{Of: e.Seq, Kind: MixedTags, Place: p.Place, Lot: l.ID})
	}
	if p.Class != "" {
		l.set("class", p.Class)
	}
	return l
}

// unsaid is where the numbers begin that nobody gave: they are never shown to anybody.
const unsaid LotID = 1 << 31

func (l *Lot) set(name, value string) {
	if l.Tags == nil {
		l.Tags = map[string]string{}
	}
	l.Tags[name] = value
}

// number is the number of a new lot: the one the part brings, if it is still free.
func (m *Mill) number(e *Event, p Part, i int) LotID {
	id := p.Lot
	if id == 0 || m.books.lot(id) != nil {
		id = unsaid + LotID(e.Seq)*16 + LotID(i)
	}
	for m.books.lot(id) != nil {
		id++
	}
	return id
}

// inherit gives a lot the tags its parents agree on, and says whether an owner or a claim was
// lost because they do not.
func (l *Lot) inherit(parents []*Lot) (lost bool) {
	for i, p := range parents {
		if i > 0 {
			lost = l.agree(p) || lost
			continue
		}
		for name, value := range p.Tags {
			l.set(name, value)
		}
	}
	return lost
}

// agree drops the tags that l and a lot that becomes one with it do not share, and says whether
// an owner or a claim is lost by it.
func (l *Lot) agree(with *Lot) (lost bool) {
	for name, value := range with.Tags {
		lost = lost || l.Tags[name] != value && binding(name)
	}
	for name, value := range l.Tags {
		if with.Tags[name] != value {
			lost = lost || binding(name)
			delete(l.Tags, name)
		}
	}
	return lost
}

// binding says whether a tag is a promise to somebody.
func binding(tag string) bool { return tag == "owner" || tag == "claim" }

// shares lists what a share adds to a lot's parents: itself, or, where it came from that lot, what
// else is in it. So no lot is among its own forebears.
func (m *Mill) shares(x Share, into LotID) []Share {
	if !m.descends(x.Lot, into, map[LotID]bool{}) {
		return []Share{x}
	}
	var out []Share
	parents := m.books.lot(x.Lot).Parents
	weights := make([]Grams, len(parents))
	for i, p := range parents {
		weights[i] = p.Mass
	}
	for i, g := range Split(x.Mass, weights) {
		if p := parents[i].Lot; p != into {
			out = append(out, m.shares(Share{p, g}, into)...)
		}
	}
	return out
}

// descends says whether a lot has another among its forebears.
func (m *Mill) descends(lot, from LotID, seen map[LotID]bool) bool {
	l := m.books.lot(lot)
	if l == nil || seen[lot] {
		return false
	}
	seen[lot] = true
	for _, p := range l.Parents {
		if p.Lot == from || m.descends(p.Lot, from, seen) {
			return true
		}
	}
	return false
}
