package bot

import (
	"regexp"
	"strings"
	"testing"

	"lotbell/bot/words"
	"lotbell/state"
)

// TestCriesHeard: of the made-up cries none is missed, whether the mill and the sender are known or
// not, and of the lines that only look like one none rings. A wish that hurts is refused.
func TestCriesHeard(t *testing.T) {
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	n := map[string]int{}
	for _, l := range floorTable(t, "cries.tsv") {
		c := floorContext(l)
		for _, known := range []Context{c, {Zone: c.Zone, At: c.At}} {
			h := Read(l.raw, known, w)
			what := strings.TrimSuffix(strings.Fields(l.note)[0], ":")
			if what == "ASK" && len(known.Places) == 0 {
				continue // of a place that is none, nobody knows what is meant
			}
			rings := find(h.Facts, state.Help) != nil
			refused := find(h.Facts, SaysUnsafe) != nil
			if rings != (what == "URGENT") || refused != (what == "REFUSE") {
				t.Errorf("%q (%d places): %s", l.raw, len(known.Places), heardText(h))
			}
			n[what]++
		}
	}
	if n["URGENT"] < 2*60 || n["OK"]+n["ASK"] < 2*60 || n["REFUSE"] < 2*8 {
		t.Errorf("the table has too few lines: %v", n)
	}
}

// TestNoFalseAlarm: no line of the other tables rings but those that tell of people in danger, of a
// fire or of smoke at no place.
func TestNoFalseAlarm(t *testing.T) {
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	peril := regexp.MustCompile(`help|mark=(sparks|fire)|scope=mill; mark=smoke`)
	for _, name := range []string{"yardstick.tsv", "made-up-1.tsv", "made-up-2.tsv", "made-up-3.tsv",
		"made-up-4.tsv", "made-up-5.tsv"} {
		for _, l := range floorTable(t, name) {
			h := Read(l.raw, floorContext(l), w)
			if find(h.Facts, state.Help) != nil && !peril.MatchString(l.facts) {
				t.Errorf("%s: %q rings: %s", name, l.raw, l.facts+" | "+l.note)
			}
		}
	}
}
