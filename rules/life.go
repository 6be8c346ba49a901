package rules

import (
	"lotbell/state"
)

// Life is where a call of the book stands about a subject, in the words of ISA-18.2 / IEC 62682
// (the letters are those of the standards' state diagram; by way of secondary texts).
type Life string

// The states. Latched alarms (E, F) are not kept: there is no reset by hand.
const (
	Normal         Life = "normal"                   // A
	Unacknowledged Life = Life(state.Unacknowledged) // B
	Acknowledged   Life = Life(state.Acknowledged)   // C
	Returned       Life = Life(state.Returned)       // D
	Shelved        Life = Life(state.Shelved)        // G: until an instant
	Suppressed     Life = "suppressed by design"     // H: there is no coffee, or only says no
	OutOfService   Life = "out of service"           // I: off until
	Stale          Life = "stale input"              // what it reads is too old, or was never read
)

// LifeOf is where a call stands about a subject at an instant, with the call when one stands or was
// never taken, and what nobody has told when its input is stale.
func (b *Book) LifeOf(m *state.Mill, k *Knowledge, r *Rule, of state.Subject,
	at state.Instant) (Life, *state.Call, []string) {
	if r.IdleUntil > at {
		return OutOfService, nil, nil
	}
	key := state.CallKey{Rule: r.Name, Of: of}
	if c := m.Standing(key); c != nil {
		return Life(c.State), c, nil
	}
	v := newView(m, b, k, of, at)
	empty := v.place != "" && (v.stay == nil || !v.stay.OpenAt(at))
	switch is := r.When.Truth(v); {
	case empty && (!r.PerPlace || is != state.Yes), r.Only != nil && r.Only.Truth(v) == state.No:
		return Suppressed, nil, nil
	case is == state.CannotTell:
		return Stale, nil, r.When.missing(v)
	case is == state.No && r.When.root.ifFresh(v, false) != state.No:
		return Stale, nil, nil
	}
	for _, c := range m.Returned() {
		if c.Key() == key {
			return Returned, c, nil
		}
	}
	return Normal, nil, nil
}

// ifFresh is the truth of a condition, or of its opposite, as it might be had everything been read
// just now: what fails only because a reading is too old cannot be told.
func (n *node) ifFresh(v *View, not bool) state.Truth {
	switch n.op {
	case opNot:
		return n.kids[0].ifFresh(v, !not)
	case opAnd, opOr:
		a, b := n.kids[0].ifFresh(v, not), n.kids[1].ifFresh(v, not)
		decides := state.No
		if n.joins(not) == "or" {
			decides = state.Yes
		}
		if a == decides || b == decides {
			return decides
		}
		if a == state.CannotTell || b == state.CannotTell {
			return state.CannotTell
		}
		return opposite(decides)
	}
	is := n.truth(v)
	if not {
		is = opposite(is)
	}
	if n.op == opCompare && is == state.No {
		if s := n.said(not); s.fact != nil && s.fact.ofReading && (s.cmp == "<" || s.cmp == "<=") {
			return state.CannotTell
		}
	}
	return is
}
