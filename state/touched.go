package state

import (
	"cmp"
	"slices"
)

// touched collects subjects, each once.
type touched struct {
	subjects []Subject
	seen     map[Subject]bool
}

func (t *touched) add(ss ...Subject) {
	for _, s := range ss {
		if t.seen[s] {
			continue
		}
		if t.seen == nil {
			t.seen = map[Subject]bool{}
		}
		t.seen[s] = true
		t.subjects = append(t.subjects, s)
	}
}

// touchedBy lists the subjects a body bears on, as the mill stands now.
func (m *Mill) touchedBy(b Body) []Subject {
	switch b := b.(type) {
	case withdrawn:
		return m.touchedBy(b.was)
	case Reading:
		return m.at(b.Place)
	case Note:
		return m.at(b.Place)
	case Tag, Move:
		var out []Subject
		for _, place := range placesOf(b) {
			out = append(out, m.at(place)...)
		}
		return out
	case SetPlace, Set, Adopt, Blind, Clock:
		return m.Everything()
	case CallStep:
		return []Subject{b.Of}
	case Reach: // who cannot be reached any more is no answer
		var out []Subject
		for _, c := range m.Calls() {
			if slices.Contains(c.To, b.Person) {
				out = append(out, c.Of)
			}
		}
		return out
	}
	return nil
}

// placesOf lists the places a floor body bears on. Coffee may be on the floor that is still called
// by the place it left.
func placesOf(b Body) []string {
	switch b := b.(type) {
	case Reading:
		return []string{b.Place}
	case Note:
		return []string{b.Place}
	case Tag:
		return []string{Floor, b.Place}
	case Move:
		out := make([]string, 1, 1+len(b.Out)+len(b.In))
		out[0] = Floor
		for _, p := range b.Out {
			out = append(out, p.Place)
		}
		for _, p := range b.In {
			out = append(out, p.Place)
		}
		return out
	}
	return nil
}

// at lists the place and its open stays; for the mill and for places of air, everything.
func (m *Mill) at(place string) []Subject {
	if p := m.places[place]; place == Whole || p != nil && p.Kind == Air {
		return m.Everything()
	}
	if place == Outside {
		return nil
	}
	out := []Subject{{Kind: OfPlace, Name: place}}
	for _, s := range m.books.open[place] {
		out = append(out, s.Subject())
	}
	n := len(out)
	for k := range m.calls { // a stay that has just closed still has its calls to end
		if k.Of.Kind == OfStay && k.Of.Name == place {
			out = append(out, k.Of)
		}
	}
	slices.SortFunc(out[n:], func(a, b Subject) int {
		return cmp.Or(cmp.Compare(a.Stay.Opened, b.Stay.Opened), cmp.Compare(a.Stay.Lot, b.Stay.Lot))
	})
	return out
}

// Everything lists the mill, every place and every open stay, in a fixed order.
func (m *Mill) Everything() []Subject {
	out := []Subject{{Kind: OfMill, Name: Whole}, {Kind: OfPlace, Name: Floor}}
	for _, p := range m.Places() {
		out = append(out, Subject{Kind: OfPlace, Name: p.Name})
	}
	for _, s := range m.OpenStays() {
		out = append(out, s.Subject())
	}
	for _, c := range m.Calls() {
		out = append(out, c.Of)
	}
	return out
}
