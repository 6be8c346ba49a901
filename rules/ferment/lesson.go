package ferment

import "math"

// lesson is what a tally teaches, ready for a forecast.
type lesson struct {
	own         belief  // of the log of hours/published hours, by the tanks alone, at mean
	scatter     float64 // relative sd between tanks alike
	tmin        float64
	tminLearned bool
	mean        float64 // °C of the past tanks, at which own is stated
	stays       int
}

// untaught is the lesson of a mill without tanks.
func untaught() lesson { return lesson{scatter: scatterSD, mean: 20} }

// moments are a count, sum and sum of squares in which the old fade.
type moments struct{ n, sum, squares float64 }

func (m *moments) add(x float64) {
	m.n, m.sum, m.squares = fading*m.n+1, fading*m.sum+x, fading*m.squares+x*x
}

func (m moments) mean() float64 { return m.sum / m.n }

func (m moments) variance() float64 { return max(m.squares/m.n-m.mean()*m.mean(), 0) }

// Tmin is learned once so many tanks differ so much in mean temperature.
const (
	tminStays  = 8
	tminSpread = 1.5 // °C, standard deviation
)

// learn draws the lesson from the likelihood. Pace and Tmin are told apart only by tanks of
// different temperature, so the pace is stated at their mean temperature, where it is known best,
// and Tmin stays the published one until they differ enough.
func (t *tally) learn() lesson {
	l := untaught()
	l.stays = t.stays
	if t.read {
		l.mean = t.warm.mean()
		l.tminLearned = t.stays >= tminStays && t.warm.variance() >= tminSpread*tminSpread
	}
	p := t.posterior(l.mean, l.tminLearned)
	l.scatter = p.scatter.mean()
	if l.tminLearned {
		l.tmin = p.tmin.mean()
	}
	// The wide belief that went in is taken out again, to leave what the tanks say.
	l.own.weight = max(1/p.pace.variance()-1/p.wide.variance(), 0)
	if l.own.weight > 0 {
		l.own.mean = p.pace.mean() / p.pace.variance() / l.own.weight
	}
	return l
}

// posterior is what a wide belief about the pace and the likelihood leave of pace, scatter and
// Tmin; wide is the pace by that belief alone.
type posterior struct{ pace, scatter, tmin, wide weighted }

// weighted are moments of values with weights.
type weighted struct{ w, sum, squares float64 }

func (s *weighted) add(x, w float64) {
	s.w, s.sum, s.squares = s.w+w, s.sum+w*x, s.squares+w*x*x
}

func (s weighted) mean() float64     { return s.sum / s.w }
func (s weighted) variance() float64 { return max(s.squares/s.w-s.mean()*s.mean(), 1e-6) }

func (t *tally) posterior(celsius float64, all bool) posterior {
	n := len(t.like) / (scatters * paces)
	if !all {
		n = 1
	}
	like := t.like[:n*scatters*paces]
	top := math.Inf(-1)
	for _, l := range like {
		top = max(top, l)
	}
	var p posterior
	wide := believed(0, unknownSD)
	for m := range paces {
		q := t.logPace(m)
		p.wide.add(q, math.Exp(-q*q*wide.weight/2))
	}
	for i, l := range like {
		if l < top-25 {
			continue
		}
		tmin := tmins[i/(scatters*paces)]
		q := t.logPace(i%paces) - shift(celsius, tmin)
		scatter := i / paces % scatters
		w := math.Exp(l-top-q*q*wide.weight/2) * scatterOdds[scatter]
		if all {
			w *= tminOdds[i/(scatters*paces)]
		}
		p.pace.add(q, w)
		p.scatter.add(scatterSDs[scatter], w)
		p.tmin.add(tmin, w)
	}
	return p
}

// shift is the log of the published pace with another Tmin over that with 0 °C, at a temperature.
// It turns hours stated there into the progress at which a course with that Tmin completes.
func shift(celsius, tmin float64) float64 {
	if tmin == 0 {
		return 0
	}
	return math.Log(pace(celsius, tmin) / pace(celsius, 0))
}
