package drying

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"
)

// columns reads the numbers of a table of testdata/drying, NaN where a field is none, and its
// times.
func columns(t *testing.T, name string) (rows [][]float64, at []time.Time) {
	t.Helper()
	f, err := os.Open("../../testdata/drying/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, fields := range all[1:] {
		row := make([]float64, len(fields))
		for i, text := range fields {
			if row[i], err = strconv.ParseFloat(text, 64); err != nil {
				row[i] = math.NaN()
			}
		}
		when, _ := time.Parse("2006-01-02 15:04", fields[1])
		rows, at = append(rows, row), append(at, when)
	}
	return rows, at
}

// A foodstuff in a tray dryer with a long constant-rate period (Geankoplis, Transport Processes
// and Unit Operations): testdata/drying/geankoplis.csv. Its equilibrium of 5.05 % dry basis is that
// of coffee in air of 20 °C and 70 % heated to 50 °C.
func TestTrayDryer(t *testing.T) {
	rows, _ := columns(t, "geankoplis.csv")
	var own, two, line tally
	for _, target := range []float64{12.643, 10.226, 8, 6.746} {
		run, end := Run{Target: wet(target)}, math.NaN()
		for i, x := range rows {
			at := dawn.Add(hours(x[0]))
			run.Readings = append(run.Readings, Reading{At: at, Moisture: wet(x[2]), Sigma: 0.15})
			run.Air = append(run.Air, Air{at, 50, 20, .7})
			if i > 0 && x[2] <= target && rows[i-1][2] > target {
				was := rows[i-1]
				end = was[0] + (x[0]-was[0])*(was[2]-target)/(was[2]-x[2])
			}
		}
		for _, part := range []float64{.5, .75, .875} {
			cut := run.Until(dawn.Add(hours(part * end)))
			f := cut.Forecast()
			if f.Likely.IsZero() {
				continue
			}
			left := end - after(cut.Readings[len(cut.Readings)-1].At)
			own.add((after(f.Likely) - end) / left)
			two.add(twoLines(5.05)(cut)/left - 1)
			line.add(lastThree(cut)/left - 1)
		}
	}
	t.Logf("errors in shares of the time left, median and mean of %d: own %.3f %.3f, "+
		"two lines %.3f %.3f, last three %.3f", len(own.errs), own.median(), own.mean(),
		two.median(), two.mean(), line.median())
	if own.mean() > two.mean() || own.median() > line.median()/2 {
		t.Error("worse than the mean of two lines, or no half of the last three readings' line")
	}
}

// otherStuff is made up too: a material that is no coffee, whose rate goes as a power of what is
// left, over 4 to 100 hours, read 15 to 45 times by a meter of 0.1 to 0.5 points.
func otherStuff(seed uint64) (Run, float64) {
	r := rand.New(rand.NewPCG(seed, 9))
	power := within(r, .1, 1.1)
	total := math.Exp(within(r, math.Log(4), math.Log(100)))
	n, noise := 15+r.IntN(30), within(r, .1, .5)
	run := Run{Target: within(r, 11, 14)}
	me := Equilibrium(50, HeatedRH(20, .7, 50))
	q := 1 - power + 1e-6
	a, b := math.Pow(dry(within(r, 22, 40))-me, q), math.Pow(dry(run.Target)-me, q)
	for i := range n {
		part := float64(i) / float64(n)
		at := dawn.Add(hours(part * total))
		w := wet(me+math.Pow(a+(b-a)*part, 1/q)) + noise*r.NormFloat64()
		run.Readings = append(run.Readings, Reading{At: at, Moisture: math.Round(10*w) / 10})
		run.Air = append(run.Air, Air{at, 50 + math.Round(r.NormFloat64()), 20, .7})
	}
	return run, total
}

func TestOtherStuff(t *testing.T) {
	in, all := 0, 0
	for _, part := range []float64{.5, .75, .875} {
		var own, two, line tally
		for seed := range uint64(200) {
			run, total := otherStuff(seed)
			cut := run.Until(dawn.Add(hours(part * total)))
			f := cut.Forecast()
			left := total - after(cut.Readings[len(cut.Readings)-1].At)
			own.add((after(f.Likely) - total) / left)
			two.add(twoLines(5.01)(cut)/left - 1)
			line.add(lastThree(cut)/left - 1)
			if after(f.Early) <= total && after(f.Late) >= total {
				in++
			}
			all++
		}
		t.Logf("at %.3f of the way, error in shares of the time left: own %.3f, two lines %.3f, "+
			"last three %.3f", part, own.mean(), two.mean(), line.mean())
		if own.mean() > two.mean() || own.mean() > line.mean()/2 || own.none > 0 {
			t.Errorf("at %.3f: %.3f, two lines %.3f, %d without an answer", part, own.mean(),
				two.mean(), own.none)
		}
	}
	if held := float64(in) / float64(all); held < .75 || held > .95 {
		t.Errorf("windows held the truth in %.0f %%", 100*held)
	}
}
