package rules

import (
	"fmt"
	"maps"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// hotBook is a book with one alert per drum, over a limit, that rings every ten minutes, and one
// on tanks.
func hotBook(over int) string {
	return fmt.Sprintf(`
[[call]]
name = "hot"
kind = "alert"
on = "drum"
per = "place"
rings = "air > %d"
again = "10min"
say.en = "{place}"

[[call]]
name = "sour"
kind = "alert"
on = "tank"
per = "place"
rings = "ph < 4"
again = "10min"
say.en = "{place}"
`, over)
}

// answered lives a day under a book. A line "1 10:05 ok d1" takes the call of a place, "1 10:05
// later d1 11:00" puts it aside, "1 10:05 hand d1" hands it on; the last line ends the journal.
func answered(t *testing.T, book, lines string) *live {
	t.Helper()
	l := newLive(t, 1, shelf{}, book)
	r := &rig{TB: t, m: l.m}
	for line := range strings.Lines(lines) {
		at, w := r.line(line)
		if at == 0 {
			continue
		}
		l.to(at)
		what := map[string]string{"ok": state.Taken, "later": state.Aside, "hand": state.Handed}
		switch {
		case len(w) > 1 && what[w[0]] != "":
			c := l.m.CallsOf(atPlace(w[1]))[0]
			s := state.CallStep{Rule: c.Rule, Of: c.Of, What: what[w[0]], Number: c.Number}
			if len(w) > 2 {
				s.Until = on(1, w[2])
			}
			l.step([]said{{by: c.Told[0], body: s}})
		case len(w) > 1:
			l.step([]said{{by: drumHand, body: r.body(w[0], w[1], w[2:])}})
		}
	}
	l.step([]said{{body: state.Start{Program: "test"}}})
	return l
}

// rings lists when a rule rang for the first time and again, as "10:00 10:10".
func ringsOf(es []state.Event, rule string) string {
	var out []string
	for _, e := range es {
		s := e.Body.(state.CallStep)
		if s.Rule == rule && (s.What == state.Rang || s.What == state.Again) {
			out = append(out, e.At.Time().Format("15:04"))
		}
	}
	return strings.Join(out, " ")
}

// TestAnswersInARehearsal has days worked out by hand: when a drum's call rings under another
// limit, and when nobody rings on because it was answered.
func TestAnswersInARehearsal(t *testing.T) {
	t.Parallel()
	const twice = "1 09:00 d1 load p1\n1 09:10 d1 air_c 61\n1 09:17 ok d1\n1 09:30 d1 air_c 50\n" +
		"1 09:40 d1 air_c 61\n1 09:43 ok d1\n1 09:50 d1 air_c 50\n" // answered after 7 and 3 minutes
	for _, c := range []struct {
		what, floor string
		over        int
		rang, would string
		usual       string
		never       int
	}{
		{"nothing changed: all as it was",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:25 ok d1\n1 12:00",
			60, "10:00 10:10 10:20", "10:00 10:10 10:20", "", 0},
		{"it rings later: answered as long after it as then, 25 minutes",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:25 ok d1\n1 11:00 d1 air_c 63\n1 12:00",
			62, "10:00 10:10 10:20", "11:00 11:10 11:20", "", 0},
		{"it rings later, and the answer of then is none of now",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:20:30 d1 air_c 63\n1 10:25 ok d1\n1 12:00",
			62, "10:00 10:10 10:20", "10:20 10:30 10:40", "", 0},
		{"it rings earlier, and is answered earlier",
			"1 09:00 d1 load p1\n1 09:30 d1 air_c 59\n1 10:00 d1 air_c 61\n1 10:25 ok d1\n1 12:00",
			58, "10:00 10:10 10:20", "09:30 09:40 09:50", "", 0},
		{"put aside, over, and nobody answered when it rang a second time, as nobody does now",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:05 later d1 10:25\n1 10:29 d1 air_c 55\n" +
				"1 10:50 d1 air_c 63\n1 11:31",
			62, "10:00 10:25 10:50 11:00 11:10 11:20 11:30", "10:50 11:00 11:10 11:20 11:30", "", 0},
		{"and where it did not ring then, it rings later: put aside for as long",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:05 later d1 10:25\n" +
				"1 10:50 d1 air_c 63\n1 11:31",
			62, "10:00 10:25 10:35 10:45 10:55 11:05 11:15 11:25", "10:50 11:15 11:25", "", 0},
		{"two answered after 7 and 3 minutes: the third, which did not ring, after the later",
			twice + "1 23:00 d1 air_c 59\n1 23:25",
			58, "09:10 09:40", "09:10 09:40 23:00", "drum 7m0s", 0},
		{"a drum that nobody ever answered for is answered as tanks are, after 15 minutes",
			"1 08:00 t1 add 900\n1 09:00 t1 ph 3.9\n1 09:15 ok t1\n1 09:20 d1 load p1\n" +
				"1 10:00 d1 air_c 59\n1 10:40",
			58, "", "10:00 10:10", "drum 15m0s", 0},
		{"nobody ever answered anything: it rings on",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 59\n1 10:40",
			58, "", "10:00 10:10 10:20 10:30 10:40", "", 1},
		{"nobody answered this one, for longer than people take: it rings on",
			twice + "1 13:00 d1 air_c 61\n1 13:15 d1 air_c 59\n1 13:55",
			58, "09:10 09:40 13:00 13:10", "09:10 09:40 13:00 13:10 13:20 13:30 13:40 13:50", "", 0},
		{"it was over before anybody could answer: where it is not, after the usual time",
			twice + "1 13:00 d1 air_c 61\n1 13:02 d1 air_c 59\n1 13:55",
			58, "09:10 09:40 13:00", "09:10 09:40 13:00", "drum 7m0s", 0},
		{"handed on: it asks anew, as it did",
			"1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:05 ok d1\n1 10:30 hand d1\n1 10:55 ok d1\n" +
				"1 12:00",
			60, "10:00 10:40 10:50", "10:00 10:40 10:50", "", 0},
	} {
		l := answered(t, hotBook(60), c.floor)
		if got := ringsOf(Rang(l.es), "hot"); got != c.rang {
			t.Errorf("%s:\nrang  %s\nwant  %s", c.what, got, c.rang)
		}
		r, err := Rehearse(l.es, l.read(hotBook(c.over)), Parse)
		if err != nil {
			t.Fatal(err)
		}
		if got := ringsOf(r.Steps, "hot"); got != c.would {
			t.Errorf("%s:\nwould %s\nwant  %s", c.what, got, c.would)
		}
		usual := ""
		for post, d := range maps.All(r.Usual) {
			usual += fmt.Sprint(post, " ", d)
		}
		if usual != c.usual || r.Never != c.never {
			t.Errorf("%s: after %q, %d never; want %q, %d", c.what, usual, r.Never, c.usual, c.never)
		}
	}
}

// TestUsualAnswers: the median is the post's own, else the mill's.
func TestUsualAnswers(t *testing.T) {
	l := answered(t, hotBook(60), `
		1 08:00 t1 add 900
		1 09:00 t1 ph 3.9
		1 09:31 ok t1
		1 09:35 d1 load p1
		1 10:00 d1 air_c 61
		1 10:02 ok d1
		1 10:05 d1 air_c 55
		1 10:10 d1 air_c 61
		1 10:16 later d1 10:30
		1 10:20 d1 air_c 55`)
	a := AnswersIn(l.es)
	for post, want := range map[string]time.Duration{"tank": 31 * time.Minute,
		"drum": 6 * time.Minute, "patio": 6 * time.Minute, "mill": 6 * time.Minute} {
		if d, ok := a.usual(post); d != want || !ok {
			t.Errorf("%s: %v %v, want %v", post, d, ok, want)
		}
	}
	if d, ok := AnswersIn(nil).usual("tank"); ok {
		t.Errorf("of nothing: %v", d)
	}
}

// TestAnswersWhenTheClockIsPutRight: what would be answered by a clock that was ahead is answered
// at once when it is put right.
func TestAnswersWhenTheClockIsPutRight(t *testing.T) {
	l := answered(t, hotBook(60), "1 09:00 d1 load p1\n1 09:10 d1 air_c 61\n1 09:17 ok d1\n"+
		"1 09:30 d1 air_c 50")
	l.to(on(2, "10:00"))
	l.step([]said{{by: drumHand, body: state.Reading{Place: "d1", What: state.AirC, Value: 59}}})
	l.to(on(2, "10:02"))
	l.step([]said{{body: state.Start{Program: "test"}}})
	l.putRight(20 * time.Hour)
	l.to(on(1, "14:40"))
	l.step([]said{{body: state.Start{Program: "test"}}})
	r, err := Rehearse(l.es, l.read(hotBook(58)), Parse)
	if err != nil {
		t.Fatal(err)
	}
	if got := ringsOf(r.Steps, "hot"); got != "09:10 10:00" {
		t.Errorf("rings %s", got)
	}
}
