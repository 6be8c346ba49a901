package state

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Whatever is said, in the words of nobody or with figures that cannot be, the fold takes it: it
// neither fails nor hangs, every move closes, and undoing all of it leaves nothing.
func TestFoldIsTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := yard()
		empty := Load(es).Picture(true)
		said := rapid.SliceOfN(wild(), 1, 30).Draw(t, "said")
		for _, e := range said {
			e.Seq = Seq(len(es) + 1)
			e.Msg = e.Seq
			es = append(es, e)
		}
		m := heardSingly(es)
		must(t, "loaded", m.Picture(true), Load(es).Picture(true))
		for s, sum := range m.books.sums {
			if sum.Taken+sum.Found != sum.Arrived+sum.Lost {
				t.Fatalf("move %d: %+v", s, sum)
			}
		}
		for s := Seq(1); s < m.Next(); s++ {
			if m.Event(s) != nil {
				m.Apply(Event{Seq: m.Next(), Body: Amend{Of: s}})
			}
		}
		m.strays = nil // the amendments of nothing among what was said
		must(t, "all undone", empty, m.Picture(true))
	})
}

// wild draws floor events and amendments with no regard for sense.
func wild() *rapid.Generator[Event] {
	place := rapid.SampledFrom([]string{"", "t1", "t2", "p1", "d1", Floor, Outside, Whole, "x9"})
	lot := rapid.SampledFrom([]LotID{0, 1, 2, 3, unsaid, unsaid + 16*20, 1<<32 - 1})
	mass := rapid.Map(rapid.SampledFrom([]int64{0, 0, 1, -1, 1000, -5000, 1e6, 1e15}),
		func(g int64) Grams { return Grams(g) })
	part := rapid.Custom(func(t *rapid.T) Part {
		return Part{Lot: lot.Draw(t, "lot"), Place: place.Draw(t, "place"), Mass: mass.Draw(t, "g"),
			All: rapid.Bool().Draw(t, "all"), Moisture: rapid.SampledFrom([]float64{0, 11, 50, 100,
				-3}).Draw(t, "moisture")}
	})
	body := rapid.Custom(func(t *rapid.T) Body {
		switch rapid.IntRange(0, 5).Draw(t, "kind") {
		case 0:
			return Reading{Place: place.Draw(t, "place"), Lot: lot.Draw(t, "lot"), What: "?"}
		case 1:
			return Note{Place: place.Draw(t, "place"), What: rapid.SampledFrom(Marks()).Draw(t, "mark")}
		case 2:
			return Tag{Place: place.Draw(t, "place"), Lot: lot.Draw(t, "lot"), Name: "owner"}
		}
		return Move{Act: rapid.SampledFrom(append(Acts(), "?")).Draw(t, "act"),
			Out: rapid.SliceOfN(part, 0, 4).Draw(t, "out"), In: rapid.SliceOfN(part, 0, 4).Draw(t, "in")}
	})
	return rapid.Custom(func(t *rapid.T) Event {
		e := Event{At: Instant(rapid.Int64Range(-5, 50).Draw(t, "at")), Body: body.Draw(t, "body")}
		if rapid.IntRange(0, 4).Draw(t, "amends") == 0 {
			a := Amend{Of: Seq(rapid.IntRange(0, 60).Draw(t, "of")), At: e.At}
			if rapid.Bool().Draw(t, "replaces") {
				a.Body = e.Body
			}
			e.Body = a
		}
		return e
	})
}

// Keepers' lines, calls and shifts between the lines of the floor: loaded at once or heard one by
// one, it is the same mill.
func TestKeepersLinesBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newTeller(t, yard(), false)
		for range g.some(10, 40) {
			if g.oneIn(3) {
				g.say(g.event(g.at, g.kept()))
			} else {
				g.line()
			}
		}
		must(t, "loaded", g.m.Picture(true), Load(g.es).Picture(true))
		must(t, "in steps", g.m.Picture(true), heardInSteps(t, g.es).Picture(true))
		if !slices.Equal(g.m.AirPlaces(), Load(g.es).AirPlaces()) {
			t.Fatal("the places of air differ")
		}
	})
}

// kept draws what counts in the order it was heard.
func (g *teller) kept() Body {
	place := g.among("t1", "t2", "p1", "d1", "yard", "x9")
	switch g.some(1, 5) {
	case 1:
		return SetPlace{Name: place, Gone: true}
	case 2:
		return SetPlace{Name: place, Kind: rapid.SampledFrom(Kinds()).Draw(g.T, "kind"),
			Capacity: g.weight(3000)}
	case 3:
		return Duty{Person: PersonID(g.some(1, 3)), On: g.oneIn(2)}
	case 4:
		return Staff{Person: PersonID(g.some(1, 3)), Roles: []Role{Worker}, Gone: g.oneIn(3)}
	}
	of := Subject{Kind: OfPlace, Name: place}
	if open := g.m.OpenStays(); len(open) > 0 && g.oneIn(2) {
		of = open[0].Subject()
	}
	return CallStep{Rule: g.among("a", "b"), Of: of, Number: g.m.NextNumber(nil), Until: g.at,
		What: g.among(Rang, Rang, Again, Taken, Aside, Handed, Over, Done), To: []PersonID{1}}
}
