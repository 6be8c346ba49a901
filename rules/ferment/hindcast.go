package ferment

import (
	"math"
	"time"
)

// A past tank shows how wide the windows should have been: it is forecast again as after each of
// its temperature readings, its hand tests left aside and knowing only the tanks before it, and the
// misses, in standard deviations of the forecast, stretch or narrow the windows to come until
// their mean square is 1. That covers what the model leaves out.
const (
	missStays = 8.0  // past tanks that the stated widths are worth
	missMost  = 16.0 // squared, no miss counts for more
	narrowest = 0.9  // of the stated widths
	broadest  = 2.0
)

// stretch is the factor on standard deviations that the squared misses call for.
func (m moments) stretch() float64 {
	f := math.Sqrt((missStays + m.sum) / (missStays + m.n))
	return min(max(f, narrowest), broadest)
}

// hindcast is the mean squared miss of a stay whose completion lies within bounds.
func (p *Past) hindcast(s *Stay, rs []Reading, b bounds) float64 {
	t := s.Tank
	t.Past = p
	_, youngest, _ := t.filled()
	h := b.held(youngest)
	truth, doubt := h.at(0.5), h.to.Sub(h.from).Hours()/math.Sqrt(12)
	var sum, n float64
	for i, r := range rs {
		if !r.At.Before(truth) || math.IsNaN(r.Mass) && math.IsNaN(r.Ambient) {
			continue
		}
		t.Readings = rs[:i+1]
		sum, n = sum+t.miss(truth, doubt), n+1
	}
	if n == 0 {
		t.Readings = nil
		return t.miss(truth, doubt)
	}
	return sum / n
}

// miss is the squared miss of the forecast of a tank, less what the bounds leave open.
func (t Tank) miss(truth time.Time, doubt float64) float64 {
	f := t.Forecast()
	k := f.course.knots[len(f.course.knots)-1]
	sd := f.Reason.HalfWidth / math.Log(highTail/lowTail) * sdOfScale * f.unit
	off := f.course.young(truth) - f.unit
	return min(max(off*off-doubt*doubt*k.pace*k.pace, 0)/(sd*sd), missMost)
}
