package drying

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// anyRun draws a run as untidy as a night shift leaves it.
func anyRun(t *rapid.T) Run {
	var r Run
	at := dawn
	m := rapid.Float64Range(14, 52).Draw(t, "start")
	for range rapid.IntRange(0, 30).Draw(t, "readings") {
		r.Readings = append(r.Readings, Reading{At: at, Moisture: m,
			Hot:   rapid.Bool().Draw(t, "hot"),
			Sigma: rapid.SampledFrom([]float64{0, 0, .3, 2}).Draw(t, "sigma")})
		if rapid.Bool().Draw(t, "dial") {
			r.Air = append(r.Air, Air{At: at, Inlet: rapid.Float64Range(15, 75).Draw(t, "inlet"),
				Ambient: rapid.SampledFrom([]float64{18, 24, math.NaN()}).Draw(t, "ambient"),
				RH:      rapid.Float64Range(.3, 1).Draw(t, "rh")})
		}
		if rapid.IntRange(0, 9).Draw(t, "stop") == 0 {
			r.Stops = append(r.Stops, Stop{From: at.Add(5 * time.Minute),
				To: at.Add(time.Duration(rapid.IntRange(10, 200).Draw(t, "length")) * time.Minute)})
		}
		at = at.Add(time.Duration(rapid.IntRange(5, 240).Draw(t, "gap")) * time.Minute)
		m = max(7, m*rapid.Float64Range(.75, 1.03).Draw(t, "fall"))
	}
	if rapid.IntRange(0, 5).Draw(t, "open") == 0 {
		r.Stops = append(r.Stops, Stop{From: at})
	}
	r.Target = rapid.Float64Range(9, 14).Draw(t, "target")
	return r
}

func TestDrierIsNeverSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRun(t)
		a := r.Forecast()
		r.Target -= rapid.Float64Range(.01, 3).Draw(t, "drier")
		b := r.Forecast()
		if a.Likely.IsZero() || b.Likely.IsZero() {
			if a.Likely.IsZero() && !b.Likely.IsZero() {
				t.Fatal("an answer for the drier target only")
			}
			return
		}
		if b.Likely.Before(a.Likely) {
			t.Fatalf("likely %v, drier %v", a.Likely, b.Likely)
		}
		if b.Early.Before(a.Early) || b.Late.Before(a.Late) {
			t.Fatalf("window %v–%v, drier %v–%v", a.Early, a.Late, b.Early, b.Late)
		}
	})
}

func TestCurveNeverRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRun(t)
		f := r.Forecast()
		was := math.Inf(1)
		open := len(r.Stops) > 0 && r.Stops[len(r.Stops)-1].To.IsZero()
		for h := -1.0; h < 80; h += .37 {
			at := dawn.Add(hours(h))
			m := f.MoistureAt(at)
			if math.IsNaN(m) {
				if !math.IsInf(was, 1) {
					t.Fatalf("no moisture at %.1f h after there was one", h)
				}
				continue
			}
			if m > was+1e-9 || m < 0 {
				t.Fatalf("moisture %g after %g at %.1f h", m, was, h)
			}
			if open && at.After(r.Stops[len(r.Stops)-1].From.Add(time.Hour)) && m != was {
				t.Fatalf("moisture moves to %g from %g in an open stop", m, was)
			}
			was = m
		}
	})
}

func TestSameAnswerAndOrderedWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRun(t)
		f, g := r.Forecast(), r.Forecast()
		if !f.Likely.Equal(g.Likely) || f.Status != g.Status {
			t.Fatal("two answers from one run")
		}
		if f.Likely.IsZero() {
			if f.Confidence != 0 || !f.Early.IsZero() || !f.Late.IsZero() {
				t.Fatalf("half an answer: %+v", f)
			}
			return
		}
		if f.Early.After(f.Likely) || f.Late.Before(f.Likely) || f.Confidence != confidence {
			t.Fatalf("window %v %v %v", f.Early, f.Likely, f.Late)
		}
		if m := f.MoistureAt(f.Likely); !f.Likely.Before(dawn) && math.Abs(m-r.Target) > .02 {
			t.Fatalf("moisture %g at the likely instant, target %g", m, r.Target)
		}
		if math.IsNaN(f.Slope) || f.Slope > 0 {
			t.Fatalf("slope %g", f.Slope)
		}
	})
}

func TestWithdrawnReadingLeavesNoTrace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRun(t)
		want := r.Forecast()
		with := r
		i := rapid.IntRange(0, len(r.Readings)).Draw(t, "place")
		with.Readings = slices.Insert(slices.Clone(r.Readings), i,
			Reading{At: dawn, Moisture: rapid.Float64Range(5, 60).Draw(t, "slip")})
		with.Forecast()
		with.Readings = slices.Delete(with.Readings, i, i+1)
		got := with.Forecast()
		if got.Status != want.Status || !got.Likely.Equal(want.Likely) ||
			!got.Late.Equal(want.Late) || got.Reason.Used != want.Reason.Used {
			t.Fatalf("after withdrawal %v %v, before %v %v",
				got.Status, got.Likely, want.Status, want.Likely)
		}
	})
}

func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0, 80).Draw(t, "wet basis")
		if back := wet(dry(w)); math.Abs(back-w) > 1e-9 {
			t.Fatalf("%g there and back is %g", w, back)
		}
		temp := rapid.Float64Range(5, 60).Draw(t, "temp")
		rh := rapid.Float64Range(.01, .99).Draw(t, "rh")
		if back := WaterActivity(temp, Equilibrium(temp, rh)); math.Abs(back-rh) > 1e-9 {
			t.Fatalf("humidity %g there and back is %g", rh, back)
		}
	})
}
