package rules

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/record"
)

var hindcastUpdate = flag.Bool("series", false, "write the committed series anew")

const (
	seriesFolder = "../testdata/series"
	madeUpSeed   = 2026
	madeUpRuns   = 24
)

// hindcastDrum is a made-up drum over a season: the thin-layer law of Parra-Coronado and others
// 2008 slowed by a bed factor (1.10 to 1.35), a wood fire that swings and drifts,
// stops logged and not, a meter of 0.3 points, readings every two hours and then hourly.
type hindcastDrum struct {
	rng  *rand.Rand
	at   time.Time // the next load
	airC float64
	bed  float64

	rows []string // of the run in hand
	last time.Time
}

// hindcastRun is what nobody at the drum knows of one run.
type hindcastRun struct {
	airC, drift, bed, wet float64
	out, lit              float64 // hours of a stop; equal: none
	logged                bool
	jump                  int // the reading that is 2.5 points too wet; -1: none
}

func (d *hindcastDrum) plan() hindcastRun {
	r := hindcastRun{airC: d.airC + 1.5*d.rng.NormFloat64(), drift: 6*d.rng.Float64() - 3,
		bed: d.bed * math.Exp(.05*d.rng.NormFloat64()), wet: 48 + 5*d.rng.Float64(), jump: -1}
	if d.rng.Float64() < .4 {
		r.out = 3 + 9*d.rng.Float64()
		r.lit = r.out + 1 + d.rng.Float64()
		r.logged = d.rng.Float64() < .5
	}
	if d.rng.Float64() < .15 {
		r.jump = 3 + d.rng.IntN(6)
	}
	return r
}

// row writes a row down, at least a minute after the one before.
func (d *hindcastDrum) row(hour float64, moisture, air, ambient, rh, fire string) {
	at := d.at.Add(time.Duration(hour * float64(time.Hour))).Truncate(time.Minute)
	if !at.After(d.last) {
		at = d.last.Add(time.Minute)
	}
	d.last = at
	d.rows = append(d.rows, strings.Join([]string{at.Format(record.Layout), moisture, air, ambient,
		rh, fire}, ","))
}

// run makes the record of one load, in steps of a minute.
func (d *hindcastDrum) run() string {
	const step = 1.0 / 60
	r := d.plan()
	m, done, swing, air := 100*r.wet/(100-r.wet), 0.0, 0.0, r.airC
	next, read, under, fire := 0.0, 0, 0, "on"
	d.rows = []string{"time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire"}
	for t := 0.0; under < 2; t += step {
		clock := d.at.Add(time.Duration(t * float64(time.Hour)))
		hour := float64(clock.Hour()) + float64(clock.Minute())/60
		ambient := 19 + 4*math.Sin((hour-9)/12*math.Pi)
		vapour := .72 * magnus(19)
		swing += -swing*step + 2.5*math.Sqrt(2*step)*d.rng.NormFloat64()
		burning := r.airC + swing + r.drift*t/24
		if t >= r.out && t < r.lit {
			burning = ambient
		}
		air += (burning - air) * step / .4
		if r.logged && (math.Abs(t-r.out) < step/2 || math.Abs(t-r.lit) < step/2) {
			fire = map[bool]string{true: "out", false: "on"}[t < r.lit-.5]
			d.row(t, "", "", "", "", fire)
		}
		if t >= next {
			w := 100 * m / (100 + m)
			next = t + 2
			if w < 16 {
				next = t + 1
			}
			next += (d.rng.Float64() - .5) / 3
			value := w + .3*d.rng.NormFloat64()
			if read == r.jump {
				value += 2.5
			}
			d.row(t, fmt.Sprintf("%.1f", value), fmt.Sprintf("%.0f", air+d.rng.NormFloat64()),
				fmt.Sprintf("%.1f", ambient), fmt.Sprintf("%.0f", 100*vapour/magnus(ambient)),
				map[bool]string{true: "on"}[read == 0])
			if read++; value <= 10.5 {
				under++
			} else {
				under = 0
			}
		}
		in := vapour / magnus(air)
		pace := math.Pow(.0143*math.Pow((1-in)*magnus(air)/1000, .87898), 1/1.06439) / r.bed
		done += pace * step
		if me := drying.Equilibrium(air, in); m > me && air > ambient+3 {
			m -= (m - me) * 1.06439 * math.Pow(max(done, 1e-3), .06439) * pace * step
		}
	}
	d.at = d.last.Add(time.Duration((2 + 6*d.rng.Float64()) * float64(time.Hour)))
	return strings.Join(d.rows, "\n") + "\n"
}

// magnus is the saturation pressure in Pa by the Magnus form (WMO guide), apart from the code.
func magnus(t float64) float64 { return 611.2 * math.Exp(17.62*t/(243.12+t)) }

// The committed drums are those that the generator makes.
func TestMadeUpDrums(t *testing.T) {
	rng := rand.New(rand.NewPCG(madeUpSeed, 1))
	d := hindcastDrum{rng: rng, airC: 49 + 6*rng.Float64(), bed: 1.1 + .25*rng.Float64(),
		at: time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)}
	for i := range madeUpRuns {
		text := fmt.Sprintf("# Made up: run %d of a drum that does not exist, seed %d "+
			"(rules/score_made_test.go).\n", i+1, madeUpSeed) + d.run()
		holdSeries(t, fmt.Sprintf("made-up-drum/drum-%02d.csv", i+1), text)
	}
}

// holdSeries holds a committed file to what it is made of.
func holdSeries(t *testing.T, name, want string) {
	t.Helper()
	name = filepath.Join(seriesFolder, name)
	if *hindcastUpdate {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is not what it is made of; go test ./rules -series writes it anew", name)
	}
}
