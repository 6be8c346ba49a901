package rules

import (
	"fmt"
	"strings"
	"testing"

	"lotbell/state"
)

// lifeBook has one alarm on drums with all that bears on its life.
const lifeBook = `
[[call]]
name = "sample"
kind = "alarm"
on = "drum"
per = "place"
rings = "air >= 70 and air_age < 2h"
stops = "air < 68 or air_age >= 2h or not held"
only = "held and not power_out"
off = "5min"
who = ["post"]
then = ["lead 10min", "manager 30min"]
again = "10min"
respond = "20min"
cause = "c"
consequence = "c"
action = "a"
say.en = "{place}"
`

// TestLifeOfAnAlarm walks through the state diagram of ISA-18.2 / IEC 62682: every state it names
// but the latched ones, and every way from one to another.
func TestLifeOfAnAlarm(t *testing.T) {
	d := newDrive(t, lifeBook)
	of := atPlace("d1")
	off := strings.Replace(lifeBook, "off =", "off_until = \"2026-05-01T23:00:00Z\"\noff =", 1)
	for _, c := range []struct {
		at, event string
		want      Life
	}{
		{"08:00", "", Suppressed}, // H: no coffee
		{"09:00", "d1 load p1", Stale},
		{"09:10", "d1 air_c 60", Normal},         // A
		{"09:20", "d1 air_c 71", Unacknowledged}, // A to B
		{"09:25", "ok", Acknowledged},            // B to C
		{"09:46", "", Unacknowledged},            // C to B: not answered in time, re-alarm
		{"09:47", "ok", Acknowledged},            // B to C
		{"09:50", "d1 air_c 69", Acknowledged},   // within the deadband
		{"09:51", "d1 air_c 67", Acknowledged},   // off-delay
		{"09:57", "", Normal},                    // C to A: returned to normal
		{"10:00", "d1 air_c 71", Unacknowledged},
		{"10:01", "d1 air_c 60", Unacknowledged},
		{"10:07", "", Returned}, // B to D: returned to normal, unacknowledged
		{"10:08", "ok", Normal}, // D to A
		{"10:10", "d1 air_c 71", Unacknowledged},
		{"10:11", "d1 air_c 60", Unacknowledged},
		{"10:17", "", Returned},
		{"10:20", "d1 air_c 72", Unacknowledged}, // D to B: it has come again
		{"10:21", "later 10:40", Shelved},        // B to G
		{"10:41", "", Unacknowledged},            // G to B: its end has come
		{"10:42", "ok", Acknowledged},
		{"10:43", "later 11:10", Shelved}, // C to G
		{"10:44", "d1 air_c 60", Shelved},
		{"10:50", "", Normal}, // G to A
		{"11:00", "d1 air_c 73", Unacknowledged},
		{"13:06", "", Stale},               // B to stale: nothing was read for two hours
		{"13:10", "d1 air_c 60", Returned}, // read again: over, and nobody had taken it
		{"13:20", "d1 air_c 75", Unacknowledged},
		{"13:21", "mill power-out", Unacknowledged}, // a call that stands is not hushed
		{"13:22", "d1 air_c 50", Unacknowledged},
		{"13:28", "", Suppressed}, // H: only says no
		{"13:30", "d1 air_c 75", Suppressed},
		{"13:40", "mill power-back", Unacknowledged}, // H to B
		{"13:41", "s1 unload d1", Unacknowledged},
		{"13:47", "", Suppressed}, // B to H: the drum is empty
		{"14:00", "d1 load p2", Stale},
		{"14:10", "d1 air_c 71", Unacknowledged},
		{"14:11", "off", OutOfService}, // B to I
		{"14:20", "d1 air_c 90", OutOfService},
		{"23:01", "", Stale}, // I to what it is: nothing read for hours
		{"23:02", "d1 air_c 91", Unacknowledged},
		{"23:03", "on", Unacknowledged}, // the book back: the call stands
	} {
		at := on(1, c.at)
		switch w := strings.Fields(c.event); {
		case c.event == "ok" || len(w) == 2 && w[0] == "later":
			step := state.CallStep{Rule: "sample", Of: of, What: state.Taken}
			if c.event != "ok" {
				step.What, step.Until = state.Aside, on(1, w[1])
			}
			for _, x := range append(d.m.Calls(), d.m.Returned()...) {
				step.Number = x.Number
			}
			d.by(drumHand, at, step)
			d.look(at, of)
		case c.event == "off" || c.event == "on":
			d.w.Book = mustRead(t, map[string]string{"off": off, "on": lifeBook}[c.event])
			d.look(at, d.touched("d1")...)
		default:
			d.quietly(fmt.Sprintf("1 %s %s", c.at, c.event))
		}
		got, call, missing := d.w.Book.LifeOf(d.m, NewKnowledge(), d.w.Book.Rule("sample"), of, at)
		if got != c.want {
			t.Errorf("%s %s: %s, want %s", c.at, c.event, got, c.want)
		}
		stands := got == Unacknowledged || got == Acknowledged || got == Shelved || got == Returned
		if stands != (call != nil) || c.event == "d1 load p1" && fmt.Sprint(missing) != "[air air_age]" {
			t.Errorf("%s %s: call %v, missing %v", c.at, c.event, call, missing)
		}
	}
}

// quietly says a line and folds what it rings, each tick at its own instant.
func (d *drive) quietly(line string) {
	at, w := d.line(line)
	for t := d.w.Next(); t != 0 && t <= at; t = d.w.Next() {
		d.look(t)
	}
	if len(w) > 1 {
		e := d.by(tankHand, at, d.body(w[0], w[1], w[2:]))
		d.look(e.Heard, d.touch...)
	}
}

// TestGoesUpWhenNobodyIsReached: whoever was rung cannot be reached any more, so the next are called
// at once, and not again for it.
func TestGoesUpWhenNobodyIsReached(t *testing.T) {
	d := newDrive(t, alarmBook())
	d.tell(`
		1 09:00 d1 load p1
		1 10:00 d1 air_c 71 -> rang 1 to 5`)
	reach := func(at string, p state.PersonID, ok bool, want string) {
		t.Helper()
		e := d.by(boss, on(1, at), state.Reach{Person: p, OK: ok})
		if got := d.look(e.Heard, d.touch...); got != want {
			t.Errorf("%s: %q, want %q", at, got, want)
		}
	}
	reach("10:01", watchman, false, "") // was not rung
	reach("10:02", drumHand, false, "again 1 to 3")
	reach("10:03", drumHand, true, "")
	reach("10:04", lead, false, "again 1 to 2 1")
	reach("10:05", boss, false, "")   // the deputy is left
	reach("10:06", deputy, false, "") // at the end of the ladder there is nobody to go up to
	d.tell("1 10:15 -> 10:14:00 again 1 to 5")
}
