package state

import (
	"slices"
	"testing"
)

var tankStay = Subject{OfStay, "t1", StayID{19, 1}}

// step is a step of one rule's call for the stay in t1.
func step(what string, number int, to ...PersonID) CallStep {
	return CallStep{Rule: "wash-soon", Of: tankStay, What: what, Number: number, Priority: 2, To: to}
}

func TestCallSteps(t *testing.T) {
	aside := step(Aside, 5)
	aside.Until = at("12:00")
	again := step(Again, 5, 3)
	again.Rung = 1
	type life struct {
		State  CallState
		Rung   int
		RungAt Instant
		Until  Instant
		By     PersonID
		Told   []PersonID
	}
	rang := at("06:30")
	for _, c := range []struct {
		name  string
		steps []CallStep // after it rang at 06:30 to persons 1 and 2, from 07:00 on, each a minute later
		want  *life      // nil: it no longer stands
	}{
		{"rang", nil, &life{Unacknowledged, 0, rang, 0, 0, []PersonID{1, 2}}},
		{"rang while it stands", []CallStep{step(Rang, 6, 3)},
			&life{Unacknowledged, 0, rang, 0, 0, []PersonID{1, 2}}},
		{"again, one more told", []CallStep{again},
			&life{Unacknowledged, 1, at("07:00"), 0, 0, []PersonID{1, 2, 3}}},
		{"taken", []CallStep{step(Taken, 5)}, &life{Acknowledged, 0, rang, 0, 2, []PersonID{1, 2}}},
		{"put aside", []CallStep{aside}, &life{Shelved, 0, rang, at("12:00"), 2, []PersonID{1, 2}}},
		{"put aside, then again", []CallStep{aside, again},
			&life{Unacknowledged, 1, at("07:01"), 0, 0, []PersonID{1, 2, 3}}},
		{"taken, then handed over", []CallStep{step(Taken, 5), step(Handed, 5, 2, 4)},
			&life{Unacknowledged, 0, at("07:01"), 0, 0, []PersonID{1, 2, 4}}}, // its ladder begins anew
		{"over", []CallStep{step(Over, 5)}, nil},
		{"done", []CallStep{step(Taken, 5), step(Done, 5)}, nil},
		{"taken back", []CallStep{step(TakenBack, 5)}, nil},
		{"withdrawn", []CallStep{step(Withdrawn, 5)}, nil},
		{"over, then taken by somebody late", []CallStep{step(Over, 5), step(Taken, 5)}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newDay(t)
			d.say("06:00", add("t1", 1, 1000))
			opened := d.say("06:30", step(Rang, 5, 1, 2))
			for i, s := range c.steps {
				d.say([]string{"07:00", "07:01"}[i], s)
			}
			call := d.m.Standing(CallKey{"wash-soon", tankStay})
			same(t, "by number", d.m.Numbered(5), call)
			same(t, "listed", len(d.m.Calls()), len(d.m.calls))
			if c.want == nil {
				same(t, "stands", call, (*Call)(nil))
				return
			}
			if call == nil {
				t.Fatal("does not stand")
			}
			same(t, "opened by", call.ID, opened)
			same(t, "life", life{call.State, call.Rung, call.RungAt, call.Until, call.By, call.Told},
				*c.want)
		})
	}
}

// TestReturnedUntaken: a call that is over and that nobody took is kept until somebody takes it by its
// number, until it rings again, or until another call has its number.
func TestReturnedUntaken(t *testing.T) {
	returned := func(d *day) (out []int) {
		for _, c := range d.m.Returned() {
			out = append(out, c.Number)
		}
		return out
	}
	other := step(Taken, 5)
	other.Rule = "other"
	for _, c := range []struct {
		name  string
		steps []CallStep // after it rang as call 5
		want  []int
	}{
		{"over", []CallStep{step(Over, 5)}, []int{5}},
		{"taken, then over", []CallStep{step(Taken, 5), step(Over, 5)}, nil},
		{"put aside, then over", []CallStep{step(Aside, 5), step(Over, 5)}, nil},
		{"taken, asked again, then over", []CallStep{step(Taken, 5), step(Again, 5), step(Over, 5)},
			[]int{5}},
		{"done", []CallStep{step(Done, 5)}, nil},
		{"taken back", []CallStep{step(TakenBack, 5)}, nil},
		{"withdrawn", []CallStep{step(Withdrawn, 5)}, nil},
		{"over, then taken", []CallStep{step(Over, 5), step(Taken, 5)}, nil},
		{"over, then another taken", []CallStep{step(Over, 5), step(Taken, 6)}, []int{5}},
		{"over, then another rule's of that number taken", []CallStep{step(Over, 5), other}, []int{5}},
		{"over, then it rings again", []CallStep{step(Over, 5), step(Rang, 6, 1)}, nil},
	} {
		d := newDay(t)
		d.say("06:00", add("t1", 1, 1000))
		d.say("06:30", step(Rang, 5, 1, 2))
		for _, s := range c.steps {
			d.say("07:00", s)
		}
		same(t, c.name, returned(d), c.want)
	}
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	d.say("06:30", step(Rang, 5, 1, 2))
	d.say("06:40", step(Over, 5))
	same(t, "when", d.m.Returned()[0].Last, at("06:40"))
	again := step(Rang, 5, 1)
	again.Rule = "other"
	d.say("07:00", again)
	same(t, "its number is another's", returned(d), []int(nil))
}

// TestWhoWasRungLast: the people of the last rung, beside everyone that was told.
func TestWhoWasRungLast(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	d.say("06:30", step(Rang, 5, 1, 2))
	d.say("06:40", step(Again, 5, 3))
	same(t, "last", d.m.Numbered(5).To, []PersonID{3})
	d.say("06:50", step(Handed, 5))
	same(t, "handed to nobody by name", d.m.Numbered(5).To, []PersonID{3})
	same(t, "all", d.m.Numbered(5).Told, []PersonID{1, 2, 3})
	s := d.m.Next()
	touched := d.m.Apply(Event{Seq: s, Msg: s, At: at("07:00"), Heard: at("07:00"), Body: Reach{Person: 3}})
	same(t, "who cannot be reached bears on what they were rung for", touched, []Subject{tankStay})
	touched = d.m.Apply(Event{Seq: s + 1, Msg: s + 1, At: at("07:01"), Heard: at("07:01"),
		Body: Reach{Person: 1}})
	same(t, "who was rung before does not", touched, []Subject(nil))
}

// TestRangHigherUp: a call that nobody of the first rung could be called for stands where it rang.
func TestRangHigherUp(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	s := step(Rang, 5, 3)
	s.Rung = 2
	d.say("06:30", s)
	same(t, "rung", d.m.Numbered(5).Rung, 2)
}

func TestStepOfNoCallHasNoEffect(t *testing.T) {
	for _, what := range []string{Again, Taken, Aside, Handed, Over, Done, TakenBack, Withdrawn} {
		d := newDay(t)
		before := d.m.Picture(true)
		d.say("07:00", step(what, 5, 1))
		same(t, what, d.m.Picture(true), before)
	}
}

func TestCallNumbersAreReusedOnlyWhenOver(t *testing.T) {
	d := newDay(t)
	ring := func(rule string, number int) {
		d.say("07:00", CallStep{Rule: rule, Of: tankStay, What: Rang, Number: number})
	}
	same(t, "first", d.m.NextNumber(nil), 1)
	ring("a", 1)
	ring("b", 998)
	same(t, "after 998", d.m.NextNumber(nil), 999)
	ring("c", 999)
	same(t, "1 still stands", d.m.NextNumber(nil), 2)
	d.say("08:00", CallStep{Rule: "a", Of: tankStay, What: Over})
	same(t, "1 is over", d.m.NextNumber(nil), 1)
	same(t, "given in the same step", d.m.NextNumber(map[int]bool{1: true, 2: true}), 3)
	for n := range 999 {
		if d.m.Numbered(n+1) == nil {
			ring("more", n+1)
			d.m.calls = map[CallKey]*Call{} // 999 calls of one rule, for the sake of their numbers
		}
	}
	same(t, "none is free", d.m.NextNumber(nil), 998) // the one after the last given
	// a number two calls shared does not go with the first of them
	d = newDay(t)
	ring("a", 7)
	ring("b", 7)
	d.say("08:00", CallStep{Rule: "a", Of: tankStay, What: Over})
	same(t, "still b's", d.m.Numbered(7), d.m.Standing(CallKey{"b", tankStay}))
}

func TestCallsOfASubject(t *testing.T) {
	d := newDay(t)
	other := Subject{Kind: OfPlace, Name: "t1"}
	for i, of := range []Subject{tankStay, other, tankStay} {
		d.m.ApplyStep(Event{At: at("07:00"), Body: CallStep{Rule: string(rune('z' - i)), Of: of,
			What: Rang, Number: i + 1}})
	}
	d.m.ApplyStep(Event{At: at("07:00"), Body: add("t1", 1, 100)}) // is no step
	calls := d.m.CallsOf(tankStay)
	if len(calls) != 2 || calls[0].Number != 1 || calls[1].Number != 3 {
		t.Fatalf("calls %v", calls)
	}
	same(t, "key", d.m.Standing(calls[1].Key()), calls[1])
	same(t, "no coffee", len(d.m.OpenStays()), 0)
}

func TestCallsStandInOrderOfUrgency(t *testing.T) {
	d := newDay(t)
	for i, c := range []struct {
		clock    string
		priority int
	}{{"07:00", 3}, {"08:00", 1}, {"07:30", 1}} {
		d.say(c.clock, CallStep{Rule: "r", Of: Subject{Kind: OfPlace, Name: string(rune('a' + i))},
			What: Rang, Number: i + 1, Priority: c.priority})
	}
	var got []int
	for _, c := range d.m.Calls() {
		got = append(got, c.Number)
	}
	same(t, "order", got, []int{3, 2, 1})
}

// The calls of a stay that a move ends are looked at with it, in a fixed order.
func TestMoveTouchesTheCallsOfTheStayItEnds(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	of := d.only("t1").Subject()
	same(t, "subject", of, tankStay)
	gone := Subject{OfStay, "t1", StayID{400, 1}}
	for i, s := range []Subject{gone, of} {
		d.say("06:30", CallStep{Rule: "r", Of: s, What: Rang, Number: i + 1})
	}
	s := d.m.Next()
	touched := d.m.Apply(Event{Seq: s, Msg: s, At: at("08:00"), Heard: at("08:00"),
		Body: move(ActWash, all("t1"), into("w1", 2, 0))})
	i := slices.Index(touched, of)
	if i < 0 || i+1 >= len(touched) || touched[i+1] != gone {
		t.Fatalf("touched %v", touched)
	}
	if !slices.Contains(touched, d.only("w1").Subject()) {
		t.Fatalf("touched %v without the new stay", touched)
	}
	// so are all calls when something late has changed the moves
	touched = d.m.Apply(Event{Seq: s + 1, Msg: s + 1, At: at("07:00"), Heard: at("09:00"),
		Body: add("t2", 3, 100)})
	for _, x := range []Subject{gone, of, {Kind: OfMill, Name: Whole}, {Kind: OfPlace, Name: Floor}} {
		if !slices.Contains(touched, x) {
			t.Fatalf("touched %v without %v", touched, x)
		}
	}
}
