package telegram

import (
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"
)

func TestCommands(t *testing.T) {
	for in, want := range map[string]string{
		"t3 rough":                "t3 rough",
		"/due":                    "due",
		"/due@mill_bot":           "due",
		"/start":                  "start",
		"/start Ab_9-x":           "start Ab_9-x",
		"/ok@mill_bot 14":         "ok 14",
		"/ok 14\n/later 15 20m":   "ok 14\nlater 15 20m",
		"t3 rough\n/due":          "t3 rough\ndue",
		"  /due":                  "due",
		"1/2 lata":                "1/2 lata",
		"/5":                      "/5",
		"/":                       "/",
		"/@mill_bot":              "/@mill_bot",
		"/áspero":                 "/áspero",
		"//due":                   "//due",
		"/due/":                   "/due/",
		"t3 /due":                 "t3 /due",
		"😀 /due":                  "😀 /due",
		"/OK 14":                  "OK 14",
		"/ok\t14":                 "ok\t14",
		"/yes_15":                 "yes_15",
		"":                        "",
		"d1 load p1/p3 2800kg\n/": "d1 load p1/p3 2800kg\n/",
	} {
		same(t, in, commands(in), want)
	}
}

func TestSplit(t *testing.T) {
	for _, x := range []struct {
		name, text string
		want       []string
	}{
		{"fits", "t3: 4200", []string{"t3: 4200"}},
		{"exactly", "0123456789", []string{"0123456789"}},
		{"a break after the last", "0123456789\n", []string{"0123456789"}},
		{"at a line", "t1 wash\nt2 full\nt3", []string{"t1 wash", "t2 full\nt3"}},
		{"at the very end of a line", "0123456789\nabc", []string{"0123456789", "abc"}},
		{"at a space", "t1 is to be washed", []string{"t1 is to", "be washed"}},
		{"anywhere", "0123456789abc", []string{"0123456789", "abc"}},
		{"not inside a character", "012345678😀", []string{"012345678", "😀"}},
		{"a face fits exactly", "01234567😀", []string{"01234567😀"}},
		{"a line before a space", "ab\ncd efgh ijk", []string{"ab", "cd efgh", "ijk"}},
		{"blank", " \n \n", nil},
		{"nothing", "", nil},
		{"a blank part", "0123456789\n          \nabc", []string{"0123456789", "abc"}},
	} {
		same(t, x.name, split(x.text, 10), x.want)
	}
}

// TestSplitLosesNothing: every part fits, and all but the white space at the cuts is there.
func TestSplitLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.SampledFrom([]rune("ab \n😀áx")), 0, 60, -1).Draw(t, "text")
		limit := rapid.IntRange(2, 12).Draw(t, "limit")
		parts := split(text, limit)
		for _, p := range parts {
			if n := len(utf16.Encode([]rune(p))); n > limit || n == 0 {
				t.Fatalf("a part of %d units: %q", n, p)
			}
		}
		if got, want := bare(strings.Join(parts, "")), bare(text); got != want {
			t.Fatalf("got %q, want %q", got, want)
		}
	})
}

func bare(s string) string {
	return strings.NewReplacer(" ", "", "\n", "").Replace(s)
}

func TestUnits(t *testing.T) {
	for in, want := range map[string]int{"": 0, "a": 1, "á": 1, "😀": 2, "a\xff": 2, "ሰ": 1} {
		same(t, in, units(in), want)
	}
}
