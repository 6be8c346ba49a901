package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// runs is a number of drums' stays, one a day from 08:00 to 18:00; the air is 61 from 10:00 and 55
// from 12:00 on, the coffee at 30 %.
func runs(n int) string {
	var b strings.Builder
	for day := 1; day <= n; day++ {
		fmt.Fprintf(&b, "%d 07:00 p1 add 2000\n%d 08:00 d1 load p1\n%d 09:00 d1 hum_pct 30\n"+
			"%d 10:00 d1 air_c 61\n%d 12:00 d1 air_c 55\n%d 18:00 s1 unload d1\n", day, day, day, day,
			day, day)
	}
	return b.String()
}

// trialBook is a book of calls on drums, "name rings", one a line; "/name rings" is per place.
func trialBook(calls string) string {
	out := ""
	for line := range strings.Lines(calls) {
		name, rings, ok := strings.Cut(strings.TrimSpace(line), " ")
		if !ok {
			continue
		}
		per := ""
		if name[0] == '/' {
			name, per = name[1:], "per = \"place\"\n"
		}
		out += fmt.Sprintf("[[call]]\nname = %q\nkind = \"alert\"\non = \"drum\"\nrings = %q\n%s"+
			"say.en = \"{place}\"\n", name, rings, per)
	}
	return out
}

// TestTrials: of each call by itself, on six drums and on four.
func TestTrials(t *testing.T) {
	t.Parallel()
	const calls = `
		hot air > 60
		/hot-place held and air > 60
		hotter air > 65
		wet hum > 12 or not hum_known
		/unread held and not temp_known
		/smokes smoke and smoke_age < 1h`
	for n, want := range map[int]string{
		6: "hot 6 of 6, 20 %, like hot-place; hot-place 6 of 6, 20 %, like hot; hotter 0 of 6, 0 %, " +
			"never; wet 6 of 6, 100 %, always, like unread; unread 6 of 6, 100 %, always, like wet; " +
			"smokes 0 of 6, 0 %, never",
		4: "hot 4 of 4, 20 %, like hot-place, cannot tell; hot-place 4 of 4, 20 %, like hot, cannot tell; " +
			"hotter 0 of 4, 0 %, cannot tell; wet 4 of 4, 100 %, like unread, cannot tell; " +
			"unread 4 of 4, 100 %, like wet, cannot tell; smokes 0 of 4, 0 %, cannot tell",
	} {
		l := lived(t, DefaultText(), runs(n))
		l.step([]said{{body: state.Start{Program: "test"}}})
		b := l.read(trialBook(calls))
		run, err := Rehearse(l.es, b, Parse)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, x := range b.Try(l.es, run, b.Changed(l.read(DefaultText()), l.now), 0) {
			s := fmt.Sprintf("%s %d of %d, %.0f %%", x.Rule, x.Rings, x.Closed, 100*x.Share)
			for word, is := range map[string]bool{", never": x.Never(), ", always": x.Always()} {
				if is {
					s += word
				}
			}
			if x.Like != "" {
				s += ", like " + x.Like
			}
			if !x.Tells() {
				s += ", cannot tell"
			}
			got = append(got, s)
		}
		if strings.Join(got, "; ") != want {
			t.Errorf("on %d drums\n%s\nwant\n%s", n, strings.Join(got, "; "), want)
		}
	}
}

// TestTrialsOfTheWindow: only what was in the days looked at counts.
func TestTrialsOfTheWindow(t *testing.T) {
	t.Parallel()
	l := lived(t, DefaultText(), runs(6))
	b := l.read(trialBook("hot air > 60"))
	run, err := Rehearse(l.es, b, Parse)
	if err != nil {
		t.Fatal(err)
	}
	x := b.Try(l.es, run, b.Calls, on(4, "11:00"))
	if len(x) != 1 || x[0].Rings != 3 || x[0].Closed != 3 {
		t.Errorf("since the fourth day, 11:00: %+v", x)
	}
	mill := l.read("[[call]]\nname = \"day\"\nkind = \"alert\"\non = \"mill\"\nrings = \"hour < 18\"\n" +
		"say.en = \"x\"\n")
	run, _ = Rehearse(l.es, mill, Parse)
	// Of the whole mill every stay counts: six drums and six patios.
	if x = mill.Try(l.es, run, mill.Calls, 0); x[0].Closed != 12 || x[0].Rings != 6 {
		t.Errorf("of the mill: %+v", x)
	}
}

// TestChangedCalls: those that ring for something else or at another time, not those that only
// tell others.
func TestChangedCalls(t *testing.T) {
	old := defaultBook(t)
	at := on(1, "08:00")
	for _, c := range []struct {
		what string
		text func() (string, error)
		want string
	}{
		{"a limit", func() (string, error) { return old.WithLimit("drum_air_wet", 58) },
			"drum-hot drum-hot-dry"},
		{"a wait", func() (string, error) {
			return old.WithCall("mould", [][2]string{{"wait", "10min"}})
		}, "mould"},
		{"an off-delay", func() (string, error) {
			return old.WithCall("mould", [][2]string{{"off", "10min"}})
		}, "mould"},
		{"a stop", func() (string, error) {
			return old.WithCall("heating-quick", [][2]string{{"stops", "air_slope <= 5"}})
		}, "heating-quick"},
		{"per place", func() (string, error) {
			return old.WithCall("mould", [][2]string{{"per", "place"}})
		}, "mould"},
		{"a ladder", func() (string, error) {
			return old.WithCall("mould", [][2]string{{"then", "deputy 10min"}, {"again", "1h"}})
		}, ""},
		{"quiet hours", func() (string, error) {
			return old.WithCall("mould", [][2]string{{"priority", "4"}})
		}, "mould"},
		{"switched off", func() (string, error) {
			return old.WithCall("mould", Off(at.Add(time.Hour).Time(), "x"))
		}, ""},
		{"written otherwise", func() (string, error) {
			return old.WithCall("mould", [][2]string{{"rings", "not not mould"}})
		}, ""},
		{"a new one", func() (string, error) {
			return old.WithNewCall("deep", [][2]string{{"kind", "prompt"}, {"on", "patio"},
				{"rings", "depth_cm > 4"}, {"say.en", "x"}})
		}, "deep"},
	} {
		text, err := c.text()
		if err != nil {
			t.Fatal(c.what, err)
		}
		names := func(rs []*Rule) string {
			var out []string
			for _, r := range rs {
				out = append(out, r.Name)
			}
			return strings.Join(out, " ")
		}
		if got := names(mustRead(t, text).Changed(old, at)); got != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
		if c.what == "switched off" {
			if got := names(old.Changed(mustRead(t, text), at)); got != "mould" {
				t.Errorf("on again: %q", got)
			}
		}
	}
}
