package rules

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"lotbell/state"
)

const senseLimits = "[limit.hot]\nvalue = 60\nunit = \"C\"\nlow = 30\nhigh = 75\n"

// TestWrittenOtherwise: conditions that say the same are taken for the same, others are not.
func TestWrittenOtherwise(t *testing.T) {
	r := newRig(t, senseLimits)
	for _, c := range []struct {
		kind, a, b string
		same       bool
	}{
		{"drum", "air > 60", "60 < air", true},
		{"drum", "air > limit.hot", "air > 60", true},
		{"drum", "air > 60 and smoke", "smoke and 60 < air", true},
		{"drum", "air > 60 and smoke and held", "(held and smoke) and air > 60", true},
		{"drum", "not (air > 60 or smoke)", "air <= 60 and not smoke", true},
		{"drum", "not not smoke", "smoke", true},
		{"drum", "smoke or smoke", "smoke", true},
		{"drum", "smoke and 1 < 2", "smoke", true},
		{"drum", "process == 'washed'", "not ('washed' != process)", true},
		{"drum", "age > 2h", "age > 120min", true},
		{"drum", "hum < target", "target > hum", true},
		{"drum", "air > 60", "air >= 60", false},
		{"drum", "air > 60", "air > 61", false},
		{"drum", "air > 60", "bean > 60", false},
		{"drum", "air > 60 and smoke", "air > 60 or smoke", false},
		{"drum", "smoke", "not smoke", false},
		{"drum", "process == 'washed'", "process == 'honey'", false},
		{"drum", "hum - target > 1", "target - hum > 1", false},
		{"drum", "air > (smoke ? 50 : 60)", "air > (smoke ? 60 : 50)", false},
		{"drum", "smoke and (held or warm)", "(smoke and held) or warm", false},
	} {
		if got := r.cond(c.kind, c.a).sense() == r.cond(c.kind, c.b).sense(); got != c.same {
			t.Errorf("%q and %q: the same is %v\n%s\n%s", c.a, c.b, got, r.cond(c.kind, c.a).sense(),
				r.cond(c.kind, c.b).sense())
		}
	}
}

// TestNeverAndAlways: what no reading can make true, and what none can make untrue.
func TestNeverAndAlways(t *testing.T) {
	r := newRig(t, senseLimits)
	for text, want := range map[string]string{
		"air > 60":                                 "",
		"air > 80 and air < 70":                    "never",
		"air > limit.hot and air <= 60":            "never",
		"air >= limit.hot and air <= 60":           "", // at 60
		"70 > air and smoke and 80 < air":          "never",
		"air > 80 and (smoke or air < 70)":         "",
		"(air > 80 and air < 70) or smoke":         "",
		"(air > 80 and air < 70) or hour > 23":     "never",
		"air > 60 or air <= 60":                    "always",
		"air > 60 or air < 60":                     "",
		"air > 60 or smoke or air < 70":            "always",
		"smoke and not smoke":                      "never",
		"smoke or not smoke":                       "always",
		"not (smoke and not smoke)":                "always",
		"hour >= 24":                               "never",
		"hour < 24":                                "always",
		"hour == 23":                               "",
		"hour >= 0":                                "always",
		"air > 151":                                "never", // no dial is read so high
		"air > 149":                                "",
		"ph < 1":                                   "never",
		"hum <= 75":                                "always",
		"air_age < 0min":                           "never",
		"air_age >= 0min":                          "always",
		"age > 5h and age < 4h":                    "never",
		"process == 'washed' and process == 'dry'": "never",
		"process == 'washed' and process != 'dry'": "",
		"process == 'dry' and process != 'dry'":    "never",
		"process == 'dry' or process != 'dry'":     "always",
		"hum > target and hum <= target":           "never",
		"hum > target and hum <= target + 1":       "",
		"smoke and 2 < 1":                          "never",
		"smoke or 1 < 2":                           "always",
	} {
		c := r.cond("drum", text)
		got := ""
		if ms := c.hollow("call x"); len(ms) > 0 {
			got = map[MistakeKind]string{NeverHolds: "never", AlwaysHolds: "always"}[ms[0].Kind]
		}
		if got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}

// TestSenseIsTrue holds over random conditions and floors: what is said to be impossible never
// holds, and two that are said to be the same have one truth.
func TestSenseIsTrue(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 8))
	never, alike, seen := 0, 0, map[string]*Cond{}
	var floors []*rig
	for range 6 {
		floors = append(floors, minuteFloor(t, rnd, ""))
	}
	for range 3000 {
		text := minuteCondition(rnd, "drum")
		if rnd.IntN(2) == 0 {
			text = fmt.Sprintf("(%s) and not (%s)", text, minuteCondition(rnd, "drum"))
		}
		text = strings.ReplaceAll(text, "min", "0min") // few figures, so that they meet
		r := floors[rnd.IntN(len(floors))]
		c := r.cond("drum", text)
		truth := func(c *Cond, r *rig, at state.Instant) state.Truth {
			return c.Truth(r.view(r.of("d1"), at))
		}
		at := on(1, "07:00").Add(1e9 * 60 * 7 * 1)
		for i := range 5 {
			x := at + state.Instant(i*3*3600e3)
			if is := truth(c, r, x); c.root.impossible(false) && is == state.Yes ||
				c.root.impossible(true) && is == state.No {
				t.Fatalf("%s is %v at %s", text, is, clocked(x))
			}
			if o := seen[c.sense()]; o != nil && truth(o, r, x) != truth(c, r, x) {
				t.Fatalf("%s\nand %s\nare taken for the same", c, o)
			}
		}
		if c.root.impossible(false) || c.root.impossible(true) {
			never++
		}
		if o := seen[c.sense()]; o != nil && o.String() != c.String() {
			alike++
		}
		seen[c.sense()] = c
	}
	if never < 20 || alike < 20 {
		t.Errorf("only %d impossible and %d pairs alike", never, alike)
	}
}
