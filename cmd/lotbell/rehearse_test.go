package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// hotDrum is a journal of one drum under the default book: hot at 10:00, and nobody answers.
func hotDrum(t *testing.T) []state.Event {
	t.Helper()
	day := state.At(time.Date(2026, 5, 1, 6, 0, 0, 0, time.UTC))
	var es []state.Event
	say := func(after time.Duration, b state.Body) {
		n := state.Seq(len(es) + 1)
		es = append(es, state.Event{Seq: n, Msg: n, At: day.Add(after),
			Heard: day.Add(after + time.Duration(n)*time.Millisecond), By: 1, Body: b})
	}
	say(0, state.Adopt{Version: 1, Text: rules.DefaultText()})
	say(0, state.SetPlace{Name: "d1", Kind: state.Drum, DialWhere: "inlet", DialUnit: "C"})
	say(0, state.Staff{Person: 1, Roles: []state.Role{state.Worker}, Posts: []state.Kind{state.Drum}})
	say(2*time.Hour, state.Move{Act: state.ActLoad, Out: []state.Part{{Place: state.Outside,
		Mass: state.Kg(900)}}, In: []state.Part{{Lot: 1, Place: "d1", Mass: state.Kg(900)}}})
	say(4*time.Hour, state.Reading{Place: "d1", What: state.AirC, Value: 61})
	say(5*time.Hour, state.Reading{Place: "d1", What: state.AirC, Value: 50})
	run, err := rules.Rehearse(es, nil, rules.Parse)
	if err != nil {
		t.Fatal(err)
	}
	all := append([]state.Event(nil), es...)
	for _, s := range run.Steps { // as the program itself would have written them
		s.Seq = state.Seq(len(all) + 1)
		all = append(all, s)
	}
	at := func(a, b state.Event) int { return int(a.Heard - b.Heard) }
	for i := range all { // steps go among the events by when they were heard
		for j := i; j > 0 && at(all[j], all[j-1]) < 0; j-- {
			all[j], all[j-1] = all[j-1], all[j]
		}
	}
	return all
}

// TestRehearseCommand: the book in force differs in nothing; another says what would ring, on whom,
// and how its calls count as answered.
func TestRehearseCommand(t *testing.T) {
	es := hotDrum(t)
	compare := func(b *rules.Book) (string, int) {
		var o strings.Builder
		code := (env{out: &o, err: &o}).compare(es, b, 30)
		return o.String(), code
	}
	out, code := compare(nil)
	if code != exitDone || !strings.Contains(out, "0 differences in 30 days") ||
		strings.Contains(out, "never answered") {
		t.Errorf("the book in force: code %d\n%s", code, out)
	}
	b, err := rules.Parse(rules.DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	text, err := b.WithLimit("drum_air_wet", 49)
	if err != nil {
		t.Fatal(err)
	}
	if b, err = rules.Parse(text); err != nil {
		t.Fatal(err)
	}
	out, code = compare(b)
	for _, want := range []string{"drum-hot: cannot tell yet, 0 stays of its kind are over",
		"drum-hot-dry: cannot tell yet", "person 1: ", " in a shift", "EEMUA 191"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if code != exitDone {
		t.Errorf("code %d", code)
	}
	if text, err = b.WithNewCall("new", [][2]string{{"kind", "prompt"}, {"on", "drum"},
		{"rings", "air > 40"}, {"say.en", "x"}}); err != nil {
		t.Fatal(err)
	}
	if b, err = rules.Parse(text); err != nil {
		t.Fatal(err)
	}
	out, _ = compare(b)
	if want := fmt.Sprintf("%-8s %-18s %-8s rang %-16s would 2026-05-01 10:00", "more", "new", "d1",
		"-"); !strings.Contains(out, want) ||
		!strings.Contains(out, "calls count as never answered") {
		t.Errorf("no %q, or nobody said not to answer, in\n%s", want, out)
	}
}

// TestCheckCommand: a book that can be read but not put in force is told so.
func TestCheckCommand(t *testing.T) {
	for text, want := range map[string]struct {
		code int
		says string
	}{
		rules.DefaultText(): {exitDone, "nothing wrong"},
		"rings = 1":         {exitNo, "rings"},
		strings.Replace(rules.DefaultText(), `rings = "mould"`, `rings = "mould and hour > 23"`, 1): {
			exitNo, "can never be true: mould and hour > 23"},
		strings.Replace(rules.DefaultText(), `name = "help"`, `name = "halp"`, 1): {exitNo,
			"safety call help"},
	} {
		file := filepath.Join(t.TempDir(), "book.toml")
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		var o strings.Builder
		code := checkCommand(env{out: &o, err: &o}, []string{file})
		if code != want.code || !strings.Contains(o.String(), want.says) {
			t.Errorf("code %d, want %d and %q: %s", code, want.code, want.says, o.String())
		}
	}
}
