package drying

import "math"

// BedFactor is the time in a drum over thin-layer time before the drum has taught its own: beds of
// 0.2 m took 71.5, 29.1 and 20.4 h to 11 % at 35, 45 and 55 °C (AIMS Agric. Food 2023, doi
// 10.3934/agrfood.2023042), which is 1.35, 1.11 and 1.36 times [ThinLayerHours] from 53 % in air of
// 20 °C and 70 % so heated; this is their mean. Drums are said to be slower still.
const BedFactor = 1.27

// belief is what is held of a drum before this run's readings.
type belief struct {
	pace, spread float64 // over thin-layer pace; one relative standard error
	shape        [shapes]float64
	rough        float64 // weight of the rough mood; the calm one has the rest
}

// The readings are followed once for each shape, error of the meter, mood of the fire, and for a
// pace near what is believed or any pace at all. These are the weights before any reading. Where
// the pace is like no coffee's, the shape is open too. They were set on made-up runs of many
// kinds, and moving any of them by half changes the errors there by a few per cent.
var (
	firstBelief = belief{1 / BedFactor, .13, [shapes]float64{.75, .05, .05, .12, .03}, .3}
	anyPace     = belief{1 / BedFactor, 3, [shapes]float64{.10, .05, .25, .59, .01}, .3}
	trusted     = [2]float64{.75, .25} // the belief, any pace
	meterWeight = [meters]float64{.6, .4}
	moods       = [2]mood{{.0025, .00025}, {.05, .004}} // a calm lot, a rough one
	unreadMoods = [2]mood{{.02, .002}, {.05, .01}}      // where fires change unseen
)

// unreadAir is the relative error of pace when nobody read the inlet.
const unreadAir = 0.3

// member is one track of the bank with the weight that the readings left it.
type member struct {
	track
	shape, meter, temper int
	weight               float64
}

// bank follows all readings along every track at once and weighs the tracks by how well each
// foretold them: Bayesian model averaging (Hoeting and others 1999, Statist. Sci. 14:382). With few
// readings the weights stay near those given before and the window is wide; with many, the tracks
// that are wrong about shape, meter or mood fade.
type bank [shapes * meters * 2 * 2]member

// follow runs the readings through the bank.
func (b *bank) follow(sc *scale, all []seen, held belief, moods *[2]mood, said *word) {
	const each = len(bank{}) / shapes
	for shape := range shapes {
		some := b[shape*each : (shape+1)*each]
		begin(some, sc, shape, all[0], held, moods)
		for j := 1; j < len(all); j++ {
			x := &all[j]
			age, slope := x.age, x.slope
			if shape != law {
				age, slope = sc.at(shape, x.m)
			}
			var v [meters]float64
			for k, sigma := range x.sigma {
				v[k] = sq(sigma * slope)
			}
			work, rate := x.work-all[j-1].work, 1/sq(slope)
			for i := range some { // no track waits for another: the processor overlaps them
				m := &some[i]
				m.advance(work, x.slack, x.loose)
				m.see(age, v[m.meter], rate)
			}
		}
		if said != nil {
			age, slope := sc.at(shape, said.m)
			for i := range some {
				some[i].hear(said, age, slope)
			}
		}
	}
	b.weigh()
}

// begin puts the tracks of one shape at the first reading.
func begin(some []member, sc *scale, shape int, first seen, held belief, moods *[2]mood) {
	age, slope := sc.at(shape, first.m)
	i := 0
	for pick, h := range [2]belief{held, anyPace} {
		for meter, w := range meterWeight {
			for temper, share := range [2]float64{1 - h.rough, h.rough} {
				some[i] = member{shape: shape, meter: meter, temper: temper,
					weight: trusted[pick] * h.shape[shape] * w * share,
					track: track{mood: moods[temper], age: age, pace: h.pace,
						vAge:  sq(first.sigma[meter] * slope),
						vPace: sq(h.spread * h.pace), spread: 1}}
				i++
			}
		}
	}
}

// weigh turns scores into weights that sum to 1. A track that does not dry has next to none, so
// that where none dries there still is an answer, and it says a long time.
func (b *bank) weigh() {
	best := math.Inf(-1)
	for i := range b {
		b[i].settle()
		best = max(best, b[i].score)
	}
	sum := 0.0
	for i := range b {
		m := &b[i]
		if m.pace <= slowest {
			m.weight *= 1e-9
		}
		m.weight *= math.Exp(m.score - best)
		sum += m.weight
	}
	for i := range b {
		b[i].weight /= sum
	}
}

// left is the work until the bank reaches a moisture, percent dry basis, and its variance.
func (b *bank) left(sc *scale, target float64) (mean, v float64) {
	var ages [shapes]float64
	for shape := range shapes {
		ages[shape], _ = sc.at(shape, target)
	}
	square := 0.0
	for i := range b {
		m := &b[i]
		w, vw := m.left(ages[m.shape])
		mean += m.weight * w
		square += m.weight * (vw + w*w)
	}
	return mean, max(0, square-mean*mean)
}
