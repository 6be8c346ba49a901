package drying

import (
	"math"
	"slices"
	"sort"
	"time"
)

// clock turns instants into work: hours of drying in the usual air. It runs faster in hotter air,
// slower in colder and stands in a stop. Its rate is (deficit/usual deficit)^(n/q), by which the
// law's hours shrink; it goes straight from look to look, and after the last one it is 1. The
// equilibrium is taken as that of the usual air throughout.
type clock struct {
	zero  time.Time
	knots []knot // work of the fire, stops not taken out
	stops []span
}

type knot struct{ t, rate, work float64 }

// span is a stop in hours, with the work its fire would have done.
type span struct{ from, to, work float64 }

// newClock starts a clock at zero on the looks at the dial and the stops.
func newClock(zero time.Time, u *usual, dials []dial, stops []Stop) clock {
	c := clock{zero: zero, knots: make([]knot, len(dials))}
	full, floor := saturation(u.inlet)-u.vapour, down(u.inlet, u.ambient)
	for i, d := range dials {
		air := max(0, saturation(steadied(dials, i, floor))-u.vapour)
		k := knot{t: d.t, rate: power(air/full, lawN/lawQ)}
		if i > 0 {
			was := c.knots[i-1]
			k.work = was.work + (k.t-was.t)*(k.rate+was.rate)/2
		} else {
			k.work = k.t * k.rate
		}
		c.knots[i] = k
	}
	c.stand(stops)
	return c
}

// stand takes stops out of the clock, which must not overlap.
func (c *clock) stand(stops []Stop) {
	for _, s := range stops {
		from, to := max(0, c.hours(s.From)), math.Inf(1)
		if !s.To.IsZero() {
			to = c.hours(s.To)
		}
		if to > from {
			c.stops = append(c.stops, span{from, to, c.burnt(to) - c.burnt(from)})
		}
	}
}

// steadied is a look at the dial averaged with its neighbours: one look every hour or two catches
// the needle anywhere in a swing. A fire that is down is taken as seen.
func steadied(dials []dial, i int, floor float64) float64 {
	if dials[i].inlet <= floor {
		return dials[i].inlet
	}
	sum, n := 2*dials[i].inlet, 2.0
	for _, j := range [2]int{i - 1, i + 1} {
		if j >= 0 && j < len(dials) && dials[j].inlet > floor {
			sum, n = sum+dials[j].inlet, n+1
		}
	}
	return sum / n
}

func (c *clock) hours(at time.Time) float64 { return at.Sub(c.zero).Hours() }

// work is the drying done between the clock's zero and hour t.
func (c *clock) work(t float64) float64 {
	w := c.burnt(t)
	for _, s := range c.stops {
		switch {
		case t >= s.to:
			w -= s.work
		case t > s.from:
			w -= c.burnt(t) - c.burnt(s.from)
		}
	}
	return w
}

// burnt is work with no stops taken out. After the last look at the dial the air is as usual.
func (c *clock) burnt(t float64) float64 {
	n := len(c.knots)
	i := sort.Search(n, func(i int) bool { return c.knots[i].t >= t })
	switch {
	case n == 0:
		return t
	case i == 0:
		return c.knots[0].work - (c.knots[0].t-t)*c.knots[0].rate
	case i == n:
		return c.knots[n-1].work + t - c.knots[n-1].t
	}
	a, b := c.knots[i-1], c.knots[i]
	d := t - a.t
	rate := a.rate + (b.rate-a.rate)*d/(b.t-a.t)
	return a.work + d*(a.rate+rate)/2
}

// when is the hour at which the work reaches w; +Inf when an open stop comes first.
func (c *clock) when(w float64) float64 {
	if w <= 0 {
		return w
	}
	lo, hi := 0.0, 1.0
	for c.work(hi) < w {
		if lo, hi = hi, 2*hi; hi > 1e5 {
			return math.Inf(1)
		}
	}
	for hi-lo > 1e-4 {
		if mid := (lo + hi) / 2; c.work(mid) < w {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// merged puts stops in order and joins those that overlap.
func merged(stops []Stop) []Stop {
	ok := true
	for i := 1; i < len(stops); i++ {
		ok = ok && !stops[i-1].To.IsZero() && !stops[i].From.Before(stops[i-1].To)
	}
	if ok {
		return stops
	}
	sorted := slices.Clone(stops)
	slices.SortFunc(sorted, func(a, b Stop) int { return a.From.Compare(b.From) })
	out := sorted[:1]
	for _, s := range sorted[1:] {
		last := &out[len(out)-1]
		switch {
		case last.To.IsZero():
		case s.From.After(last.To):
			out = append(out, s)
		case s.To.IsZero() || s.To.After(last.To):
			last.To = s.To
		}
	}
	return out
}

// standing tells whether an instant lies in a stop.
func standing(stops []Stop, at time.Time) bool {
	for _, s := range stops {
		if !at.Before(s.From) && (s.To.IsZero() || at.Before(s.To)) {
			return true
		}
	}
	return false
}
