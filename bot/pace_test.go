package bot

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// pour puts many lines of somebody into the inbox at one instant: t1 ph 3.00, 3.01, …
func (r *rig) pour(who string, n int) {
	r.t.Helper()
	for i := range n {
		r.n++
		r.put(Message{From: Address{"script", who}, ID: fmt.Sprint(r.n), At: r.now, Kind: Text,
			Text: fmt.Sprintf("t1 ph %.2f", 3+float64(i)/100)}, fmt.Sprint(r.n))
	}
}

// phs are the pH readings of t1, in the order in which they were heard.
func (r *rig) phs() []float64 {
	var out []float64
	es, err := r.db.Load()
	if err != nil {
		r.t.Fatal(err)
	}
	for _, e := range es {
		if x, ok := e.Body.(state.Reading); ok && x.What == state.PH {
			out = append(out, x.Value)
		}
	}
	return out
}

// TestFloodIsHeldNotLost sends 100 lines at once. 30 are taken, the sender is told once, help
// passes, others are not held up, and the rest comes in by the minute in its order, also over a
// restart.
func TestFloodIsHeldNotLost(t *testing.T) {
	r := newRig(t)
	r.desk.o.Lines = 0
	r.say("luis", "t1 add 4200")
	r.pour("ana", 100)
	got := r.run()
	if n := strings.Count(got, "ana< t1: pH"); n != linesAMinute {
		t.Errorf("%d lines were taken at once", n)
	}
	const told = "I take 30 lines a minute. The rest is kept and comes in at 08:01"
	if n := strings.Count(got, told); n != 1 {
		t.Errorf("told %d times: %s", n, got)
	}
	r.wants(r.say("luis", "d1 load 2600"), "luis< d1")
	r.wants(r.say("ana", "help"), "ana< Passed to the manager")
	if next := r.desk.Next(); next == 0 || next.Sub(r.now) > time.Minute {
		t.Errorf("the desk would next wake at %v, it is %v", next.Time(), r.now.Time())
	}
	r.db.Close()
	r.open()
	r.desk.o.Lines = 0
	for range 6 {
		r.now = r.now.Add(time.Minute)
		r.run()
	}
	all := r.phs()
	if len(all) != 100 {
		t.Fatalf("%d of 100 lines are kept", len(all))
	}
	for i, v := range all {
		if want := 3 + float64(i)/100; v < want-0.001 || v > want+0.001 {
			t.Fatalf("line %d is %v: the order was lost", i, v)
		}
	}
	if in, err := r.db.Inbox(0); err != nil || len(in) != 0 {
		t.Errorf("%d rows are still in the inbox, %v", len(in), err)
	}
}

// TestFloodUnderClockSetBack holds lines for a minute and no longer when the clock is set back.
func TestFloodUnderClockSetBack(t *testing.T) {
	r := newRig(t)
	r.desk.o.Lines = 0
	r.say("luis", "t1 add 4200")
	r.pour("ana", 40)
	r.run()
	r.now = r.now.Add(-3 * time.Hour)
	r.run()
	r.now = r.now.Add(2 * time.Minute)
	r.run()
	if n := len(r.phs()); n != 40 {
		t.Errorf("%d of 40 lines are kept", n)
	}
}

func TestNoLimit(t *testing.T) {
	r := newRig(t)
	r.say("luis", "t1 add 4200")
	r.pour("ana", 100)
	if n := strings.Count(r.run(), "ana< t1: pH"); n != 100 {
		t.Errorf("%d of 100 lines were taken", n)
	}
}

// TestStrangersFlood answers one of a thousand lines and keeps none.
func TestStrangersFlood(t *testing.T) {
	r := newRig(t)
	before := r.picture()
	r.pour("nobody", 1000)
	if got := r.run(); strings.Count(got, "nobody< ") != 1 {
		t.Errorf("a stranger got: %s", got)
	}
	if in, err := r.db.Inbox(0); err != nil || len(in) != 0 || r.picture() != before {
		t.Errorf("%d rows of a stranger were kept, %v", len(in), err)
	}
}
