package bot

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// Why a call rang, in the words of whoever reads it: the comparisons its rule made, without the names
// that the book has for things.

// ground is one comparison in words: what it is about, and whether it is what rang or only a bound
// within which that counts ("air under 70 C", "read less than 2 h ago").
type ground struct {
	text, about   string
	figure, bound bool
}

// whyRang tells what a call rested on, in one line: figures first, bounds only where they are all.
func (t *turn) whyRang(c *state.Call) {
	kind := string(t.mill.KindOf(c.Of.Name))
	if c.Of.Kind == state.OfMill || c.Of.Kind == state.OfPost {
		kind = c.Of.Kind
	}
	var all []ground
	for _, w := range c.Why {
		if g := t.compared(w, kind); g.text != "" && !slices.Contains(all, g) {
			all = append(all, g)
		}
	}
	slices.SortStableFunc(all, func(a, b ground) int { return rank(a) - rank(b) })
	if len(all) > 0 && !all[0].bound {
		all = slices.DeleteFunc(all, func(g ground) bool { return g.bound })
	}
	var said []string
	for _, g := range all {
		said = append(said, g.text)
	}
	if len(said) > 0 {
		t.say("why.call", "number", c.Number, "call", t.callName(c.Rule, t.lang()), "why",
			strings.Join(said, "; "))
	}
}

// rank puts figures before words, and bounds last.
func rank(g ground) int {
	switch {
	case g.bound:
		return 2
	case g.figure:
		return 0
	}
	return 1
}

// compared words one comparison that a rule made: "air 63 C, over the limit 60 C". What is only a
// condition of looking, or cannot be told, is not worth a word.
func (t *turn) compared(c state.Compared, kind string) ground {
	sign := operator(c.Text)
	l, r, ok := strings.Cut(c.Text, " "+sign+" ")
	switch {
	case c.Is == state.CannotTell || c.LeftWord != "" || c.RightWord != "":
		return ground{}
	case !ok:
		name, not := strings.CutPrefix(c.Text, "not ")
		if not || c.Is != state.Yes || name == "held" || name == "dial_known" {
			return ground{}
		}
		return ground{text: t.factName(name), about: name}
	case c.Is == state.No: // the other way round is true
		sign = map[string]string{"<": ">=", "<=": ">", ">": "<=", ">=": "<", "==": "!=", "!=": "=="}[sign]
	}
	unit := unitOf(kind, l, r)
	if unit == rules.Moment && l == "now" {
		return ground{text: t.voice.Say(t.lang(), "why.due", "time", t.amountOf(c.R, unit)), about: r,
			figure: true, bound: sign[0] == '<'}
	}
	age := strings.HasSuffix(l, "age")
	return ground{about: l, figure: true, bound: sign[0] == '<' && (age || l == "air" || l == "now") ||
		l == "hour" || strings.HasPrefix(l, "on_duty") || l == "running",
		text: t.voice.Say(t.lang(), "why."+signs[sign], "left", t.sideOf(l, c.L, unit), "right",
			t.sideOf(r, c.R, unit))}
}

// signs are the names of the comparisons.
var signs = map[string]string{"<": "under", "<=": "most", ">": "over", ">=": "least", "==": "is",
	"!=": "isnt"}

// unitOf is the unit of a comparison's sides: that of the first name in them.
func unitOf(kind, l, r string) rules.Unit {
	for _, text := range [...]string{l, r} {
		for _, word := range strings.Fields(strings.Trim(text, "()")) {
			if u, ok := rules.UnitOf(kind, word); ok {
				return u
			}
		}
	}
	return rules.Plain
}

// sideOf is one side of a comparison: what it is and how much.
func (t *turn) sideOf(text string, x float64, unit rules.Unit) string {
	amount := t.amountOf(x, unit)
	switch {
	case strings.HasPrefix(text, "limit."):
		return t.voice.Say(t.lang(), "why.limit", "value", amount)
	case strings.Trim(text, "abcdefghijklmnopqrstuvwxyz_0123456789") == "" && text[0] > '9':
		name := t.factName(text)
		if with := strings.Replace(name, "{value}", amount, 1); with != name {
			return with
		}
		return name + " " + amount
	}
	return amount
}

// amountOf is a figure of a comparison with its unit.
func (t *turn) amountOf(x float64, unit rules.Unit) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "?"
	}
	switch unit {
	case rules.Moment:
		return t.clock(state.Instant(x))
	case rules.Span:
		return spanWords(time.Duration(x) * time.Millisecond)
	case rules.Plain:
		return plainNumber(x, 2)
	case rules.Kilo:
		return plainNumber(x, 0) + " kg"
	}
	return plainNumber(x, 1) + " " + string(unit)
}

// factName is what a name of the rules is called: by a sentence of the voice, or that of the mark.
func (t *turn) factName(name string) string {
	for _, key := range [...]string{"fact." + name, "mark." + strings.ReplaceAll(name, "_", "-")} {
		if t.voice.Has("en", key) {
			return t.voice.Say(t.lang(), key)
		}
	}
	if n, err := strconv.ParseFloat(name, 64); err == nil {
		return plainNumber(n, 2)
	}
	return strings.ReplaceAll(name, "_", " ")
}
