package drying

import (
	"math"
	"time"
)

// lotSpread is the relative spread of the pace from lot to lot of one site: half the variance of
// that of any site's.
const lotSpread = .25

// What is held of a site's days before its lots tell. In the weather of
// testdata/drying/fuelsticks.csv, its season taken out, 0.59, 0.31 and 0.12 of what three days
// strayed by were left on the three days after.
const (
	daysStay  = .5   // share of what the last days strayed by that the next one keeps
	strayings = 60.0 // h² of work: trust in that, three days that stray as days do
	clearDays = 3.0  // days' worth of trust in clear days
)

// habit is what earlier lots tell of a site's days.
type habit struct {
	days, work      float64 // how many, and their work in hours
	follows, strays float64 // h²: products with, and squares of, what the last days strayed by
}

// learnHabit sums up the days of earlier lots, given by their work.
func learnHabit(lots [][]float64) (h habit) {
	for _, days := range lots {
		for _, work := range days {
			h.days, h.work = h.days+1, h.work+work
		}
	}
	for _, days := range lots {
		sum := 0.0
		for i, work := range days {
			if i > 0 {
				off := sum/min(float64(i), lastDays/24) - h.work/h.days
				h.follows += off * (work - h.work/h.days)
				h.strays += off * off
			}
			if sum += work; i >= lastDays/24 {
				sum -= days[i-lastDays/24]
			}
		}
	}
	return h
}

// stays is the share of what the last days strayed from common days by that the next one keeps.
func (h habit) stays() float64 {
	return max(0, min(.9, (daysStay*strayings+h.follows)/(strayings+h.strays)))
}

// days is the work that each whole day of a lot gave up to an instant.
func (s *sky) days(until time.Time) (out []float64) {
	for h := 24.0; h <= s.clock.hours(until); h += 24 {
		out = append(out, s.clock.burnt(h)-s.clock.burnt(h-24))
	}
	return out
}

// What is held of the spread of hours before lots tell: that of the pace of any site.
const (
	tookSpread = .35 // of their logarithm, from lot to lot
	tookDoubt  = 3.0 // lots' worth of trust in that
)

// took is what earlier lots took from their first reading to their target: how many, sum and sum of
// squares of the logarithm of hours, and the last one's target, percent wet basis.
type took struct{ n, sum, square, target float64 }

func (t *took) add(hours, target float64) {
	if hours > 1 {
		x := math.Log(hours)
		t.n, t.sum, t.square, t.target = t.n+1, t.sum+x, t.square+x*x, target
	}
}

// word is what that foretells of a lot that is still out; nil: no lot tells.
func (t *took) word(l *look) *word {
	if t.n == 0 {
		return nil
	}
	mean := t.sum / t.n
	v := (tookDoubt*sq(tookSpread) + max(0, t.square-t.n*mean*mean)) / (tookDoubt + t.n - 1)
	now := l.clock.hours(l.kept[len(l.kept)-1].at)
	end, err := stillOut(math.Log(max(1, now)), mean, math.Sqrt(v*(1+1/t.n)))
	work := func(log float64) float64 { return l.clock.work(math.Exp(log)) - l.now() }
	return &word{work: work(end), v: sq((work(end+err) - work(end-err)) / 2), m: dry(t.target)}
}

// stillOut is the mean and standard error of a normal value that is known not to be below now.
func stillOut(now, mean, err float64) (later, left float64) {
	a := (now - mean) / err
	above := math.Erfc(a/math.Sqrt2) / 2
	if above < 1e-6 {
		return now + err/a, err / a
	}
	pull := math.Exp(-a*a/2) / math.Sqrt(2*math.Pi) / above
	return mean + err*pull, err * math.Sqrt(max(.01, 1+a*pull-pull*pull))
}
