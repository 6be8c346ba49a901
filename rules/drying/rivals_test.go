package drying

import (
	"math"
	"sort"
	"time"
)

// A rival says when a run reaches its target, in hours after its last reading; NaN: no answer.
type rival func(r Run) float64

func ages(r Run) (t, w []float64) {
	for _, x := range r.Readings {
		t = append(t, x.At.Sub(r.Readings[0].At).Hours())
		w = append(w, x.Moisture)
	}
	return t, w
}

func fitLine(t, y, weight []float64) (a, b float64) {
	var s, st, sy, stt, sty float64
	for i := range t {
		g := 1.0
		if weight != nil {
			g = weight[i]
		}
		s, st, sy = s+g, st+g*t[i], sy+g*y[i]
		stt, sty = stt+g*t[i]*t[i], sty+g*t[i]*y[i]
	}
	b = (s*sty - st*sy) / (s*stt - st*st)
	return (sy - b*st) / s, b
}

// lastThree is the straight line through the last three readings.
func lastThree(r Run) float64 {
	t, w := ages(r)
	if len(t) < 3 {
		return math.NaN()
	}
	a, b := fitLine(t[len(t)-3:], w[len(w)-3:], nil)
	if b >= 0 {
		return math.NaN()
	}
	return (r.Target-a)/b - t[len(t)-1]
}

// reference is the weighted ln line over the last 8 h of heat (Newton's law).
func reference(me float64) rival {
	return func(r Run) float64 {
		t, w := ages(r)
		if len(t) < 4 {
			return math.NaN()
		}
		for i := range t {
			t[i] -= stopHours(r.Stops, r.Readings[0].At, r.Readings[i].At)
		}
		var x, y, g []float64
		last := t[len(t)-1]
		for i := range t {
			m := dry(w[i])
			if (last-t[i] > 8 && len(t)-i > 4) || m <= me+.3 {
				continue
			}
			x, y = append(x, t[i]), append(y, math.Log(m-me))
			s := (m - me) * (100 - w[i]) * (100 - w[i]) / 1e4
			g = append(g, s*s)
		}
		if len(x) < 3 {
			return math.NaN()
		}
		a, b := fitLine(x, y, g)
		if b >= 0 {
			return math.NaN()
		}
		return (math.Log(dry(r.Target)-me)-a)/b - last
	}
}

// twoLines is the mean of the ln line and the straight line over the last third.
func twoLines(me float64) rival {
	return func(r Run) float64 {
		t, w := ages(r)
		n := len(t)
		from := sort.SearchFloat64s(t, t[n-1]*2/3)
		if n-from < 3 {
			from = max(0, n-3)
		}
		t, w = t[from:], w[from:]
		var ln []float64
		for i := range w {
			ln = append(ln, math.Log(math.Max(.1, dry(w[i])-me)))
		}
		a, b := fitLine(t, ln, nil)
		c, d := fitLine(t, w, nil)
		if b >= 0 || d >= 0 {
			return math.NaN()
		}
		return ((math.Log(dry(r.Target)-me)-a)/b+(r.Target-c)/d)/2 - t[len(t)-1]
	}
}

func stopHours(stops []Stop, from, to time.Time) float64 {
	sum := 0.0
	for _, s := range stops {
		a, b := s.From, s.To
		if a.Before(from) {
			a = from
		}
		if b.IsZero() || b.After(to) {
			b = to
		}
		if b.After(a) {
			sum += b.Sub(a).Hours()
		}
	}
	return sum
}
