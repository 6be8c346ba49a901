package rules

import (
	"math"
	"slices"

	"lotbell/rules/record"
)

// Scores is how the forecasts of a kind would have done: every load that is over is forecast
// again some hours before its end, knowing its own rows up to then and the loads that were over
// by then, and nothing else. Two rivals are asked the same: a line, and a fixed number of hours.
//
// The line of a drum or patio goes straight through the last three readings (least squares, wall
// clock). No line can be drawn through hand tests, so that of a tank is the published pace at the
// mean of its last three temperatures, from the last load on. Fixed hours are the median of the
// loads that were over, Usual before there were any; they count from the first reading of a drum or
// patio and from the last load of a tank.
//
// The true end of a drum or patio is where its readings crossed the target for good, on a straight
// line between the two about it. That of a tank lies between the last slippery test and the first
// rough one (or the washing): errors are counted to the middle, and a window held the truth if
// that lies in it. Where no slippery test bounds it, the coffee is taken not to have been past its
// spoil limit, 1.4 times the hours to completion (Peñuela et al. 2010, Cenicafé 61(2):159-173).
//
// The zero value is the score of nothing.
type Scores struct {
	Kind    record.Kind
	Target  float64 // percent wet basis; NaN for a tank
	Usual   float64 // hours of the fixed rival before any load was over
	Leads   []LeadScore
	Cases   []Hindcast
	Without []string // loads with no known end: they teach, and are not scored
}

// LeadScore is how a kind did at one lead. Errors are medians in hours, NaN where nothing was
// answered.
type LeadScore struct {
	Lead     float64 // hours before the end
	Cases    int     // loads that had begun by then
	Answered int     // of them with a window
	Held     int     // of those whose window held the truth
	Error    float64
	Alone    RivalScore // the same forecast, knowing no other load: the difference is the learning
	Line     RivalScore
	Fixed    RivalScore
}

// RivalScore is how a rival did on the cases that the forecast answered.
type RivalScore struct {
	Answered int
	Error    float64 // median, hours
	Nearer   int     // of Answered, those in which the forecast was nearer to the truth
}

// Hindcast is one forecast made again, and by how many hours each was off, never negative; NaN:
// no answer.
type Hindcast struct {
	Name                    string // of the record or place
	Lead                    float64
	Own, Alone, Line, Fixed float64
	Held                    bool
	Past                    int // loads that were over by then
}

// HeldShare is the share of windows that held the truth; NaN without any.
func (s LeadScore) HeldShare() float64 { return float64(s.Held) / float64(s.Answered) }

// Beats says whether the forecast had the smaller median error than both rivals, as far as they
// had an answer; false where it has none itself.
func (s LeadScore) Beats() bool {
	return s.Answered > 0 && !(s.Line.Error <= s.Error) && !(s.Fixed.Error <= s.Error)
}

// scoreTally sums up the cases lead by lead.
func (s *Scores) scoreTally() {
	for _, lead := range scoreLeads(s.Kind) {
		l := LeadScore{Lead: lead}
		var own []float64
		var alone, line, fixed scoreRival
		for _, c := range s.Cases {
			if c.Lead != lead {
				continue
			}
			l.Cases++
			if math.IsNaN(c.Own) {
				continue
			}
			l.Answered++
			if c.Held {
				l.Held++
			}
			own = append(own, c.Own)
			alone.add(c.Own, c.Alone)
			line.add(c.Own, c.Line)
			fixed.add(c.Own, c.Fixed)
		}
		l.Error, l.Alone, l.Line, l.Fixed = scoreMedian(own), alone.score(), line.score(), fixed.score()
		s.Leads = append(s.Leads, l)
	}
}

// scoreRival gathers the errors of a rival.
type scoreRival struct {
	errors []float64
	nearer int
}

func (r *scoreRival) add(own, its float64) {
	if math.IsNaN(its) {
		return
	}
	r.errors = append(r.errors, its)
	if own < its {
		r.nearer++
	}
}

func (r *scoreRival) score() RivalScore {
	return RivalScore{Answered: len(r.errors), Error: scoreMedian(r.errors), Nearer: r.nearer}
}

// scoreMedian is the median, NaN of nothing.
func scoreMedian(xs []float64) float64 {
	n := len(xs)
	if n == 0 {
		return math.NaN()
	}
	xs = slices.Sorted(slices.Values(xs))
	return (xs[(n-1)/2] + xs[n/2]) / 2
}
