package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// nested is a condition as deep as brackets may go, each level a choice whose condition compares
// the one below.
func nested(levels int) string {
	side := "air"
	for range levels {
		side = "(" + side + ">temp?bean:air)"
		if len(side) > maxCondition-30 {
			break
		}
	}
	return side + " > 1"
}

// TestHeavyBooks: what can be read, however it is made, is checked, rehearsed and tried in a time
// that a running mill does not feel, and what cannot be told never rings.
func TestHeavyBooks(t *testing.T) {
	t.Parallel()
	call := func(i int, rings string) string {
		return fmt.Sprintf("[[call]]\nname = \"c%d\"\nkind = \"alert\"\non = \"drum\"\nrings = %q\n"+
			"say.en = \"x\"\n", i, rings)
	}
	var many, wide strings.Builder
	for i := range 1500 {
		fmt.Fprint(&many, call(i, fmt.Sprintf("air > %d.%04d and hum > %d and not smoke", 30+i%90, i, i%70)))
	}
	parts := "air > 1"
	for i := 2; len(parts) < 480; i++ {
		parts += fmt.Sprintf(" and hum > %d", i)
	}
	for i := range 300 {
		fmt.Fprint(&wide, call(i, strings.Replace(parts, "air > 1", fmt.Sprint("air > ", i), 1)))
	}
	l := lived(t, DefaultText(), hotDay)
	for name, c := range map[string]struct {
		text  string
		rings bool
	}{
		"many calls":       {many.String(), true},
		"wide calls":       {wide.String(), true},
		"deep choices":     {call(1, nested(19)), false},
		"deep brackets":    {call(1, strings.Repeat("not (", 19)+"smoke"+strings.Repeat(")", 19)), true},
		"division by zero": {call(1, "air / 0 > 1 or air / (air - air) > 1 or 0 / 0 == 0"), false},
		"by nothing read":  {call(1, "weight_kg / mass_kg > 1"), false},
		"overflow":         {call(1, "air * 1e300 * 1e300 > 1 and air * 1e300 * 1e300 < 2"), false},
		"a huge time":      {call(1, "age > 99999h"), false},
		"names of limits":  {"[limit.air]\nvalue=1\nlow=0\nhigh=2\n" + call(1, "air > limit.air"), true},
		"a guard as deep": {call(1, "smoke") + "[[guard]]\nname = \"g\"\non = [\"unload\"]\nfrom = " +
			"\"drum\"\nstop = \"ask\"\nwhen = \"" + nested(19) + "\"\nsay.en = \"x\"\n", false},
	} {
		start := time.Now()
		b, err := Parse(c.text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		b.Sound("en", "es")
		run, err := Rehearse(l.es, b, Parse)
		if err != nil {
			t.Fatal(err)
		}
		b.Try(l.es, run, b.Changed(l.read(DefaultText()), l.now), 0)
		b.Guard(l.m, NewKnowledge(), l.m.StaysAt("d1")[0].Subject(), Act{What: state.ActUnload}, l.now)
		if d := time.Since(start); d > 10*time.Second {
			t.Errorf("%s: took %v", name, d)
		}
		if rang := ringsAny(run.Steps); rang != c.rings {
			t.Errorf("%s: rings is %v", name, rang)
		}
	}
}

func ringsAny(es []state.Event) bool {
	for _, e := range es {
		if e.Body.(state.CallStep).What == state.Rang {
			return true
		}
	}
	return false
}

// TestAnswersOfAnOddJournal: steps of calls that do not stand, or twice, or out of all order, are
// no answers and stop nothing.
func TestAnswersOfAnOddJournal(t *testing.T) {
	step := func(seq int, at, what string) state.Event {
		return state.Event{Seq: state.Seq(seq), At: on(1, at), Heard: on(1, at), By: drumHand,
			Body: state.CallStep{Rule: "hot", Of: atPlace("d1"), What: what, Number: 1}}
	}
	a := AnswersIn([]state.Event{step(1, "09:00", state.Taken), step(2, "09:01", state.Over),
		step(3, "09:02", state.Handed), step(4, "09:03", state.Again), step(5, "10:00", state.Rang),
		step(6, "10:05", state.Rang), step(7, "10:07", state.Taken), step(8, "10:30", state.Taken),
		step(9, "10:40", state.Over), step(10, "10:50", state.Taken), step(11, "11:00", "no such")})
	if d, ok := a.usual("anything"); d != 7*time.Minute || !ok {
		t.Errorf("%v, %v; want the 7 minutes of the one answer", d, ok)
	}
	if n := len(a.of[state.CallKey{Rule: "hot", Of: atPlace("d1")}]); n != 1 {
		t.Errorf("%d calls, want 1", n)
	}
}
