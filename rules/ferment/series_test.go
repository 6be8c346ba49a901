package ferment

import (
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write the made-up season anew")

const (
	seasonFolder = "../../testdata/ferment/made-up-season"
	minute       = "2006-01-02 15:04"
	metres       = 1650.0 // of the made-up mill
)

// TestMadeUpSeason keeps the committed season the one that its generator makes.
func TestMadeUpSeason(t *testing.T) {
	m := mill{rng: rand.New(rand.NewPCG(41, 41)), ambient: 18.5, season: 1.5, swing: 4, hours: 26,
		tmin: 2, scatter: 0.15, heating: 4.5, probe: true, tests: 2}
	for i, b := range m.run(24) {
		name := filepath.Join(seasonFolder, fmt.Sprintf("tank-%02d.csv", i+1))
		want := m.record(b)
		if *update {
			if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != want {
			t.Errorf("%s is not what the generator makes; go test -update writes it anew", name)
		}
	}
}

// record is a stay as a mill would write it down: minutes, half degrees, strips of pH here and
// there, and a last hand test before the washing.
func (m mill) record(b batch) string {
	rows := "time,mass_c,ambient_c,ph,hand,add_kg\n"
	row := func(at time.Time, mass, air, ph, hand, kg string) {
		rows += fmt.Sprintf("%s,%s,%s,%s,%s,%s\n", at.Format(minute), mass, air, ph, hand, kg)
	}
	loads, last := b.stay.Tank.Loads, time.Time{}
	half := func(x float64) string {
		if math.IsNaN(x) {
			return ""
		}
		return strconv.FormatFloat(math.Round(2*x)/2, 'f', 1, 64)
	}
	youngest := loads[len(loads)-1].At
	add := func(until time.Time) {
		for len(loads) > 0 && !loads[0].At.After(until) {
			last = loads[0].At
			row(last, "", "", "", "", strconv.Itoa(1200+50*m.rng.IntN(20)))
			loads = loads[1:]
		}
	}
	strips := m.rng.IntN(3) == 0
	rough := false
	for _, r := range b.stay.Tank.Readings {
		add(r.At)
		if r.At.Sub(last) < time.Minute {
			r.At = last.Add(time.Minute)
		}
		last = r.At
		ph := ""
		if strips && r.At.After(youngest) && m.rng.IntN(3) == 0 {
			done := r.At.Sub(youngest).Hours() / b.ready.Sub(youngest).Hours()
			ph = half(PH(5.5, done) + 0.2*m.rng.NormFloat64())
		}
		row(r.At, half(r.Mass), half(r.Ambient), ph, r.Hand.String(), "")
		rough = r.Hand == Rough
	}
	if !rough {
		row(b.stay.Washed.Add(time.Minute), "", "", "", Rough.String(), "")
	}
	return rows
}

// readTank reads one committed record.
func readTank(t *testing.T, name string) Tank {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	tank := Tank{Site: NewSite()}
	number := func(s string) float64 {
		if s == "" {
			return math.NaN()
		}
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for _, r := range rows[1:] {
		at, err := time.Parse(minute, r[0])
		if err != nil {
			t.Fatal(err)
		}
		if kg := number(r[5]); !math.IsNaN(kg) {
			tank.Loads = append(tank.Loads, Load{At: at, Kg: kg})
			continue
		}
		tank.Readings = append(tank.Readings, Reading{At: at, Mass: number(r[1]),
			Ambient: number(r[2]), PH: number(r[3]),
			Hand: map[string]Hand{"rough": Rough, "slippery": Slippery}[r[4]]})
	}
	return tank
}

// On the committed season the median error is below both rivals' at every lead, each tank knowing
// only the earlier ones. The truth is the middle between the last slippery and the first rough
// test.
func TestCommittedSeries(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(seasonFolder, "tank-*.csv"))
	if err != nil || len(names) != 24 {
		t.Fatal(names, err)
	}
	leads := []float64{12, 6, 3, 1}
	contests := make([]contest, len(leads))
	var past *Past
	var took []float64
	for _, name := range names {
		stay := Stay{Tank: readTank(t, name)}
		c := newCourse(&stay.Tank, stay.Tank.Readings, 0)
		truth := handBounds(&c, stay.Tank.Readings).held(c.youngest).at(0.5)
		hours := truth.Sub(c.youngest).Hours()
		usual := 20.0
		if len(took) > 0 {
			usual = median(took)
		}
		for i, lead := range leads {
			x := &contests[i]
			f := batch{stay: stay}.known(truth.Add(-span(lead)), past).Forecast()
			x.ours.add(f, truth)
			x.fixed = append(x.fixed, math.Abs(usual-hours))
			x.line = append(x.line, math.Abs(Hours(AltitudeAmbient(metres)+SelfHeating)-hours))
		}
		took = append(took, hours)
		past = past.And(stay)
	}
	for i, lead := range leads {
		x := contests[i]
		e := median(x.ours.errors)
		t.Logf("%2.0f h before: n %d held %.2f error %.1f h | fixed %.1f line %.1f", lead, x.ours.n,
			x.ours.cover(), e, median(x.fixed), median(x.line))
		if x.ours.n != 24 || e >= median(x.fixed) || e >= median(x.line) {
			t.Errorf("%v h before: no better than the rivals", lead)
		}
	}
}
