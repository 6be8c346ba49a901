package ferment

import (
	"math"
	"slices"
)

// fading is the share of its weight that a past tank keeps when the next one is learned.
const fading = 0.98

// The lattice over which the likelihood of the past is kept.
const (
	paces    = 41
	scatters = 6
)

var (
	tmins      = [...]float64{0, -2, 2, 4, 6} // °C; the published 0 first
	tminOdds   = [...]float64{0.40, 0.10, 0.25, 0.17, 0.08}
	scatterSDs = [scatters]float64{0.08, 0.11, 0.15, 0.20, 0.27, 0.36}
	// odds about scatterSD
	scatterOdds = [scatters]float64{0.11, 0.21, 0.27, 0.22, 0.13, 0.06}
)

// tally is the likelihood of past tanks on the lattice, with what follows from it.
type tally struct {
	read    bool
	like    []float64 // log, over tmin, scatter, pace
	stays   int
	warm    moments // mean temperatures of the stays
	tanks   groups
	classes groups
	coming  coming
	misses  moments // squared, of hindcasts
	lesson  lesson
}

func newTally(read bool) tally {
	n := 1
	if read {
		n = len(tmins)
	}
	return tally{read: read, like: make([]float64, n*scatters*paces), lesson: untaught(),
		coming: unlearned()}
}

func (t *tally) clone() tally {
	c := *t
	c.like = slices.Clone(t.like)
	c.tanks, c.classes = slices.Clone(t.tanks), slices.Clone(t.classes)
	return c
}

// logPace is the logarithm of hours/23.1 at a place of the lattice.
func (t *tally) logPace(i int) float64 {
	if t.read {
		return 0.04 * float64(i-paces/2)
	}
	return 0.065 * float64(i-paces/2)
}

// add learns one stay; bs are its bounds for each Tmin, celsius its mean temperature.
func (t *tally) add(tank *Tank, bs []bounds, celsius float64) {
	i := 0
	for _, b := range bs {
		for _, sd := range scatterSDs {
			for m := range paces {
				l := b.likelihood(math.Exp(t.logPace(m)), sd/sdOfScale)
				t.like[i] = fading*t.like[i] + math.Log(l)
				i++
			}
		}
	}
	t.stays++
	t.warm.add(celsius)
	t.lesson = t.learn()
	d := t.difference(bs)
	t.tanks.add(tank.Name, d)
	t.classes.add(tank.Class, d)
}

// difference is how much longer one stay took than the mill's tanks do, in the log of the hours,
// shrunk as far as its bounds leave it open.
func (t *tally) difference(bs []bounds) float64 {
	i := nearest(t.lesson.tmin, len(bs))
	b := pooled(t.lesson.own, believed(0, unknownSD))
	centre := math.Exp(b.mean + shift(t.lesson.mean, tmins[i]))
	middle, doubt := bs[i].between()
	scatter := t.lesson.scatter * t.lesson.scatter
	return math.Log(middle/centre) * scatter / (scatter + doubt*doubt/(middle*middle))
}

// nearest is the place of the Tmin of the lattice, among the first n, nearest to a learned one.
func nearest(tmin float64, n int) int {
	best := 0
	for i := range n {
		if math.Abs(tmins[i]-tmin) < math.Abs(tmins[best]-tmin) {
			best = i
		}
	}
	return best
}
