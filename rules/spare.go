package rules

import (
	"slices"

	"lotbell/state"
)

// callsAnHour is the limit of the book that says how many rings one person gets in an hour. A book
// without it sets no bound.
const callsAnHour = "calls_an_hour"

// spare keeps rings from those who have had as many in the last hour as the book allows. Where that
// leaves nobody, the call goes to the shift lead, else to a deputy or a manager, whoever has room;
// where nobody has, to whom it was meant for: a call told to no one is worse than one too many.
// What is of the first priority spares nobody, and what is private goes to nobody else.
func (b *Book) spare(m *state.Mill, steps []state.CallStep, at state.Instant) {
	most, ok := b.Limits[callsAnHour]
	if !ok {
		return
	}
	rings := map[state.PersonID]int{}
	had := func(p state.PersonID) int {
		if _, ok := rings[p]; !ok {
			rings[p] = m.Rings(p, at)
		}
		return rings[p]
	}
	full := func(p state.PersonID) bool { return had(p) >= int(most.Value) }
	for _, s := range urgentFirst(steps) {
		if r := b.Rule(s.Rule); s.Priority > 1 && !r.private() && slices.ContainsFunc(s.To, full) {
			s.To, s.For = instead(m, s, full, at)
		}
		for _, p := range s.To {
			rings[p] = had(p) + 1
		}
	}
}

// urgentFirst lists the steps that ring, by priority.
func urgentFirst(steps []state.CallStep) []*state.CallStep {
	var out []*state.CallStep
	for i := range steps {
		if s := &steps[i]; s.What == state.Rang || s.What == state.Again {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b *state.CallStep) int { return a.Priority - b.Priority })
	return out
}

// instead is whom a ring goes to when some have had their hour's calls, and who those are.
func instead(m *state.Mill, s *state.CallStep, full func(state.PersonID) bool,
	at state.Instant) (to, spared []state.PersonID) {
	for _, p := range s.To {
		if full(p) {
			spared = append(spared, p)
		} else {
			to = append(to, p)
		}
	}
	for _, role := range []state.Role{state.Lead, state.Deputy, state.Manager} {
		if len(to) > 0 {
			break
		}
		to = slices.DeleteFunc(reachable(m, Whom(m, string(role), s.Of, at)), full)
	}
	if len(to) == 0 {
		return spared, nil
	}
	return to, spared
}
