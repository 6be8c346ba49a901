package rules

import (
	"slices"
	"strings"
	"testing"
)

// dangerous finds in a text an act that must never be advised: going into a vessel, reaching into
// a machine, opening what turns, water on a furnace. Saying not to is allowed, in the same clause.
func dangerous(text string) string {
	for _, clause := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return strings.ContainsRune(".;:,!?(", r)
	}) {
		words := " " + clause + " "
		if slices.ContainsFunc([]string{" not ", " nobody ", " nothing ", " never ", " no ", " nadie ",
			" nunca "}, func(no string) bool { return strings.Contains(words, no) }) {
			continue
		}
		for _, act := range []string{" enter", " go in", " goes in", " get in", " climb in",
			" climb on", " lean", " reach in", " hand into", " hands into", " step into", " jump", " open the drum",
			" open the hatch", " guard off", " by hand turn", " turn it by hand", " water on",
			" pour", " entre ", " entren ", " entrar", " metase", " métase", " meta la mano",
			" suba al", " suban al", " asómese", " asomese", " abra la secadora", " agua al fuego",
			" eche agua", " quite la guarda"} {
			if strings.Contains(words, act) {
				return strings.TrimSpace(clause)
			}
		}
	}
	return ""
}

// TestNoSentenceEndangers: nothing the book says, in any language or as an action, sends a hand
// into a machine or a person into a vessel.
func TestNoSentenceEndangers(t *testing.T) {
	for _, bad := range []string{"Enter the tank and look", "Look, then climb in",
		"Meta la mano y pruebe", "Abra la secadora", "Pour water on the fire", "Entre a la pila", "Reach in and clear it"} {
		if dangerous(bad) == "" {
			t.Errorf("%q is not seen to be dangerous", bad)
		}
	}
	b := mustRead(t, DefaultText())
	var texts []string
	for _, r := range b.Calls {
		texts = append(texts, r.Action)
		for _, s := range r.Says {
			texts = append(texts, s)
		}
	}
	for _, g := range b.Guards {
		for _, s := range g.Says {
			texts = append(texts, s)
		}
	}
	for _, s := range texts {
		if bad := dangerous(s); bad != "" {
			t.Errorf("%q says %q", s, bad)
		}
	}
}
