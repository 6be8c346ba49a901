package drying

import (
	"math"
	"slices"
	"time"
)

// What is taken for air that nobody read.
const (
	defaultInlet   = 50.0 // °C, lower end of what drums run at (common practice, no source)
	defaultAmbient = 20.0 // °C
	defaultRH      = 0.70
)

const (
	longAgo = 16.0 // hours: older looks at the dial say nothing of the air to come
	gust    = 1.5  // °C: least swing of a fire, one standard deviation
	split   = 9.0  // gain, in squared swings, at which two stretches count as two fires
)

// usual is the air that a run has had of late with the fire on, and will go on having.
type usual struct {
	inlet, vapour float64 // °C, Pa
	ambient       float64 // °C
	me            float64 // equilibrium, percent dry basis
	k             float64 // of the thin-layer law
	noInlet, noRH bool
	since         time.Time // when the fire was last turned up; zero: it was not
}

// dial is one look at the inlet with the fire on.
type dial struct{ t, inlet float64 }

// usualAir takes the last ambient air and the inlet since the fire was last turned up or let down.
func usualAir(zero time.Time, r *Run, stops []Stop) (usual, []dial) {
	u := usual{noInlet: true, noRH: true, inlet: defaultInlet, ambient: defaultAmbient}
	rh := defaultRH
	dials := make([]dial, 0, len(r.Air))
	for _, a := range r.Air {
		if !math.IsNaN(a.Ambient) && !math.IsNaN(a.RH) {
			u.ambient, rh, u.noRH = a.Ambient, a.RH, false
		}
		if !math.IsNaN(a.Inlet) && !standing(stops, a.At) && !warming(stops, a.At) {
			dials = append(dials, dial{a.At.Sub(zero).Hours(), a.Inlet})
		}
	}
	if len(dials) > 0 {
		u.noInlet = false
		var up float64
		u.inlet, up = settled(dials, u.ambient)
		if up > 0 {
			u.since = zero.Add(hoursOf(up))
		}
	}
	u.vapour = min(rh*saturation(u.ambient), .95*saturation(u.inlet))
	in := u.vapour / saturation(u.inlet)
	u.me, u.k = Equilibrium(u.inlet, in), DryingConstant(u.inlet, in)
	return u, dials
}

// warming tells whether a fire was lit again less than an hour before.
func warming(stops []Stop, at time.Time) bool {
	for _, s := range stops {
		if !s.To.IsZero() && !at.Before(s.To) && at.Sub(s.To) < time.Hour {
			return true
		}
	}
	return false
}

// settled is the mean inlet of the last stretch of steady fire, and the hour since which it burns
// hotter than before (0: it does not). Looks that find the fire down are left out. The looks are
// parted in two where that explains most of their spread; the later part counts alone if the gain
// is far above what swings give. One look is enough to see a fire stoked up, but not to see it let
// down: it may just be warming.
func settled(dials []dial, ambient float64) (inlet, up float64) {
	var room [64]float64
	all := room[:0]
	for _, d := range dials {
		all = append(all, d.inlet)
	}
	slices.Sort(all)
	floor := down(all[len(all)/2], ambient)
	end := dials[len(dials)-1].t
	sum, n := 0.0, 0.0
	for _, d := range dials {
		if d.inlet > floor && end-d.t <= longAgo {
			sum, n = sum+d.inlet, n+1
		}
	}
	if n == 0 {
		return all[len(all)/2], 0
	}
	inlet = sum / n
	around := 0.0
	for _, d := range dials {
		if d.inlet > floor && end-d.t <= longAgo {
			around += sq(d.inlet - inlet)
		}
	}
	late, k, best := 0.0, 0.0, 0.0
	for i := len(dials) - 1; i > 0 && end-dials[i].t <= longAgo && k < n-1; i-- {
		if dials[i].inlet <= floor {
			continue
		}
		late, k = late+dials[i].inlet, k+1
		before, after := (sum-late)/(n-k), late/k
		gain := sq(after-before) * k * (n - k) / n
		spread := max(sq(gust), (around-gain)/n)
		if (k >= 2 || after > before) && gain > split*spread && gain > best {
			best, inlet, up = gain, after, 0
			if after > before {
				up = dials[i].t
			}
		}
	}
	return inlet, up
}

// down is the inlet at or below which a fire that usually gives inlet counts as out: less than
// half its heat is left.
func down(inlet, ambient float64) float64 { return (inlet + ambient) / 2 }

func sq(x float64) float64 { return x * x }

func hoursOf(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
