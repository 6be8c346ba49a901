package ferment

import (
	"math"
	"time"
)

// spread is what is believed of the progress at which a tank completes: a logistic distribution
// of which nothing is left below the last slippery test. It is log-concave, and that is what makes
// a warmer tank never later and one more slippery test never earlier, wherever the test lies.
type spread struct {
	centre, scale float64
	above         float64 // completion lies above; -Inf without a slippery test
}

// at is the quantile q (0 to 1) of the spread.
func (s spread) at(q float64) float64 {
	z := (s.above - s.centre) / s.scale
	if z > 600 { // e^-z would vanish: the tail is a plain exponential there
		return s.above - s.scale*math.Log(1-q)
	}
	over := (1 - q) * sigmoid(-z) // chance of more, exact also far out
	return max(s.centre+s.scale*math.Log((1-over)/over), s.above)
}

// held is the time in which a tank is taken to have completed: from the last slippery test, but
// not so long before the rough test or washing that it would have been spoilt by then. Without
// either it ends as long after the slippery one.
type held struct{ from, to time.Time }

func (b bounds) held(youngest time.Time) held {
	h := held{b.from, b.to}
	if h.to.IsZero() {
		h.to = youngest.Add(span(h.from.Sub(youngest).Hours() * spoilAt))
	}
	least := youngest.Add(span(h.to.Sub(youngest).Hours() / spoilAt))
	if least.After(h.from) {
		h.from = least
	}
	return h
}

// at is the instant at a share of the way. The clock counts here, not the degrees: which of the
// hours between two tests was the warmer decides little, and a warm hour must not make it later.
func (h held) at(share float64) time.Time {
	return h.from.Add(span(h.to.Sub(h.from).Hours() * share))
}

// acid is what the last pH does to the hours, as a share, and when it was read; zero without one.
type acid struct {
	at    time.Time
	shift float64
}

// view is all that is believed of one tank: its spread, what the pH says, what the hand found.
type view struct {
	spread spread
	pH     acid
	hand   bounds
}

// at is the instant of the quantile q in a course. A pH says nothing of what lies before it, and a
// rough test cuts off what lies behind it.
func (v view) at(c *course, q float64) time.Time {
	s := v.spread
	s.above = v.hand.above
	at := c.when(s.at(q))
	if !v.pH.at.IsZero() && !at.Before(v.pH.at) {
		s.centre *= 1 + v.pH.shift
		if at = c.when(s.at(q)); at.Before(v.pH.at) {
			at = v.pH.at
		}
	}
	if v.hand.to.IsZero() {
		return at
	}
	if by := v.hand.held(c.youngest).at(q); at.IsZero() || by.Before(at) {
		return by
	}
	return at
}
