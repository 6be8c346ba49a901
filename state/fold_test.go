package state

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// heardSingly folds a journal event by event; heardInSteps some at a time, as the desk does.
func heardSingly(es []Event) *Mill {
	m := NewMill()
	for _, e := range es {
		m.Apply(e)
	}
	return m
}

func heardInSteps(t *rapid.T, es []Event) *Mill {
	m := NewMill()
	for len(es) > 0 {
		n := rapid.IntRange(1, len(es)).Draw(t, "step")
		m.Apply(es[:n]...)
		es = es[n:]
	}
	return m
}

func must(t *rapid.T, what, want, got string) {
	t.Helper()
	if d := differ(want, got); d != "" {
		t.Fatalf("%s: %s", what, d)
	}
}

func TestAnyHeardOrderGivesTheSameMill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := histories(false).Draw(t, "es")
		want := Load(es)
		must(t, "one by one", want.Picture(true), heardSingly(es).Picture(true))
		other := reheard(t, es)
		must(t, "another order, loaded", want.Picture(false), Load(other).Picture(false))
		must(t, "another order, one by one", want.Picture(false), heardSingly(other).Picture(false))
		must(t, "another order, in steps", want.Picture(false),
			heardInSteps(t, other).Picture(false))
	})
}

func TestUndoLeavesTheMillAsIfNeverSaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := histories(false).Draw(t, "es")
		g := newTeller(t, es, false)
		g.m = heardSingly(es)
		before := g.m.Picture(true)
		first := g.m.Next()
		for range g.some(1, 3) { // one line of chat, late or not, some of it amended
			e := g.event(g.when(), g.body())
			e.Msg = first
			g.say(e)
			if g.oneIn(3) {
				g.say(g.event(g.at, Amend{Of: e.Seq, At: g.when(), Body: g.other(e.Body)}))
			}
		}
		said, line := g.m.Picture(true), g.m.Said(first)
		for _, e := range line {
			g.say(g.event(g.at, Amend{Of: e.Seq}))
		}
		must(t, "undone", before, g.m.Picture(true))
		must(t, "undone, loaded", before, Load(g.es).Picture(true))
		for _, e := range line {
			g.say(g.event(g.at, Amend{Of: e.Seq, At: e.At, Body: e.Body}))
		}
		must(t, "said again by amendment", said, g.m.Picture(true))
	})
}

func TestAmendingToTheSameChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newTeller(t, histories(false).Draw(t, "es"), false)
		e := g.told()
		if e == nil {
			t.Skip("nothing said")
		}
		before := g.m.Picture(true)
		g.say(g.event(g.at, Amend{Of: e.Seq, At: e.At, Body: e.Body}))
		must(t, "with its instant", before, g.m.Picture(true))
		g.say(g.event(g.at, Amend{Of: e.Seq, Body: e.Body}))
		must(t, "without", before, g.m.Picture(true))
	})
}

func TestLastAmendmentWins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := histories(false).Draw(t, "es")
		g := newTeller(t, es, false)
		e := g.told()
		if e == nil {
			t.Skip("nothing said")
		}
		last := Amend{Of: e.Seq, At: g.when(), Body: g.other(e.Body)}
		once := Load(append(slices.Clone(es), g.event(g.at, last)))
		for range g.some(1, 3) {
			g.say(g.event(g.at, Amend{Of: e.Seq, At: g.when(), Body: g.other(e.Body)}))
			g.say(g.event(g.at, Amend{Of: e.Seq}))
		}
		g.say(g.event(g.at, last))
		must(t, "amended often", once.Picture(true), g.m.Picture(true))
	})
}

func TestAmendedMassKeepsTheStay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newTeller(t, histories(false).Draw(t, "es"), false)
		e := g.told()
		if e == nil {
			t.Skip("nothing said")
		}
		b, ok := e.Body.(Move)
		if !ok || len(b.In) == 0 {
			t.Skip("not a move")
		}
		was := g.m.stayOf(e.Seq)
		b.In = slices.Clone(b.In)
		b.In[0].Mass += Grams(g.some(1, 1000))
		g.say(g.event(g.at, Amend{Of: e.Seq, Body: b}))
		is := g.m.stayOf(e.Seq)
		if len(is) != len(was) {
			t.Fatalf("%d stays, there were %d", len(is), len(was))
		}
		for id, s := range is {
			if was[id] == nil || was[id].Place != s.Place || was[id].From != s.From {
				t.Fatalf("stay %v at %s was %+v", id, s.Place, was[id])
			}
		}
	})
}

// stayOf finds the stays that a move opened.
func (m *Mill) stayOf(move Seq) map[StayID]*Stay {
	out := map[StayID]*Stay{}
	for id, s := range m.books.stays {
		if id.Opened == move {
			out[id] = s
		}
	}
	return out
}

func TestEveryMoveCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Load(histories(false).Draw(t, "es"))
		moves := 0
		for _, e := range m.ledger {
			b, ok := e.Body.(Move)
			if !ok {
				continue
			}
			moves++
			s, ok := m.SumOf(e.Seq)
			if !ok || s.Taken+s.Found != s.Arrived+s.Lost {
				t.Fatalf("move %v: %+v", e, s)
			}
			if s.Taken < 0 || s.Found < 0 || s.Arrived < 0 || s.Lost < 0 || s.Water > s.Lost {
				t.Fatalf("move %v: %+v", e, s)
			}
			said := Grams(0)
			for _, p := range b.In {
				said += p.Mass
			}
			if s.Arrived < said {
				t.Fatalf("move %v arrives lighter than was weighed: %+v", e, s)
			}
		}
		if moves != len(m.books.sums) {
			t.Fatalf("%d moves, %d sums", moves, len(m.books.sums))
		}
	})
}

// What is in the mill is what came and was found, less what was shipped and lost; and the coffee of
// every lot that has not left is in exactly one open stay.
func TestCoffeeIsSomewhereOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := histories(true).Draw(t, "es")
		m := Load(es)
		var want, is Grams
		for _, e := range m.ledger {
			b, ok := e.Body.(Move)
			if !ok {
				continue
			}
			s, _ := m.SumOf(e.Seq)
			want += s.Found - s.Lost
			if b.from() == Outside {
				want += s.Taken
			}
			if b.Act == ActShip {
				want -= s.Arrived
			}
		}
		at, open := map[LotID]string{}, map[*Stay]bool{}
		for _, s := range m.OpenStays() {
			if other := at[s.ID.Lot]; other != "" {
				t.Fatalf("lot %d is at %s and at %s", s.ID.Lot, other, s.Place)
			}
			if s.To != 0 || open[s] || m.Lot(s.ID.Lot) == nil {
				t.Fatalf("open stay %+v", s)
			}
			at[s.ID.Lot], open[s] = s.Place, true
			is += s.Mass
		}
		for _, s := range m.books.stays {
			if s.Partly {
				t.Skip("an amendment took a weight away")
			}
			if open[s] != (s.To == 0) {
				t.Fatalf("stay %+v is not where it should be", s)
			}
		}
		if is != want {
			t.Fatalf("%d g are in the mill, %d g should be", is, want)
		}
	})
}

// A lot's parents are lots of the mill, and no lot is its own forebear.
func TestKinshipHasNoCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Load(histories(false).Draw(t, "es"))
		for _, l := range m.Lots() {
			for _, p := range l.Parents {
				if m.Lot(p.Lot) == nil {
					t.Fatalf("lot %d has a parent %d that nobody knows", l.ID, p.Lot)
				}
			}
			if m.descends(l.ID, l.ID, map[LotID]bool{}) {
				t.Fatalf("lot %d is its own forebear", l.ID)
			}
		}
	})
}

func TestMayIsWhatApplyThenFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newTeller(t, histories(false).Draw(t, "es"), false)
		e, of := g.event(g.when(), nil), g.m.Next()
		switch g.some(1, 3) {
		case 1:
			a := g.amendment()
			if g.m.Event(a.Of) != nil {
				of = a.Of
			}
			e.Body = a
		case 2:
			e.At = g.now()
			fallthrough
		default:
			e.Body = g.body()
		}
		before, revision := g.m.Picture(true), g.m.PastRevision()
		may := g.m.May(e)
		must(t, "May changed the mill", before, g.m.Picture(true))
		if g.m.PastRevision() != revision {
			t.Fatal("May changed a revision")
		}
		g.m.Apply(e)
		if is := g.m.ConflictsOf(of); !slices.Equal(may, is) {
			t.Fatalf("%+v: may %v, is %v", e, may, is)
		}
	})
}

// portrait is what a stay looks like: itself, its lot, and what was read and noted.
func portrait(m *Mill, s *Stay) string {
	p := &picture{m: m, names: true}
	p.say("%s", p.stay(s))
	p.lot(m.Lot(s.ID.Lot))
	p.lot(s.lot)
	for _, e := range m.During(s, forever) {
		p.say("%s", p.event(e))
	}
	return p.String()
}

func TestApplyTellsEveryStayThatChanged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := reheard(t, histories(false).Draw(t, "es"))
		m, was, past := NewMill(), map[StayID]string{}, map[StayID]string{}
		revision, pastRevision := map[string]uint64{}, uint64(0)
		for _, e := range es {
			touched := m.Apply(e)
			is, over := map[StayID]string{}, map[StayID]string{}
			for id, s := range m.books.stays {
				if s.To != 0 {
					over[id] = portrait(m, s)
					continue
				}
				is[id] = portrait(m, s)
				if is[id] == was[id] {
					continue
				}
				if !slices.Contains(touched, s.Subject()) {
					t.Fatalf("%+v changed the stay at %s, told %v", e, s.Place, touched)
				}
				if m.Revision(s.Place) == revision[s.Place] {
					t.Fatalf("%+v changed the stay at %s under one revision", e, s.Place)
				}
			}
			if !reflect.DeepEqual(over, past) && m.PastRevision() == pastRevision {
				t.Fatalf("%+v changed the past under one revision", e)
			}
			was, past, pastRevision = is, over, m.PastRevision()
			for _, s := range m.OpenStays() {
				revision[s.Place] = m.Revision(s.Place)
			}
		}
	})
}

// The events of a stay are those of its line after the move that opened it, up to the one that
// closed it; Line is all of them up to an instant.
func TestStaysKeepTheirBorders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newTeller(t, histories(false).Draw(t, "es"), false)
		at := g.when()
		for _, s := range g.m.books.stays {
			var want []*Event
			for _, e := range g.m.lines[s.Place].all() {
				if s.opened.before(e.key()) && e.At <= at &&
					(s.To == 0 || e.key().before(s.closed) || e.key() == s.closed) {
					want = append(want, e)
				}
			}
			if got := g.m.During(s, at); !slices.Equal(got, want) {
				t.Fatalf("stay %+v: %d events, want %d", s, len(got), len(want))
			}
		}
		for place, l := range g.m.lines {
			for i, e := range l.events {
				if i > 0 && !l.events[i-1].key().before(e.key()) {
					t.Fatalf("the line of %s is not in order", place)
				}
				if in := i < len(g.m.Line(place, at)); in != (e.At <= at) {
					t.Fatalf("%+v on the line of %s up to %v: %v", e, place, at, in)
				}
			}
		}
	})
}

// all lists a line's events; a place nothing was read at has none.
func (l *line) all() []*Event {
	if l == nil {
		return nil
	}
	return l.events
}

func TestSplitSumsExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := Grams(rapid.Int64Range(0, 1e9).Draw(t, "total"))
		weights := rapid.SliceOfN(rapid.Map(rapid.Int64Range(0, 1e9),
			func(g int64) Grams { return Grams(g) }), 1, 12).Draw(t, "weights")
		var sum, all Grams
		for _, w := range weights {
			all += w
		}
		for i, g := range Split(total, weights) {
			sum += g
			fair := float64(total) / float64(len(weights))
			if all > 0 {
				fair = float64(total) * float64(weights[i]) / float64(all)
			}
			if d := float64(g) - fair; d <= -1.001 || d >= 1.001 || g < 0 {
				t.Fatalf("%d of %v: part %d is %d, fair %.3f", total, weights, i, g, fair)
			}
		}
		if sum != total {
			t.Fatalf("%d of %v sums to %d", total, weights, sum)
		}
	})
	if got := Split(100, nil); got != nil {
		t.Fatalf("among none: %v", got)
	}
	if got := Split(10, []Grams{1, 1, 1}); !slices.Equal(got, []Grams{4, 3, 3}) {
		t.Fatalf("10 among three: %v", got)
	}
}
