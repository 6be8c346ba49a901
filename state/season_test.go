package state

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pgregory.net/rapid"
)

// day0 is the instant the made-up mills of these tests begin.
var day0 = At(time.Date(2026, 5, 1, 6, 0, 0, 0, time.UTC))

// yard is a made-up mill: its places and two people, as the keeper's first lines.
func yard() []Event {
	var es []Event
	say := func(b Body) {
		s := Seq(len(es) + 1)
		at := day0.Add(time.Duration(s) * time.Millisecond)
		es = append(es, Event{Seq: s, Msg: s, At: at, Heard: at, By: 1, Body: b})
	}
	place := func(kind Kind, capacity Grams, names ...string) {
		for _, n := range names {
			say(SetPlace{Name: n, Kind: kind, Capacity: capacity})
		}
	}
	say(Staff{Person: 1, Roles: []Role{Manager, Keeper}, Lang: "es"})
	say(Staff{Person: 2, Roles: []Role{Worker}, Posts: []Kind{Tank}, Lang: "en"})
	place(Tank, Kg(6000), "t1", "t2", "t3", "t4", "t5", "t6")
	place(Waiting, 0, "w1")
	place(Patio, 0, "p1", "p2", "p3", "p4")
	place(Drum, Kg(3000), "d1", "d2")
	place(Silo, 0, "s1", "s2")
	place(Air, 0, "yard")
	return es
}

// teller draws a random but plausible history: it knows the mill so far, so that most of what it
// says makes sense, and now and then says what cannot be. No two floor events share an instant.
type teller struct {
	*rapid.T
	m       *Mill
	es      []Event
	at      Instant
	used    map[Instant]bool
	weighed bool // every load and every departure from nowhere has a mass
}

// histories draws the keeper's lines of [yard] and some days of the floor after them.
func histories(weighed bool) *rapid.Generator[[]Event] {
	return rapid.Custom(func(t *rapid.T) []Event {
		g := newTeller(t, yard(), weighed)
		for range g.some(20, 60) {
			g.line()
		}
		return g.es
	})
}

func newTeller(t *rapid.T, es []Event, weighed bool) *teller {
	g := &teller{T: t, m: Load(es), es: slices.Clone(es), at: day0, weighed: weighed,
		used: map[Instant]bool{}}
	for _, e := range es {
		g.used[e.At] = true
		if a, ok := e.Body.(Amend); ok {
			g.used[a.At] = true
		}
		g.at = max(g.at, e.At)
	}
	return g
}

func (g *teller) some(low, high int) int { return rapid.IntRange(low, high).Draw(g.T, "n") }

func (g *teller) oneIn(n int) bool { return g.some(1, n) == n }

func (g *teller) among(names ...string) string { return rapid.SampledFrom(names).Draw(g.T, "one") }

// now lets some time pass; when draws an instant of the past day that nothing has.
func (g *teller) now() Instant {
	g.at = g.at.Add(time.Duration(g.some(1, 200))*time.Minute + time.Millisecond)
	return g.free(g.at)
}

func (g *teller) when() Instant {
	return g.free(max(day0.Add(time.Second), g.at.Add(-time.Duration(g.some(1, 1440))*time.Minute)))
}

func (g *teller) free(at Instant) Instant {
	for g.used[at] {
		at++
	}
	g.used[at] = true
	g.at = max(g.at, at)
	return at
}

// event wraps a body as the next event of the journal.
func (g *teller) event(at Instant, b Body) Event {
	s := g.m.Next()
	return Event{Seq: s, Msg: s, At: at, Heard: g.at, By: PersonID(g.some(1, 2)), Body: b}
}

func (g *teller) say(e Event) {
	g.es = append(g.es, e)
	g.m.Apply(e)
}

// line says one thing.
func (g *teller) line() {
	if len(g.es) > 25 && g.oneIn(6) {
		g.say(g.event(g.at, g.amendment()))
		return
	}
	at := g.now()
	g.say(g.event(at, g.body()))
}

// body draws what may happen on the floor.
func (g *teller) body() Body {
	moves := []func() Body{g.fill, g.fill, g.fill, g.wash, g.split, g.spread, g.load, g.unload,
		g.ship, g.part, g.nonsense}
	others := []func() Body{g.read, g.read, g.note, g.ready, g.tag}
	return rapid.SampledFrom(append(moves, others...)).Draw(g.T, "what")()
}

// weight draws a mass in twentieths of a highest one, and at times a few grams more: so that what
// leaves is often just what is there. mass may also be 0, not weighed.
func (g *teller) weight(high float64) Grams {
	return Kg(high)/20*Grams(g.some(1, 20)) + Grams(g.some(0, 3))
}

func (g *teller) mass(high float64) Grams {
	if !g.weighed && g.oneIn(5) {
		return 0
	}
	return g.weight(high)
}

// held draws a place of some kinds, nearly always one that holds coffee when there is one.
func (g *teller) held(kinds ...Kind) string {
	var full, all []string
	for _, p := range g.m.Places() {
		if slices.Contains(kinds, p.Kind) {
			all = append(all, p.Name)
			if len(g.m.StaysAt(p.Name)) > 0 {
				full = append(full, p.Name)
			}
		}
	}
	if slices.Contains(kinds, Waiting) {
		all = append(all, Floor)
		if len(g.m.StaysAt(Floor)) > 0 {
			full = append(full, Floor)
		}
	}
	if len(full) > 0 && !g.oneIn(8) {
		all = full
	}
	return g.among(all...)
}

// from draws what leaves a place: mostly everything. to draws an arrival.
func (g *teller) from(place string) Part {
	p := Part{Place: place, All: true}
	if len(g.m.StaysAt(place)) == 0 && g.weighed || g.oneIn(4) {
		p.All, p.Mass = g.oneIn(6), g.weight(3000)
	}
	if at := g.m.StaysAt(place); len(at) > 0 && g.oneIn(4) {
		if lot := at[g.some(0, len(at)-1)].ID.Lot; lot < unsaid {
			p.Lot = lot
		}
	}
	return p
}

func (g *teller) to(place string, high float64) Part {
	p := Part{Place: place, Lot: g.m.NextLot()}
	if g.oneIn(2) {
		p.Mass = g.weight(high)
	}
	return p
}

func (g *teller) fill() Body {
	kg := g.mass(4000)
	tank := g.among("t1", "t2", "t3")
	return Move{Act: ActAdd, Out: []Part{{Place: Outside, Mass: kg}},
		In: []Part{{Place: tank, Lot: g.m.NextLot(), Mass: kg}}}
}

func (g *teller) wash() Body {
	b := Move{Act: ActWash, Out: []Part{g.from(g.held(Tank))}}
	if g.oneIn(2) {
		b.In = []Part{g.to("w1", 4000)}
	}
	return b
}

func (g *teller) split() Body {
	b := Move{Act: ActWash, Out: []Part{g.from(g.held(Tank))}}
	for i := range g.some(2, 4) {
		p := g.to(g.among("p1", "w1", Floor), 1500)
		p.Class = fmt.Sprint(i + 1)
		b.In = append(b.In, p)
	}
	return b
}

func (g *teller) spread() Body {
	return Move{Act: ActSpread, Out: []Part{g.from(g.held(Tank, Waiting))},
		In: []Part{g.to(g.among("p1", "p2"), 4000)}}
}

func (g *teller) load() Body {
	b := Move{Act: ActLoad, In: []Part{g.to(g.among("d1", "d2"), 3500)}}
	for range g.some(1, 2) {
		b.Out = append(b.Out, g.from(g.held(Patio, Waiting)))
	}
	return b
}

func (g *teller) unload() Body {
	b := Move{Act: ActUnload, Out: []Part{g.from(g.held(Drum))}}
	if g.oneIn(2) {
		b.In = []Part{g.to("s1", 2500)}
	}
	return b
}

func (g *teller) ship() Body {
	return Move{Act: ActShip, Out: []Part{g.from(g.held(Silo, Waiting))},
		In: []Part{{Place: Outside, Mass: g.mass(2000)}}}
}

// part takes a weighed part anywhere, back where it came from not excepted.
func (g *teller) part() Body {
	return Move{Act: ActMove,
		Out: []Part{{Place: g.held(Tank, Patio, Drum, Waiting), Mass: g.weight(1500)}},
		In:  []Part{g.to(g.among("t1", "t2", "t3", "d1", "w1"), 1500)}}
}

// nonsense says what cannot be: a place or a lot that is not there, the same place twice.
func (g *teller) nonsense() Body {
	out := []Part{{Place: g.among("x9", "p4", "d1"), Mass: Kg(100)}}
	switch g.some(1, 3) {
	case 1:
		out[0].Lot = 999_999
	case 2:
		twice := g.held(Tank, Patio)
		out = []Part{{Place: twice, Mass: Kg(50)}, {Place: twice, Mass: Kg(70)},
			{Place: twice, All: g.oneIn(2), Mass: Kg(90)}}
	}
	return Move{Act: ActMove, Out: out, In: []Part{g.to(g.among("x8", "t1"), 200)}}
}

func (g *teller) read() Body {
	return Reading{Place: g.among("t1", "t2", "t3", "p1", "d1", "yard", "w1"),
		What: g.among(MassC, Moisture, AirC), Value: float64(g.some(1, 700)) / 10, Digits: 1}
}

func (g *teller) note() Body {
	if g.oneIn(3) {
		return Note{Place: Whole, What: g.among(PowerOut, PowerBack, RainStart, RainOver, WaterOut)}
	}
	return Note{Place: g.among("t1", "p1", "d1"), What: g.among(Rough, Turned, FireOut, Cleaned)}
}

func (g *teller) ready() Body {
	return Note{Place: g.held(Tank), What: g.among(Full, WashOrdered)}
}

func (g *teller) tag() Body {
	return Tag{Place: g.held(Tank, Patio, Waiting, Drum), Name: g.among("owner", "claim", "process"),
		Value: g.among("a", "b")}
}

// told draws a floor event of the history as it counts now; nil when none does.
func (g *teller) told() *Event {
	var all []*Event
	for _, e := range g.m.floor {
		if e != nil && g.m.Event(e.Seq) != nil {
			all = append(all, e)
		}
	}
	if len(all) == 0 {
		return nil
	}
	return rapid.SampledFrom(all).Draw(g.T, "told")
}

// amendment withdraws something, changes its figure or its instant, or says what it was at first.
func (g *teller) amendment() Amend {
	e := g.told()
	if e == nil {
		return Amend{Of: 1} // a keeper's line: there is nothing to amend
	}
	switch g.some(1, 4) {
	case 1:
		return Amend{Of: e.Seq}
	case 2:
		return Amend{Of: e.Seq, At: g.when(), Body: e.Body}
	case 3:
		return Amend{Of: e.Seq, Body: g.es[e.Seq-1].Body}
	}
	return Amend{Of: e.Seq, Body: g.other(e.Body)}
}

// other is a body with another figure or word.
func (g *teller) other(b Body) Body {
	switch b := b.(type) {
	case Reading:
		b.Value++
		return b
	case Note:
		b.What = g.among(Turned, Full, Rough)
		return b
	case Move:
		b.In = slices.Clone(b.In)
		if len(b.In) > 0 && b.In[0].Place != Outside {
			b.In[0].Mass = g.weight(3000)
		}
		return b
	}
	return b
}

// reheard is the same history heard in another order: the keeper's lines first, and every
// amendment after what it amends and after earlier amendments of the same.
func reheard(t *rapid.T, es []Event) []Event {
	head := len(yard())
	turn := map[Seq][]Seq{} // the amendments of an event, in order
	for _, e := range es {
		if a, ok := e.Body.(Amend); ok {
			turn[a.Of] = append(turn[a.Of], e.Seq)
		}
	}
	out, now := slices.Clone(es[:head]), map[Seq]Seq{1: 1}
	wait := rapid.Permutation(es[head:]).Draw(t, "heard")
	for len(wait) > 0 {
		var rest []Event
		for _, e := range wait {
			next := Seq(len(out) + 1)
			if a, ok := e.Body.(Amend); ok {
				if now[a.Of] == 0 || turn[a.Of][0] != e.Seq {
					rest = append(rest, e)
					continue
				}
				turn[a.Of] = turn[a.Of][1:]
				a.Of = now[a.Of]
				e.Body = a
			}
			now[e.Seq] = next
			e.Seq, e.Msg, e.Heard = next, next, es[next-1].Heard
			out = append(out, e)
		}
		wait = rest
	}
	return out
}

// differ is the first place where two pictures differ; "" when they do not.
func differ(want, got string) string {
	if want == got {
		return ""
	}
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	i := 0
	for i < min(len(a), len(b)) && a[i] == b[i] {
		i++
	}
	near := func(s []string) string {
		return strings.Join(s[max(0, min(i-3, len(s))):min(len(s), i+4)], "\n")
	}
	return fmt.Sprintf("line %d: want\n%s\ngot\n%s", i+1, near(a), near(b))
}
