package rules

import (
	"testing"
	"time"

	"lotbell/state"
)

// TestHealthByHand counts a made-up day: every figure can be followed with a pencil.
func TestHealthByHand(t *testing.T) {
	b := defaultBook(t)
	day := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	at := func(h, m int) state.Instant {
		return state.At(day.Add(time.Duration(h)*time.Hour + time.Duration(m)*time.Minute))
	}
	d1 := state.Subject{Kind: state.OfPlace, Name: "d1"}
	p1 := state.Subject{Kind: state.OfPlace, Name: "p1"}
	step := func(i state.Instant, rule, what string, of state.Subject, priority int,
		to ...state.PersonID) state.Event {
		return state.Event{At: i, Heard: i, Body: state.CallStep{Rule: rule, What: what, Of: of,
			Priority: priority, To: to}}
	}
	respond := b.Rule("drum-hot").Respond // an alarm: 20 minutes in the default book
	if respond != 20*time.Minute {
		t.Fatalf("drum-hot has %v to respond", respond)
	}
	es := []state.Event{
		step(at(-30, 0), "patio-night", state.Rang, p1, 3, 1), // stands for 54 hours at the end
		step(at(1, 0), "drum-hot", state.Rang, d1, 2, 1),
		step(at(1, 15), "drum-hot", state.Taken, d1, 2), // in time
		step(at(1, 30), "drum-hot", state.Over, d1, 2),
		step(at(2, 0), "drum-hot", state.Rang, d1, 2, 1),
		step(at(2, 25), "drum-hot", state.Again, d1, 2, 2), // nobody takes it
		step(at(2, 40), "drum-hot", state.Over, d1, 2),     // over after 40 minutes: late
		step(at(6, 0), "drum-hot", state.Rang, d1, 2, 1),   // three within five hours: chattering
		step(at(6, 5), "drum-hot", state.Over, d1, 2),      // over in time
		step(at(9, 0), "mould", state.Rang, p1, 2, 3),
	}
	h := HealthOf(es, b, at(0, 0), at(24, 0))
	if h.Calls != 4 || h.Split != [5]int{0, 0, 4, 0, 0} {
		t.Errorf("%d calls, split %v", h.Calls, h.Split)
	}
	if h.Alarms != 3 || h.InTime != 2 {
		t.Errorf("%d of %d alarms in time", h.InTime, h.Alarms)
	}
	if len(h.Longest) != 2 || h.Longest[0].Rule != "patio-night" || h.Stale != 1 {
		t.Errorf("standing: %+v, stale %d", h.Longest, h.Stale)
	}
	if len(h.Chattering) != 1 || h.Chattering[0] != (Source{"drum-hot", "d1", 3}) {
		t.Errorf("chattering: %+v", h.Chattering)
	}
	if len(h.Top) != 2 || h.Top[0].Rings != 3 || h.Top[1].Rule != "mould" {
		t.Errorf("top: %+v", h.Top)
	}
	if len(h.Loads) != 3 || h.Loads[0] != (Load{1, 3, 1, 2}) {
		t.Errorf("loads: %+v", h.Loads)
	}
}
