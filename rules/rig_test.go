package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// The people of the made-up mill of these tests.
const (
	boss     state.PersonID = 1 // manager and keeper
	deputy   state.PersonID = 2
	lead     state.PersonID = 3
	tankHand state.PersonID = 4
	drumHand state.PersonID = 5
	rakeHand state.PersonID = 6
	watchman state.PersonID = 7
	labHand  state.PersonID = 8
)

// on is an instant of the made-up season: day 1 is 1 May 2026, a Friday; the mill's clock is UTC.
func on(day int, clock string) state.Instant {
	var h, m, s int
	if n, _ := fmt.Sscanf(clock, "%d:%d:%d", &h, &m, &s); n < 2 {
		panic("no clock time: " + clock)
	}
	return state.At(time.Date(2026, 5, day, h, m, s, 0, time.UTC))
}

// clocked is an instant as [on] reads it.
func clocked(i state.Instant) string {
	if i == 0 {
		return "never"
	}
	return fmt.Sprintf("%d %s", i.Time().YearDay()-120,
		strings.TrimSuffix(i.Time().Format("15:04:05.000"), ".000"))
}

// rig is a made-up mill that a test tells about.
type rig struct {
	testing.TB
	m    *state.Mill
	es   []state.Event
	book *Book
	know *Knowledge

	touch []state.Subject // what the last event touched
	more  bool            // the line says more of what the last one said
}

// newRig is a mill of some places and people, under a book; "" is the default one.
func newRig(t testing.TB, book string) *rig {
	t.Helper()
	if book == "" {
		book = DefaultText()
	}
	b, err := Parse(book)
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{TB: t, m: state.NewMill(), book: b, know: NewKnowledge()}
	for _, body := range keeperLines() {
		r.by(boss, on(1, "05:00"), body)
	}
	r.by(0, on(1, "05:00"), state.Adopt{Version: 1, Text: book})
	return r
}

// keeperLines name the people and the places of the mill.
func keeperLines() []state.Body {
	staff := func(p state.PersonID, role state.Role, posts ...state.Kind) state.Body {
		return state.Staff{Person: p, Roles: []state.Role{role}, Posts: posts, Lang: "en"}
	}
	bs := []state.Body{
		state.Staff{Person: boss, Roles: []state.Role{state.Manager, state.Keeper}, Lang: "en"},
		staff(deputy, state.Deputy), staff(lead, state.Lead),
		staff(tankHand, state.Worker, state.Tank), staff(drumHand, state.Worker, state.Drum),
		staff(rakeHand, state.Worker, state.Patio), staff(watchman, state.Watch),
		staff(labHand, state.Worker, state.Lab),
		state.SetPlace{Name: "d1", Kind: state.Drum, Capacity: state.Kg(3500), DialWhere: "inlet",
			DialUnit: "C"},
		state.SetPlace{Name: "d2", Kind: state.Drum, Capacity: state.Kg(3500)},
		state.SetPlace{Name: "yard", Kind: state.Air},
		state.SetPlace{Name: "r1", Kind: state.Intake},
		state.SetPlace{Name: "m1", Kind: state.Meter},
	}
	for name, kind := range map[string]state.Kind{"t": state.Tank, "p": state.Patio, "s": state.Silo,
		"w": state.Waiting} {
		for i := 1; i <= 3; i++ {
			bs = append(bs, state.SetPlace{Name: fmt.Sprint(name, i), Kind: kind,
				Capacity: state.Kg(6000)})
		}
	}
	// Maps are walked in any order; the mill does not care, a journal to compare does.
	for i := 13; i < len(bs); i++ {
		for j := i; j > 13 && fmt.Sprint(bs[j]) < fmt.Sprint(bs[j-1]); j-- {
			bs[j], bs[j-1] = bs[j-1], bs[j]
		}
	}
	return bs
}

// by tells something that somebody said at an instant.
func (r *rig) by(p state.PersonID, at state.Instant, b state.Body) state.Event {
	s := r.m.Next()
	e := state.Event{Seq: s, Msg: s, At: at, Heard: max(at, r.m.Heard()+1), By: p, Body: b}
	if last := len(r.es) - 1; r.more && last >= 0 {
		e.Msg, e.Heard = r.es[last].Msg, r.es[last].Heard
	}
	r.es = append(r.es, e)
	r.touch = r.m.Apply(e)
	return e
}

// say tells lines of a little language of these tests, "1 14:05 t1 rough", one a line:
//
//	t1 air_c 57         a reading: a name of state's quantities and a figure
//	t1 rough            a note: a name of state's marks
//	t1 add 4000         pulped coffee from outside, kg
//	r1 receipt 900 10 sack  fruit from outside, counted besides
//	p1 spread t1        everything of t1 goes to p1: also wash, load, unload, store, move
//	s1 store d1 960 12 11  so many kg, at 12 % when it left and 11 % when it arrived
//	t1 tag class fine   a tag
//	mill set usual_h 20 a setting
//	mill duty 4         a shift of the person of that number begins
//	& s1 hum_pct 12     more of what the line before said
func (r *rig) say(lines string) {
	r.Helper()
	for line := range strings.Lines(lines) {
		if at, w := r.line(line); len(w) > 1 {
			r.by(tankHand, at, r.body(w[0], w[1], w[2:]))
		}
	}
}

// line is the instant and the other words of a line; none of an empty one.
func (r *rig) line(line string) (state.Instant, []string) {
	r.Helper()
	w := strings.Fields(line)
	if len(w) == 0 {
		return 0, nil
	}
	day := 0
	if _, err := fmt.Sscan(w[0], &day); err != nil || len(w) < 2 {
		r.Fatalf("no line of the little language: %q", line)
	}
	at := on(day, w[1])
	if r.more = len(w) > 2 && w[2] == "&"; r.more {
		return at, w[3:]
	}
	return at, w[2:]
}

func (r *rig) body(place, what string, more []string) state.Body {
	r.Helper()
	x := 0.0
	if len(more) > 0 {
		_, _ = fmt.Sscan(more[0], &x)
	}
	if q, ok := state.QuantityOf(what); ok {
		return state.Reading{Place: place, What: q.Name, Value: x, Digits: 1}
	}
	for _, mark := range state.Marks() {
		if what == mark {
			return state.Note{Place: place, What: what}
		}
	}
	switch what {
	case "set":
		_, _ = fmt.Sscan(more[1], &x)
		return state.Set{Name: more[0], Number: x}
	case "duty":
		return state.Duty{Person: state.PersonID(x), On: true}
	case "tag":
		return state.Tag{Place: place, Name: more[0], Value: more[1]}
	case state.ActAdd:
		kg := state.Kg(x)
		return state.Move{Act: what, Out: []state.Part{{Place: state.Outside, Mass: kg}},
			In: []state.Part{{Lot: r.m.NextLot(), Place: place, Mass: kg}}}
	}
	if what == state.ActIntake && len(more) > 1 {
		kg := state.Kg(x)
		return state.Move{Act: what, Said: strings.Join(more[1:], " "),
			Out: []state.Part{{Place: state.Outside, Mass: kg}},
			In:  []state.Part{{Lot: r.m.NextLot(), Place: place, Mass: kg}}}
	}
	for _, act := range state.Acts() {
		if what == act && len(more) == 4 {
			out, in := 0.0, 0.0
			_, _ = fmt.Sscan(more[1], &x)
			_, _ = fmt.Sscan(more[2], &out)
			_, _ = fmt.Sscan(more[3], &in)
			return state.Move{Act: what, Out: []state.Part{{Place: more[0], All: true, Moisture: out}},
				In: []state.Part{{Lot: r.m.NextLot(), Place: place, Mass: state.Kg(x), Moisture: in}}}
		}
		if what == act && len(more) == 1 {
			return state.Move{Act: what, Out: []state.Part{{Place: more[0], All: true}},
				In: []state.Part{{Lot: r.m.NextLot(), Place: place}}}
		}
	}
	r.Fatalf("no word of the little language: %s %s %v", place, what, more)
	return nil
}

// of is what is at a place, as a rule speaks of it: its first stay; the mill for "mill".
func (r *rig) of(place string) state.Subject {
	r.Helper()
	if place == state.Whole {
		return state.Subject{Kind: state.OfMill, Name: state.Whole}
	}
	if s := r.m.StaysAt(place); len(s) > 0 {
		return s[0].Subject()
	}
	r.Fatalf("nothing at %s", place)
	return state.Subject{}
}

// atPlace is a place as a rule speaks of it that rings once for the place.
func atPlace(name string) state.Subject { return state.Subject{Kind: state.OfPlace, Name: name} }

// view looks at a subject.
func (r *rig) view(of state.Subject, at state.Instant) *View {
	return newView(r.m, r.book, r.know, of, at)
}

// cond reads a condition for a kind of subject.
func (r *rig) cond(kind, text string) *Cond {
	r.Helper()
	c, err := compile(text, r.book, namesOn(kind))
	if err != nil {
		r.Fatalf("%s: %v", text, err)
	}
	return c
}

// finding is what is true of a rule and a subject.
func (r *rig) finding(rule string, of state.Subject, at state.Instant) Finding {
	r.Helper()
	for _, f := range r.book.Evaluate(r.m, NewKnowledge(), of, at) {
		if f.Rule.Name == rule {
			return f
		}
	}
	r.Fatalf("no rule %s about %v", rule, of)
	return Finding{}
}

// sample is a book with one rule, for tests of its life.
func sample(lines string) string {
	return `
[[call]]
name = "sample"
kind = "prompt"
on = "drum"
say.en = "{place}"
` + lines
}
