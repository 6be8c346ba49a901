package drying

import (
	"math"
	"slices"
	"time"
)

// seen is a reading made ready for the tracks.
type seen struct {
	at          time.Time
	work, slack float64         // work until it, and a variance of that work
	loose       float64         // relative variance of the pace until it: the drum has changed
	m           float64         // percent dry basis
	age, slope  float64         // on the law's curve: hours, and hours per point of dry basis
	sigma       [meters]float64 // errors, percent dry basis
	plain       float64         // the first of them in points of wet basis
}

// A reading is tried with the error of a calibrated meter on a cooled sample, and with the error
// by moisture and the spread of one grab from a turning drum.
const meters = 2

// grab is one standard error of a single grab from a drum, points: a quarter of the 3 points
// across its radius (Reinato and Borém 2006, Eng. Agríc. 26(2)).
const grab = 0.75

// dryMeter is one standard error of a calibrated meter in dry coffee, points. No sample stands for
// a whole drum better than that, whatever weighs it.
const dryMeter = 0.3

// ready makes a reading ready; its work is still to come. Its first error is that of a meter which
// is as good in wet coffee as in dry.
func ready(x Reading) seen {
	usual := Sigma("meter", x.Moisture)
	sigma := x.Sigma
	if sigma <= 0 {
		sigma = usual
		if x.Hot {
			sigma = math.Hypot(usual, .5)
		}
	}
	s := seen{at: x.At, m: dry(x.Moisture), plain: dryMeter * max(1, sigma/usual)}
	widen := 1e4 / sq(100-x.Moisture) // d(dry)/d(wet)
	s.sigma = [meters]float64{s.plain * widen, math.Hypot(sigma, grab) * widen}
	return s
}

// Sifting: a miss of this many standard errors and points of wet basis is no noise.
const (
	farOff    = 2.5
	farPoints = 1.25
	rose      = 1.0 // points by which coffee does not rise with the fire on
)

// sifted is what sift found. Readings kept carry slack where the coffee may stand elsewhere than
// foretold, and loose where the drum may have another pace from then on.
type sifted struct {
	kept  []seen
	odd   time.Time // last reading set aside; zero: none
	found []Stop    // stretches without fire that nobody logged
	torn  bool      // the last reading is far off and nothing tells why yet
}

// sift sets aside readings that are sampling jumps, and finds stops that nobody logged. Both begin
// with a reading wetter than foretold. The next one tells them apart: after a jump it is back on
// the line, after a stop the whole line has moved; where it is too wet again the drum has slowed
// down for good. While there is no next one the reading is half believed, unless it rose with the
// fire on, which coffee does not do.
func sift(all []seen) sifted {
	out := sifted{kept: append(make([]seen, 0, len(all)), all[0])}
	far := farOff * max(1, usualMiss(all))
	pilot, before, slowed := newPilot(all[0]), newPilot(all[0]), false
	for i := 1; i < len(all); i++ {
		x, was := all[i], &out.kept[len(out.kept)-1]
		ahead := pilot
		miss, wide := ahead.meet(*was, x)
		off := miss / x.slope * sq(100-wet(x.m)) / 1e4
		rise, wetter := wet(x.m)-wet(was.m), false
		switch {
		case math.Abs(miss) < far*wide || math.Abs(off) < farPoints:
		case miss < 0 && slowed && rise < rose:
			out.found = out.found[:len(out.found)-1]
			was.slack, was.loose = 0, 1
			pilot = before
			pilot.meet(out.kept[len(out.kept)-2], *was)
		case i == len(all)-1:
			if out.torn = true; rise > rose {
				out.odd = x.at
				continue
			}
			x.halve(miss/pilot.speed(), miss/x.slope)
		case pilot.closer(*was, x, all[i+1]) || rise > rose:
			out.odd = x.at
			continue
		case miss < 0:
			wetter = true
			out.found = append(out.found, between(was.at, x.at, -miss/pilot.speed()))
			x.slack = sq(miss/pilot.speed()) / 4
		default:
			x.slack = sq(miss / pilot.speed())
		}
		before, slowed = pilot, wetter
		pilot.meet(*was, x)
		out.kept = append(out.kept, x)
	}
	return out
}

// halve lets a reading that is far off, by hours of work and points of dry basis, count for half.
func (x *seen) halve(hours, points float64) {
	x.slack = sq(hours) / 4
	for k := range x.sigma {
		x.sigma[k] = math.Hypot(x.sigma[k], points/2)
	}
}

// between is a stop of some hours in the middle of a gap.
func between(from, to time.Time, lost float64) Stop {
	gap := to.Sub(from)
	length := min(hoursOf(lost), gap)
	return Stop{from.Add((gap - length) / 2), from.Add((gap + length) / 2)}
}

// pilot is one track on the law's curve, loose in pace, to judge readings by.
type pilot struct{ track }

func newPilot(first seen) pilot {
	return pilot{track{mood: mood{.0225, .0015}, age: first.age, pace: 1 / BedFactor,
		vAge: sq(first.sigma[0] * first.slope), vPace: .3, spread: 1}}
}

func (p *pilot) speed() float64 { return max(p.pace, slowest) }

// meet carries the pilot from one reading to the next and corrects it; it returns by how much the
// reading missed, in hours of age, and one standard error of that.
func (p *pilot) meet(was, x seen) (miss, wide float64) {
	v := sq(x.sigma[0] * x.slope)
	p.advance(x.work-was.work, x.slack, x.loose)
	miss, wide = x.age-p.age, math.Sqrt(p.vAge+v)
	p.see(x.age, v, 1/sq(x.slope))
	return miss, wide
}

// moveTo puts the line through a reading and keeps its pace.
func (p *pilot) moveTo(x seen) {
	p.age, p.vAge, p.vCross = x.age, sq(x.sigma[0]*x.slope), 0
}

// closer tells whether the reading after x fits better when x is left out than when the line is
// moved to x.
func (p pilot) closer(was, x, next seen) bool {
	moved := p
	moved.moveTo(x)
	out, wideOut := p.meet(was, next)
	in, wideIn := moved.meet(x, next)
	return math.Abs(out/wideOut) <= math.Abs(in/wideIn)
}

// usualMiss is the median miss in standard errors, 1 for a normal error.
func usualMiss(all []seen) float64 {
	var room [64]float64
	misses := room[:0]
	p := newPilot(all[0])
	for i := 1; i < len(all); i++ {
		ahead := p
		miss, wide := ahead.meet(all[i-1], all[i])
		if misses = append(misses, math.Abs(miss)/wide); math.Abs(miss) > 4*wide {
			ahead = p
			ahead.moveTo(all[i])
		}
		p = ahead
	}
	if len(misses) == 0 {
		return 1
	}
	slices.Sort(misses)
	return misses[len(misses)/2] / .6745
}
