package rules_test

import (
	"fmt"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// drumBook is a book of one call.
const drumBook = `
[limit.hot]
value = 60
unit = "C"
low = 30
high = 75

[[call]]
name = "hot"
kind = "alert"
on = "drum"
rings = "air > limit.hot and not fire_out"
stops = "air < limit.hot - 2"
then = ["lead 15min"]
say.en = "{place}: air {air} C."
`

// drumDay is a made-up day of one drum: loaded at nine, too hot at ten, cooler at eleven.
func drumDay() []state.Event {
	nine := time.Date(2026, 1, 12, 9, 0, 0, 0, time.UTC)
	bodies := []struct {
		hours float64
		body  state.Body
	}{
		{-1, state.Staff{Person: 1, Roles: []state.Role{state.Worker}, Posts: []state.Kind{state.Drum}}},
		{-1, state.SetPlace{Name: "d1", Kind: state.Drum}},
		{0, state.Move{Act: state.ActLoad, Out: []state.Part{{Place: state.Outside, Mass: state.Kg(900)}},
			In: []state.Part{{Place: "d1", Lot: 1, Mass: state.Kg(900)}}}},
		{1, state.Reading{Place: "d1", What: state.AirC, Value: 63}},
		{2, state.Reading{Place: "d1", What: state.AirC, Value: 57}},
	}
	var es []state.Event
	for i, b := range bodies {
		at := state.At(nine.Add(time.Duration(b.hours * float64(time.Hour)))).Add(
			time.Duration(i) * time.Millisecond)
		es = append(es, state.Event{Seq: state.Seq(i + 1), Msg: state.Seq(i + 1), At: at, Heard: at,
			Body: b.body})
	}
	return es
}

// A book is evaluated on a mill at an instant, and says what is true and why.
func ExampleBook_Evaluate() {
	book, err := rules.Parse(drumBook)
	if err != nil {
		fmt.Println(err)
		return
	}
	mill := state.Load(drumDay()[:4])
	drum := mill.StaysAt("d1")[0].Subject()
	for _, f := range book.Evaluate(mill, rules.NewKnowledge(), drum, mill.Heard()) {
		fmt.Println(f.Rule.Name, f.Is)
		for _, c := range f.Why {
			fmt.Println(" ", c.Text, c.L, c.R)
		}
	}
	// Output:
	// hot yes
	//   air > limit.hot 63 60
	//   not fire_out 0 0
}

// A journal is rehearsed under a book: the calls that it would have rung, to the millisecond.
func ExampleRehearse() {
	show := func(text string) {
		book, err := rules.Parse(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		run, err := rules.Rehearse(drumDay(), book, rules.Parse)
		for _, e := range run.Steps {
			s := e.Body.(state.CallStep)
			fmt.Println(e.At.Time().Format("15:04"), s.What, s.Number, s.Rule, s.Of.Name, s.To)
		}
		fmt.Println(len(run.Steps), "steps", err)
	}
	show(drumBook)
	book, _ := rules.Parse(drumBook)
	higher, _ := book.WithLimit("hot", 65)
	show(higher)
	// Output:
	// 10:00 rang 1 hot d1 [1]
	// 10:15 again 1 hot d1 [1]
	// 11:00 over 1 hot d1 [1]
	// 3 steps <nil>
	// 0 steps <nil>
}

// Everything wrong with a book is told at once, each with its line and what was perhaps meant.
func ExampleParse() {
	_, err := rules.Parse(`
[[call]]
name = "hot"
kind = "alarm"
on = "drum"
rings = "airr > 60,5 and hum < 20"
say.en = "{plce}: too hot"
`)
	fmt.Println(err)
	// Output:
	// line 6: call hot, rings: column 10: a dot, not a comma, in 60,5; try: 60.5
	// line 4: call hot: an alarm needs cause, consequence, action and respond; without them it is an alert (to be known) or a prompt (an act of normal work); missing: cause, consequence, action, respond
	// line 7: call hot, say.en: no value {plce}; did you mean place?
}
