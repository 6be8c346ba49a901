package grade

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// tables are the shipped ones, freshly read.
func tables(t interface{ Fatal(...any) }) *Tables {
	x, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.7g, want %.7g ± %g", what, got, want, tol)
	}
}

// must unwraps a figure that cannot fail in this test.
func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// helps fails the test unless err is a T whose text holds every word.
func helps[T error](t *testing.T, err error, words ...string) {
	t.Helper()
	var want T
	if !errors.As(err, &want) {
		t.Errorf("error %v (%T), want a %T", err, err, want)
		return
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q does not say %q", err, w)
		}
	}
}

// TestPublishedFigures is every figure of the trade that needs no table; source beside each row.
func TestPublishedFigures(t *testing.T) {
	x := tables(t)
	kg := must[float64](t)
	yield := must[Yield](t)
	green := func(amount float64, from string) float64 {
		return kg(must[Conversion](t)(x.Trade.Ratio(from, "green")).Kg(amount))
	}
	parchment := kg(must[Conversion](t)(x.Trade.Ratio("fresh cherry", "parchment")).Kg(10000))
	dose, slack, err := x.Cup.Dose(200)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what           string
		got, want, tol float64
	}{
		{"75 kg parchment (ICO factors, ITC Coffee Guide)", green(75, "parchment"), 60, .01},
		{"120 kg dried cherry (the same)", green(120, "dried cherry"), 60, .01},
		{"50.4 kg roasted (the same)", green(50.4, "Roasted"), 59.98, .01},
		{"250 g, 195.5 g: factor (Spanish explainer, prints 89.5)",
			yield(YieldFactor(250, 195.5)).Factor, 89.51, .01},
		{"the same: outturn", yield(YieldFactor(250, 195.5)).OutturnPct, 78.20, .01},
		{"the same with small beans, +1.5 % [calc]", yield(YieldFactor(250, 195.5*1.015)).Factor,
			88.19, .01},
		{"factor 94: outturn (FNC purchase scheme)", yield(Outturn(94)).OutturnPct, 74.47, .01},
		{"factor 92.2: outturn (explainer: 70.0 of 92.2)",
			yield(Outturn(92.2)).OutturnPct, 75.92, .01},
		{"outturn 78.2: factor, the way back", yield(FromOutturn(78.2)).Factor, 89.51, .01},
		{"1 138 000 a load at 94, F 89.5 (FNC price sheet, 31 March 2021) [calc]",
			yield(Outturn(89.5)).Price(1138000), 1195218, 1},
		{"the same at F 100 [calc]", yield(Outturn(100)).Price(1138000), 1069720, 1},
		{"10 000 kg ripe cherry: parchment at 5.04 (Marin et al. 2003)", parchment, 1984, 1},
		{"that at factor 94: excelso [calc]", yield(Outturn(94)).ExcelsoKg(parchment), 1478, 1},
		{"37 500 lb (ICE Coffee C specification)", Pounds(37500), 17009.71, .01},
		{"60 kg in lb: 132.276 (ITC Coffee Guide)", 60 / KgPerPound, 132.276, .002},
		{"dose for 200 ml (SCAA cupping standards: 8.25 g for 150)", dose, 11, .01},
		{"and its slack", slack, .33, .01},
		{"class III, e 0.05, 60 kg: new (UK SI 1995/1907)",
			kg(ScaleError(60, .05, false)), .05, 1e-9},
		{"the same in service", kg(ScaleError(60, .05, true)), .10, 1e-9},
		{"class III, 500 e: half a step (the same)", kg(ScaleError(25, .05, false)), .025, 1e-9},
		{"class III, 100 kg is 2000 e (the same)", kg(ScaleError(100, .05, false)), .05, 1e-9},
		{"class III, above 2000 e (the same)", kg(ScaleError(101, .05, false)), .075, 1e-9},
		{"reading on a 0.05 kg scale", kg(RoundToStep(60.037, .05)), 60.05, 0},
		{"reading on a 5 kg scale", kg(RoundToStep(2008, 5)), 2010, 0},
	} {
		near(t, c.what, c.got, c.want, c.tol)
	}
	if math.Abs(10.9-dose) > slack || math.Abs(11.5-dose) <= slack {
		t.Error("10.9 g is a good dose for 200 ml, 11.5 g is not (SCAA cupping standards)")
	}
}

// TestFill: full bags and the rest over, and back.
func TestFill(t *testing.T) {
	for _, c := range []struct {
		what                   string
		net, unit, full, restG int64
	}{
		{"320 x 60 kg is 19 200 kg (a bagged container)", 19_200_000, 60_000, 320, 0},
		{"275 x 70 kg is 19 250 kg", 19_250_000, 70_000, 275, 0},
		{"1425 x 70 kg is 99.75 t (EU SAMANCTA PIC-118-01)", 99_750_000, 70_000, 1425, 0},
		{"7643.4 kg in 60 kg bags", 7_643_400, 60_000, 127, 23_400},
		{"37 500 lb in 69 kg bags (ICE: 246.5)", 17_009_714, 69_000, 246, 35_714},
		{"a part bag is no bag", 59_999, 60_000, 0, 59_999},
	} {
		full, rest, err := Fill(c.net, c.unit)
		if err != nil || full != c.full || rest != c.restG {
			t.Errorf("%s: %d and %d g (%v), want %d and %d", c.what, full, rest, err, c.full,
				c.restG)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		net := rapid.Int64Range(0, 1e12).Draw(t, "net")
		unit := rapid.Int64Range(1, 1e7).Draw(t, "unit")
		full, rest, err := Fill(net, unit)
		if err != nil || full*unit+rest != net || rest < 0 || rest >= unit {
			t.Fatalf("%d in %d: %d and %d (%v)", net, unit, full, rest, err)
		}
	})
}

// TestCupClasses: 79.75 / 80 / 84.75 / 85 / 90 (classes of the 100-point form).
func TestCupClasses(t *testing.T) {
	cup := tables(t).Cup
	for score, want := range map[float64]string{
		79.75: "not speciality", 80: "very good", 84.75: "very good", 85: "excellent",
		90: "outstanding", 0: "not speciality", 100: "outstanding",
	} {
		if got, err := cup.Class(score); err != nil || got != want {
			t.Errorf("%g: %q (%v), want %q", score, got, err, want)
		}
	}
}

// TestICOMark: "002/1961/0978" and "2-1961-978" shipped on 30 September and 1 October are the same
// numbers in two coffee years (ITC Coffee Guide, Identification of exports).
func TestICOMark(t *testing.T) {
	day := func(month time.Month, d int) time.Time {
		return time.Date(2025, month, d, 23, 59, 0, 0, time.UTC)
	}
	a := must[ICOMark](t)(ParseICOMark("002/1961/0978", day(time.September, 30)))
	b := must[ICOMark](t)(ParseICOMark(" 2-1961-978 ", day(time.October, 1)))
	if a == b || a.Year != 2024 || b.Year != 2025 {
		t.Errorf("%+v and %+v", a, b)
	}
	if b.Year = a.Year; a != b || a.String() != "002/1961/0978" {
		t.Errorf("%v is not %v", a, b)
	}
	long := must[ICOMark](t)(ParseICOMark("2-1961-12345", day(time.May, 1)))
	if long.Shipment != 12345 || long.String() != "002/1961/12345" {
		t.Errorf("five digits: %v", long)
	}
	for _, bad := range []string{"", "2/1961", "1/2/3/4", "1234/1/1", "2/12345/1", "2/1/123456",
		"0/1/1", "x/1/1", "-1/1/+1"} {
		_, err := ParseICOMark(bad, day(time.May, 1))
		helps[MarkError](t, err, "for example 002/1961/0978")
	}
}

// FuzzICOMark: what is read as a mark prints as a mark that reads the same.
func FuzzICOMark(f *testing.F) {
	for _, s := range []string{"002/1961/0978", "2-1961-978", "2 1961 978", "1//2", "9.9.99999"} {
		f.Add(s)
	}
	day := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ParseICOMark(text, day)
		if err != nil {
			helps[MarkError](t, err)
			return
		}
		if back, err := ParseICOMark(m.String(), day); back != m {
			t.Errorf("%q is %v, printed and read again %v (%v)", text, m, back, err)
		}
	})
}

// TestRefusals: what cannot be is refused with the reason and a figure that works.
func TestRefusals(t *testing.T) {
	x := tables(t)
	sieve := func(start float64, held ...Held) error {
		_, err := x.Sieves.Sieve(held, start)
		return err
	}
	meter := func(pct float64) error {
		_, _, err := x.Methods.Convert(pct, "meter", "meter")
		return err
	}
	for want, f := range map[string]func() error{
		"parchment 0 g":      func() error { _, err := YieldFactor(0, 1); return err },
		"excelso -1 g":       func() error { _, err := YieldFactor(250, -1); return err },
		"less than the":      func() error { _, err := YieldFactor(250, 250); return err },
		"factor 70 kg":       func() error { _, err := Outturn(70); return err },
		"factor NaN":         func() error { _, err := Outturn(math.NaN()); return err },
		"outturn 100 %":      func() error { _, err := FromOutturn(100); return err },
		"score 100.25":       func() error { _, err := x.Cup.Class(100.25); return err },
		"score NaN":          func() error { _, err := x.Cup.Class(math.NaN()); return err },
		"water 0 ml":         func() error { _, _, err := x.Cup.Dose(0); return err },
		"scale step 0.03":    func() error { _, err := ScaleError(1, 0.03, false); return err },
		"scale step 0 kg":    func() error { _, err := RoundToStep(1, 0); return err },
		"load -1 kg":         func() error { _, err := ScaleError(-1, 0.05, false); return err },
		"over 10 000 steps":  func() error { _, err := ScaleError(501, 0.05, false); return err },
		"bag 0 kg":           func() error { _, _, err := Fill(1, 0); return err },
		"net mass -0.001 kg": func() error { _, _, err := Fill(-1, 1); return err },
		"parchment -1 kg": func() error {
			_, err := Conversion{From: "parchment"}.Kg(-1)
			return err
		},
		"meter is erratic":     func() error { return meter(36) },
		"moisture 100 % wet":   func() error { return meter(100) },
		"held on all screens":  func() error { return sieve(100) },
		"screen 17 1 g: is gi": func() error { return sieve(2, Held{17, 1}, Held{17, 1}) },
		"screen pan -1 g":      func() error { return sieve(2, Held{0, -1}) },
		"start mass 0 g":       func() error { return sieve(0, Held{17, 1}) },
		"sample 0 g":           func() error { _, err := x.For("sca-2018", 0); return err },
		"defects -1": func() error {
			_, err := x.Judge("arabica", -1, 300, 11, "")
			return err
		},
	} {
		helps[RangeError](t, f(), want, "for example ")
	}
}

func TestUnknownWords(t *testing.T) {
	x := tables(t)
	_, err := x.Trade.Ratio("parchmnt", "green")
	helps[UnknownError](t, err, "perhaps parchment")
	_, err = x.Trade.Ratio("tea", "green")
	helps[UnknownError](t, err, "roasted")
	_, err = x.Trade.Container("bullk")
	helps[UnknownError](t, err, "perhaps bulk")
	_, _, err = x.Methods.Convert(11, "oven", "iso-6673")
	helps[UnknownError](t, err, "iso-1446")
	_, err = x.Judge("liberica", 1, 300, 11, "")
	helps[UnknownError](t, err, "robusta")
	_, err = x.Sieves.Number(21)
	helps[UnknownError](t, err, "20, 19")
	_, _, err = x.Sieves.Hole(3)
	helps[UnknownError](t, err, "4.00")
}

func TestMarks(t *testing.T) {
	for _, c := range []struct {
		ms   []Mark
		want Mark
	}{
		{nil, ""}, {[]Mark{Read, ""}, Read}, {[]Mark{Read, Memory, ReadCopy}, Memory},
		{[]Mark{Practice, Read}, Practice}, {[]Mark{Memory, "rumour"}, "rumour"},
	} {
		if got := Worst(c.ms...); got != c.want {
			t.Errorf("Worst(%v) = %q, want %q", c.ms, got, c.want)
		}
	}
	for _, m := range append(marks(), "rumour") {
		if (m == Memory || m == "rumour") != strings.HasSuffix(m.Words(), "verify") {
			t.Errorf("%s: %q", m, m.Words())
		}
	}
}
