package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// drive is a rig with a watch: it says what each look rings, in a few words.
type drive struct {
	*rig
	w *Watch
}

func newDrive(t testing.TB, book string) *drive {
	d := &drive{rig: newRig(t, book)}
	d.w = NewWatch(d.book)
	d.w.Prime(d.m, on(1, "05:00"))
	return d
}

// look takes one step at an instant and folds it. It gives the steps as "rang 1 to 5 1", and must
// give nothing when it is asked again.
func (d *drive) look(at state.Instant, touched ...state.Subject) string {
	d.Helper()
	var out []string
	for _, s := range d.w.Step(d.m, touched, at) {
		words := []string{fmt.Sprint(s.What, " ", s.Number, " to")}
		for _, p := range s.To {
			words = append(words, fmt.Sprint(p))
		}
		out = append(out, strings.Join(words, " "))
		d.by(0, at, s)
	}
	if again := d.w.Step(d.m, touched, at); len(again) > 0 {
		d.Errorf("a second look at %s gives %+v", clocked(at), again)
	}
	return strings.Join(out, ", ")
}

// tell says lines, each in a step of its own, and checks what they ring: "1 10:00 d1 smoke -> rang
// 1 to 5". A line of an instant alone lets time pass: "1 10:20 -> …" ticks whatever falls due by
// then, each at its own instant, and that instant is in the answer.
func (d *drive) tell(lines string) {
	d.Helper()
	for line := range strings.Lines(lines) {
		said, want, _ := strings.Cut(strings.TrimSpace(line), " ->")
		at, w := d.line(said)
		if at == 0 {
			continue
		}
		var rang []string
		looks := 0
		for t := d.w.Next(); t != 0 && t <= at; t = d.w.Next() {
			if looks++; looks > 1000 {
				d.Fatalf("it looks again and again at %s", clocked(t))
			}
			if s := d.look(t); s != "" {
				rang = append(rang, clocked(t)[2:]+" "+s)
			}
		}
		if len(w) > 1 {
			e := d.by(tankHand, at, d.body(w[0], w[1], w[2:]))
			if s := d.look(e.Heard, d.touch...); s != "" {
				rang = append(rang, s)
			}
		}
		if got := strings.Join(rang, "; "); got != strings.TrimSpace(want) {
			d.Errorf("%s\n rings %q\n want  %q", said, got, strings.TrimSpace(want))
		}
	}
}

// touched are a place and what is and was at it.
func (d *drive) touched(place string) []state.Subject {
	out := []state.Subject{atPlace(place), d.of(state.Whole)}
	for _, s := range d.m.StaysAt(place) {
		out = append(out, s.Subject())
	}
	for _, c := range d.m.Calls() {
		if c.Of.Name == place {
			out = append(out, c.Of)
		}
	}
	return out
}

// act is what a person does about the call of a number.
func (d *drive) act(p state.PersonID, at state.Instant, what string, number int,
	until state.Instant) {
	d.Helper()
	c := d.m.Numbered(number)
	if c == nil {
		d.Fatalf("no call %d at %s", number, clocked(at))
	}
	d.by(p, at, state.CallStep{Rule: c.Rule, Of: c.Of, What: what, Number: number, Until: until})
	if s := d.look(at, c.Of); s != "" {
		d.Errorf("%s rings %s", what, s)
	}
}

// alarm is a book with one alarm on drums, per place, at 70 C of air.
func alarm(more string) string {
	return sample(`rings = "air >= 70"
stops = "air < 68"
who = ["post"]
then = ["lead 5min", "deputy manager 15min"]
again = "10min"
respond = "20min"
cause = "c"
consequence = "c"
action = "a"
` + more)
}

func alarmBook() string {
	return strings.Replace(alarm(""), `kind = "prompt"`, "kind = \"alarm\"\nper = \"place\"", 1)
}

// TestTheLadder climbs rung by rung; from the last on, the post and the manager are rung too, until
// it is over.
func TestTheLadder(t *testing.T) {
	d := newDrive(t, alarmBook())
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 -> rang 1 to 5
		1 10:04 d1 air_c 72 ->
		1 10:10 -> 10:05:00 again 1 to 3
		1 10:16 -> 10:15:00 again 1 to 2 1
		1 10:40 -> 10:25:00 again 1 to 5 1 2; 10:35:00 again 1 to 5 1 2
		1 10:41 d1 air_c 69 ->
		1 10:46 -> 10:45:00 again 1 to 5 1 2
		1 10:47 d1 air_c 67 -> over 1 to 5 3 2 1
		1 12:00 ->
		1 12:10 d1 air_c 70 -> rang 2 to 5`)
}

// TestTakenAndAsides: who takes a call is left in peace for the time to respond, then it rings
// again on its rung; one put aside is silent until then and rings on the same rung.
func TestTakenAndAsides(t *testing.T) {
	d := newDrive(t, alarmBook())
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 -> rang 1 to 5
		1 10:06 -> 10:05:00 again 1 to 3`)
	d.act(lead, on(1, "10:07"), state.Taken, 1, 0)
	d.tell(`
		1 10:26 ->
		1 10:28 -> 10:27:00 again 1 to 3
		1 10:38 -> 10:37:00 again 1 to 2 1`)
	d.act(boss, on(1, "10:40"), state.Aside, 1, on(1, "11:10"))
	d.tell(`
		1 11:09 d1 air_c 73 ->
		1 11:11 -> 11:10:00 again 1 to 2 1
		1 11:21 -> 11:20:00 again 1 to 5 1 2`)
	d.act(boss, on(1, "11:22"), state.Aside, 1, on(1, "12:00"))
	d.tell(`
		1 11:30 d1 air_c 60 -> over 1 to 5 3 2 1
		1 13:00 ->`)
}

// TestHandedRungsOn: a call handed to whoever took over the shift is unacknowledged again and begins
// its ladder anew.
func TestHandedRungsOn(t *testing.T) {
	d := newDrive(t, alarmBook())
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 -> rang 1 to 5`)
	d.act(drumHand, on(1, "10:02"), state.Taken, 1, 0)
	d.act(drumHand, on(1, "10:03"), state.Handed, 1, 0)
	d.tell(`
		1 10:07 ->
		1 10:09 -> 10:08:00 again 1 to 3`)
}

// TestUnreachableGoUp: nobody of a rung can be reached, so the next is called at once; when nobody
// at all can, it goes to the managers all the same, and without one to the keepers.
func TestUnreachableGoUp(t *testing.T) {
	d := newDrive(t, alarmBook())
	reach := func(p state.PersonID, ok bool) {
		d.by(boss, d.m.Heard()+1, state.Reach{Person: p, OK: ok})
	}
	reach(drumHand, false)
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 -> rang 1 to 3
		1 10:01 d1 air_c 60 -> over 1 to 3`)
	reach(lead, false)
	reach(deputy, false)
	d.tell(`
		1 11:00 d1 air_c 71 -> rang 2 to 1
		1 11:01 d1 air_c 60 -> over 2 to 1`)
	reach(boss, false)
	d.tell(`
		1 12:00 d1 air_c 71 -> rang 3 to 1
		1 12:01 d1 air_c 60 -> over 3 to 1`)
	d.by(boss, d.m.Heard()+1, state.Staff{Person: labHand, Roles: []state.Role{state.Keeper}})
	d.by(boss, d.m.Heard()+1, state.Staff{Person: boss, Gone: true})
	d.tell(`1 13:00 d1 air_c 71 -> rang 4 to 8`)
}

// TestEnds: a call whose stay is gone is done; one whose ground was withdrawn or set right is
// taken back, whether that says no or nothing; one whose rule is gone is withdrawn.
func TestEnds(t *testing.T) {
	d := newDrive(t, sample("rings = \"air >= 70\"\n"))
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 -> rang 1 to 5
		1 11:00 s1 unload d1 -> done 1 to 5
		1 12:00 d1 load p2
		1 12:10 d1 air_c 61
		1 12:30 d1 air_c 71 -> rang 2 to 5`)
	amend := func(of state.Event, at string, body state.Body, want string) {
		t.Helper()
		e := d.by(drumHand, on(1, at), state.Amend{Of: of.Seq, Body: body})
		if s := d.look(e.Heard, d.touched("d1")...); s != want {
			t.Errorf("amended at %s: %q, want %q", at, s, want)
		}
	}
	last := func() state.Event { // the last reading
		for i := len(d.es) - 1; ; i-- {
			if _, ok := d.es[i].Body.(state.Reading); ok {
				return d.es[i]
			}
		}
	}
	amend(last(), "12:31", state.Reading{Place: "d1", What: state.AirC, Value: 51},
		"taken back 2 to 5")
	amend(last(), "12:32", state.Reading{Place: "d1", What: state.AirC, Value: 75}, "rang 3 to 5")
	amend(last(), "12:33", nil, "taken back 3 to 5") // 61 is left
	d.tell(`
		1 13:00 s1 unload d1
		1 13:10 d1 load p3
		1 13:30 d1 air_c 71 -> rang 4 to 5`)
	amend(last(), "13:31", nil, "taken back 4 to 5") // nothing is left: it cannot be told
	d.tell(`1 14:00 d1 air_c 72 -> rang 5 to 5`)
	// A reading that makes it untold without taking its ground: nothing ends.
	d.by(boss, d.m.Heard()+1, state.Adopt{Version: 2, Text: sample("rings = \"hum > 90\"\n")})
	d.w.Book = mustRead(t, sample("rings = \"hum > 90\"\n"))
	if s := d.look(on(1, "14:01"), d.touched("d1")...); s != "" {
		t.Errorf("under another book that cannot tell: %s", s)
	}
	d.w.Book = mustRead(t, sample("rings = \"air > 90\"\n"))
	if s := d.look(on(1, "14:02"), d.touched("d1")...); s != "over 5 to 5" {
		t.Errorf("under a book with a higher limit: %s", s)
	}
	d.tell(`1 15:00 d1 air_c 95 -> rang 6 to 5`)
	d.w.Book = mustRead(t, strings.Replace(sample("rings = \"air > 90\"\n"), "sample", "other", 1))
	if s := d.look(on(1, "15:01"), d.touched("d1")...); s != "rang 7 to 5, withdrawn 6 to 5" {
		t.Errorf("under a book without the rule: %s", s)
	}
}

func mustRead(t testing.TB, text string) *Book {
	t.Helper()
	b, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestARuleThatMovesElsewhere: a call stands for a stay; the new book has the rule per place. The
// call of the stay is withdrawn and the place has one of its own.
func TestARuleThatMovesElsewhere(t *testing.T) {
	d := newDrive(t, sample("rings = \"air >= 70\"\n"))
	d.tell("1 09:00 d1 load p1\n1 10:00 d1 air_c 71 -> rang 1 to 5")
	d.w.Book = mustRead(t, sample("rings = \"air >= 70\"\nper = \"place\"\n"))
	if s := d.look(on(1, "10:01"), d.touched("d1")...); s != "rang 2 to 5, withdrawn 1 to 5" {
		t.Error(s)
	}
}

// TestRingsAndStopsTogether: a rule that could ring and end at once does neither.
func TestRingsAndStopsTogether(t *testing.T) {
	d := newDrive(t, sample("rings = \"air >= 70 or smoke\"\nstops = \"air < 60 or hum < 12\"\n"))
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 hum_pct 11 ->
		1 10:05 d1 air_c 71 ->
		1 10:10 d1 hum_pct 30 -> rang 1 to 5
		1 10:15 d1 hum_pct 11 -> over 1 to 5
		1 10:20 d1 smoke ->`)
}

// TestNumbers: numbers run from 1 to 999 and begin again, leaving out those that stand.
func TestNumbers(t *testing.T) {
	d := newDrive(t, sample("rings = \"air >= 70\"\nper = \"place\"\n"))
	d.tell("1 06:00 d2 air_c 75 -> rang 1 to 5") // stands all along
	at, seen := on(1, "07:00"), map[int]int{}
	for i := range 1003 {
		at = at.Add(40 * time.Second) // done before the quiet hours
		e := d.by(drumHand, at, d.body("d1", "air_c", []string{"71"}))
		d.look(e.Heard, atPlace("d1"))
		c := d.m.Standing(state.CallKey{Rule: "sample", Of: atPlace("d1")})
		if c == nil {
			t.Fatalf("call %d did not ring", i)
		}
		seen[c.Number]++
		e = d.by(drumHand, at+1, d.body("d1", "air_c", []string{"60"}))
		d.look(e.Heard, atPlace("d1"))
	}
	if len(seen) != 998 || seen[1] != 0 || seen[0] != 0 || seen[999] != 1 || seen[2] != 2 {
		t.Errorf("%d numbers; 1 given %d times, 2 %d times, 999 %d times", len(seen), seen[1], seen[2],
			seen[999])
	}
}

// TestBlindTimeDoesNotCount: ladders go on from the end of a gap.
func TestBlindTimeDoesNotCount(t *testing.T) {
	d := newDrive(t, alarmBook())
	d.tell("1 09:00 d1 load p1\n1 10:00 d1 air_c 71 -> rang 1 to 5")
	d.by(0, on(1, "12:00"), state.Blind{From: on(1, "10:01"), To: on(1, "12:00")})
	if s := d.look(on(1, "12:00"), d.m.Everything()...); s != "" {
		t.Errorf("after the gap: %s", s)
	}
	d.tell("1 12:06 -> 12:05:00 again 1 to 3")
}

// TestSinceAndWhy: a call says since when it is true and on which numbers it rests.
func TestSinceAndWhy(t *testing.T) {
	d := newDrive(t, sample("rings = \"air >= 70 and age > 1h\"\nwait = \"20min\"\n"))
	d.tell(`
		1 09:00 d1 load p1
		1 09:10 d1 air_c 71
		1 09:30 d1 air_c 72
		1 10:30 -> 10:20:00.001 rang 1 to 5`)
	c := d.m.Numbered(1)
	if clocked(c.Since) != "1 10:00:00.001" {
		t.Errorf("true since %s", clocked(c.Since))
	}
	want := []state.Compared{{Text: "air >= 70", L: 72, R: 70, Is: state.Yes},
		{Text: "age > 1h", L: 80*60e3 + 1, R: 3600e3, Is: state.Yes}}
	if !slices.Equal(c.Why, want) {
		t.Errorf("why %+v", c.Why)
	}
}

// TestSwitchedOff: a rule that is off until an instant rings nothing before it and at once then; a
// call of it that stands when it is switched off is withdrawn.
func TestSwitchedOff(t *testing.T) {
	off := sample("rings = \"air >= 70\"\noff_until = \"2026-05-01T12:00:00Z\"\n")
	d := newDrive(t, sample("rings = \"air >= 70\"\n"))
	d.tell("1 09:00 d1 load p1\n1 10:00 d1 air_c 71 -> rang 1 to 5")
	d.w.Book = mustRead(t, off)
	if s := d.look(on(1, "10:01"), d.touched("d1")...); s != "withdrawn 1 to 5" {
		t.Error(s)
	}
	d.tell("1 11:00 d1 air_c 75 ->\n1 11:59 ->\n1 12:30 -> 12:00:00 rang 2 to 5")
	if c := d.m.Numbered(2); clocked(c.Since) != "1 10:00:00" {
		t.Errorf("true since %s", clocked(c.Since))
	}
}

// TestQuietHours: what is of the lowest priority waits for the morning, to ring and to ring again;
// everything else does not.
func TestQuietHours(t *testing.T) {
	low := newDrive(t, sample("rings = \"air >= 70\"\nper = \"place\"\npriority = 4\nagain = \"1h\"\n"))
	low.tell(`
		1 20:30 d1 air_c 71 -> rang 1 to 5
		1 22:00 ->
		2 04:59 ->
		2 05:00 -> 05:00:00 again 1 to 5`)
	late := newDrive(t, sample("rings = \"air >= 70\"\nper = \"place\"\npriority = 4\n"))
	late.tell(`
		1 23:00 d1 air_c 71 ->
		2 05:00 -> 05:00:00 rang 1 to 5`)
	high := newDrive(t, sample("rings = \"air >= 70\"\nper = \"place\"\npriority = 3\n"))
	high.tell("1 23:00 d1 air_c 71 -> rang 1 to 5")
}

// TestAnAnswerOfTheSameInstant: a reading of the instant at which a call rang, told after it had
// rung, ends the call; told before, it would have kept it from ringing.
func TestAnAnswerOfTheSameInstant(t *testing.T) {
	d := newDrive(t, strings.Replace(sample(`rings = "air_age >= 2h"
who = ["post"]
`), `kind = "prompt"`, "kind = \"prompt\"\nper = \"place\"", 1))
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 ->
		1 12:00 d1 air_c 70 -> 12:00:00 rang 1 to 5; over 1 to 5
		1 13:59 d1 air_c 70 ->
		1 15:58 d1 air_c 70 ->`)
}
