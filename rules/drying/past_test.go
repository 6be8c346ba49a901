package drying

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// drumPast simulates some runs of one drum, which has its own bed factor and law.
func drumPast(fam family, drum uint64, runs int) (past []Ended, last plan, end time.Time) {
	rng := rand.New(rand.NewPCG(drum, 11))
	own := fam.draw(rng)
	for k := range runs {
		p := fam.draw(rng)
		p.bed = own.bed * (1 + .04*rng.NormFloat64())
		p.airC = own.airC + 2*rng.NormFloat64()
		p.page, p.strength, p.flat = own.page, own.strength, own.flat
		run, e := simulate(p, drum*100+uint64(k))
		past, last, end = append(past, Ended{Run: run, End: e}), p, e
	}
	return past, last, end
}

// What a drum taught makes the next forecast better where law or bed are its own, and brings the
// windows to what they say.
func TestLearningPays(t *testing.T) {
	for _, name := range []string{"thin layer", "another law", "fire"} {
		fam := families[slices.IndexFunc(families, func(f family) bool { return f.name == name })]
		var with, without [2]tally // 12 and 6 h before the end; 3 h
		for drum := range uint64(30) {
			past, p, end := drumPast(fam, drum, 7)
			learned := Learn(past[:6])
			for i, lead := range []float64{12, 6, 3} {
				cut := past[6].Run.Until(end.Add(-hours(lead)))
				if len(cut.Readings) < 4 || p.pending(end.Add(-hours(lead))) {
					continue
				}
				f := cut.Forecast()
				cut.Past = learned
				g := cut.Forecast()
				if f.Likely.IsZero() || g.Likely.IsZero() {
					continue
				}
				without[i/2].add(f.Likely.Sub(end).Hours())
				with[i/2].add(g.Likely.Sub(end).Hours())
				if !g.Early.After(end) && !g.Late.Before(end) {
					with[i/2].in++
				}
			}
		}
		t.Logf("%-12s 12 and 6 h: %.2f h, learned %.2f h, held %.0f %%; 3 h: %.2f h, learned %.2f h",
			name, without[0].mean(), with[0].mean(), 100*with[0].held(), without[1].mean(),
			with[1].mean())
		if with[0].mean() > without[0].mean()*1.02 || with[1].mean() > without[1].mean()*1.05 {
			t.Errorf("%s: learning made it worse", name)
		}
		if name == "another law" && with[0].mean() > .75*without[0].mean() {
			t.Errorf("%s: learning paid little", name)
		}
		if with[0].held() < .6 {
			t.Errorf("%s: windows held %.0f %%", name, 100*with[0].held())
		}
	}
}

// The bed factor is shrunk toward the published one while runs are few, and the weight is said.
func TestShrinkage(t *testing.T) {
	fam := family{"slow", func(r *rand.Rand) plan { p := steady(r); p.bed = 1.6; return p }}
	past, _, _ := drumPast(fam, 1, 8)
	was := Learn(nil)
	if was != (Past{}) || was.widen() != 1 || drumBelief(was, false) != firstBelief {
		t.Errorf("nothing learned: %+v", was)
	}
	before := BedFactor
	for _, n := range []int{1, 3, 8} {
		p := Learn(past[:n])
		if p.Runs != n || p.Taught != n || p.Bed <= before || p.Bed > 1.7 || p.Weight <= was.Weight {
			t.Errorf("%d runs: %+v after %.2f", n, p, before)
		}
		f := past[0].Run.Until(dawn.Add(hours(14)))
		f.Past = p
		if r := f.Forecast().Reason; r.PastRuns != n || math.Abs(r.BedPast-p.Bed) > 1e-9 ||
			math.Abs(r.PastWeight-p.Weight) > 1e-12 {
			t.Errorf("reason %+v", r)
		}
		before, was = p.Bed, p
	}
	near(t, "eight runs", before, 1.6, .12)
}

// A run that was cut off far from its target teaches nothing, but is counted as looked at.
func TestUnfinishedRuns(t *testing.T) {
	run, end := simulate(plan{airC: 52, bed: 1.2, start: 50, target: 11, noise: .3}, 4)
	short := run.Until(end.Add(-hours(8)))
	if p := Learn([]Ended{{Run: short}}); p.Runs != 1 || p.Taught != 0 || p.Bed != 0 {
		t.Errorf("unfinished: %+v", p)
	}
	if p := Learn([]Ended{{Run: run}}); p.Taught != 1 {
		t.Errorf("finished: %+v", p)
	}
	at, ok := run.Reached()
	if !ok || at.Sub(end).Abs() > time.Hour {
		t.Errorf("reached %v, true %v", at, end)
	}
	if _, ok := short.Reached(); ok {
		t.Error("unfinished run reached its target")
	}
}

// The stretch is the score that four of five stay under.
func TestConformal(t *testing.T) {
	near(t, "no run", conformal(slices.Clone(firstScores[:])), 1, 1e-9)
	wide, narrow := slices.Clone(firstScores[:]), slices.Clone(firstScores[:])
	for range 40 {
		wide, narrow = append(wide, 2), append(narrow, .6)
	}
	near(t, "windows too narrow", conformal(wide), 2, .01)
	near(t, "windows too wide", conformal(narrow), .6, .1)
	rapid.Check(t, func(t *rapid.T) {
		s := append(slices.Clone(firstScores[:]),
			rapid.SliceOf(rapid.Float64Range(0, 2.9)).Draw(t, "scores")...)
		q, under := conformal(s), 0
		for _, x := range s {
			if x <= q {
				under++
			}
		}
		if share := float64(under) / float64(len(s)+1); q > .5 && share < .8-1.01/float64(len(s)+1) {
			t.Fatalf("%.2f of %d scores stay under %g", share, len(s), q)
		}
	})
}

// Cutting a run keeps what was known then, and opens the stop that had not ended.
func TestUntil(t *testing.T) {
	r := record(10.5, 0, 40, 2, 34, 4, 28.5)
	r.Stops = []Stop{{dawn.Add(hours(1)), dawn.Add(hours(3))}, {From: dawn.Add(hours(5))}}
	c := r.Until(dawn.Add(hours(2)))
	if len(c.Readings) != 2 || len(c.Air) != 2 || len(c.Stops) != 1 || !c.Stops[0].To.IsZero() {
		t.Errorf("%+v", c)
	}
	if r.Stops[0].To.IsZero() {
		t.Error("cutting changed the run it was cut from")
	}
}
