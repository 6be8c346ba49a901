package rest

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var monday = time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)

// after is so many days after the start.
func after(days float64) time.Time { return monday.Add(time.Duration(days * float64(day))) }

// store is air that never changes, read every day.
func store(days int, celsius, humidity float64) []Air {
	var out []Air
	for i := range days {
		out = append(out, Air{after(float64(i)), celsius, humidity})
	}
	return out
}

// Three weeks to the moisture of the room (ANACAFÉ): bags have made good 95 % of the distance by
// then, and a lot of 10.5 % in a room of 22 °C and 75 % passes 12 % in about six days.
func TestBagsFollowTheRoom(t *testing.T) {
	lot := Lot{Kind: Bags, Samples: []Sample{{monday, 10.5, 0.1}}, Air: store(1, 22, 0.75)}
	d := lot.Drift()
	near(t, "equilibrium", d.Equilibrium, 13.1, 0.05)
	near(t, "rate", 1/d.Rate, 7, 0.5)
	e := end{rate: 1.0 / 7, moisture: dry(10.5)}
	m, _ := e.after(6, dry(13.1))
	near(t, "by the law itself, after 6 d", wet(m), 12, 0.1)
	m, _ = e.after(21, dry(13.1))
	near(t, "share of the way after 3 weeks", (wet(m)-10.5)/(13.1-10.5), 0.95, 0.01)
	// Of the air the last week counts.
	dried := Lot{Kind: Bags, Samples: lot.Samples, Air: append(store(9, 22, 0.4), lot.Air...)}
	dried.Air[9].At = after(20)
	near(t, "equilibrium after a dry spell", dried.Drift().Equilibrium, d.Equilibrium, 1e-9)
	early, likely, late := d.Reaches(12)
	if !early.Before(likely) || !likely.Before(late) || early.Before(monday) {
		t.Errorf("12 %%: %v, %v, %v", early, likely, late)
	}
	near(t, "days to 12 %", likely.Sub(monday).Hours()/24, 6, 2)
}

// Dry highlands draw moisture out as damp sites put it in: the drift goes towards the air.
func TestBothWays(t *testing.T) {
	for _, c := range []struct {
		humidity float64
		up       bool
	}{{0.75, true}, {0.45, false}} {
		d := Lot{Samples: []Sample{{monday, 11, 0}}, Air: store(9, 20, c.humidity)}.Drift()
		_, now, _ := d.At(monday)
		low, then, high := d.At(after(30))
		if (then > now) != c.up || low >= then || high <= then {
			t.Errorf("humidity %v: %.2f to %.2f (%.2f to %.2f)", c.humidity, now, then, low, high)
		}
		if early, _, _ := d.Reaches(or(c.up, 9, 13)); !early.IsZero() {
			t.Errorf("humidity %v: the limit behind it is reached at %v", c.humidity, early)
		}
	}
}

// The rate is learned: from the lot's own samples, and from earlier lots.
func TestLearnedRate(t *testing.T) {
	run := func(days, start float64, samples int, rng *rand.Rand) Lot {
		lot := Lot{Air: store(60, 22, 0.75)}
		me := dryBasis(22, 0.75)
		for i := range samples {
			at := float64(i) * 5
			m := me + (dry(start)-me)*math.Exp(-at/days)
			read := wet(m) + 0.2*rng.NormFloat64()
			lot.Samples = append(lot.Samples, Sample{after(at), read, 0.2})
		}
		return lot
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, days := range []float64{8, 90} {
		own := run(days, 9.5, 12, rng).Drift()
		off := math.Abs(math.Log(own.Rate * days))
		if first := math.Abs(math.Log(days / bulkDays)); off > first/2 {
			t.Errorf("true 1/%v, learned 1/%.0f from its own samples", days, 1/own.Rate)
		}
		var lots []Lot
		for range 6 {
			lots = append(lots, run(days, 9.5, 8, rng))
		}
		fresh := run(days, 9.5, 1, rng)
		fresh.Past = Learn(lots)
		d := fresh.Drift()
		near(t, "days learned from the past", math.Log(1/d.Rate), math.Log(days), 0.35)
		if d.Lots != 6 {
			t.Errorf("%d lots", d.Lots)
		}
	}
	if Learn([]Lot{run(8, 9.5, 1, rng), {}}) != nil {
		t.Error("one sample teaches no rate")
	}
}

// Stores with swings of the air, errors of the isotherm and of the meter: windows of 80 % hold the
// moisture of the days to come in 75 to 90 %.
func TestDriftWindowsHold(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	held, n := 0, 0
	var errs, naive float64
	for range 400 {
		days := bulkDays * math.Exp(bulkDoubt*rng.NormFloat64())
		shift := curveError * rng.NormFloat64()
		mean := 0.5 + 0.3*rng.Float64()
		start := 10 + 2*rng.Float64()
		lot := Lot{}
		truth := []float64{dry(start)}
		for h := range 24 * 40 {
			at := float64(h) / 24
			celsius := 20 + 4*math.Sin(2*math.Pi*at)
			humidity := mean - 0.1*math.Sin(2*math.Pi*at) + 0.05*math.Sin(2*math.Pi*at/9)
			if h%12 == 3 {
				lot.Air = append(lot.Air, Air{after(at), celsius, humidity})
			}
			m := truth[len(truth)-1]
			truth = append(truth, m+(settled(celsius, humidity)+shift-m)/24/days)
		}
		for _, d := range []float64{0, 6, 13, 20} {
			lot.Samples = append(lot.Samples, Sample{At: after(d),
				Moisture: wet(truth[int(24*d)]) + 0.3*rng.NormFloat64()})
		}
		known := 0
		for known < len(lot.Air) && !lot.Air[known].At.After(after(20)) {
			known++
		}
		lot.Air = lot.Air[:known]
		d := lot.Drift()
		for _, ahead := range []float64{25, 30, 39} {
			low, likely, high := d.At(after(ahead))
			then := wet(truth[int(24*ahead)])
			n++
			if then >= low && then <= high {
				held++
			}
			errs += math.Abs(likely - then)
			naive += math.Abs(lot.Samples[3].Moisture - then)
		}
	}
	cover := float64(held) / float64(n)
	t.Logf("held %.3f of %d, mean error %.2f points, last reading %.2f", cover, n,
		errs/float64(n), naive/float64(n))
	if cover < 0.75 || cover > 0.90 {
		t.Errorf("windows held %.3f", cover)
	}
	if errs >= naive {
		t.Error("no better than the last reading")
	}
}

// Readings in any order, nonsense left out, nothing given changed; without air or sample: unknown.
func TestDriftOfLittle(t *testing.T) {
	nan := math.NaN()
	lot := Lot{Samples: []Sample{{after(4), 11.2, 0}, {monday, 11, 0}, {after(1), nan, 0}},
		Air: []Air{{after(2), 20, 0.7}, {monday, 20, 65}, {after(1), nan, 0.6},
			{after(1), 21, 0.6}}}
	sorted := Lot{Samples: []Sample{{monday, 11, 0}, {after(4), 11.2, 0}},
		Air: []Air{{after(1), 21, 0.6}, {after(2), 20, 0.7}}}
	if lot.Drift() != sorted.Drift() || lot.Samples[0].At != after(4) {
		t.Errorf("%+v\n%+v", lot.Drift(), sorted.Drift())
	}
	for _, l := range []Lot{{}, {Samples: lot.Samples}, {Air: lot.Air}} {
		d := l.Drift()
		low, likely, high := d.At(monday)
		a, b, c := d.Reaches(12)
		if d.Known || !math.IsNaN(low+likely+high) || !a.IsZero() || !b.IsZero() || !c.IsZero() {
			t.Errorf("%+v", d)
		}
	}
}

// The middle goes steadily towards the equilibrium, unless it is there already within the error of
// a meter; a limit's three instants are in order.
func TestDriftProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := Lot{Kind: Kind(rapid.IntRange(0, 1).Draw(t, "kind")),
			Air: store(10, rapid.Float64Range(10, 30).Draw(t, "celsius"),
				rapid.Float64Range(0.3, 0.85).Draw(t, "humidity"))}
		for i := range rapid.IntRange(1, 4).Draw(t, "samples") {
			lot.Samples = append(lot.Samples, Sample{At: after(float64(3 * i)),
				Moisture: rapid.Float64Range(8, 14).Draw(t, "moisture")})
		}
		d := lot.Drift()
		_, now, _ := d.At(d.Since)
		a := rapid.Float64Range(0, 90).Draw(t, "a")
		b := a + rapid.Float64Range(0, 90).Draw(t, "b")
		at := func(days float64) float64 {
			_, m, _ := d.At(d.Since.Add(time.Duration(days * float64(day))))
			return math.Abs(m - d.Equilibrium)
		}
		off := math.Abs(now - d.Equilibrium)
		if off > meterError && (at(b) > at(a)+1e-9 || at(a) > off+1e-9) {
			t.Fatalf("from %.3f: %.3f off after %.0f d, %.3f after %.0f d", now, at(a), a, at(b), b)
		}
		early, likely, late := d.Reaches(rapid.Float64Range(8, 14).Draw(t, "limit"))
		if !likely.IsZero() && early.After(likely) || !late.IsZero() && likely.After(late) ||
			early.IsZero() && !likely.IsZero() || likely.IsZero() && !late.IsZero() {
			t.Fatalf("%v, %v, %v", early, likely, late)
		}
	})
}
