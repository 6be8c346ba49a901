package rules

import (
	"slices"

	"lotbell/state"
)

// Verdict is what a guard says about an act, with the comparisons it made.
type Verdict struct {
	Guard *Guard
	Stop  string // StopAsk, StopPassOn, StopForbid
	Why   []state.Compared
	Seen  *View // what the guard looked at, for its sentence
}

// Guard says which guards stand against an act on a subject at an instant, the strictest first.
// Orders may be turned back or passed on; a fact that has happened may only be questioned, which
// is for the caller to know. A guard that cannot be told does not stand.
func (b *Book) Guard(m *state.Mill, k *Knowledge, of state.Subject, a Act,
	at state.Instant) []Verdict {
	var out []Verdict
	var v *View
	for _, g := range b.Guards {
		if !slices.Contains(g.On, a.What) ||
			g.From != "" && g.From != string(m.KindOf(of.Name)) {
			continue
		}
		if v == nil {
			v = newView(m, b, k, of, at)
			v.act = &a
		}
		if g.When.Truth(v) == state.Yes {
			out = append(out, Verdict{g, g.Stop, g.When.Why(v), v})
		}
	}
	order := []string{StopForbid, StopPassOn, StopAsk}
	slices.SortStableFunc(out, func(a, b Verdict) int {
		return slices.Index(order, a.Stop) - slices.Index(order, b.Stop)
	})
	return out
}

// Look opens a view of a subject at an instant, for sentences and answers.
func (b *Book) Look(m *state.Mill, k *Knowledge, of state.Subject, at state.Instant) *View {
	return newView(m, b, k, of, at)
}

// Done gives the view back, to be used again. Neither it nor what came of it but plain values may be
// touched afterwards.
func (v *View) Done() { v.know.spare = v }
