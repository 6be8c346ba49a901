package draw

import (
	"math"
	"strconv"
	"time"
)

// axis maps values from lo to hi to pixels from first to last.
type axis struct {
	lo, hi      float64
	first, last int
}

// at is the pixel of a value, which is kept on the axis.
func (a axis) at(v float64) int {
	share := (min(max(v, a.lo), a.hi) - a.lo) / (a.hi - a.lo)
	return a.first + int(math.Round(share*float64(a.last-a.first)))
}

// step is the least of 1, 2 and 5 times a power of ten that is at least x.
func step(x float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*ten >= x*(1-1e-9) {
			return m * ten
		}
	}
	return 10 * ten
}

// upright is an axis of values that has room for all of them, and the step of its marks.
func upright(lo, hi float64, bottom, top int) (axis, float64) {
	if hi-lo < 1 {
		mid := (lo + hi) / 2
		lo, hi = mid-0.5, mid+0.5
	}
	s := step((hi - lo) / 4)
	return axis{math.Floor(lo/s) * s, math.Ceil(hi/s) * s, bottom, top}, s
}

// marks are the values of an axis that are written beside it.
func (a axis) marks(step float64) []float64 {
	var out []float64
	for v := math.Ceil(a.lo/step-1e-9) * step; v <= a.hi+step*1e-9; v += step {
		out = append(out, v)
	}
	return out
}

// figure writes a mark with as many decimals as its step has.
func figure(v, step float64) string {
	return strconv.FormatFloat(v, 'f', max(0, int(math.Ceil(-math.Log10(step)-1e-9))), 64)
}

// clock is an axis of time.
type clock struct {
	axis
	zone *time.Location
	day  func(time.Time) string
}

// along is an axis of time from an instant to another, at least an hour.
func along(from, to time.Time, left, right int, zone *time.Location,
	day func(time.Time) string) clock {
	if to.Sub(from) < time.Hour {
		to = from.Add(time.Hour)
	}
	return clock{axis{seconds(from), seconds(to), left, right}, zone, day}
}

// seconds is an instant as a number that can be subtracted.
func seconds(t time.Time) float64 { return float64(t.Unix()) }

// x is the pixel of an instant.
func (k clock) x(t time.Time) int { return k.at(seconds(t)) }

// shows says whether an instant lies on the axis.
func (k clock) shows(t time.Time) bool {
	return !t.IsZero() && seconds(t) >= k.lo && seconds(t) <= k.hi
}

// hours are the steps that a time axis may have, then whole days.
func hours() []int { return []int{1, 2, 3, 6, 12, 24, 48, 5 * 24, 10 * 24, 20 * 24} }

// mostMarks is how many instants are written below a picture.
const mostMarks = 6

// moments are the instants that are written below the axis, whole hours of the mill's clock, and
// how they are written: the hour, or for steps of days the day.
func (k clock) moments() (at []time.Time, text []string) {
	span := (k.hi - k.lo) / 3600
	step := hours()[len(hours())-1]
	for _, h := range hours() {
		if span/float64(h) <= mostMarks {
			step = h
			break
		}
	}
	for span/float64(step) > mostMarks {
		step *= 2
	}
	from := time.Unix(int64(k.lo), 0).In(k.zone)
	for h := 0; ; h += step {
		t := time.Date(from.Year(), from.Month(), from.Day(), h, 0, 0, 0, k.zone)
		switch {
		case seconds(t) > k.hi:
			return at, text
		case seconds(t) < k.lo:
			continue
		}
		at = append(at, t)
		if step < 24 {
			text = append(text, t.Format("15:04"))
		} else {
			text = append(text, k.day(t))
		}
	}
}

// clocked draws the time axis below a plot that ends at bottom, with lines up to its top.
func (c *canvas) clocked(k clock, top, bottom int) {
	at, text := k.moments()
	free := 0
	for i, t := range at {
		x := k.x(t)
		c.line(pt(x, top), pt(x, bottom), 1, 4, grey)
		c.line(pt(x, bottom), pt(x, bottom+6), 3, 0, ink)
		left := min(max(x-c.width(text[i])/2, 0), Width-c.width(text[i]))
		if left >= free {
			c.text(left, bottom+letters+6, text[i], ink)
			free = left + c.width(text[i]) + 10
		}
	}
}
