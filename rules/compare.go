package rules

import "lotbell/state"

// Rang lists Lotbell's own call steps of a journal, in order: what rang, rang again and ended.
func Rang(es []state.Event) []state.Event {
	var out []state.Event
	for _, e := range es {
		if !spoken(e) {
			out = append(out, e)
		}
	}
	return out
}
