package ferment

import (
	"math"
	"time"
)

// coming is how the temperature of this mill's tanks goes on after a reading: a tank warms itself,
// and a cold hour is followed by a warmer one. The mean temperature from a reading of x °C to
// completion, with a share u of the usual hours still to go, is taken to be
//
//	x + u·(rise + pull·(x - 20))
//
// with both numbers learned by least squares and shrunk towards 0, where a reading simply holds.
// The share counts hours and not progress, lest a warmer tank be the later one.
type coming struct {
	n, squares       float64 // past tanks and their squared errors, fading
	uu, uv, vv       float64
	ud, vd           float64
	rise, pull, miss float64 // miss is the standard deviation left, °C
}

// What is believed of the coming temperature before a mill has taught anything.
const (
	comingMiss  = 1.2 // °C
	comingStays = 4.0 // past tanks that it is worth
	riseSD      = 1.5 // °C
	pullSD      = 0.3
	riseMost    = 5.0 // °C
	pullMost    = 0.8 // under 1, or a warmer reading would mean a cooler tank
)

func unlearned() coming { return coming{miss: comingMiss} }

// left is the share of the usual hours that are to go at an instant.
func (c *course) left(at time.Time, usual float64) float64 {
	return min(max(1-at.Sub(c.youngest).Hours()/usual, 0), 1)
}

// temperature is the mean temperature to come.
func (c *coming) temperature(x, u float64) float64 { return x + u*(c.rise+c.pull*(x-20)) }

// add learns from the course of one past tank that completed at an instant, in a mill where tanks
// take the usual hours; every temperature reading before that is a case, and all of a tank have the
// weight of one.
func (c *coming) add(k *course, end time.Time, usual float64) {
	var cases float64
	for _, s := range k.knots {
		if s.at.Before(end) {
			cases++
		}
	}
	if cases == 0 {
		return
	}
	c.fade()
	c.n++
	for _, s := range k.knots {
		if !s.at.Before(end) {
			continue
		}
		u := k.left(s.at, usual)
		from := s.at
		if from.Before(k.youngest) {
			from = k.youngest
		}
		v, d := u*(s.celsius-20), k.mean(from, end)-s.celsius
		e := d - u*c.rise - v*c.pull
		c.squares += e * e / cases
		c.uu, c.uv, c.vv = c.uu+u*u/cases, c.uv+u*v/cases, c.vv+v*v/cases
		c.ud, c.vd = c.ud+u*d/cases, c.vd+v*d/cases
	}
	c.solve()
}

func (c *coming) fade() {
	for _, x := range []*float64{&c.n, &c.squares, &c.uu, &c.uv, &c.vv, &c.ud, &c.vd} {
		*x *= fading
	}
}

func (c *coming) solve() {
	noise := comingMiss * comingMiss
	a, b, d := c.uu+noise/(riseSD*riseSD), c.uv, c.vv+noise/(pullSD*pullSD)
	det := a*d - b*b
	c.rise = clamp((d*c.ud-b*c.vd)/det, riseMost)
	c.pull = clamp((a*c.vd-b*c.ud)/det, pullMost)
	c.miss = math.Sqrt((c.squares + comingStays*noise) / (c.n + comingStays))
}

func clamp(x, most float64) float64 { return min(max(x, -most), most) }
