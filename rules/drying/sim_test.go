package drying

import (
	"math"
	"math/rand/v2"
	"time"
)

// dawn is the instant at which the made-up runs begin.
var dawn = time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// plan says how a made-up drum behaves. Its law is the Roa thin layer slowed by a bed factor, or
// a Page curve of another strength and exponent, or a constant rate down to a break.
type plan struct {
	airC, bed, start, target float64
	swing, drift             float64 // °C: of the fire from hour to hour, over the whole run
	page, strength           float64 // exponent and factor on k; 0: the Roa law's own
	flat                     float64 // percent dry basis down to which the rate is constant; 0: none
	stops                    []Stop
	logged                   bool
	noise                    float64
	jump                     int     // index of a reading that is 2.5 points too wet; 0: none
	stoked, hotter           float64 // hour after which the fire is so many °C hotter
	stall, slow              float64 // hour after which the rate falls to that share
	step                     float64 // hours between readings; 0: 2 h, then hourly under 16 %
	bareAir                  bool    // no air rows at all
}

// simulate runs a plan through with a step of a minute; it returns the readings, air and stops as
// a mill would have logged them, and when the true moisture crossed the target.
func simulate(p plan, seed uint64) (Run, time.Time) {
	rng := rand.New(rand.NewPCG(seed, 77))
	run := Run{Target: p.target}
	if p.logged {
		run.Stops = p.stops
	}
	m0 := dry(p.start)
	m, done, next := m0, 0.0, 0.0
	swing, air := 0.0, p.airC
	var end time.Time
	const step = 1.0 / 60
	for t := 0.0; t < 150; t += step {
		at := dawn.Add(hours(t))
		swing += -swing*step + p.swing*math.Sqrt(2*step)*rng.NormFloat64()
		ambient := 20 + 3*math.Sin(2*math.Pi*t/24)
		fire := p.airC + swing + p.drift*t/24
		if p.hotter != 0 && t > p.stoked {
			fire += p.hotter
		}
		if stopped(p.stops, at) {
			fire = ambient
		}
		air += (fire - air) * step / 0.4
		rh := math.Min(1, .7*pvs(20)/pvs(ambient))
		in := math.Max(.02, rh*pvs(ambient)/pvs(air))
		me := Equilibrium(air, in)
		k := .0143 * math.Pow(math.Max(0, 1-in)*pvs(air)/1000, .87898)
		q := 1.06439
		if p.page > 0 {
			k, q = k*p.strength, p.page
		}
		rate := math.Pow(k, 1/q) / p.bed
		if p.stall > 0 && t > p.stall {
			rate *= p.slow
		}
		if t >= next {
			gap := 2.0
			if wet(m) < 16 {
				gap = 1
			}
			if p.step > 0 {
				gap = p.step
			}
			next += gap
			value := wet(m) + p.noise*rng.NormFloat64()
			if p.jump > 0 && len(run.Readings) == p.jump {
				value += 2.5
			}
			run.Readings = append(run.Readings, Reading{At: at, Moisture: math.Round(value*10) / 10})
			if !p.bareAir {
				run.Air = append(run.Air, Air{At: at, Inlet: math.Round(air + rng.NormFloat64()),
					Ambient: ambient, RH: rh})
			}
		}
		done += rate * step
		switch {
		case m <= me:
		case p.flat > 0 && m > p.flat:
			m -= rate * (p.flat - me) * step
		case p.flat > 0:
			m -= rate * (m - me) * step
		default:
			m -= (m - me) * q * math.Pow(math.Max(done, 1e-3), q-1) * rate * step
		}
		if end.IsZero() && wet(m) <= p.target {
			end = at
		}
		if !end.IsZero() && at.Sub(end) > 150*time.Minute {
			break
		}
	}
	return run, end
}

func stopped(stops []Stop, at time.Time) bool {
	for _, s := range stops {
		if !at.Before(s.From) && at.Before(s.To) {
			return true
		}
	}
	return false
}

// pvs is the saturation pressure in Pa by the Magnus form (WMO guide), apart from the code tested.
func pvs(t float64) float64 { return 611.2 * math.Exp(17.62*t/(243.12+t)) }
