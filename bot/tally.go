package bot

import (
	"fmt"
	"slices"
	"time"

	"lotbell/state"
)

// Tally counts what a mill's people were rung for and what they did about it: a ring that nobody
// needs is a defect.
type Tally struct {
	Rings     int // a call to one person, once
	Decisions int // coffee moved, orders given, coffee turned or covered, fires lit, banked or put out
	MostHour  int // rings to one person within any hour
}

// PerDecision is how many rings a decision took; 0 where none was taken.
func (t Tally) PerDecision() float64 {
	if t.Decisions == 0 {
		return 0
	}
	return float64(t.Rings) / float64(t.Decisions)
}

// String is the tally in a few words.
func (t Tally) String() string {
	return fmt.Sprintf("%d rings for %d decisions, %.2f each; at most %d an hour to one person",
		t.Rings, t.Decisions, t.PerDecision(), t.MostHour)
}

// TallyOf counts a journal.
func TallyOf(es []state.Event) Tally {
	var t Tally
	last := map[state.PersonID][]state.Instant{}
	for _, e := range es {
		switch b := e.Body.(type) {
		case state.Move:
			t.Decisions++
		case state.Note:
			if slices.Contains(decisions, b.What) {
				t.Decisions++
			}
		case state.CallStep:
			if b.What != state.Rang && b.What != state.Again {
				continue
			}
			for _, p := range b.To {
				t.Rings++
				rings := slices.DeleteFunc(append(last[p], e.At), func(at state.Instant) bool {
					return e.At.Sub(at) >= time.Hour
				})
				last[p], t.MostHour = rings, max(t.MostHour, len(rings))
			}
		}
	}
	return t
}

// decisions are the notes that say that somebody decided or did something.
var decisions = []string{state.WashOrdered, state.WashRefused, state.OutOrdered, state.Turned,
	state.Covered, state.Uncovered, state.FireOut, state.FireLow, state.FireLit, state.SoakStart,
	state.Cleaned}
