package rules

import (
	"math"
	"slices"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/record"
)

// hindcastWindow is what a forecast answers; zero instants: nothing.
type hindcastWindow struct{ early, likely, late time.Time }

// hindcastLoad is one load that is over, as a contest sees it.
type hindcastLoad struct {
	name string
	from time.Time // fixed hours count from here
	over time.Time // its last row: from here on it can teach
	end  time.Time // the true end; zero: not known
	// ours forecasts from what was known at an instant and what the first loads of the contest
	// taught, line is the rival; a zero instant is no answer.
	ours func(at time.Time, taught int) hindcastWindow
	line func(at time.Time) time.Time
}

// hindcastLoads are the loads of one contest in the order in which they were over.
type hindcastLoads []hindcastLoad

// hindcastOrder is records in the order in which they were over.
func hindcastOrder(sheets []record.Sheet) []record.Sheet {
	sheets = slices.Clone(sheets)
	slices.SortStableFunc(sheets, func(a, b record.Sheet) int { return a.To().Compare(b.To()) })
	return sheets
}

// run forecasts every load again at every lead, in the order in which they began.
func (ls hindcastLoads) run(s *Scores) {
	hours := make([]float64, len(ls)) // NaN: no known end
	for i, l := range ls {
		hours[i] = math.NaN()
		if l.end.IsZero() {
			s.Without = append(s.Without, l.name)
			continue
		}
		hours[i] = l.end.Sub(l.from).Hours()
	}
	inTime := slices.Clone(ls)
	slices.SortStableFunc(inTime, func(a, b hindcastLoad) int { return a.from.Compare(b.from) })
	for _, l := range inTime {
		for _, lead := range scoreLeads(s.Kind) {
			at := l.end.Add(-time.Duration(lead * float64(time.Hour)))
			if l.end.IsZero() || !at.After(l.from) {
				continue
			}
			n := ls.overBy(at)
			s.Cases = append(s.Cases, l.hindcast(at, lead, n, scoreFixed(hours[:n], s.Usual)))
		}
	}
}

// overBy counts the loads that were over by an instant: they are the first so many. A load is never
// among those that teach its own forecast, because its last row comes after its end.
func (ls hindcastLoads) overBy(at time.Time) int {
	n := 0
	for n < len(ls) && !ls[n].over.After(at) {
		n++
	}
	return n
}

// scoreFixed is the median of the hours that are known, or the usual ones.
func scoreFixed(hours []float64, usual float64) float64 {
	known := slices.DeleteFunc(slices.Clone(hours), math.IsNaN)
	if len(known) == 0 {
		return usual
	}
	return scoreMedian(known)
}

// hindcast is one case; n loads teach. An answer that lies in the past already
// counts as it stands, for the rivals as for the forecast.
func (l hindcastLoad) hindcast(at time.Time, lead float64, n int, fixed float64) Hindcast {
	f := l.ours(at, n)
	if f.early.IsZero() || f.late.IsZero() { // half a window is none
		f = hindcastWindow{}
	}
	return Hindcast{Name: l.name, Lead: lead, Past: n,
		Own:   l.off(f.likely),
		Alone: l.off(l.ours(at, 0).likely),
		Line:  l.off(l.line(at)),
		Fixed: l.off(l.from.Add(time.Duration(fixed * float64(time.Hour)))),
		Held:  !f.likely.IsZero() && !f.early.After(l.end) && !f.late.Before(l.end)}
}

// off is by how many hours an answer misses the end.
func (l hindcastLoad) off(answer time.Time) float64 {
	if answer.IsZero() {
		return math.NaN()
	}
	return answer.Sub(l.end).Abs().Hours()
}

// hindcastOnce remembers what so many loads taught, for learning is dear and four leads of a load
// mostly know the same ones.
func hindcastOnce[L any](learn func(n int) L) func(n int) L {
	known := map[int]L{}
	return func(n int) L {
		l, ok := known[n]
		if !ok {
			l = learn(n)
			known[n] = l
		}
		return l
	}
}

// hindcastLine is where a straight line through the last three readings meets the target, by the
// wall clock; zero where there are not three or they do not fall.
func hindcastLine(readings []drying.Reading, target float64) time.Time {
	n := len(readings)
	if n < 3 {
		return time.Time{}
	}
	last := readings[n-3:]
	var t, m, tt, tm float64
	for _, x := range last {
		h := x.At.Sub(last[2].At).Hours()
		t, m, tt, tm = t+h/3, m+x.Moisture/3, tt+h*h, tm+h*x.Moisture
	}
	slope := (tm - 3*t*m) / (tt - 3*t*t)
	const longest = 5000 // hours: what lies further off is no answer
	if left := t + (target-m)/slope; slope < 0 && math.Abs(left) < longest {
		return last[2].At.Add(time.Duration(left * float64(time.Hour)))
	}
	return time.Time{}
}

// hindcastPace is the rival for a tank: the published hours at the mean of the last three
// temperatures, from the last load on; zero where none was read.
func hindcastPace(t ferment.Tank, youngest time.Time) time.Time {
	sum, n := 0.0, 0.0
	for i := len(t.Readings) - 1; i >= 0 && n < 3; i-- {
		switch r := t.Readings[i]; {
		case !math.IsNaN(r.Mass):
			sum, n = sum+r.Mass, n+1
		case !math.IsNaN(r.Ambient):
			sum, n = sum+r.Ambient+ferment.SelfHeating, n+1
		}
	}
	if hours := ferment.Hours(sum / n); n > 0 && !math.IsInf(hours, 0) {
		return youngest.Add(time.Duration(hours * float64(time.Hour)))
	}
	return time.Time{}
}
