package drying

import (
	"math"
	"slices"
	"time"
)

// Past is what a drum taught in earlier runs. The zero value: nothing learned. Make it with
// [Learn].
type Past struct {
	Runs   int     // given to learn from
	Taught int     // of them dried far enough to teach something
	Bed    float64 // bed factor, learned and published weighed together; 0: as published
	Spread float64 // relative standard error of the next run's; 0: that of a strange drum
	Weight float64 // of what was learned in Bed, 0..1
	Widen  float64 // factor on the windows that would have held the truth as often as said; 0: 1

	rough float64         // weight of the rough mood
	sky   habit           // of a patio's days
	took  took            // by a patio's lots
	shape [shapes]float64 // weights of the shapes before the next run; all 0: as published
}

// Ended is an earlier run and when it reached its target; zero End: where its readings crossed.
type Ended struct {
	Run Run
	End time.Time
}

// Until is the run as it was known at an instant: later rows are gone, and a stop that had not
// ended is open.
func (r Run) Until(at time.Time) Run {
	r.Readings = r.Readings[:through(r.Readings, at, func(x Reading) time.Time { return x.At })]
	r.Air = r.Air[:through(r.Air, at, func(x Air) time.Time { return x.At })]
	r.Weights = r.Weights[:through(r.Weights, at, func(x Weight) time.Time { return x.At })]
	r.Stops = slices.Clone(r.Stops[:through(r.Stops, at, func(x Stop) time.Time { return x.From })])
	for i := range r.Stops {
		if r.Stops[i].To.After(at) {
			r.Stops[i].To = time.Time{}
		}
	}
	return r
}

// through counts the rows, in time order, that are not after an instant.
func through[T any](rows []T, at time.Time, of func(T) time.Time) int {
	n, _ := slices.BinarySearchFunc(rows, at, func(x T, at time.Time) int {
		if of(x).After(at) {
			return 1
		}
		return -1
	})
	return n
}

// Reached finds when the readings crossed the target for good, on a straight line between the two
// about it; false: they did not.
func (r Run) Reached() (time.Time, bool) {
	i := len(r.Readings) - 1
	for i >= 0 && r.Readings[i].Moisture <= r.Target {
		i--
	}
	if i < 0 || i == len(r.Readings)-1 {
		return time.Time{}, false
	}
	a, b := r.Readings[i], r.Readings[i+1]
	share := (a.Moisture - r.Target) / (a.Moisture - b.Moisture)
	return a.At.Add(time.Duration(share * float64(b.At.Sub(a.At)))), true
}

const (
	runSpread   = 0.08 // of the logarithm of one drum's bed factor from run to run
	runDoubt    = 4.0  // runs' worth of trust in that
	shapeDoubt  = 3.0  // runs' worth of trust in the published shapes
	nearlyThere = 1.0  // points above the target from which a run teaches its pace all the same
)

// pupil is what has been gathered from the runs so far, on top of what is published.
type pupil struct {
	published      belief
	runSpread      float64 // from lot to lot
	runs           int
	n, sum, square float64 // of the logarithm of the bed factor
	shape          [shapes]float64
	rough          float64
	took           took
	skies          [][]float64 // of a patio: each lot's work by the day
	scores         []float64
}

// Learn sums up the earlier runs of one drum, in time order. Each is forecast again at 6, 3 and 1 h
// before its end, knowing only the runs before it: earlier than that a window rests on what was
// believed, and its misses say little of those of later ones. Where an end is not given it is by
// readings, as a window is meant.
func Learn(past []Ended) Past {
	p := pupil{published: firstBelief, runSpread: runSpread, scores: slices.Clone(firstScores[:])}
	for _, e := range past {
		if e.End.IsZero() {
			e.End, _ = e.Run.Reached()
		}
		e.Run.Past = p.past()
		if !e.End.IsZero() {
			p.takeScores(e.End, []float64{6, 3, 1}, func(at time.Time) Forecast {
				return e.Run.Until(at).unwidened()
			})
			e.Run = e.Run.Until(e.End)
		}
		p.takeRun(&e.Run, !e.End.IsZero())
	}
	return p.past()
}

// unwidened is the forecast with the window as wide as the bank makes it.
func (r Run) unwidened() Forecast {
	r.Past.Widen = 0
	return r.Forecast()
}

// takeRun adds a run that ended, or came near its target.
func (p *pupil) takeRun(r *Run, ended bool) {
	p.runs++
	readings := r.weighed()
	n := len(readings)
	if n < 4 || !ended && readings[n-1].Moisture > r.Target+nearlyThere {
		return
	}
	if l := newLook(r, readings); l.enough() {
		p.takePace(l, drumBelief(r.Past, l.usual.noInlet))
	}
}

// takeScores adds by how much of its window each forecast missed, some hours before the end.
func (p *pupil) takeScores(end time.Time, leads []float64, again func(time.Time) Forecast) {
	for _, lead := range leads {
		f := again(end.Add(-hoursOf(lead)))
		miss, half := end.Sub(f.Likely), f.Late.Sub(f.Likely)
		if miss < 0 {
			miss, half = -miss, f.Likely.Sub(f.Early)
		}
		if half > 0 {
			p.scores = append(p.scores, float64(miss)/float64(half))
		}
	}
}

// takePace adds the shape and the bed factor that a run had, as a whole and at its end: where the
// two differ the law fits the drum badly and the factor is worth less.
func (p *pupil) takePace(l *look, held belief) {
	first, last := l.kept[0], l.kept[len(l.kept)-1]
	if last.age <= first.age || last.work <= first.work {
		return
	}
	l.bank.follow(&l.scale, l.kept, held, &l.usual.moods, l.word)
	for i := range l.bank {
		p.shape[l.bank[i].shape] += l.bank[i].weight
		p.rough += float64(l.bank[i].temper) * l.bank[i].weight
	}
	whole := math.Log((last.work - first.work) / (last.age - first.age))
	end := math.Log(l.bed())
	p.n, p.sum, p.square = p.n+1, p.sum+(whole+end)/2, p.square+(whole*whole+end*end)/2
}

// past shrinks what was gathered toward what is published: the bed factor as a normal mean with a
// normal prior, the shapes as counts on top of prior counts, the windows by conformal scores on
// top of those of a normal error. With n runs, of a variance within the drum and one between drums,
// the learned mean weighs n/(n + within/between); what is left unsure about the next run is the
// variance within and the part of that between which n runs have not taken away.
func (p *pupil) past() Past {
	if p.n == 0 {
		return Past{Runs: p.runs}
	}
	mean := p.sum / p.n
	within := (runDoubt*sq(p.runSpread) + max(0, p.square-p.n*mean*mean)) / (runDoubt + p.n - 1)
	between := sq(p.published.spread) - sq(p.runSpread)
	w := p.n / (p.n + within/between)
	out := Past{Runs: p.runs, Taught: int(p.n), Weight: w, Widen: conformal(p.scores),
		Bed:    math.Exp(w*mean - (1-w)*math.Log(p.published.pace)),
		Spread: math.Sqrt(within + between*(1-w)),
		rough:  (shapeDoubt*p.published.rough + p.rough) / (shapeDoubt + p.n)}
	for i := range out.shape {
		out.shape[i] = (shapeDoubt*p.published.shape[i] + p.shape[i]) / (shapeDoubt + p.n)
	}
	out.sky, out.took = learnHabit(p.skies), p.took
	return out
}

// firstScores are those a normal error leaves at 0.1, 0.2 … 0.9 of its distribution, so that with
// no run learned the window stays as it is.
var firstScores = [...]float64{.098, .198, .301, .409, .526, .657, .809, 1, 1.283}

// conformal is the score that the stated confidence of past and next ones stays under (split
// conformal: Vovk, Gammerman and Shafer 2005, Algorithmic Learning in a Random World; Lei and
// others 2018, J. Am. Stat. Assoc. 113:1094), within 0.5 to 3.
func conformal(scores []float64) float64 {
	s := slices.Sorted(slices.Values(scores))
	place := confidence*float64(len(s)+1) - 1
	i := min(int(place), len(s)-2)
	return min(3, max(.5, s[i]+(place-float64(i))*(s[i+1]-s[i])))
}

// over lays what was taught over what is published.
func (p Past) over(published belief) belief {
	if p.Taught == 0 {
		return published
	}
	return belief{1 / p.Bed, p.Spread, p.shape, p.rough}
}

// drumBelief is what is held of a drum before its readings; unread: nobody reads the inlet.
func drumBelief(p Past, unread bool) belief {
	b := p.over(firstBelief)
	if unread && p.Taught == 0 {
		b.spread = unreadAir
	}
	return b
}

func (p Past) widen() float64 {
	if p.Widen == 0 {
		return 1
	}
	return p.Widen
}
