package rules

import (
	"cmp"
	"slices"
	"time"

	"lotbell/state"
)

// Difference is one call that would have gone another way under another book.
type Difference struct {
	Rule  string
	Of    state.Subject
	What  string        // More, Less, Earlier or Later
	Rang  state.Instant // 0: did not ring
	Would state.Instant // 0: would not ring
}

// The words of Difference.What.
const (
	More    = "more"
	Less    = "less"
	Earlier = "earlier"
	Later   = "later"
)

// sameCall is how far apart two ringings of one rule and subject may be and still be one call.
const sameCall = 12 * time.Hour

// Differ compares what rang with what would have rung, from an instant on: each call that would
// have rung in addition, not at all, or at another minute, in the order of time.
func Differ(rang, would []state.Event, from state.Instant) []Difference {
	a, b := ringings(rang, from), ringings(would, from)
	var out []Difference
	for k := range b {
		if _, ok := a[k]; !ok {
			a[k] = nil
		}
	}
	for k, was := range a {
		out = append(out, pair(k, was, b[k])...)
	}
	slices.SortFunc(out, func(x, y Difference) int {
		return cmp.Or(cmp.Compare(x.at(), y.at()), cmp.Compare(x.Rule, y.Rule),
			cmp.Compare(x.Of.Name, y.Of.Name), cmp.Compare(x.Of.Stay.Opened, y.Of.Stay.Opened))
	})
	return out
}

func (d Difference) at() state.Instant {
	if d.Rang != 0 {
		return d.Rang
	}
	return d.Would
}

// ringings are the instants at which calls first rang, by rule and subject.
func ringings(es []state.Event, from state.Instant) map[state.CallKey][]state.Instant {
	out := map[state.CallKey][]state.Instant{}
	for _, e := range es {
		if s, ok := e.Body.(state.CallStep); ok && s.What == state.Rang && e.At >= from {
			k := state.CallKey{Rule: s.Rule, Of: s.Of}
			out[k] = append(out[k], e.At)
		}
	}
	return out
}

// pair matches the ringings of one rule and subject, which are in order.
func pair(k state.CallKey, was, is []state.Instant) []Difference {
	var out []Difference
	for len(was) > 0 || len(is) > 0 {
		d := Difference{Rule: k.Rule, Of: k.Of}
		switch {
		case len(is) == 0 || len(was) > 0 && is[0].Sub(was[0]) > sameCall:
			d.What, d.Rang, was = Less, was[0], was[1:]
		case len(was) == 0 || was[0].Sub(is[0]) > sameCall:
			d.What, d.Would, is = More, is[0], is[1:]
		default:
			d.Rang, d.Would = was[0], is[0]
			was, is = was[1:], is[1:]
			switch gap := d.Would.Sub(d.Rang); {
			case gap >= time.Minute:
				d.What = Later
			case gap <= -time.Minute:
				d.What = Earlier
			default:
				continue
			}
		}
		out = append(out, d)
	}
	return out
}
