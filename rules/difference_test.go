package rules

import (
	"testing"
	"time"

	"lotbell/state"
)

func TestDiffer(t *testing.T) {
	at := func(h, m int) state.Instant {
		return state.At(time.Date(2026, 1, 12, h, m, 0, 0, time.UTC))
	}
	drum := state.Subject{Kind: state.OfPlace, Name: "d1"}
	tank := state.Subject{Kind: state.OfPlace, Name: "t1"}
	ring := func(i state.Instant, rule string, of state.Subject, to ...state.PersonID) state.Event {
		return state.Event{At: i, Heard: i, Body: state.CallStep{Rule: rule, Of: of,
			What: state.Rang, To: to}}
	}
	rang := []state.Event{ring(at(1, 0), "hot", drum, 1), ring(at(6, 0), "hot", drum, 1),
		ring(at(7, 0), "late", tank, 2), ring(at(20, 0), "hot", drum, 1)}
	would := []state.Event{ring(at(5, 30), "hot", drum, 1, 2), ring(at(7, 0), "late", tank, 2),
		ring(at(8, 0), "smell", tank, 2), ring(at(20, 20), "hot", drum, 1)}
	got := Differ(rang, would, at(2, 0))
	want := []Difference{
		{"hot", drum, Earlier, at(6, 0), at(5, 30)},
		{"smell", tank, More, 0, at(8, 0)},
		{"hot", drum, Later, at(20, 0), at(20, 20)},
	}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%d: %+v, want %+v", i, got[i], want[i])
		}
	}
	if d := Differ(rang, rang, 0); len(d) != 0 {
		t.Errorf("the same differs from itself: %+v", d)
	}
	if d := Differ(rang[:1], nil, 0); len(d) != 1 || d[0].What != Less {
		t.Errorf("what no longer rings: %+v", d)
	}
	loads := Loads(would, at(2, 0), Shifts{})
	if len(loads) != 2 || loads[0] != (Load{2, 3, 1, 2}) || loads[1] != (Load{1, 2, 1, 1}) {
		t.Errorf("loads %+v", loads)
	}
}

// TestShifts: rings are counted by the shift that somebody said to work, else by the half of the
// day on the mill's clock.
func TestShifts(t *testing.T) {
	at := func(h, m int) state.Instant {
		return state.At(time.Date(2026, 1, 12, h, m, 0, 0, time.UTC))
	}
	shifts := ShiftsIn([]state.Event{
		{At: at(0, 0), Body: state.Set{Name: state.SetZone, Text: "America/Bogota"}}, // UTC-5
		{At: at(5, 0), Body: state.Duty{Person: 1, On: true}},
		{At: at(12, 0), Body: state.Duty{Person: 1}},
		{At: at(13, 0), Body: state.Duty{Person: 1, On: true}},
		{At: at(9, 0), Body: state.Duty{Person: 2, On: true}}, // and never off: 14 hours
	})
	for _, c := range []struct {
		who      state.PersonID
		at, want state.Instant
	}{
		{1, at(5, 0), at(5, 0)}, {1, at(11, 59), at(5, 0)}, {1, at(14, 0), at(13, 0)},
		{1, at(12, 30), at(11, 0)}, // between the two: since six in the morning, Bogotá
		{2, at(22, 59), at(9, 0)}, {2, at(23, 0), at(23, 0)},
		{3, at(10, 59), at(-1, 0)}, {3, at(11, 0), at(11, 0)}, {3, at(22, 59), at(11, 0)},
	} {
		if got := shifts.of(c.who, c.at); got != c.want {
			t.Errorf("%d at %v: since %v, want %v", c.who, c.at.Time(), got.Time(), c.want.Time())
		}
	}
}
