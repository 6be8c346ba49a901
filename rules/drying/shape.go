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
	k         float64
	pace      [shapes]float64 // so that at the anchor each shape falls as fast as the law
}

// newScale makes the ages for coffee that begins at start and is near anchor now, percent dry
// basis.
func newScale(u usual, start, anchor float64) scale {
	s := scale{me: u.me, k: u.k, start: max(start, dry(wetStart))}
	anchor = max(anchor, u.me+.5)
	_, slope := s.lawAge(anchor)
	for i := range s.pace {
		s.pace[i] = 1
		s.pace[i] = slope / s.slope(i, anchor)
	}
	return s
}

// lawAge is the age on the law's curve at moisture m, and its change per point of dry basis as a
// positive figure.
func (s *scale) lawAge(m float64) (age, slope float64) {
	x := max(m-s.me, closest)
	left := max(1e-3, math.Log((s.start-s.me)/x))
	age = math.Pow(left/s.k, 1/lawQ)
	return age, age / (lawQ * left * x)
}

// age is how many hours of usual air a shape has behind it at moisture m, percent dry basis.
func (s *scale) age(shape int, m float64) float64 {
	x, x0 := max(m-s.me, closest), s.start-s.me
	switch shape {
	case law:
		age, _ := s.lawAge(m)
		return age
	case half:
		return s.pace[half] * (math.Sqrt(x0) - math.Sqrt(x))
	case tail:
		return s.pace[tail] * (root4(x0/x) - 1)
	}
	b := breaks[shape]
	if x >= b {
		return s.pace[shape] * (x0 - x) / b
	}
	return s.pace[shape] * ((x0-b)/b + math.Log(b/x))
}

func root4(x float64) float64 { return math.Sqrt(math.Sqrt(x)) }

// slope is the change of age per point of dry basis at moisture m, as a positive figure.
func (s *scale) slope(shape int, m float64) float64 {
	x := max(m-s.me, closest)
	switch shape {
	case law:
		_, slope := s.lawAge(m)
		return slope
	case half:
		return s.pace[half] / (2 * math.Sqrt(x))
	case tail:
		return s.pace[tail] * root4((s.start-s.me)/x) / (4 * x)
	}
	return s.pace[shape] / min(x, breaks[shape])
}
