package rules

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// lived runs lines of the little language live, each a step of its own, under a book.
func lived(t testing.TB, book string, lines string) *live {
	t.Helper()
	l := newLive(t, 1, shelf{}, book)
	r := &rig{TB: t, m: l.m}
	for line := range strings.Lines(lines) {
		at, w := r.line(line)
		if at == 0 {
			continue
		}
		l.to(at)
		if len(w) > 1 {
			l.step([]said{{by: drumHand, body: r.body(w[0], w[1], w[2:])}})
		}
	}
	return l
}

// brief lists call steps as "2 12:30:00 rang drum-hot d1".
func brief(es []state.Event) string {
	var out []string
	for _, e := range es {
		s := e.Body.(state.CallStep)
		out = append(out, fmt.Sprint(clocked(e.At), " ", s.What, " ", s.Rule, " ", s.Of.Name))
	}
	return strings.Join(out, "\n")
}

// hotDay is a drum that gets too hot twice, and a patio that nobody covers.
const hotDay = `
	1 08:00 p1 add 2000
	1 08:05 p2 add 900
	1 09:00 d1 load p1
	1 09:00:30 d1 hum_pct 40
	1 10:00 d1 air_c 58
	1 10:30 d1 air_c 61
	1 11:01 d1 air_c 63
	1 11:10 d1 air_c 55
	1 11:15 p2 turned
	1 12:00 d1 air_c 61.5
	1 12:10 d1 air_c 55
	1 12:20 p2 turned
	1 12:30`

// TestAnotherLimit: with the limit at 62 instead of 60 the first call comes at 11:01 and not at
// 10:30, the second one not at all, and nothing else changes.
func TestAnotherLimit(t *testing.T) {
	t.Parallel()
	l := lived(t, DefaultText(), hotDay)
	rang := Rang(l.es)
	same, err := Rehearse(l.es, l.read(DefaultText()), Parse)
	if err != nil {
		t.Fatal(err)
	}
	if d := Differ(rang, same.Steps, 0); len(d) > 0 || brief(rang) != brief(same.Steps) {
		t.Errorf("the book in force differs from itself: %+v\n%s\n\n%s", d, brief(rang), brief(same.Steps))
	}
	text, err := l.read(DefaultText()).WithLimit("drum_air_wet", 62)
	if err != nil {
		t.Fatal(err)
	}
	would, err := Rehearse(l.es, l.read(text), Parse)
	if err != nil {
		t.Fatal(err)
	}
	want := []Difference{
		{"drum-hot", atPlace("d1"), Later, on(1, "10:30"), on(1, "11:01")},
		{"drum-hot", atPlace("d1"), Less, on(1, "12:00"), 0},
	}
	if got := Differ(rang, would.Steps, 0); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	others := func(es []state.Event) string {
		var out []string
		for line := range strings.SplitSeq(brief(es), "\n") {
			if !strings.Contains(line, "drum-hot") {
				out = append(out, line)
			}
		}
		return strings.Join(out, "\n")
	}
	if others(rang) != others(would.Steps) || others(rang) == "" {
		t.Errorf("other calls differ:\n%s\n\n%s", others(rang), others(would.Steps))
	}
}

// TestAnswersAreKept: who took the call in the journal takes it in the rehearsal, where it rang
// already; where it did not ring yet the answer is of no call.
func TestAnswersAreKept(t *testing.T) {
	t.Parallel()
	book := strings.Replace(sample("rings = \"air > 60\"\nper = \"place\"\nagain = \"10min\"\n"),
		"prompt", "alert", 1)
	l := lived(t, book, "1 09:00 d1 load p1\n1 10:00 d1 air_c 61\n1 10:05")
	c := l.m.Calls()[0]
	l.step([]said{{by: drumHand, body: state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Taken,
		Number: c.Number}}})
	l.to(on(1, "10:30"))
	l.step([]said{{by: drumHand, body: state.Reading{Place: "d1", What: state.AirC, Value: 65}}})
	l.to(on(1, "11:00"))
	if got := brief(Rang(l.es)); got != "1 10:00:00 rang sample d1" {
		t.Errorf("live:\n%s", got)
	}
	for text, want := range map[string]string{
		book:                                 "1 10:00:00 rang sample d1",
		strings.Replace(book, "60", "62", 1): "1 10:30:00 rang sample d1", // and nobody takes it
	} {
		es := append(l.es, state.Event{Seq: 9999, Msg: 9999, At: on(1, "10:39"), Heard: on(1, "10:39"),
			Body: state.Start{}})
		would, err := Rehearse(es, l.read(text), Parse)
		if err != nil || brief(would.Steps) != want {
			t.Errorf("%v\n%s\nwant\n%s", err, brief(would.Steps), want)
		}
	}
}

// TestNothingRingsInAGap: what fell due while the program was down rings when it starts again.
func TestNothingRingsInAGap(t *testing.T) {
	t.Parallel()
	l := lived(t, sample("rings = \"age > 2h\"\nagain = \"30min\"\n"), "1 09:00 d1 load p1\n1 10:00")
	l.restart(4 * time.Hour) // the program was heard of last at 09:00
	l.to(on(1, "15:10"))
	want := "1 14:00:00 rang sample d1\n1 14:30:00 again sample d1\n1 15:00:00 again sample d1"
	if got := brief(Rang(l.es)); got != want {
		t.Errorf("live:\n%s", got)
	}
	again, err := Rehearse(l.es, nil, Parse)
	if err != nil || brief(again.Steps) != want {
		t.Errorf("rehearsed (%v):\n%s", err, brief(again.Steps))
	}
}

// TestBadBooksStopARehearsal: a book in the journal that cannot be read is told, not skipped.
func TestBadBooksStopARehearsal(t *testing.T) {
	t.Parallel()
	l := lived(t, DefaultText(), "1 09:00 d1 load p1")
	es := append(l.es, state.Event{Seq: 9999, Msg: 9999, At: on(1, "10:00"), Heard: on(1, "10:00"),
		Body: state.Adopt{Version: 2, Text: "rings"}})
	var ms Mistakes
	if _, err := Rehearse(es, nil, Parse); !errors.As(err, &ms) {
		t.Errorf("%v", err)
	}
	if _, err := Rehearse(es, l.read(DefaultText()), Parse); err != nil {
		t.Errorf("under a book of its own: %v", err)
	}
	if got, err := Rehearse(nil, nil, Parse); got.Steps != nil || err != nil {
		t.Errorf("of nothing: %v, %v", got, err)
	}
}
