package rules

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// soundBook is a small book without mistakes; tests put one into it.
const soundBook = `language = 1

[limit.hot]
value = 60
unit = "C"
low = 30
high = 75
why = "x"

[[call]]
name = "first"
kind = "prompt"
on = "drum"
rings = "air > limit.hot"
say.en = "{place} {air}"

[[call]]
name = "second"
kind = "alarm"
on = "tank"
due = "ready_early - 2h"
until = "rough"
only = "process == 'washed'"
who = ["post", "lead"]
then = ["manager 20min"]
respond = "30min"
cause = "c"
consequence = "c"
action = "a"
say.en = "{place}"
say.es = "{place} {ready_early}"

[[guard]]
name = "third"
on = ["unload"]
from = "drum"
stop = "ask"
when = "hum > 12"
say.en = "{hum}"

[[summary]]
name = "morning"
at = "0 5 * * *"
to = ["manager"]
shows = ["decide"]
`

// TestMistakesInABook: each is told with its line, what it is and what was perhaps meant, and
// there is no book.
func TestMistakesInABook(t *testing.T) {
	if _, err := Parse(soundBook); err != nil {
		t.Fatalf("the sound book: %v", err)
	}
	long := "{place} " + strings.Repeat("ä", 140)
	for _, x := range []struct {
		old, new string
		kind     MistakeKind
		line     int
		in, hint string // parts
	}{
		{"language = 1", "language = 2", BadValue, 1, "language", ""},
		{"language = 1", "langauge = 1", UnknownKey, 1, "", "language"},
		{"language = 1", "language = 'x'", BadSyntax, 1, "", ""},
		{"why = \"x\"", "whi = \"x\"", UnknownKey, 8, "", "why"},
		{"value = 60", "value = 80", OutOfRange, 4, "limit hot", "30 to 75 C"},
		{"value = 60", "value = 29.9", OutOfRange, 4, "limit hot", "30 to 75 C"},
		{"value = 60", "value = nan", OutOfRange, 4, "limit hot", ""},
		{"value = 60", "value = inf", OutOfRange, 4, "limit hot", ""},
		{"low = 30", "low = -inf", OutOfRange, 4, "limit hot", ""},
		{"high = 75", "high = 30", OutOfRange, 4, "limit hot", ""},
		{"value = 60", "value = 'x'", BadSyntax, 4, "", ""},
		{"unit = \"C\"", "unit = \"F\"", BadValue, 4, "limit hot", "pH"},
		{"[limit.hot]", "[limit.'too-hot']", BadValue, 4, "limit too-hot", "drum_air_wet"},
		{"name = \"first\"", "", Missing, 10, "call", "name ="},
		{"name = \"second\"", "name = \"first\"", Twice, 18, "call first", ""},
		{"[[guard]]\nname = \"third\"", "[[call]]\nname = \"b\"\nkind = \"alert\"\non = \"drum\"\n" +
			"rings = \"air  > (limit.hot)\"\nsay.en = \"x\"\n[[guard]]\nname = \"third\"", SameThing, 37, "call b",
			""},
		{"kind = \"prompt\"", "kind = \"remind\"", BadValue, 12, "call first", "alarm, alert or prompt"},
		{"on = \"drum\"", "on = \"drums\"", BadValue, 13, "call first", "drum"},
		{"on = \"drum\"", "on = \"drum\"\nper = \"lot\"", BadValue, 14, "call first", "place"},
		{"on = \"drum\"\nrings = \"air > limit.hot\"\nsay.en = \"{place} {air}\"",
			"on = \"mill\"\nper = \"place\"\nrings = \"help\"\nsay.en = \"x\"", BadValue, 14, "call first",
			"place"},
		{"rings = \"air", "rings = \"airr", NoSuchName, 14, "call first, rings", "air"},
		{"limit.hot\"", "limit.hott\"", NoSuchName, 14, "call first, rings", "limit.hot"},
		{"rings = \"air > limit.hot\"", "", Missing, 11, "call first", "rings"},
		{"rings = \"air > limit.hot\"", "rings = \"2 > 1\"", NotAllowed, 14, "call first, rings", ""},
		{"rings = \"air > limit.hot\"", "rings = \"air > 60\"\nuntil = \"smoke\"", BadValue, 15,
			"call first", "stops"},
		{"rings = \"air > limit.hot\"", "rings = \"air > 60\"\ndue = \"came\"", Missing, 11,
			"call first", ""},
		{"rings = \"air > limit.hot\"", "rings = \"air > limit.hot\"\nstops = \"air < 61\"", NeverClears,
			15, "call first", "safe side"},
		{"rings = \"air > limit.hot\"", "rings = \"air > limit.hot\"\nstops = \"air < limit.hot + 1\"",
			NeverClears, 15, "call first", ""},
		{"rings = \"air > limit.hot\"", "rings = \"age > 2 h\"", BadSyntax, 14, "call first, rings",
			"without a space"},
		{"rings = \"air > limit.hot\"", "rings = \"air > 60,5\"", DecimalComma, 14,
			"call first, rings", "60.5"},
		{"ready_early - 2h\"", "ready_earli - 2h\"", NoSuchName, 21, "call second, due", "ready_early"},
		{"ready_early - 2h\"", "ready_early or rough\"", BadValue, 21, "call second", "ready_early"},
		{"ready_early - 2h\"", "ready_early\"\nstops = \"rough\"", BadValue, 22, "call second", "until"},
		{"until = \"rough\"", "until = \"rouhg\"", NoSuchName, 22, "call second, until", "rough"},
		{"process == 'washed'", "proces == 'washed'", NoSuchName, 23, "call second, only", "process"},
		{"\"post\", \"lead\"", "\"post\", \"laed\"", NoSuchName, 24, "call second", "lead"},
		{"manager 20min", "manager 20", BadValue, 25, "call second", "deputy 20min"},
		{"manager 20min", "20min", BadValue, 25, "call second", "deputy 20min"},
		{"manager 20min", "boss 20min", NoSuchName, 25, "call second", ""},
		{"manager 20min\"", "manager 20min\", \"keeper 10min\"", BadValue, 25, "call second", "later"},
		{"respond = \"30min\"", "respond = \"soon\"", BadValue, 26, "call second", "20min"},
		{"respond = \"30min\"\n", "", NotAnAlarm, 19, "call second", ""},
		{"action = \"a\"\n", "", NotAnAlarm, 19, "call second", ""},
		{"action = \"a\"", "action = \"a\"\npriority = 5", OutOfRange, 30, "call second", "1 to 4"},
		{"action = \"a\"", "action = \"a\"\nasks = \"moisture\"", BadValue, 30, "call second", "hum_pct"},
		{"say.es = \"{place} {ready_early}\"", "say.es = \"{plaec}\"", NoSuchName, 31, "call second, say.es",
			"place"},
		{"say.es = \"{place} {ready_early}\"", "say.es = \"{place\"", NoSuchName, 31,
			"call second, say.es", ""},
		{"say.es = \"{place} {ready_early}\"", "say.es = \"" + long + "\"", LongText, 31,
			"call second, say.es", ""},
		{"say.en = \"{place} {air}\"\n", "", Missing, 11, "call first", "say.en"},
		{"name = \"third\"", "", Missing, 33, "guard", "name ="},
		{"[\"unload\"]", "[\"unlode\"]", BadValue, 35, "guard third", "unload"},
		{"[\"unload\"]", "[]", Missing, 35, "guard third", "unload"},
		{"from = \"drum\"", "from = \"drumm\"", BadValue, 36, "guard third", "drum"},
		{"stop = \"ask\"", "stop = \"refuse\"", BadValue, 37, "guard third", "pass-on"},
		{"when = \"hum > 12\"", "when = \"hum > 12h\"", MixedUnits, 38, "guard third, when", ""},
		{"when = \"hum > 12\"", "", Missing, 34, "guard third", "abs"},
		{"say.en = \"{hum}\"", "say.en = \"{humm}\"", NoSuchName, 39, "guard third, say.en", "hum"},
		{"name = \"morning\"", "", Missing, 41, "summary", "name"},
		{"0 5 * * *", "0 25 * * *", BadValue, 43, "summary morning", "0 5 * * *"},
		{"0 5 * * *", "TZ=0 5 * * *", BadValue, 43, "summary morning", "0 5 * * *"},
		{"0 5 * * *", "CRON_TZ=UTC", BadValue, 43, "summary morning", ""},
		{"0 5 * * *", "@every -5s", BadValue, 43, "summary morning", ""},
		{"[\"manager\"]\nshows", "[\"managr\"]\nshows", NoSuchName, 44, "summary morning", "manager"},
		{"[\"manager\"]\nshows", "[]\nshows", Missing, 44, "summary morning", "manager"},
		{"[\"decide\"]", "[\"deside\"]", BadValue, 45, "summary morning", "decide"},
		{"shows = [\"decide\"]", "shows = [\"decide\"", BadSyntax, 45, "", ""},
	} {
		if strings.Count(soundBook, x.old) == 0 {
			t.Fatalf("the sound book has no %q", x.old)
		}
		b, err := Parse(strings.Replace(soundBook, x.old, x.new, 1))
		var ms Mistakes
		if b != nil || !errors.As(err, &ms) {
			t.Errorf("%s: %v, %v", x.new, b, err)
			continue
		}
		m := ms[0]
		if m.Kind != x.kind || m.Line != x.line || !strings.Contains(m.In, x.in) ||
			!strings.Contains(m.Hint, x.hint) {
			t.Errorf("%s:\n%s at line %d in %q, hint %q: %v", x.new, m.Kind, m.Line, m.In, m.Hint, err)
		}
		if s := err.Error(); strings.Contains(s, "rules.") || strings.Contains(s, "struct") ||
			strings.Contains(s, "float64") {
			t.Errorf("%s is answered in a programmer's words: %s", x.new, s)
		}
	}
}

// TestAllMistakesAtOnce: a keeper is told everything that is wrong, in the order of the book's
// parts, and of a very bad book only the first.
func TestAllMistakesAtOnce(t *testing.T) {
	text := strings.NewReplacer("value = 60", "value = 99", "air > limit", "airr > limit",
		"until = \"rough\"", "until = \"ruff\"", "hum > 12", "humm > 12", "0 5 * * *", "x").
		Replace(soundBook)
	_, err := Parse(text)
	if n := strings.Count(err.Error(), "\n") + 1; n != 5 {
		t.Errorf("%d mistakes:\n%v", n, err)
	}
	many := ""
	for i := range 3000 {
		many += fmt.Sprintf("[[call]]\nname = \"c%d\"\nkind = \"x\"\non = \"drum\"\nrings = \"y\"\n", i)
	}
	_, err = Parse(many)
	var ms Mistakes
	if errors.As(err, &ms); len(ms) != maxMistakes {
		t.Errorf("%d mistakes are told", len(ms))
	}
}

// TestLinesAreFound in the several ways of writing a table.
func TestLinesAreFound(t *testing.T) {
	lines := linesOf(`a = 1
[limit.x]
value = 3
[limit.y] # note
  low = 4
[[call]]
name = "a"
[call.say]
en = "x"
[[ call ]]
rings = "a == 'b'"
say.es = "y"
[[guard]]
`)
	for at, want := range map[string]int{"/a": 1, "limit.x": 2, "limit.x/value": 3, "limit.y/low": 5,
		"call/0": 6, "call/0/say.en": 9, "call/1": 10, "call/1/rings": 11, "call/1/say.es": 12,
		"guard/0": 13} {
		if lines[at] != want {
			t.Errorf("%s is at line %d, want %d", at, lines[at], want)
		}
	}
}

// TestHostileBooks: none stops or slows the program, each has its answer.
func TestHostileBooks(t *testing.T) {
	rings := func(c string) string { return sample(fmt.Sprintf("rings = %q\n", c)) }
	parens := strings.Repeat("(", 100_000)
	for name, text := range map[string]string{
		"five megabytes":        strings.Repeat("# x\n", 5<<18),
		"a million parentheses": sample("rings = \"" + strings.Repeat("(", 1_000_000) + "\"\n"),
		"as many as fit":        sample("rings = \"" + parens + "\"\n"),
		"nested lists":          "a = " + strings.Repeat("[", 200_000),
		"nested tables":         "a = " + strings.Repeat("{a=", 80_000),
		"a long key":            strings.Repeat("a.", 100_000) + "b = 1",
		"a long table":          "[" + strings.Repeat("a.", 100_000) + "b]",
		"nested loops":          rings("all(1..1000, all(1..1000, all(1..1000, # > 5)))"),
		"a loop in arithmetic":  rings("count(1..1e9, # > 5) > 1"),
		"a huge power":          rings("9 ** 9 ** 9 > air"),
		"a long range":          rings("air in 1..1000000000"),
		"a call":                rings("air.String() > 3"),
		"the environment":       rings("$env['air'] > 3"),
		"a pipe":                rings("[1] | map(# * 2) | sum() > air"),
		"a pattern":             rings("owner matches '(a+)+$'"),
		"many nots":             rings(strings.Repeat("not ", 120) + "air > 1"),
		"many questions":        rings(strings.Repeat("smoke ? 1 : ", 39) + "1 > air"),
		"not a text":            "a = \xff\xfe",
		"a null":                "name = \"\x00\"",
		"ten thousand calls":    strings.Repeat("[[call]]\n", 10_000),
		"the largest number":    "[limit.x]\nvalue = 1e999\nlow = 1\nhigh = 2\n",
		"a name of a limit":     "[limit." + strings.Repeat("x", 100_000) + "]\nvalue = 9\n",
		"a limit named limit":   "[limit.limit]\nvalue = 9\n" + rings("limit > 3"),
	} {
		start := time.Now()
		b, err := Parse(text)
		if b != nil || err == nil {
			t.Errorf("%s: it was read", name)
			continue
		}
		if d := time.Since(start); d > 2*time.Second {
			t.Errorf("%s: the answer took %v", name, d)
		}
		if n := len(err.Error()); n > 60_000 {
			t.Errorf("%s: the answer has %d bytes", name, n)
		}
	}
}

// TestShadowingNames: limits are only ever read as limit.x, and a fact is a fact whatever limits
// are called.
func TestShadowingNames(t *testing.T) {
	r := newRig(t, "[limit.air]\nvalue = 5\nlow = 1\nhigh = 9\n[limit.limit]\nvalue = 7\nlow = 1\n"+
		"high = 9\n"+sample("rings = \"air > limit.air and air > limit.limit\"\n"))
	r.say("1 09:00 d1 load p1\n1 10:00 d1 air_c 6")
	if f := r.finding("sample", r.of("d1"), on(1, "11:00")); f.Is.String() != "no" ||
		f.Rule.When.Truth(r.view(r.of("d1"), on(1, "11:00"))) != f.Is {
		t.Errorf("%+v", f)
	}
	r.say("1 10:30 d1 air_c 8")
	if f := r.finding("sample", r.of("d1"), on(1, "11:00")); f.Is.String() != "yes" {
		t.Errorf("%+v", f)
	}
}

// TestSchedules: the lines of summaries are five fields on the mill's own clock.
func TestSchedules(t *testing.T) {
	b := mustRead(t, soundBook)
	at := time.Date(2026, 5, 1, 5, 0, 0, 0, time.FixedZone("", -5*3600))
	if next := b.Summaries[0].Next(at); !next.Equal(at.AddDate(0, 0, 1)) {
		t.Errorf("after 05:00 the next is %v", next)
	}
	for _, bad := range []string{"", "TZ=", "TZ=0", "CRON_TZ=UTC 0 5 * * *", "* * * *", "* * * * * *",
		"@daily", "60 0 * * *", "0 0 * * 8", "a b c d e"} {
		if _, err := schedule(bad); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

// FuzzParse: no text of a book stops the program; what is read speaks for itself: its conditions
// print and read again.
func FuzzParse(f *testing.F) {
	f.Add(DefaultText())
	f.Add(soundBook)
	f.Add("[limit.x]\nvalue = nan\n")
	f.Add("[[call]]\non = \"mill\"\nkind = \"alarm\"\nrings = \"help\"\n[[summary]]\nat = \"TZ=\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		b, err := Parse(text)
		if (b == nil) == (err == nil) {
			t.Fatalf("book %v, error %v", b != nil, err)
		}
		if err != nil && err.Error() == "" {
			t.Fatal("an error that says nothing")
		}
		if b == nil {
			return
		}
		b.Sound("en", "es")
		for _, r := range b.Calls {
			if again, err := compile(r.When.String(), b, namesOn(r.On)); err == nil &&
				again.String() != r.When.String() {
				t.Fatalf("%s reads as %s", r.When, again)
			}
		}
	})
}

// FuzzCondition: no text of a condition stops the program; what is read prints in one way, has a
// truth and names no instant in the past.
func FuzzCondition(f *testing.F) {
	for _, s := range []string{"air > 60 and not (hum < 12)", "age > 1.5h", "now >= came + 2h",
		"air ≥ limit.drum_air_wet", "(smoke ? 1 : 2) > air", "process == “x”", "hum > 12,5",
		"abs(-air) / 2 * 3 - 1 > min(1, 2)", "all([1], # > 2)", "가가 > 1", "hum_now < 12 or night",
		"air > 80 and air < 70", "not (air_age < 1h or smoke)", "(air > hum ? 1 : 2) == 1 or 1 > 2"} {
		f.Add(s)
	}
	r := newRig(f, "")
	r.say("1 09:00 d1 load p1\n1 10:00 d1 air_c 57\n1 10:00 d1 hum_pct 30")
	of, at := r.of("d1"), on(1, "11:00")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := compile(text, r.book, namesOn("drum"))
		if err != nil {
			var m *Mistake
			if !errors.As(err, &m) || m.Col < 1 || m.Col > len([]rune(text))+1 || m.Error() == "" {
				t.Fatalf("%q: %#v", text, err)
			}
			return
		}
		again, err := compile(c.String(), r.book, namesOn("drum"))
		if len([]rune(c.String())) <= maxCondition && (err != nil || again.String() != c.String()) {
			t.Fatalf("%q prints as %q and reads as %v (%v)", text, c, again, err)
		}
		if again != nil && again.sense() != c.sense() {
			t.Fatalf("%q says %s, printed and read %s", text, c.sense(), again.sense())
		}
		v := r.view(of, at)
		is, flips := c.Truth(v), c.Flips(v)
		if c.root.impossible(false) && is == state.Yes || c.root.impossible(true) && is == state.No {
			t.Fatalf("%q is %v", text, is)
		}
		if fresh := c.root.ifFresh(v, false); is == state.Yes && fresh != state.Yes ||
			fresh == state.No && is != state.No {
			t.Fatalf("%q is %v, and read just now %v", text, is, fresh)
		}
		if flips != 0 && flips <= at {
			t.Fatalf("%q flips in the past", text)
		}
		if flips > at+1 && c.Truth(r.view(of, flips-1)) != is {
			t.Fatalf("%q changes before it flips", text)
		}
	})
}
