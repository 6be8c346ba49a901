package drying

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// 60 kg of washed, drained parchment cover 3.3 m² at 3 cm (Oliveros and others 2006, Cenicafé
// Avance Técnico 353); dry parchment weighs 380 to 399 kg/m³.
func TestPatioArea(t *testing.T) {
	near(t, "60 kg", PatioArea(60, 3, 53), 3.3, .05)
	near(t, "dry", PatioArea(399, 100, 11), 1, 1e-9)
	for _, a := range []float64{PatioArea(60, 0, 53), PatioArea(-1, 3, 53), PatioArea(60, 3, 95)} {
		if !math.IsNaN(a) {
			t.Errorf("area %g of a layer that cannot be", a)
		}
	}
}

// lot is a made-up lot read at noon and at five, in clear days of 16 to 27 °C.
func lot(days int, share float64) Patio {
	p := Patio{Target: 12}
	m, at := dry(52), dawn
	for h := 0; h < 24*days; h++ {
		hour := float64((h + 6) % 24)
		rate := math.Pow(share*clearDay(hour), lawN/lawQ)
		deficit := 1000 * share * clearDay(hour)
		temp := 16 + 11*max(0, math.Sin(math.Pi*(hour-7)/13))
		p.Weather = append(p.Weather, Weather{At: at, TempC: temp, RH: 1 - deficit/saturation(temp)})
		if hour == 12 || hour == 17 {
			p.Readings = append(p.Readings, Reading{At: at, Moisture: wet(m)})
		}
		m -= .034 * rate * (m - 9)
		at = at.Add(time.Hour)
	}
	return p
}

// Washed coffee takes 6 to 14 days in the sun (published range): so does the forecast from three
// days' readings, and it comes nearer as days pass. Answers are half-days.
func TestPatioDays(t *testing.T) {
	p := lot(16, 1)
	end, ok := Run{Readings: p.Readings, Target: p.Target}.Reached()
	if !ok {
		t.Fatal("the made-up lot never dries")
	}
	t.Logf("true end after %.1f days", end.Sub(dawn).Hours()/24)
	for _, c := range []struct{ days, off float64 }{{3, 2}, {5, 1}, {7, .6}} {
		f := p.Until(dawn.Add(hours(24 * c.days))).Forecast()
		d := f.Likely.Sub(dawn).Hours() / 24
		t.Logf("after %g days: %s %.1f days, %.1f to %.1f", c.days, f.Status, d,
			f.Early.Sub(dawn).Hours()/24, f.Late.Sub(dawn).Hours()/24)
		if f.Status != Good || d < 6 || d > 14 {
			t.Errorf("after %g days: %s, %.1f days", c.days, f.Status, d)
		}
		near(t, "end", d, end.Sub(dawn).Hours()/24, c.off)
		if f.Early.After(end) || f.Late.Before(end) {
			t.Errorf("after %g days: %v to %v, true %v", c.days, f.Early, f.Late, end)
		}
		for _, at := range []time.Time{f.Early, f.Late} {
			if at.Hour()%6 != 0 || at.Hour() < 6 || at.Minute() != 0 {
				t.Errorf("%v is no half-day", at)
			}
		}
		if n := f.Next; n.Hour() != 15 {
			t.Errorf("next reading at %v", n)
		}
	}
}

// Nights, cover and rain give nothing; a thick or unturned layer and damp air take longer.
func TestPatioHinders(t *testing.T) {
	p := lot(5, 1)
	base := p.Forecast()
	night := dawn.Add(hours(24*4 + 13)) // seven in the evening
	fall := base.MoistureAt(night) - base.MoistureAt(night.Add(11*time.Hour))
	if day := base.MoistureAt(night.Add(-11*time.Hour)) - base.MoistureAt(night); fall > day/3 {
		t.Errorf("a night dries %.2f points, a day %.2f", fall, day)
	}
	later := func(name string, change func(*Patio)) {
		q := p
		q.Weather = slices.Clone(p.Weather)
		change(&q)
		f, _ := q.exact()
		g, _ := p.exact()
		if !f.Likely.After(g.Likely) {
			t.Errorf("%s: %v, without %v", name, f.Likely, g.Likely)
		}
	}
	last := p.Readings[len(p.Readings)-1].At
	later("cover", func(q *Patio) {
		q.Covers = []Stop{{last.Add(14 * time.Hour), last.Add(40 * time.Hour)}}
	})
	later("damp days", func(q *Patio) {
		for h := 1.0; h < 48; h++ {
			q.Weather = append(q.Weather, Weather{At: last.Add(hours(6 + h)), TempC: 16, RH: .95})
		}
	})
	wet := p
	wet.Weather = slices.Clone(p.Weather)
	wet.Weather[len(wet.Weather)-14].Rain = 5
	dryer, _ := p.exact()
	if g, _ := wet.exact(); g.Late.Sub(g.Likely) <= dryer.Late.Sub(dryer.Likely) {
		t.Error("rain on the open layer leaves the window as it was")
	}
	soaked := p
	soaked.Readings = slices.Clone(p.Readings)
	n := len(soaked.Readings) - 1
	soaked.Readings[n].Moisture += 6
	doubted := soaked.Forecast().MoistureAt(last)
	soaked.Weather = slices.Clone(p.Weather)
	soaked.Weather[len(soaked.Weather)-15].Rain = 5 // between noon and five
	if m := soaked.Forecast().MoistureAt(last); m < doubted+.1 {
		t.Errorf("after rain a wet reading is %.2f, without %.2f", m, doubted)
	}
	few := p
	few.Readings = p.Readings[:3]
	few.DepthCm = 6
	deep := few.Forecast().Likely
	few.DepthCm = 2
	if thin := few.Forecast().Likely; !thin.Before(deep) {
		t.Errorf("2 cm %v, 6 cm %v", thin, deep)
	}
}

// A cover put on for the night and not yet taken off holds until seven.
func TestOpenCover(t *testing.T) {
	p := lot(5, 1)
	p.Covers = []Stop{{From: dawn.Add(hours(24*4 + 12))}}
	f := p.Forecast()
	on, off := dawn.Add(hours(24*4+12)), dawn.Add(hours(24*5+1))
	near(t, "in the night", f.MoistureAt(off), f.MoistureAt(on), 1e-9)
	if f.Likely.IsZero() || f.MoistureAt(off.Add(6*time.Hour)) >= f.MoistureAt(off) {
		t.Errorf("still covered at noon, likely %v", f.Likely)
	}
}

// After a night in the open nothing is gained until the dew is off, little in its last hour; under
// cover there is no dew, and the morning counts.
func TestDew(t *testing.T) {
	p := lot(5, 1)
	morning := dawn.Add(hours(24*3 + 1)) // seven
	fall := func(p Patio) float64 {
		f := p.Forecast()
		return f.MoistureAt(morning) - f.MoistureAt(morning.Add(2*time.Hour))
	}
	near(t, "open", fall(p), 0, 1e-9)
	p.Covers = []Stop{{morning.Add(-12 * time.Hour), morning}}
	if got := fall(p); got < .1 {
		t.Errorf("covered: %.3f points from seven to nine", got)
	}
}

// Sticks of pine outdoors, hourly, two sites (van der Kamp and others 2017, MIT licence):
// testdata/drying/fuelsticks.csv. Each drying from over 25 to 14 % dry basis is forecast from the
// readings of the day, knowing the earlier ones of its site; the rival is a straight line in
// wall-clock time through the last three readings.
func TestSticks(t *testing.T) {
	rows, at := columns(t, "fuelsticks.csv")
	in, all := 0, 0
	for part, most := range map[float64]float64{.5: 9, .75: 5, .875: 6} {
		var own, line tally
		for site := range 2 {
			var past []EndedPatio
			for _, d := range dryings(rows, 2+site) {
				p, end := stick(rows, at, d, 2+site)
				from := at[d[0]]
				cut := p.Until(from.Add(time.Duration(part * float64(end.Sub(from)))))
				cut.Past = LearnPatio(past)
				if past = append(past, EndedPatio{p, end}); cut.Past.Taught == 0 {
					continue
				}
				f, _ := cut.exact()
				if f.Likely.IsZero() {
					own.none++
					continue
				}
				own.add(f.Likely.Sub(end).Hours())
				last := cut.Readings[len(cut.Readings)-1].At
				straight := lastThree(Run{Readings: cut.Readings, Target: p.Target})
				line.add(straight - end.Sub(last).Hours())
				if g := cut.Forecast(); !g.Early.After(end) && !g.Late.Before(end) {
					in++
				}
				all++
			}
		}
		t.Logf("at %.3f of the way: median %.1f h of %d, wall clock %.1f h, no answer %d and %d",
			part, own.median(), len(own.errs), line.median(), own.none, line.none)
		if own.median() > most || own.median() > line.median()/2 {
			t.Errorf("at %.3f: median %.1f h, wall clock %.1f", part, own.median(), line.median())
		}
	}
	held := float64(in) / float64(all)
	t.Logf("half-days held the truth in %.0f %% of %d", 100*held, all)
	if held < .7 {
		t.Errorf("half-days held the truth in %.0f %%", 100*held)
	}
}

// dryings lists from where to where a column falls from a top over 25 % to 14 %.
func dryings(rows [][]float64, col int) (out [][2]int) {
	for i := 0; i < len(rows); i++ {
		if !(rows[i][col] >= 25) {
			continue
		}
		top := i
		for i < len(rows) && rows[i][col] > 14 {
			if rows[i][col] > rows[top][col] {
				top = i
			}
			i++
		}
		if i < len(rows) && rows[i][col] <= 14 && i-top < 200 {
			out = append(out, [2]int{top, i})
		}
	}
	return out
}

// stick makes a lot of one drying, read at 9, 12, 15 and 18 o'clock, and the instant it was dry.
func stick(rows [][]float64, at []time.Time, d [2]int, col int) (Patio, time.Time) {
	p := Patio{Target: wet(14)}
	for i := max(0, d[0]-72); i <= d[1]+3; i++ {
		x := rows[i]
		p.Weather = append(p.Weather, Weather{at[i], x[4], x[5] / 100, x[7]})
		h := at[i].Hour()
		if i >= d[0] && !math.IsNaN(x[col]) && (i == d[0] || h%3 == 0 && h >= 9 && h <= 18) {
			p.Readings = append(p.Readings, Reading{At: at[i], Moisture: wet(x[col])})
		}
	}
	was, is := rows[d[1]-1][col], rows[d[1]][col]
	return p, at[d[1]-1].Add(hours((was - 14) / (was - is)))
}

// Whatever is read, the curve never rises, the window is in order and a drier target not sooner.
func TestPatioProperties(t *testing.T) {
	whole := lot(12, 1)
	rapid.Check(t, func(t *rapid.T) {
		p := whole.Until(dawn.Add(hours(rapid.Float64Range(6, 250).Draw(t, "hours"))))
		p.Readings = slices.Clone(p.Readings)
		for i := range p.Readings {
			p.Readings[i].Moisture += rapid.Float64Range(-3, 3).Draw(t, "noise")
		}
		if rapid.Bool().Draw(t, "no weather") {
			p.Weather = nil
		}
		p.Target = rapid.Float64Range(11.5, 30).Draw(t, "target")
		f := p.Forecast()
		was := math.Inf(1)
		for h := 0.0; h < 400; h += 3 {
			if m := f.MoistureAt(dawn.Add(hours(h))); m > was+1e-9 {
				t.Fatalf("moisture %g after %g", m, was)
			} else if !math.IsNaN(m) {
				was = m
			}
		}
		if f.Likely.Before(f.Early) || f.Late.Before(f.Likely) {
			t.Fatalf("%v %v %v", f.Early, f.Likely, f.Late)
		}
		p.Target -= rapid.Float64Range(.01, 2).Draw(t, "drier")
		if g := p.Forecast(); !g.Likely.IsZero() && g.Likely.Before(f.Likely) {
			t.Fatalf("likely %v, drier %v", f.Likely, g.Likely)
		}
	})
}

// Patios are few and slow, so a forecast may take longer. On the same machine: 130 µs.
func BenchmarkPatio(b *testing.B) {
	p := lot(7, 1)
	b.ReportAllocs()
	for b.Loop() {
		p.Forecast()
	}
}
