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

// Load is how many times somebody was, or would have been, rung.
type Load struct {
	Person   state.PersonID
	Rings    int
	MostHour int // in the busiest hour of the clock
}

// Loads counts the rings of each person from an instant on, the busiest first. The guidance of
// the alarm standards for one operator is about one in ten minutes (EEMUA 191, ISA-18.2, from
// secondary texts); a person with a phone and wet hands should get much less.
func Loads(es []state.Event, from state.Instant) []Load {
	rings := map[state.PersonID]int{}
	hours := map[state.PersonID]map[int64]int{}
	for _, e := range es {
		s, ok := e.Body.(state.CallStep)
		if !ok || e.At < from || s.What != state.Rang && s.What != state.Again {
			continue
		}
		for _, id := range s.To {
			if hours[id] == nil {
				hours[id] = map[int64]int{}
			}
			rings[id]++
			hours[id][int64(e.At)/int64(time.Hour/time.Millisecond)]++
		}
	}
	var out []Load
	for id, n := range rings {
		l := Load{Person: id, Rings: n}
		for _, k := range hours[id] {
			l.MostHour = max(l.MostHour, k)
		}
		out = append(out, l)
	}
	slices.SortFunc(out, func(a, b Load) int {
		return cmp.Or(b.Rings-a.Rings, cmp.Compare(a.Person, b.Person))
	})
	return out
}
