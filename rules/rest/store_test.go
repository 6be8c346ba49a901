package rest

import (
	"math"
	"testing"
	"time"
)

func TestPeriod(t *testing.T) {
	from, until := Period(monday, LeastDays, MostDays)
	if from != after(30) || until != after(60) {
		t.Errorf("%v to %v", from, until)
	}
	if from, until = Period(monday, 0, 0); !from.IsZero() || !until.IsZero() {
		t.Errorf("not set: %v to %v", from, until)
	}
}

// Moisture at most 12.5 % (Codex CAC/RCP 69-2009); no growth below about 0.68 (ICO); a measured
// activity overrides the computed one.
func TestSafe(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		measured, moisture, celsius float64
		want                        Verdict
	}{
		{nan, 11, 20, Good},
		{nan, 12, 20, Warn},        // computed 0.676
		{nan, 12.4, 25, Alarm},     // computed 0.71
		{0.60, 12, 25, Good},       // dry lots read lower than the isotherm
		{0.68, 11, 20, Warn},       // and a damp one higher
		{0.71, 10.5, 20, Alarm},    //
		{0.55, 12.6, 20, Alarm},    // over the moisture whatever the activity
		{0.55, nan, nan, Good},     // an instrument needs no moisture
		{nan, nan, 20, CannotTell}, //
		{nan, 12, nan, CannotTell}, // no temperature, no isotherm
		{nan, 12.6, nan, Alarm},    //
	} {
		w := Safe(c.measured, c.moisture, c.celsius)
		if w.Verdict != c.want || w.Measured == math.IsNaN(c.measured) {
			t.Errorf("%+v: %+v", c, w)
		}
	}
	near(t, "computed", Safe(nan, 12, 25).Activity, 0.6898, 6e-4)
}

func TestEven(t *testing.T) {
	nine := []float64{11, 11.2, 10.9, 11.1, 11, 11.3, 10.8, 11, 11.1}
	with := func(xs []float64, x float64) []float64 { return append(append([]float64{}, xs...), x) }
	for _, c := range []struct {
		what string
		xs   []float64
		want Verdict
	}{
		{"nine alike", nine, Good},
		{"eight alike", nine[:8], CannotTell},
		{"a gap in the readings does not count", with(nine[:8], math.NaN()), CannotTell},
		{"range over 1.5", with(nine, 12.4), Warn},
		{"one over 12.5", with(nine, 12.6), Alarm},
		{"two are enough to fail", []float64{10, 12}, Warn},
		{"one wet sample is enough", []float64{13}, Alarm},
		{"scattered", []float64{10.4, 11.6, 10.4, 11.6, 10.4, 11.6, 10.4, 11.6, 11}, Warn},
		{"nothing", nil, CannotTell},
	} {
		if e := Even(c.xs); e.Verdict != c.want {
			t.Errorf("%s: %+v", c.what, e)
		}
	}
	e := Even([]float64{10, 11, 12})
	near(t, "mean", e.Mean, 11, 1e-12)
	near(t, "sd", e.SD, 1, 1e-12)
	near(t, "range", e.Range, 2, 1e-12)
	near(t, "wettest", e.Wettest, 12, 0)
}

func TestWarms(t *testing.T) {
	probes := func(celsius ...float64) []Probe { // a day apart
		var out []Probe
		for i, c := range celsius {
			out = append(out, Probe{after(float64(i)), c})
		}
		return out
	}
	for _, c := range []struct {
		what       string
		probes     []Probe
		neighbours []float64
		want       Verdict
		week       float64
	}{
		{"steady", probes(20, 20.5, 20, 20.5), nil, Good, 0.5},
		{"three degrees", probes(20, 21, 22, 23), nil, Warn, 3},
		{"five degrees", probes(20, 21, 23, 25), nil, Alarm, 5},
		{"five degrees, but in two weeks", probes(20, 20, 20, 20, 21, 21, 22, 22, 22, 22, 23, 23,
			24, 24, 25), nil, Warn, 3},
		{"as the coolest day of the week", probes(22, 20, 23.5), nil, Warn, 3.5},
		{"above the neighbours", probes(26), []float64{20, 21, 20.5, math.NaN()}, Alarm, math.NaN()},
		{"between its neighbours", probes(26), []float64{20, 24}, Good, math.NaN()},
		{"among neighbours", probes(21), []float64{20, 21}, Good, math.NaN()},
		{"one probe", probes(21), nil, CannotTell, math.NaN()},
		{"nothing", nil, []float64{20}, CannotTell, math.NaN()},
		{"cooling", probes(25, 22, 20), nil, Good, -2},
	} {
		w := Warms(c.probes, c.neighbours)
		if w.Verdict != c.want {
			t.Errorf("%s: %+v", c.what, w)
		}
		if !math.IsNaN(c.week) {
			near(t, c.what, w.Week, c.week, 1e-9)
		}
	}
	// The hottest of several depths is compared with the hottest of before.
	deep := append(probes(20), Probe{monday.Add(10 * time.Minute), 23},
		Probe{after(2), 21}, Probe{after(2).Add(5 * time.Minute), 26.5})
	near(t, "hottest depth", Warms(deep, nil).Week, 3.5, 1e-9)
}

// What air does to a lot that should lie between 10 and 12 %.
func TestBlow(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		celsius, humidity, moisture, lot float64
		effect                           Effect
		cause                            Cause
	}{
		{20, 0.50, 13, 22, Helps, WouldDry},   // air of 10.3 %
		{20, 0.65, 9, 22, Helps, WouldRaise},  // air of 11.7 %
		{20, 0.85, 11, 22, Harms, WouldWet},   // air of 15.4 %
		{20, 0.85, 9, 22, Harms, WouldWet},    // raises it, and beyond the band
		{25, 0.30, 11, 27, Harms, WouldOver},  // air of 8.4 %
		{18, 0.60, 11, 25, Helps, WouldCool},  // air of 11.2 %
		{26, 0.60, 11, 20, Harms, WouldWarm},  // air of 10.8 %, dew point 17.6 °C
		{28, 0.80, 13, 22, Harms, WouldSweat}, // dew point 24 °C
		{20, 0.63, 11.3, 21, Neither, WithinError},
		{20, 0.70, 12.6, 21, Neither, WithinError}, // 12.3 %: too near to tell
		{nan, 0.6, 11, 20, Unknown, NoCause},
		{20, 65, 11, 20, Unknown, NoCause},
		{20, 0.6, nan, 20, Unknown, NoCause},
	} {
		a := Blow(Air{monday, c.celsius, c.humidity}, c.moisture, c.lot, 10, 12)
		if a.Effect != c.effect || a.Cause != c.cause {
			t.Errorf("%+v: %v, %v at %.1f %%", c, a.Effect, a.Cause, a.Equilibrium)
		}
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{CannotTell.String(), "cannot-tell"}, {Alarm.String(), "alarm"},
		{WouldSweat.String(), "sweats"}, {WithinError.String(), "within-error"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
