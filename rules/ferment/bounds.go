package ferment

import (
	"math"
	"time"
)

// bounds are the progress between which one past tank completed, and the instants. Where nothing
// bounds it, above is -Inf, below +Inf and the instant zero.
type bounds struct {
	above, below float64
	from, to     time.Time
	washed       bool // the end is a washing, not a hand test
}

func (b bounds) tell() bool { return b.above > 0 || !math.IsInf(b.below, 1) }

// bounds reads the hand tests and the washing of a stay in the units of a course. A washing while
// it still slipped is not believed.
func (s *Stay) bounds(c *course, rs []Reading) bounds {
	b := handBounds(c, rs)
	if !s.Washed.IsZero() && math.IsInf(b.below, 1) {
		if w := c.young(s.Washed); w > max(b.above, 0) {
			b.below, b.to, b.washed = w, s.Washed, true
		}
	}
	return b
}

// handBounds is the last slippery test and the first rough one after it. A rough test before a
// slippery one is not believed, nor is any before the youngest fruit came.
func handBounds(c *course, rs []Reading) bounds {
	b := bounds{above: math.Inf(-1), below: math.Inf(1)}
	for _, r := range rs {
		if r.Hand == Slippery && r.At.After(c.youngest) {
			b.above, b.from = c.young(r.At), r.At
		}
	}
	for _, r := range rs {
		if r.Hand == Rough && r.At.After(c.youngest) && c.young(r.At) > b.above {
			b.below, b.to = c.young(r.At), r.At
			break
		}
	}
	return b
}

// between is the progress in the middle of the bounds and its standard error. Where no slippery
// test bounds it from below, completion is taken not to lie further back than the spoil limit;
// where nothing bounds it from above, not further on.
func (b bounds) between() (middle, doubt float64) {
	below := b.below
	if math.IsInf(below, 1) {
		below = b.above * spoilAt
	}
	above := max(b.above, below/spoilAt)
	return (above + below) / 2, (below - above) / math.Sqrt(12)
}

// end is the last instant of a stay that its bounds tell of.
func (b bounds) end() time.Time {
	if b.to.After(b.from) {
		return b.to
	}
	return b.from
}

// likelihood of the bounds when tanks complete at centre with a relative scale. A few tests are
// wrong: then completion may have been anywhere, whatever the pace.
func (b bounds) likelihood(centre, scale float64) float64 {
	return (1-mistaken)*b.chance(centre, scale) + mistaken*b.chance(1, anywhere)
}

// chance of the bounds. A washing alone says that completion lay before it and, four times in
// five, not so long before that the coffee would have been past the spoil limit.
func (b bounds) chance(centre, scale float64) float64 {
	z := func(progress float64) float64 { return sigmoid((progress/centre - 1) / scale) }
	above, below := 0.0, 1.0
	if b.above > 0 {
		above = z(b.above)
	}
	if !math.IsInf(b.below, 1) {
		below = z(b.below)
	}
	p := below - above
	if b.washed {
		if late := b.below / spoilAt; late > b.above {
			p = washHeld*(below-z(late)) + (1-washHeld)*p
		}
	}
	return p
}

const (
	mistaken = 0.03 // hand tests misheard or misread, common experience, no source
	anywhere = 0.60 // relative scale of a completion of which nothing is known
	washHeld = 0.80 // washings within the spoil limit, common experience, no source
	spoilAt  = 1.4  // of completion (Peñuela et al. 2010)
	warnAt   = 1.2
)
