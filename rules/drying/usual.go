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

// usual is the air that a run has had of late with the fire on, and will go on having.
type usual struct {
	inlet, vapour float64 // °C, Pa
	ambient       float64 // °C
	me            float64 // equilibrium, percent dry basis
	k             float64 // of the thin-layer law
	noInlet, noRH bool
	fire          furnace   // zero where nobody read the inlet
	moods         [2]mood   // a calm drum, a rough one
	since         time.Time // when the fire was last turned up; zero: it was not
}

// dial is one look at the inlet with the fire on.
type dial struct{ t, inlet float64 }

// usualAir takes the last ambient air and the inlet since the fire was last turned up or let down.
func usualAir(zero time.Time, r *Run, stops []Stop) (usual, []dial) {
	u := usual{noInlet: true, noRH: true, inlet: defaultInlet, ambient: defaultAmbient,
		moods: unreadMoods}
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
		u.fire = settled(dials, u.ambient)
		if u.inlet = u.fire.level; u.fire.up > 0 {
			u.since = zero.Add(hoursOf(u.fire.up))
		}
	}
	u.vapour = min(rh*saturation(u.ambient), .95*saturation(u.inlet))
	in := u.vapour / saturation(u.inlet)
	u.me, u.k = Equilibrium(u.inlet, in), DryingConstant(u.inlet, in)
	if !u.noInlet {
		u.moods = u.seenMoods()
	}
	return u, dials
}

// seenMoods is how unsteady a drum is whose dial is read: its work surges as its looks swing.
func (u *usual) seenMoods() [2]mood {
	swing := max(sq(dialError)/4, u.fire.swing-sq(dialError))
	surge := 2 * gustHours * swing * sq(u.perDegree())
	return [2]mood{{.4 * surge, .00015}, {surge, .005}}
}

// unsure is the relative variance of the pace that comes of not knowing how the fire goes on.
func (u *usual) unsure() float64 { return u.fire.doubt * sq(u.perDegree()) }

// perDegree is by which share the pace rises with a degree of inlet: by the deficit, and by the
// equilibrium that falls, taken where the last third of a drum's hours is spent.
func (u *usual) perDegree() float64 {
	was, is := saturation(u.inlet), saturation(u.inlet+1)
	falls := u.me - Equilibrium(u.inlet+1, u.vapour/is)
	return lawN/lawQ*(is-was)/(was-u.vapour) + falls/max(2, dry(lastThird)-u.me)
}

// lastThird is the moisture about which that is, percent wet basis.
const lastThird = 15.0

// warming tells whether a fire was lit again less than an hour before.
func warming(stops []Stop, at time.Time) bool {
	for _, s := range stops {
		if !s.To.IsZero() && !at.Before(s.To) && at.Sub(s.To) < time.Hour {
			return true
		}
	}
	return false
}

// median is the middle look at the dial.
func median(dials []dial) float64 {
	var room [64]float64
	all := room[:0]
	for _, d := range dials {
		all = append(all, d.inlet)
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// down is the inlet at or below which a fire that usually gives inlet counts as out: less than
// half its heat is left.
func down(inlet, ambient float64) float64 { return (inlet + ambient) / 2 }

func sq(x float64) float64 { return x * x }

func hoursOf(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
