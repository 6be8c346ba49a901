package drying

import "math"

// mood is how unsteady a drum is taken to be.
type mood struct {
	surge  float64 // variance in h² of the work that an hour of fire may add or lack
	wander float64 // variance of the relative change of pace over an hour of age
}

// slowest is the pace below which nothing dries: a fiftieth of the thin layer.
const slowest = 0.02

// track is a straight line of age over work, followed reading by reading (Kalman 1960, J. Basic
// Eng. 82:35): age and pace, their variances, and how well it has foretold the readings. Between
// two readings, over some work w,
//
//	age ← age + pace·w + error of variance surge·w·pace²
//	pace ← pace + error of variance wander·w·pace³
//
// and a reading is the age with an error of its own. The errors go with the pace, so that a fast
// drum and a slow one are unsteady alike; a pace that wanders makes the last readings weigh most.
type track struct {
	mood
	age, pace           float64
	vAge, vCross, vPace float64
	score, spread       float64 // log likelihood, less the logarithm of spread over 2
}

// advance carries a track over some work; slack is a variance of work besides, loose a relative
// variance of the pace.
func (k *track) advance(work, slack, loose float64) {
	p := max(k.pace, slowest)
	k.vPace += loose * p * p
	k.age += k.pace * work
	k.vAge += work*(2*k.vCross+work*k.vPace) + (k.surge*work+slack)*p*p
	k.vCross += work * k.vPace
	k.vPace += k.wander * p * p * p * work
}

// see corrects a track by a reading's age and variance; rate, squared points of moisture per hour,
// brings its score to points, in which tracks of different shapes compare.
func (k *track) see(age, v, rate float64) {
	miss, all := age-k.age, k.vAge+v
	trust := 1 / all
	g, h := k.vAge*trust, k.vCross*trust
	k.score -= miss * miss * trust / 2
	if k.spread *= all * rate; k.spread > 1e90 || k.spread < 1e-90 {
		k.settle()
	}
	k.age += g * miss
	k.pace += h * miss
	k.vPace -= h * k.vCross
	k.vCross -= g * k.vCross
	k.vAge -= g * k.vAge
}

// settle brings spread into the score.
func (k *track) settle() {
	k.score -= math.Log(k.spread) / 2
	k.spread = 1
}

// left is the work until the track reaches an age, and its variance: that of where the line is, of
// how steep it is, of the two together, and what surge and wander add on the way.
func (k *track) left(to float64) (work, v float64) {
	p := max(k.pace, slowest)
	work = (to - k.age) / p
	w := math.Abs(work)
	v = k.vAge + 2*work*k.vCross + work*work*k.vPace + k.surge*p*p*w +
		k.wander*p*p*p*w*w*w/3
	return work, max(v, 0) / (p * p)
}

// word is what is held of the time to come: the moisture, percent dry basis, that so much more work
// brings, and the variance of that work.
type word struct{ work, v, m float64 }

// hear corrects a track by a word, as by a reading still to come of an age; slope, hours per point,
// brings its score to points.
func (k *track) hear(s *word, age, slope float64) {
	p, w := max(k.pace, slowest), s.work
	line, pace := k.vAge+w*k.vCross, k.vCross+w*k.vPace // of the age then with age and pace now
	all := line + w*pace + (k.surge*w+s.v)*p*p + k.wander*p*p*p*w*w*w/3
	miss := age - k.age - w*k.pace
	k.settle()
	k.score -= miss * miss / all / 2
	k.spread = all / sq(slope)
	k.settle()
	g, h := line/all, pace/all
	k.age += g * miss
	k.pace += h * miss
	k.vAge -= g * line
	k.vCross -= g * pace
	k.vPace -= h * pace
}
