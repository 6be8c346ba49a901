package rules

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// live runs a mill as the desk does: it takes messages in steps, looks, folds the steps of its
// calls and writes everything down; it ticks at every instant that falls due; it can be stopped
// and started again. After every step it looks a second time, which must give nothing.
type live struct {
	testing.TB
	*rand.Rand
	shelf
	m    *state.Mill
	w    *Watch
	es   []state.Event
	now  state.Instant
	last state.Instant // when anything was looked at last
}

// said is a body with who says it and when it happened; 0: now.
type said struct {
	by   state.PersonID
	at   state.Instant
	body state.Body
}

func newLive(t testing.TB, seed uint64, books shelf, book string) *live {
	l := &live{TB: t, Rand: rand.New(rand.NewPCG(seed, 11)), shelf: books, m: state.NewMill(),
		now: on(1, "05:00")}
	l.w = NewWatch(l.read(book))
	head := []said{{body: state.Start{Program: "test"}}, {body: state.Adopt{Version: 1, Text: book}}}
	for _, b := range keeperLines() {
		head = append(head, said{by: boss, body: b})
	}
	l.step(head)
	return l
}

// shelf keeps the books of a test by their text, since the same are read again and again.
type shelf map[string]*Book

func (s shelf) parse(text string) (*Book, error) {
	if b := s[text]; b != nil {
		return b, nil
	}
	b, err := Parse(text)
	if err == nil {
		s[text] = b
	}
	return b, err
}

// read is a book of a text.
func (l *live) read(text string) *Book {
	l.Helper()
	b, err := l.parse(text)
	if err != nil {
		l.Fatal(err)
	}
	return b
}

// note writes an event down and folds it.
func (l *live) note(s said, at state.Instant) []state.Subject {
	e := state.Event{Seq: l.m.Next(), At: min(max(s.at, 1), at), Heard: at, By: s.by, Body: s.body}
	if s.at == 0 {
		e.At = at
	}
	e.Msg = e.Seq
	l.es = append(l.es, e)
	if a, ok := s.body.(state.Adopt); ok {
		l.w.Book = l.read(a.Text)
	}
	return l.m.Apply(e)
}

// step is one step of the desk; without anything said it is a tick at the instant that was due.
func (l *live) step(in []said) {
	at := l.now
	if len(in) > 0 {
		at = max(at, l.m.Heard()+1)
	}
	var touched []state.Subject
	for _, s := range in {
		touched = append(touched, l.note(s, at)...)
	}
	l.look(touched, at)
}

// look takes the steps that calls make at an instant.
func (l *live) look(touched []state.Subject, at state.Instant) {
	for _, s := range l.w.Step(l.m, touched, at) {
		l.note(said{body: s}, at)
	}
	l.last, l.now = at, at
	if again := l.w.Step(l.m, touched, at); len(again) > 0 {
		l.Fatalf("a second look at %s gives %+v", clocked(at), again)
	}
}

// to lets time pass, ticking at every instant that falls due.
func (l *live) to(now state.Instant) {
	for t := l.w.Next(); t != 0 && t <= now; t = l.w.Next() {
		if t <= l.last {
			l.Fatalf("at %s something is due at %s", clocked(l.last), clocked(t))
		}
		l.now = t
		l.step(nil)
	}
	l.now = now
}

// restart stops the program and starts it again some time later, under the book in force. Nothing
// may ring for it: neither now, if all were looked at as it stood, nor at once when it starts.
func (l *live) restart(gap time.Duration) {
	l.m = state.Load(l.es)
	text, _ := l.m.Book()
	heard := l.m.Heard()
	w := NewWatch(l.read(text))
	if steps := w.Step(l.m, append(l.m.Everything(), posts(l.m.Persons())...), heard); len(steps) > 0 {
		l.Fatalf("a restart at %s rings %+v", clocked(heard), steps)
	}
	l.w, l.last = NewWatch(w.Book), heard
	l.w.Prime(l.m, heard)
	if l.w.Next() != w.Next() {
		l.Fatalf("primed for %s, want %s", clocked(l.w.Next()), clocked(w.Next()))
	}
	start := said{body: state.Start{Program: "test"}}
	if now := max(l.now, heard+1).Add(gap); now.Sub(heard) > time.Minute {
		l.now = now
		l.step([]said{{body: state.Blind{From: heard, To: now}}, start})
	} else {
		l.to(now)
		l.step([]said{start})
	}
}

// seasonBook is the default book with rules of the kinds that it has not got, and meters compared
// every day, since a season here is little longer.
func seasonBook() string {
	return strings.Replace(DefaultText(), "[limit.check_every]\nvalue = 14",
		"[limit.check_every]\nvalue = 1", 1) + `
[[call]]
name = "post-quiet"
kind = "alert"
on = "post"
rings = "silent_age > 90min and running > 0 and on_duty >= 0"
who = ["watchman"]
then = ["lead 20min"]
say.en = "silent"

[[call]]
name = "hot-and-dark"
kind = "prompt"
on = "mill"
rings = "power_out_age >= 5min and hot_drums > 0"
wait = "7min"
off = "11min"
say.en = "dark"

[[call]]
name = "much-waits"
kind = "prompt"
on = "mill"
rings = "waiting_kg > 1500 or tank_room_kg < 4000"
stops = "waiting_kg < 500 and tank_room_kg > 6000"
wait = "30min"
say.en = "waits"

[[call]]
name = "warm-long"
kind = "alert"
on = "drum"
rings = "air > 55 and not power_out"
stops = "air < 52"
wait = "25min"
off = "15min"
again = "40min"
say.en = "{place} warm"

[[call]]
name = "air-dry"
kind = "prompt"
on = "patio"
per = "place"
rings = "rh < 55 and held and not raining"
wait = "1h"
say.en = "{place} air"
`
}

// TestRehearsalRepeatsEverything runs random seasons live and rehearses the journal under the
// books then in force: every step of every call comes out as it rang, to the millisecond.
func TestRehearsalRepeatsEverything(t *testing.T) {
	t.Parallel()
	rules, steps, books := map[string]int{}, map[string]int{}, shelf{}
	for seed := range uint64(200) {
		l := newLive(t, seed, books, seasonBook())
		l.season(40)
		rang := Rang(l.es)
		run, err := Rehearse(l.es, nil, books.parse)
		if err != nil {
			t.Fatal(err)
		}
		again := run.Steps
		for i := range max(len(rang), len(again)) {
			if i >= len(rang) || i >= len(again) || !alike(rang[i], again[i]) {
				t.Fatalf("season %d, step %d of %d and %d:\nrang      %s\nrehearsed %s", seed, i, len(rang),
					len(again), told(rang, i), told(again, i))
			}
			s := rang[i].Body.(state.CallStep)
			steps[s.What]++
			if s.What == state.Rang {
				rules[s.Rule]++
			}
		}
		oneCallEach(t, l.es)
	}
	var never []string // rest-done for one: a month is too long for these seasons
	for _, r := range books[seasonBook()].Calls {
		if rules[r.Name] == 0 {
			never = append(never, r.Name)
		}
	}
	if len(never) > 2 {
		t.Errorf("%v never rang: these seasons do not try them", never)
	}
	for _, what := range []string{state.Again, state.Over, state.Done, state.TakenBack,
		state.Withdrawn} {
		if steps[what] < 10 {
			t.Errorf("%s only %d times", what, steps[what])
		}
	}
	t.Log(steps)
}

// alike says whether two call steps say the same, but for their place in a journal.
func alike(a, b state.Event) bool {
	a.Seq, a.Msg, b.Seq, b.Msg = 0, 0, 0, 0
	return fmt.Sprintf("%+v", a) == fmt.Sprintf("%+v", b)
}

func told(es []state.Event, i int) string {
	if i >= len(es) {
		return "nothing"
	}
	return fmt.Sprintf("%s %+v", clocked(es[i].At), es[i].Body)
}

// oneCallEach holds that at most one call stands for a rule and a subject, that only what stands
// rings again or ends, and that numbers are 1 to 999 and no two standing calls share one.
func oneCallEach(t testing.TB, es []state.Event) {
	t.Helper()
	standing, numbers := map[state.CallKey]int{}, map[int]bool{}
	for _, e := range Rang(es) {
		s := e.Body.(state.CallStep)
		key := state.CallKey{Rule: s.Rule, Of: s.Of}
		n, stands := standing[key]
		what := told([]state.Event{e}, 0)
		switch {
		case s.What == state.Rang && (stands || s.Number < 1 || s.Number > 999 || numbers[s.Number]):
			t.Fatalf("rang as %d while %v stands as %d: %s", s.Number, stands, n, what)
		case s.What == state.Rang:
			standing[key], numbers[s.Number] = s.Number, true
		case !stands || n != s.Number:
			t.Fatalf("%s of a call that does not stand: %s", s.What, what)
		case s.Ends():
			delete(standing, key)
			delete(numbers, n)
		}
		if len(s.To) == 0 {
			t.Fatalf("goes to nobody: %s", what)
		}
	}
}

// season lets the mill work: some hundred lines of the floor, people and keeper.
func (l *live) season(lines int) {
	for range lines {
		l.to(l.now.Add(time.Duration(l.IntN(70))*time.Minute +
			time.Duration(l.IntN(60_000))*time.Millisecond))
		l.answer()
		switch l.IntN(31) {
		case 30:
			l.putRight(time.Duration(6+l.IntN(600)) * time.Minute)
		case 0:
			l.restart(time.Duration(l.IntN(50)) * time.Second)
		case 1:
			l.restart(time.Duration(1+l.IntN(300)) * time.Minute)
		case 2:
			l.step([]said{{by: boss, body: state.Adopt{Version: len(l.m.Books()) + 1,
				Text: l.otherBook()}}})
		case 3:
			l.step(nil) // a question: a step of the desk in which nothing is written
		case 4, 5, 6, 7:
			l.people()
		case 8, 9:
			l.amend()
		default:
			var in []said
			for range 1 + l.IntN(3) {
				in = append(in, l.line())
			}
			l.step(in)
		}
	}
	l.to(l.now.Add(3 * time.Hour))
}

// answer lets somebody take a call that has rung again already, mostly.
func (l *live) answer() {
	for _, c := range l.m.Calls() {
		if c.State == state.Unacknowledged && c.Last > c.Rang && l.IntN(4) > 0 {
			l.step([]said{{by: c.Told[0], body: state.CallStep{Rule: c.Rule, Of: c.Of,
				What: state.Taken, Number: c.Number, Priority: c.Priority}}})
			return
		}
	}
}

// otherBook is the book with another limit, or without a rule.
func (l *live) otherBook() string {
	text := seasonBook()
	switch l.IntN(4) {
	case 0:
		return text
	case 1:
		name := l.one("read-moisture", "wash", "post-quiet", "warm-long", "first-moisture")
		if calls := l.m.Calls(); len(calls) > 0 { // a rule that has rung
			name = calls[l.IntN(len(calls))].Rule
		}
		i := strings.Index(text, "[[call]]\nname = \""+name+"\"")
		end := i + 8 + strings.Index(text[i+8:]+"\n[", "\n[")
		return text[:i] + text[end:]
	}
	b := l.read(text)
	for _, name := range []string{"drum_air_wet", "reading_every", "wet_waits", "target"} {
		if x := b.Limits[name]; l.IntN(2) == 0 {
			changed, err := b.WithLimit(name, x.Low+float64(l.IntN(11))/10*(x.High-x.Low))
			if err != nil {
				l.Fatal(err)
			}
			b = l.read(changed)
		}
	}
	return b.Text
}

// people come and go, take calls and put them aside.
func (l *live) people() {
	who := state.PersonID(1 + l.IntN(8))
	calls := l.m.Calls()
	if len(calls) == 0 || l.IntN(3) == 0 {
		bodies := []state.Body{state.Duty{Person: who, On: true}, state.Duty{Person: who},
			state.Duty{Person: who, Away: true, Until: l.now.Add(5 * time.Hour)},
			state.Reach{Person: who}, state.Reach{Person: who, OK: true},
			state.Reach{Person: who, OK: true},
			state.Set{Name: state.SetTarget, Number: 10 + float64(l.IntN(20))/10},
			state.SetPlace{Name: "d2", Kind: state.Drum, DialWhere: "inlet", DialUnit: "C"}}
		l.step([]said{{by: boss, body: bodies[l.IntN(len(bodies))]}})
		return
	}
	c := calls[l.IntN(len(calls))]
	s := state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Taken, Number: c.Number,
		Priority: c.Priority}
	switch l.IntN(4) {
	case 0:
		s.What, s.Until = state.Aside, l.now.Add(time.Duration(5+l.IntN(120))*time.Minute)
	case 1:
		s.What, s.To = state.Handed, []state.PersonID{who}
	}
	l.step([]said{{by: c.Told[0], body: s}})
}

// amend withdraws or changes something of the floor.
func (l *live) amend() {
	for range 20 {
		e := l.m.Event(state.Seq(1 + l.IntN(len(l.es))))
		if e == nil {
			continue
		}
		a := state.Amend{Of: e.Seq, Body: e.Body}
		switch b := e.Body.(type) {
		case state.Reading:
			b.Value += float64(l.IntN(9) - 4)
			a.Body = b
		case state.Move:
			if l.IntN(3) > 0 {
				a.At = e.At.Add(-time.Duration(l.IntN(60)) * time.Minute)
			}
		}
		switch l.IntN(4) {
		case 0:
			a.Body = nil
		case 1:
			a.At = e.At.Add(time.Duration(l.IntN(90)-60) * time.Minute)
		}
		a.At = min(a.At, l.now)
		l.step([]said{{by: e.By, body: a}})
		return
	}
}

// line is something that the floor says, now or about some hours ago.
func (l *live) line() said {
	s := said{by: state.PersonID(4 + l.IntN(4)), body: l.floor()}
	if l.IntN(8) == 0 {
		s.at = l.now.Add(-time.Duration(l.IntN(600)) * time.Minute)
	}
	return s
}

func (l *live) one(of ...string) string { return of[l.IntN(len(of))] }

// holding draws a place of a kind, one with coffee in it if there is any.
func (l *live) holding(kind state.Kind) string {
	var all, full []string
	for _, p := range l.m.Places() {
		if p.Kind == kind {
			all = append(all, p.Name)
			if len(l.m.StaysAt(p.Name)) > 0 {
				full = append(full, p.Name)
			}
		}
	}
	if len(full) > 0 && l.IntN(10) > 0 {
		all = full
	}
	return l.one(all...)
}

func (l *live) floor() state.Body {
	read := func(place, what string, low, high float64) state.Body {
		return state.Reading{Place: place, What: what, Digits: 1,
			Value: float64(int(10*(low+l.Float64()*(high-low)))) / 10}
	}
	all := func(act, from, to string) state.Body {
		return state.Move{Act: act, Out: []state.Part{{Place: from, All: true}},
			In: []state.Part{{Place: to, Lot: l.m.NextLot()}}}
	}
	note := func(place string, what ...string) state.Body {
		return state.Note{Place: place, What: l.one(what...)}
	}
	switch l.IntN(26) {
	case 24, 25:
		kg := state.Kg(float64(2000 * l.IntN(12)))
		return state.Move{Act: state.ActIntake, Out: []state.Part{{Place: state.Outside, Mass: kg}},
			In: []state.Part{{Place: "r1", Lot: l.m.NextLot(), Mass: kg}}}
	case 0, 1:
		kg := state.Kg(float64(500 * (1 + l.IntN(6))))
		return state.Move{Act: state.ActAdd, Out: []state.Part{{Place: state.Outside, Mass: kg}},
			In: []state.Part{{Place: l.one("t1", "t2", "t3"), Lot: l.m.NextLot(), Mass: kg}}}
	case 2:
		return all(state.ActWash, l.holding(state.Tank), state.Floor)
	case 3:
		return all(state.ActSpread, state.Floor, l.one("p1", "p2", "p3"))
	case 4:
		in := state.Part{Place: l.one("d1", "d2"), Lot: l.m.NextLot()}
		if l.IntN(3) == 0 {
			in.Moisture = 20 + float64(l.IntN(25))
		}
		return state.Move{Act: state.ActLoad, Out: []state.Part{{Place: l.holding(state.Patio),
			All: true}}, In: []state.Part{in}}
	case 5:
		if l.IntN(2) == 0 {
			return all(state.ActUnload, l.holding(state.Drum), l.one(state.Floor, "s1", "s2"))
		}
		return state.Move{Act: state.ActUnload, Out: []state.Part{{Place: l.holding(state.Drum),
			All: true, Moisture: 11}}, In: []state.Part{{Place: "s1", Lot: l.m.NextLot(), Moisture: 11,
			Mass: state.Kg(float64(200 + l.IntN(3000)))}}}
	case 6:
		return state.Move{Act: state.ActMove, Out: []state.Part{{Place: l.holding(state.Patio),
			Mass: state.Kg(300)}}, In: []state.Part{{Place: "w1", Lot: l.m.NextLot()}}}
	case 7:
		return state.Tag{Place: l.holding(state.Tank), Name: "process", Value: l.one("washed", "honey")}
	case 8, 9:
		return read(l.holding(state.Tank), state.MassC, 17, 28)
	case 10, 11:
		return note(l.holding(state.Tank), state.Rough, state.Slippery, state.WashAsked,
			state.WashOrdered, state.Smell, state.Full, state.SoakStart)
	case 12, 13, 14:
		return read(l.holding(state.Drum), state.AirC, 42, 73)
	case 15, 16, 17:
		return read(l.holding(state.Drum), state.Moisture, 9, 40)
	case 18:
		return note(l.holding(state.Drum), state.FireOut, state.FireLit, state.Smoke, state.Stopped,
			state.OutAsked, state.OutOrdered)
	case 19:
		return note(l.holding(state.Patio), state.Turned, state.Covered, state.Uncovered, state.Mould)
	case 20:
		return read(l.holding(state.Patio), state.Moisture, 11, 45)
	case 21:
		return read("yard", l.one(state.AmbientC, state.AmbientH), 15, 80)
	case 22:
		switch l.IntN(4) { // dry coffee in damp air
		case 0:
			return read(l.holding(state.Silo), state.Moisture, 11.5, 12.8)
		case 1:
			return read(l.holding(state.Silo), state.AmbientH, 75, 95)
		}
		return read(l.holding(state.Silo), l.one(state.BeanC, state.Moisture, state.AmbientC), 10, 35)
	}
	return note(state.Whole, state.PowerOut, state.PowerBack, state.PowerBack, state.RainStart,
		state.RainOver, state.WaterOut, state.WaterBack, state.Help, state.HelpOver)
}

// TestTheFutureIsNotSeen holds that a finding at an instant does not change when everything later
// is removed: for random seasons, every subject and random instants.
func TestTheFutureIsNotSeen(t *testing.T) {
	t.Parallel()
	true3, books := map[state.Truth]int{}, shelf{}
	for seed := range uint64(40) {
		l := newLive(t, 1000+seed, books, DefaultText())
		l.season(60)
		b := l.read(DefaultText())
		start := l.es[0].At
		for range 4 {
			at := start.Add(time.Duration(l.Int64N(int64(l.now.Sub(start)))))
			whole, cut := state.Load(asKnown(l.m, l.es, at, true)), state.Load(asKnown(l.m, l.es, at,
				false))
			for _, of := range cut.Everything() {
				want := b.Evaluate(cut, NewKnowledge(), of, at)
				got := b.Evaluate(whole, NewKnowledge(), of, at)
				for i := range want {
					true3[want[i].Is]++
					if fmt.Sprintf("%+v", want[i]) != fmt.Sprintf("%+v", got[i]) {
						t.Fatalf("season %d: %s of %v at %s is\n%+v and with all that came later\n%+v", seed,
							want[i].Rule.Name, of, clocked(at), want[i], got[i])
					}
				}
			}
		}
	}
	if min(true3[state.Yes], true3[state.No], true3[state.CannotTell]) < 300 {
		t.Errorf("too few of one kind: %v", true3)
	}
}

// asKnown is a journal as if all that is known by now of an instant had been said at once: what
// has no instant of its own, and the floor's events up to the instant as they count now; with the
// later ones or without them. Tags are left out: a lot is called what it is called now, and loses
// its names when it becomes one with another, however long ago it lay in a tank.
func asKnown(m *state.Mill, es []state.Event, at state.Instant, later bool) []state.Event {
	var out []state.Event
	for _, e := range es {
		switch e.Body.(type) {
		case state.CallStep, state.Amend:
			continue
		case state.Reading, state.Note, state.Tag, state.Move:
			is := m.Event(e.Seq)
			if is == nil {
				continue
			}
			if _, tag := is.Body.(state.Tag); tag || is.At > at && !later {
				continue
			}
			e = *is
		}
		out = append(out, e)
	}
	return out
}

// TestKnowledgeIsACache holds that what was worked out before changes nothing. Whoever looks at
// everything with fresh knowledge after any step of a season finds nothing to do, and every finding
// is the same with the knowledge of the whole season and without.
func TestKnowledgeIsACache(t *testing.T) {
	t.Parallel()
	books := shelf{}
	for seed := range uint64(25) {
		l := newLive(t, 2000+seed, books, seasonBook())
		l.season(50)
		m, w, old := state.NewMill(), NewWatch(&Book{}), NewKnowledge()
		for i, e := range l.es {
			m.Apply(e)
			if a, ok := e.Body.(state.Adopt); ok {
				w.Book = l.read(a.Text)
			}
			if i+1 < len(l.es) && l.es[i+1].Heard == e.Heard {
				continue
			}
			w.Know = NewKnowledge()
			all := append(m.Everything(), posts(m.Persons())...)
			if steps := w.Step(m, all, e.Heard); len(steps) > 0 {
				t.Fatalf("season %d at %s: fresh knowledge rings %+v", seed, clocked(e.Heard), steps)
			}
			for range 4 {
				of := all[l.IntN(len(all))]
				want := fmt.Sprintf("%+v", w.Book.Evaluate(m, NewKnowledge(), of, e.Heard))
				if got := fmt.Sprintf("%+v", w.Book.Evaluate(m, old, of, e.Heard)); got != want {
					t.Fatalf("season %d at %s: with old knowledge\n%s\nwith fresh\n%s", seed,
						clocked(e.Heard), got, want)
				}
			}
		}
	}
}
