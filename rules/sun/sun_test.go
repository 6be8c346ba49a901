package sun

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.5f, want %.5f ± %g", what, got, want, tolerance)
	}
}

// J. Meeus, Astronomical Algorithms, 2nd ed., examples 25.a (longitude 199°54'32", declination
// -7.78507°) and 28.b (equation of time +3.427351°), both for 1992 October 13.0; from memory,
// verify. The first uses this same theory, so it is matched closely.
func TestMeeusExamples(t *testing.T) {
	s := position(time.Date(1992, 10, 13, 0, 0, 0, 0, time.UTC))
	near(t, "apparent longitude", s.longitude, 199.90895, 0.001)
	near(t, "declination", s.declination, -7.78507, 0.0005)
	near(t, "equation of time", s.equation, 3.427351, 0.005)
}

type rising struct {
	at              Place
	date            time.Time
	rise, noon, set time.Time
}

func risings(t *testing.T) []rising {
	t.Helper()
	f, err := os.Open("../../testdata/sun/risings.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []rising
	for _, r := range rows[1:] {
		lat, err1 := strconv.ParseFloat(r[0], 64)
		lon, err2 := strconv.ParseFloat(r[1], 64)
		date, err3 := time.Parse(time.DateOnly, r[2])
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(r)
		}
		zone := time.FixedZone("local", int(math.Round(lon/15))*3600)
		y, m, d := date.Date()
		x := rising{at: Place{lat, lon}, date: time.Date(y, m, d, 0, 0, 0, 0, zone)}
		for i, p := range []*time.Time{&x.rise, &x.noon, &x.set} {
			if *p, err = time.Parse(time.RFC3339, r[3+i]); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, x)
	}
	return out
}

// Every rise and set of the committed table within a minute, within 10 s in the coffee belt.
func TestAgainstIndependentTable(t *testing.T) {
	rows := risings(t)
	if len(rows) != 288 {
		t.Fatalf("%d rows, want 288", len(rows))
	}
	worst, belt := 0.0, 0.0
	for _, x := range rows {
		d := x.at.On(x.date)
		for _, p := range [][2]time.Time{{d.Rise, x.rise}, {d.Noon, x.noon}, {d.Set, x.set}} {
			off := math.Abs(p[0].Sub(p[1]).Seconds())
			worst = max(worst, off)
			if math.Abs(x.at.Latitude) <= 30 {
				belt = max(belt, off)
			}
			if off > 60 {
				t.Errorf("%v %v: got %v, want %v", x.at, x.date, p[0], p[1])
			}
		}
	}
	t.Logf("worst %.0f s, within 30° of the equator %.0f s", worst, belt)
	if belt > 10 {
		t.Errorf("worst within 30°: %.0f s", belt)
	}
}

func TestWithoutRiseOrSet(t *testing.T) {
	north := Place{78, 15}
	for _, c := range []struct {
		month time.Month
		up    bool
	}{{time.June, true}, {time.December, false}} {
		d := north.On(time.Date(2026, c.month, 21, 0, 0, 0, 0, time.UTC))
		if !d.Rise.IsZero() || !d.Set.IsZero() || d.Up != c.up {
			t.Errorf("%v at 78°N: %+v", c.month, d)
		}
	}
	at := time.Date(2026, time.June, 21, 0, 0, 0, 0, time.UTC)
	if north.Night(at) {
		t.Error("midsummer midnight at 78°N is no night")
	}
	if change, _ := north.Next(at); change.Month() != time.August {
		t.Errorf("the midnight sun of 78°N ends at %v", change)
	}
}

func TestPlaceThatIsNone(t *testing.T) {
	at := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	for _, p := range []Place{{91, 0}, {0, 181}, {math.NaN(), 0}} {
		next, _ := p.Next(at)
		if p.Valid() || p.On(at) != (Day{}) || !next.IsZero() || p.Night(at) {
			t.Errorf("%v is taken for a place", p)
		}
	}
}

// The civil date is that of the location, also where it is another day in Greenwich.
func TestDateOfTheLocation(t *testing.T) {
	zone := time.FixedZone("west", -10*3600)
	d := Place{20, -156}.On(time.Date(2026, 1, 12, 23, 30, 0, 0, zone))
	if d.Rise.Location() != zone || d.Rise.Day() != 12 || d.Set.Day() != 12 {
		t.Errorf("rise %v, set %v", d.Rise, d.Set)
	}
}

// Next is never behind, is where Night changes, and nothing changes before it.
func TestNextIsWhereNightChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Place{rapid.Float64Range(-60, 60).Draw(t, "lat"),
			rapid.Float64Range(-180, 180).Draw(t, "lon")}
		zone := time.FixedZone("local", rapid.IntRange(-12, 14).Draw(t, "zone")*3600)
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0).In(zone)
		next, night := p.Next(at)
		span := next.Sub(at)
		if span <= 0 || span > 20*time.Hour {
			t.Fatalf("next is %v away", span)
		}
		if p.Night(next.Add(time.Minute)) != night {
			t.Fatalf("at %v night is not %v", next, night)
		}
		// The last minute is left out: instants are rounded to the second.
		if span > time.Minute {
			part := rapid.Float64Range(0, 1).Draw(t, "part")
			between := at.Add(time.Minute/2 + time.Duration(part*float64(span-time.Minute)))
			if p.Night(between) == night {
				t.Fatalf("%v before %v it is already %v", next.Sub(between), next, night)
			}
		}
	})
}

// Day and night are alike at the equinox, and north and south trade places in half a year.
func TestSymmetry(t *testing.T) {
	length := func(lat float64, month time.Month, day int) float64 {
		d := Place{lat, 0}.On(time.Date(2026, month, day, 0, 0, 0, 0, time.UTC))
		return d.Set.Sub(d.Rise).Hours()
	}
	// 12 h and the 2 x 0.833°/15° that refraction and radius add.
	near(t, "equator", length(0, time.March, 20), 12+2*0.833/15, 0.01)
	near(t, "north and south", length(15, time.June, 21), length(-15, time.December, 21), 0.01)
}

func BenchmarkOn(b *testing.B) {
	p, at := Place{5, -75}, time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	for b.Loop() {
		p.On(at)
	}
}
