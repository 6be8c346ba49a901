package ferment

import (
	"math"
	"time"
)

// testFrom is the share of the likely progress at which hand tests begin.
const testFrom = 0.75

// Hand tests by the clock where the model may not speak, in hours from the last load: the lower
// ends of what is published for hot (6-72 h, the world), unknown (12-36 h, Ethiopia) and cold
// tanks (24-48 h at a cool site, common practice, no source), and the hours between tests.
const (
	firstHot, everyHot         = 6.0, 2.0
	firstUnknown, everyUnknown = 12.0, 4.0
	firstCold, everyCold       = 24.0, 6.0
)

// tests sets when to test by hand.
func (f *Forecast) tests(s Site) {
	first, every := firstUnknown, everyUnknown
	switch {
	case f.Status == TooHot:
		first, every = firstHot, everyHot
	case f.Status == TooCold:
		first, every = firstCold, everyCold
	case !f.Likely.IsZero():
		f.FirstTest = f.course.when(testFrom * f.unit)
		every = min(max(f.ReadyHours/8, 1), 6)
	}
	if f.FirstTest.IsZero() {
		f.FirstTest = f.Youngest.Add(span(first))
	}
	if h := s.soonest(); h > 0 {
		if usual := f.Youngest.Add(span(h)); usual.Before(f.FirstTest) {
			f.FirstTest = usual
		}
	}
	f.TestEvery = span(every).Round(10 * time.Minute)
	r := &f.Reason
	switch {
	case !r.Rough.IsZero():
	case r.Slippery.IsZero() || r.Slippery.Before(f.FirstTest):
		f.NextTest = f.FirstTest
	default:
		f.NextTest = r.Slippery.Add(f.TestEvery)
	}
	if soon := r.Slippery.Add(f.TestEvery / 2); !r.Slippery.IsZero() && r.Rough.IsZero() &&
		f.NextTest.Before(soon) {
		f.NextTest = soon // it was tested only just now
	}
}

// ProgressAt is the progress of the youngest fruit at an instant as a share of its likely
// completion: 0 until it came, 1 at Likely, never falling, NaN where it cannot be told. It is
// given below 14 and above 32 °C too, where the model is not to be trusted with a window.
func (f Forecast) ProgressAt(at time.Time) float64 {
	if math.IsNaN(f.likely) {
		return math.NaN()
	}
	return max(f.course.young(at), 0) / f.likely
}

// OldestAt is the same for the oldest fruit, which decides on spoiling.
func (f Forecast) OldestAt(at time.Time) float64 {
	if math.IsNaN(f.likely) {
		return math.NaN()
	}
	return f.course.made(at) / f.likely
}
