package state

import (
	"math"
	"slices"
)

// taking is what a move takes from one stay. A nil stay is from outside.
type taking struct {
	stay  *Stay
	mass  Grams
	known bool
	whole bool
}

// all takes everything of a stay.
func (s *Stay) all() taking { return taking{s, s.Mass, s.Weighed(), true} }

// Weighed says whether all of the stay's coffee has a mass.
func (s *Stay) Weighed() bool { return s.Mass > 0 && !s.Partly }

// takings finds what each side of the move takes, before anything is taken, and the mass that
// was said to leave: more or less than what was there. Coffee that is said to come from nowhere is
// doubted where it arrives.
func (m *Mill) takings(e *Event, b Move) (out []taking, said Grams) {
	if len(b.Out) == 0 {
		c := Conflict{Of: e.Seq, Kind: NothingThere, Place: Floor}
		for i, p := range b.In {
			c.Mass += p.Mass
			if i == 0 {
				c.Place = p.Place
			}
		}
		m.doubt(c)
	}
	for _, p := range b.Out {
		said += p.Mass
		if p.Place == Outside {
			out = append(out, taking{mass: p.Mass, known: p.Mass > 0, whole: true})
			continue
		}
		m.named(e, p.Place)
		there := m.there(p)
		if len(there) == 0 {
			m.doubt(Conflict{Of: e.Seq, Kind: NothingThere, Place: p.Place, Lot: p.Lot, Mass: p.Mass})
		}
		for _, t := range share(p, there) {
			if p.Mass == 0 {
				said += t.mass
			}
			out = claim(out, t)
		}
	}
	return out, said
}

// there lists the open stays a part means. Coffee that has just left the place for the floor is
// still called by the place it left.
func (m *Mill) there(p Part) []*Stay {
	var out []*Stay
	for _, s := range m.books.open[p.Place] {
		if p.Lot == 0 || p.Lot == s.ID.Lot {
			out = append(out, s)
		}
	}
	if len(out) > 0 || p.Place == Floor {
		return out
	}
	for _, s := range m.books.open[Floor] {
		if s.Came == p.Place && (p.Lot == 0 || p.Lot == s.ID.Lot) {
			out = append(out, s)
		}
	}
	return out
}

// share parts what is taken among the stays that are there, in proportion to what each has. More
// than has been weighed must come from those that were not.
func share(p Part, there []*Stay) []taking {
	avail, unknown := Grams(0), make([]Grams, len(there))
	weights, known := make([]Grams, len(there)), true
	for i, s := range there {
		avail, weights[i] = avail+s.Mass, s.Mass
		if !s.Weighed() {
			unknown[i], known = 1, false
		}
	}
	out := make([]taking, len(there))
	all := p.All || p.Mass == 0 || known && p.Mass >= avail
	parts := Split(min(p.Mass, avail), weights)
	more := Split(max(0, p.Mass-avail), unknown)
	for i, s := range there {
		out[i] = taking{s, parts[i] + more[i], true, false}
		if all || s.Weighed() && parts[i] >= s.Mass {
			out[i] = s.all()
		}
	}
	return out
}

// claim adds a taking to those of the same move, so that nothing leaves a stay twice.
func claim(out []taking, t taking) []taking {
	i := slices.IndexFunc(out, func(o taking) bool { return o.stay == t.stay })
	switch {
	case i < 0:
		out = append(out, t)
	case t.whole:
		out[i] = t
	case !out[i].whole:
		out[i].mass += t.mass
		if s := t.stay; s.Weighed() && out[i].mass >= s.Mass {
			out[i] = s.all()
		}
	}
	return out
}

// weigh gives every arriving part its mass and closes the sum. Parts that were not weighed get
// what is left of what was said to leave, less the water that drying took where the moisture on
// both sides is known; coffee of unknown mass that is weighed on arrival had that mass.
func (b Move) weigh(takes []taking, said Grams, in []Part) ([]Grams, Sum) {
	var s Sum
	unknown := false
	for _, t := range takes {
		s.Taken, unknown = s.Taken+t.mass, unknown || !t.known
	}
	masses, open := make([]Grams, len(in)), []int(nil)
	for i, p := range in {
		masses[i] = p.Mass
		s.Arrived += p.Mass
		if p.Mass == 0 {
			open = append(open, i)
		}
	}
	if rest := min(said, b.dried(said)) - s.Arrived; rest > 0 && len(open) > 0 {
		for i, g := range Split(rest, make([]Grams, len(open))) {
			masses[open[i]] = g
		}
		s.Arrived += rest
	}
	if unknown && s.Arrived > s.Taken {
		s.Taken = s.Arrived
	}
	s.Found, s.Lost = max(0, s.Arrived-s.Taken), max(0, s.Taken-s.Arrived)
	return masses, s
}

// water is the part of what was lost that drying from the moisture that left to the one that
// arrived explains: dry matter stays. 0 when either is not known.
func (b Move) water(s Sum) Grams { return min(s.Lost, max(0, s.Taken-b.dried(s.Taken))) }

// dried is what a mass that left weighs at the moisture that arrived: its dry matter stays. The
// mass itself when either is not known.
func (b Move) dried(g Grams) Grams {
	out, in := moisture(b.Out), moisture(b.In)
	if out <= 0 || out >= 100 || in <= 0 || in >= 100 || out == in {
		return g
	}
	return Grams(math.Round(float64(g) * (100 - out) / (100 - in)))
}

// check compares both sides of a move, at the moisture that arrived where that of both is known.
func (m *Mill) check(e *Event, b Move, takes []taking, s Sum) {
	if fits := b.dried(s.Taken); fits > 0 && float64(s.Arrived) > 1.01*float64(fits) {
		m.doubt(Conflict{Of: e.Seq, Kind: Heavier, Place: b.from(), Mass: s.Arrived, Fits: fits})
	}
	for _, t := range takes {
		if b.Act == ActWash && t.stay != nil && t.stay.Kind == Tank && t.stay.Ordered == 0 {
			m.doubt(Conflict{Of: e.Seq, Kind: NotOrdered, Place: t.stay.Place, Lot: t.stay.ID.Lot})
		}
	}
}

// from is the place a move starts at.
func (b Move) from() string {
	if len(b.Out) > 0 {
		return b.Out[0].Place
	}
	return Outside
}

// moisture is the mean moisture of the parts where each part has one, else 0.
func moisture(ps []Part) float64 {
	sum := 0.0
	for _, p := range ps {
		if p.Moisture == 0 {
			return 0
		}
		sum += p.Moisture
	}
	return sum / float64(max(1, len(ps)))
}

// onlyWhole is the lot of which everything there is goes in one piece; 0 if it is not so.
func onlyWhole(takes []taking) LotID {
	if len(takes) != 1 || takes[0].stay == nil || !takes[0].whole {
		return 0
	}
	return takes[0].stay.ID.Lot
}

// takeFrom lets the coffee leave its stay.
func (m *Mill) takeFrom(e *Event, act string, t taking) {
	if t.stay == nil {
		return
	}
	s := t.stay
	if !t.whole {
		less := min(s.Mass, t.mass)
		s.Mass -= less
		s.Drawn = append(s.Drawn, Arrival{e.At, e.Seq, less})
		return
	}
	s.To, s.closed, s.Left = e.At, e.key(), act
	at := m.books.open[s.Place]
	if i := slices.Index(at, s); i >= 0 {
		m.books.open[s.Place] = slices.Delete(at, i, i+1)
	}
	m.books.closed[s.Kind] = append(m.books.closed[s.Kind], s)
	m.books.ended[s.Place], m.books.ended[Whole] = s.closed, s.closed
	m.past++
}
