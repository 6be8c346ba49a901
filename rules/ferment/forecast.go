package ferment

import "time"

// Status says how far a forecast can be trusted, in one word.
type Status int8

const (
	Good        Status = iota // a window from the model and what was read
	NoLoad                    // nothing is in the tank
	NoBasis                   // no temperature, altitude, usual hours or past: tests by the clock
	TooCold                   // mean below 14 °C, or may never be ready: no window, tests by the clock
	TooHot                    // mean above 32 °C: no window, tests by the clock
	TestedRough               // a hand test found it rough: the window lies in the past
	HandsDiffer               // a slippery test came after a rough one; the slippery one counts
	NoSafeHour                // the oldest fruit spoils before the youngest is ready
)

// String is the word of the status as tables and JSON show it.
func (s Status) String() string {
	return [...]string{"good", "no-load", "no-basis", "too-cold", "too-hot", "rough",
		"hands-differ", "no-safe-hour"}[s]
}

// Forecast is what is to come in one tank. All instants are absolute and rest on the tank alone:
// the same tank gives the same forecast whenever it is asked. A zero instant means: cannot tell.
type Forecast struct {
	// Early, Likely and Late bound the completion of the youngest fruit: the 10, 50 and 90 %
	// points of what is still possible.
	Early, Likely, Late time.Time
	// SpoilWarn and Spoil are when the oldest fruit is past its likely completion by a fifth
	// and by two fifths of the hours to completion (3 and 6 h where completion takes 15 h).
	SpoilWarn, Spoil time.Time
	// FirstTest is when to begin hand tests; NextTest the next one after those made, zero once
	// it is rough. TestEvery is the interval from there on.
	FirstTest, NextTest time.Time
	TestEvery           time.Duration
	// Oldest and Youngest are the first and the last load; FillSpan lies between them.
	Oldest, Youngest time.Time
	FillSpan         time.Duration
	// ReadyHours is the hours from filling to completion at the last known temperature, and
	// WarnHours and SpoilHours those from completion to the two spoil limits there. NaN: unknown.
	ReadyHours, WarnHours, SpoilHours float64
	// Confidence is the stated chance that Early and Late hold the truth; 0 without a window.
	Confidence float64
	Status     Status
	Reason     Reason

	course course
	likely float64 // progress of the youngest fruit at Likely, NaN: cannot tell
	unit   float64 // progress that completes a tank like this one, before its own tests
}

// Reason is what a forecast rests on. Floats are NaN and instants zero where not applicable.
type Reason struct {
	Source   Source
	Celsius  float64   // last known temperature of the mass
	Coming   float64   // temperature taken from LastRead on; the last known until tanks taught more
	Mean     float64   // mean temperature from the last load to the likely completion
	LastRead time.Time // last temperature reading that counted

	// Hours to completion at the temperature At (NaN: by the clock, whatever the temperature):
	// by the published model, by the mill's usual hours, by its past tanks, and Used, their mean
	// in logarithms with the weights given, which sum to 1.
	At                                      float64
	Prior, Usual, Learned, Used             float64
	PriorWeight, UsualWeight, LearnedWeight float64
	PastStays                               int     // past tanks that taught this pace
	TankFactor, ClassFactor                 float64 // on Used; 1 unless the data carry one
	Tmin                                    float64 // °C at which the pace is nil
	TminLearned                             bool    // false: the published 0 °C
	Scatter                                 float64 // relative sd between tanks alike
	HalfWidth                               float64 // of the window before any hand test, a share

	PH, PHExpected, PHShift float64   // last pH, the pH expected then, shift of hours as a share
	Slippery, Rough         time.Time // the tests that bound the window
}

// Leeway is the time between the likely completion of the youngest fruit and the spoiling of the
// oldest; negative if there is none, 0 where it cannot be told.
func (f Forecast) Leeway() time.Duration {
	if f.Likely.IsZero() || f.Spoil.IsZero() {
		return 0
	}
	return f.Spoil.Sub(f.Likely)
}
