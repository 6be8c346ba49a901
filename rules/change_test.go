package rules

import (
	"errors"
	"strings"
	"testing"
	"time"
)

func defaultBook(t *testing.T) *Book {
	t.Helper()
	b, err := Parse(DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestChangedTextKeepsTheRest(t *testing.T) {
	b := defaultBook(t)
	text, err := b.WithLimit("drum_air_wet", 58)
	if err != nil {
		t.Fatal(err)
	}
	n, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if n.Limits["drum_air_wet"].Value != 58 || n.Limits["drum_air_dry"] != b.Limits["drum_air_dry"] {
		t.Errorf("limits after the change: %v", n.Limits)
	}
	back, err := n.WithLimit("drum_air_wet", 60)
	if err != nil || back != b.Text {
		t.Errorf("changed and changed back it is another text (%v)", err)
	}
	if uses := b.Uses("drum_air_wet"); strings.Join(uses, " ") != "drum-hot drum-hot-dry" {
		t.Errorf("drum_air_wet is used by %v", uses)
	}
}

func TestCallIsChanged(t *testing.T) {
	b := defaultBook(t)
	text, err := b.WithCall("heating-quick", [][2]string{{"wait", "10min"}, {"who", "post, lead"},
		{"then", "manager 40min"}, {"priority", "2"}})
	if err != nil {
		t.Fatal(err)
	}
	n, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	r := n.Rule("heating-quick")
	if r.Wait != 10*time.Minute || len(r.Ladder) != 2 || r.Ladder[1].After != 40*time.Minute ||
		strings.Join(r.Ladder[0].Whom, " ") != "post lead" || r.Priority != 2 {
		t.Errorf("the call is now %+v", r)
	}
	if len(n.Calls) != len(b.Calls) || r.When.String() != b.Rule("heating-quick").When.String() {
		t.Error("something else has changed")
	}
	for _, c := range []struct {
		name string
		keys [][2]string
		kind MistakeKind
		hint string
	}{
		{"heating-quik", nil, NoSuchName, "heating-quick"},
		{"heating-quick", [][2]string{{"wiat", "10min"}}, UnknownKey, "wait"},
		{"heating-quick", [][2]string{{"wait", "soon"}}, BadValue, "20min"},
		{"heating-quick", [][2]string{{"rings", "air_slop > 10"}}, NoSuchName, "air_slope"},
		{"heating-quick", [][2]string{{"kind", "alarm"}}, NotAnAlarm, ""},
	} {
		_, err := b.WithCall(c.name, c.keys)
		var one *Mistake
		var many Mistakes
		if errors.As(err, &many) && len(many) > 0 {
			one = many[0]
		} else if !errors.As(err, &one) {
			t.Errorf("%v was taken: %v", c.keys, err)
			continue
		}
		if one.Kind != c.kind || !strings.Contains(one.Hint, c.hint) {
			t.Errorf("%v: %v", c.keys, one)
		}
	}
}

func TestNewCallAndOff(t *testing.T) {
	b := defaultBook(t)
	text, err := b.WithNewCall("deep-layer", [][2]string{{"kind", "prompt"}, {"on", "patio"},
		{"rings", "depth_cm > 4"}, {"say.en", "{place} lies {depth_cm} cm deep."},
		{"say.es", "{place} tiene {depth_cm} cm."}})
	if err != nil {
		t.Fatal(err)
	}
	until := time.Date(2026, 1, 20, 6, 0, 0, 0, time.UTC)
	b, err = Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	text, err = b.WithCall("deep-layer", Off(until, "boards are lent out"))
	if err != nil {
		t.Fatal(err)
	}
	n, _ := Parse(text)
	if r := n.Rule("deep-layer"); r.IdleUntil.Time() != until || r.IdleWhy != "boards are lent out" {
		t.Errorf("off until %v, %q", r.IdleUntil.Time(), r.IdleWhy)
	}
	text, err = n.WithCall("deep-layer", [][2]string{{"off_until", ""}, {"off_why", ""}})
	if err != nil || text != b.Text {
		t.Errorf("on again it is another text (%v)", err)
	}
}

func TestSound(t *testing.T) {
	b := defaultBook(t)
	if m := b.Sound("en", "es"); len(m) > 0 {
		t.Fatalf("the default book is not sound:\n%v", m)
	}
	for _, c := range []struct{ old, new, want string }{
		{`name = "smoke"`, `name = "smoak"`, "safety call smoke"},
		{"name = \"drum-70\"", "name = \"drum-70\"\noff_until = \"2026-01-20T06:00:00Z\"", "never off"},
	} {
		n, err := Parse(strings.Replace(b.Text, c.old, c.new, 1))
		if err != nil {
			t.Fatal(err)
		}
		if m := n.Sound("en", "es"); len(m) == 0 || !strings.Contains(m.Error(), c.want) {
			t.Errorf("%s: %v", c.new, m)
		}
	}
	keys := [][2]string{{"kind", "alert"}, {"on", "drum"}, {"rings", "drying == 'stalling'"},
		{"say.en", "x"}}
	text, err := b.WithNewCall("stalls", keys)
	if err != nil {
		t.Fatal(err)
	}
	n, _ := Parse(text)
	if m := n.Sound("en", "es"); !strings.Contains(m.Error(), "sentence in es") {
		t.Errorf("a sentence is missing: %v", m)
	}
	if _, err := n.WithNewCall("stalls-too", keys); err == nil ||
		!strings.Contains(err.Error(), "stalls") {
		t.Errorf("two calls for the same thing: %v", err)
	}
}
