package ferment

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Before a mill has tanks of its own the window is ±40 %.
func TestFirstWindow(t *testing.T) {
	f := filled(mass(0, 20)).Forecast()
	near(t, "early", hoursTo(f.Early), 0.6*HoursAt20, 0.2)
	near(t, "likely", hoursTo(f.Likely), HoursAt20, 0.01)
	near(t, "late", hoursTo(f.Late), 1.4*HoursAt20, 0.2)
	near(t, "confidence", f.Confidence, 0.8, 0)
	near(t, "first test", hoursTo(f.FirstTest), 0.75*HoursAt20, 0.01)
	if f.NextTest != f.FirstTest || f.Status != Good {
		t.Errorf("%v, next test %v", f.Status, f.NextTest)
	}
}

// same tells whether two forecasts agree in everything, NaN with NaN.
func same(a, b Forecast) bool { return fmt.Sprintf("%+v", a) == fmt.Sprintf("%+v", b) }

func TestAirAndMass(t *testing.T) {
	f := filled(air(0, 18), air(3, 18)).Forecast()
	near(t, "air alone", f.ReadyHours, Hours(18+SelfHeating), 1e-9)
	if f.Reason.Source != FromAmbient || f.Reason.HalfWidth <= 0.40 {
		t.Errorf("from %v ± %.3f", f.Reason.Source, f.Reason.HalfWidth)
	}
	cool := filled(air(0, 18))
	cool.Site.Cool = true // 18 °C: 28.5 h, and 3.3 °C more 20.4 (handbook table: 18 and 21.3 °C)
	near(t, "under water", cool.Forecast().ReadyHours, 28.5, 0.05)
	near(t, "open", f.ReadyHours, 20.4, 0.05)
	cool = filled()
	cool.Site.Cool, cool.Site.Altitude = true, 1700
	near(t, "by altitude", cool.Site.celsius(FromAltitude), 29.42-0.0061*1700, 1e-9)
	f = filled(air(0, 18), mass(3, 24), air(6, 12)).Forecast()
	near(t, "mass is preferred to newer air", f.Reason.Celsius, 24, 0)
	near(t, "before it the air counts", f.course.young(after(3)), 3/Hours(18+SelfHeating), 1e-9)
}

// The first temperature holds back to the filling, the last one for ever; order does not matter.
func TestReadingsInAnyOrder(t *testing.T) {
	a := filled(mass(4, 22), mass(9, 25)).Forecast()
	b := filled(mass(9, 25), mass(4, 22)).Forecast()
	near(t, "back to the filling", a.course.young(after(2)), 2/Hours(22), 1e-9)
	near(t, "for ever", a.course.young(after(10))-a.course.young(after(9)), 1/Hours(25), 1e-9)
	if !same(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
}

func TestHandTests(t *testing.T) {
	plain := filled(mass(0, 20)).Forecast()
	slippery := filled(mass(0, 20), hand(22, Slippery)).Forecast()
	rough := filled(mass(0, 20), hand(18, Slippery), hand(20, Rough)).Forecast()
	if !slippery.Early.After(after(22)) || !slippery.Late.After(plain.Late) {
		t.Errorf("slippery at 22 h: %v to %v", slippery.Early, slippery.Late)
	}
	if slippery.NextTest != after(22).Add(slippery.TestEvery) {
		t.Errorf("next test %v after %v", slippery.NextTest, slippery.TestEvery)
	}
	if !rough.Early.After(after(18)) || !rough.Late.Before(after(20)) ||
		rough.Status != TestedRough || !rough.NextTest.IsZero() {
		t.Errorf("between 18 and 20 h: %v to %v, %v", rough.Early, rough.Late, rough.Status)
	}
	if soon := filled(mass(0, 20), hand(5, Slippery)).Forecast(); soon.NextTest != plain.FirstTest {
		t.Errorf("slippery at 5 h: next test %v", soon.NextTest)
	}
	if rough.Reason.Slippery != after(18) || rough.Reason.Rough != after(20) {
		t.Errorf("reason: %+v", rough.Reason)
	}
	// The palm counts, not the model, however far they are apart.
	for _, h := range []float64{1, 300} {
		f := filled(mass(0, 20), hand(h, Rough)).Forecast()
		if f.Late.After(after(h)) || f.Early.Before(monday) || f.Early.After(f.Likely) {
			t.Errorf("rough at %v h: %v %v %v", h, f.Early, f.Likely, f.Late)
		}
		f = filled(mass(0, 20), hand(h, Slippery)).Forecast()
		if f.Early.Before(after(h)) || f.Late.Before(f.Likely) {
			t.Errorf("slippery at %v h: %v %v %v", h, f.Early, f.Likely, f.Late)
		}
	}
}

// A slippery test outweighs an earlier rough one, and that is said.
func TestHandsDiffer(t *testing.T) {
	for _, rough := range []float64{15, 19} {
		f := filled(mass(0, 20), hand(rough, Rough), hand(19, Slippery)).Forecast()
		if f.Status != HandsDiffer || f.Early.Before(after(19)) || f.NextTest.IsZero() {
			t.Errorf("rough at %v h, slippery at 19 h: %v from %v", rough, f.Status, f.Early)
		}
	}
}

// A test of the first fruit says nothing of fruit that came later.
func TestLaterLoadOutdatesTests(t *testing.T) {
	tank := filled(mass(0, 22), hand(14, Slippery), hand(15, Rough))
	tank.Loads = append(tank.Loads, Load{At: after(16)})
	f := tank.Forecast()
	if !f.Reason.Slippery.IsZero() || !f.Reason.Rough.IsZero() {
		t.Errorf("bounded by %v and %v", f.Reason.Slippery, f.Reason.Rough)
	}
	if f.Early.Before(after(16)) || f.Status != NoSafeHour {
		t.Errorf("%v, early %v", f.Status, f.Early)
	}
	near(t, "youngest", f.ProgressAt(after(16)), 0, 0)
	near(t, "oldest", f.OldestAt(after(16)), 16/Hours(22), 0.01)
}

// pH supports or contradicts: at most a tenth, and the width stays.
func TestPHOnlyShifts(t *testing.T) {
	plain := filled(mass(0, 20)).Forecast()
	width := func(f Forecast) float64 { return f.Late.Sub(f.Likely).Hours() }
	for _, c := range []struct{ value, shift float64 }{
		{PH(5.5, 12/HoursAt20), 0}, {7, 0.1052}, {3.3, -0.0952},
	} {
		f := filled(mass(0, 20), pH(12, c.value)).Forecast()
		near(t, "shift", f.Reason.PHShift, c.shift, 0.001)
		near(t, "likely", hoursTo(f.Likely), HoursAt20*(1+c.shift), 0.05)
		near(t, "width", width(f), width(plain), 0.01)
	}
	// It says nothing of what lies before it: the window had opened by then.
	f := filled(mass(0, 20), pH(20, 6.5)).Forecast()
	if f.Early != plain.Early || !f.Likely.After(plain.Likely) {
		t.Errorf("pH 6.5 at 20 h: %v, %v", f.Early, f.Likely)
	}
	f = filled(mass(0, 20), pH(12.5, 3.3)).Forecast()
	if f.Early != after(12.5) {
		t.Errorf("pH 3.3 at 12.5 h: early %v", f.Early)
	}
	fresh := filled(mass(0, 20), pH(1, 5.2), pH(12, PH(5.2, 12/HoursAt20))).Forecast()
	near(t, "pH at filling taken from the tank", fresh.Reason.PHShift, 0, 1e-9)
}

// Usual hours of the mill are worth more than the altitude line.
func TestUsualHours(t *testing.T) {
	tank := filled()
	tank.Site.Altitude = 1700
	line := tank.Forecast()
	tank.Site.UsualCold, tank.Site.UsualWarm = 32*time.Hour, 18*time.Hour
	usual := tank.Forecast()
	near(t, "geometric mean", hoursTo(usual.Likely), 24, 0.01)
	if usual.Reason.Source != FromUsual || usual.Reason.HalfWidth >= line.Reason.HalfWidth {
		t.Errorf("%v: ±%.2f against ±%.2f", usual.Reason.Source, usual.Reason.HalfWidth,
			line.Reason.HalfWidth)
	}
	near(t, "first test by the model", hoursTo(usual.FirstTest), 18, 0.01)
	tank.Readings = []Reading{mass(0, AltitudeAmbient(1700)+SelfHeating)}
	r := tank.Forecast().Reason
	if !(r.Used > r.Prior && r.Used < r.Usual) || r.UsualWeight <= 0.4 {
		t.Errorf("with a thermometer: prior %.1f usual %.1f used %.1f, weight %.2f",
			r.Prior, r.Usual, r.Used, r.UsualWeight)
	}
	near(t, "weights", r.PriorWeight+r.UsualWeight+r.LearnedWeight, 1, 1e-9)
	// What the usual hours say at 20 °C depends on the temperature that belongs to them.
	at20 := func(celsius float64) float64 { return 24 * celsius * celsius / 400 }
	near(t, "by the altitude", r.Usual, at20(AltitudeAmbient(1700)+SelfHeating), 1e-9)
	tank.Site.Ambient = 16
	mean := tank.Forecast().Reason
	near(t, "by the mean air", mean.Usual, at20(16+SelfHeating), 1e-9)
	bare := tank
	bare.Site.Ambient, bare.Site.Altitude = math.NaN(), math.NaN()
	near(t, "by nothing", bare.Forecast().Reason.Usual, 24, 1e-9)
	if !(mean.UsualWeight > r.UsualWeight && r.UsualWeight > bare.Forecast().Reason.UsualWeight) {
		t.Error("the better its temperature is known the more the habit should count")
	}
	tank.Site.Ambient = math.NaN()
	// The first test is the earlier of the model's and the shorter usual hours.
	tank.Readings[0].Mass = 15
	near(t, "first test by the clock", hoursTo(tank.Forecast().FirstTest), 18, 0.01)
}

func TestWithoutWindow(t *testing.T) {
	for _, c := range []struct {
		tank                       Tank
		status                     Status
		first, every, progressAt10 float64
	}{
		{filled(), NoBasis, 12, 4, math.NaN()},
		{filled(mass(0, 13)), TooCold, 24, 6, 10 / Hours(13)},
		{filled(air(0, 10)), TooCold, 24, 6, 10 / Hours(13.3)},
		{filled(mass(0, -3)), TooCold, 24, 6, 0},
		{filled(mass(0, 33)), TooHot, 6, 2, 10 / Hours(33)},
		{filled(mass(0, 60)), TooHot, 6, 2, 10 / Hours(35)},
	} {
		f := c.tank.Forecast()
		if f.Status != c.status || !f.Early.IsZero() || !f.Likely.IsZero() || !f.Late.IsZero() ||
			!f.Spoil.IsZero() || f.Confidence != 0 || f.Leeway() != 0 {
			t.Errorf("%v: %+v", c.status, f)
		}
		near(t, "first test", hoursTo(f.FirstTest), c.first, 1e-9)
		near(t, "every", f.TestEvery.Hours(), c.every, 1e-9)
		if got := f.ProgressAt(after(10)); got != c.progressAt10 &&
			!(math.Abs(got-c.progressAt10) < 0.01) && !math.IsNaN(c.progressAt10) {
			t.Errorf("%v: progress %v, want %v", c.status, got, c.progressAt10)
		}
	}
	if f := (Tank{Site: NewSite()}).Forecast(); f.Status != NoLoad || !f.FirstTest.IsZero() ||
		!math.IsNaN(f.ProgressAt(monday)) || !math.IsNaN(f.OldestAt(monday)) {
		t.Errorf("empty tank: %+v", f)
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Rough.String(), "rough"}, {Slippery.String(), "slippery"}, {NotTested.String(), ""},
		{FromUsual.String(), "usual hours"}, {NoSafeHour.String(), "no-safe-hour"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// A window is full or none: a tank that falls from 14 to 0.5 °C may never be ready, and says so.
func TestNoHalfWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(-3, 36).Draw(t, "from")
		to := rapid.Float64Range(-3, 36).Draw(t, "to")
		at := rapid.Float64Range(.5, 1.5).Draw(t, "part") * min(Hours(from), 80)
		f := filled(mass(0, from), mass(at, to)).Forecast()
		none := f.Early.IsZero()
		if f.Likely.IsZero() != none || f.Late.IsZero() != none || (f.Confidence == 0) != none {
			t.Fatalf("%v: %v to %v to %v, confidence %g", f.Status, f.Early, f.Likely, f.Late,
				f.Confidence)
		}
		if f.Status == NoSafeHour && (none || f.Spoil.IsZero()) {
			t.Fatalf("no safe hour, likely %v, spoil %v", f.Likely, f.Spoil)
		}
	})
	for _, hours := range []float64{24, 40, Hours(14), 50} {
		f := filled(mass(0, 14), mass(hours, 0.5)).Forecast()
		if f.Status != TooCold || !f.Early.IsZero() || f.FirstTest.IsZero() {
			t.Errorf("cold after %g h: %v, early %v", hours, f.Status, f.Early)
		}
	}
}
