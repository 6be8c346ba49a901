package drying

import "math"

// The shapes a drying curve is tried with. A shape turns moisture into an age: hours on a curve in
// the usual air, so that each becomes a straight line in work.
//
//	law      the thin-layer law
//	bendHigh a constant rate down to a break, then falling with what is left above equilibrium
//	bendLow  the same with the break further down
//	half     rate as the square root of what is left: between a straight and a logarithmic line
//	tail     a tail longer than the law's: rate as the power 1.25 of what is left
const (
	law = iota
	bendHigh
	bendLow
	half
	tail
	shapes
)

// breaks are where the bends begin to fall, points of dry basis above the equilibrium.
var breaks = [shapes]float64{bendHigh: 30, bendLow: 10}

// closest is how near the equilibrium ages go, points of dry basis.
const closest = 0.05

// scale holds what turns moisture into ages.
type scale struct {
	me, start float64 // percent dry basis
	free      float64 // start above the equilibrium
	k         float64
	pace      [shapes]float64 // so that at the anchor each shape falls as fast as the law
}

// newScale makes the ages for coffee that begins at start and is near anchor now, percent dry
// basis.
func newScale(u usual, start, anchor float64) scale {
	s := scale{me: u.me, k: u.k, start: max(start, dry(wetStart))}
	s.free = s.start - s.me
	anchor = max(anchor, u.me+.5)
	_, slope := s.at(law, anchor)
	for i := range s.pace {
		s.pace[i] = 1
		_, own := s.at(i, anchor)
		s.pace[i] = slope / own
	}
	return s
}

// at is how many hours of usual air a shape has behind it at moisture m, percent dry basis, and by
// how many its age rises for each point that m falls. With x for what is left above the
// equilibrium, x0 for what there was, the rate dx/dt gives each age in closed form:
//
//	law      (ln(x0/x)/k)^(1/q), the Page curve solved for time
//	bends    (x0−x)/b above the break b, (x0−b)/b + ln(b/x) below
//	half     2(√x0 − √x), here without the 2
//	tail     (x0/x)^(1/4) − 1
func (s *scale) at(shape int, m float64) (age, slope float64) {
	x := max(m-s.me, closest)
	switch pace := s.pace[shape]; shape {
	case law:
		left := max(1e-3, math.Log(s.free/x))
		age = power(left/s.k, 1/lawQ)
		return age, age / (lawQ * left * x)
	case half:
		root := math.Sqrt(x)
		return pace * (math.Sqrt(s.free) - root), pace / (2 * root)
	case tail:
		root := math.Sqrt(math.Sqrt(s.free / x))
		return pace * (root - 1), pace * root / (4 * x)
	default:
		b := breaks[shape]
		if x >= b {
			return pace * (s.free - x) / b, pace / b
		}
		return pace * ((s.free-b)/b + math.Log(b/x)), pace / x
	}
}

// power is x^p for x not below 0; half the price of math.Pow.
func power(x, p float64) float64 {
	if x <= 0 {
		return 0
	}
	return math.Exp(p * math.Log(x))
}
