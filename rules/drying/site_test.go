package drying

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A normal value known to be above its mean is half normal: 0.798 of an error higher, 0.603 wide.
func TestStillOut(t *testing.T) {
	mean, err := stillOut(3, 3, 2)
	near(t, "mean", mean, 3+2*math.Sqrt(2/math.Pi), 1e-9)
	near(t, "error", err, 2*math.Sqrt(1-2/math.Pi), 1e-9)
	mean, err = stillOut(-20, 3, 2)
	near(t, "nothing known", mean, 3, 1e-9)
	near(t, "nothing known", err, 2, 1e-9)
	if mean, err = stillOut(30, 3, 2); mean < 30 || mean > 31 || err > 1 || err <= 0 {
		t.Errorf("long over: %g, %g", mean, err)
	}
}

// Days that follow those before them are told from days that do not.
func TestHabit(t *testing.T) {
	near(t, "no lot", habit{}.stays(), daysStay, 1e-12)
	for keeps, want := range map[float64][2]float64{0: {0, .2}, .9: {.65, .9}} {
		rng := rand.New(rand.NewPCG(3, 3))
		var lots [][]float64
		for range 12 {
			var days []float64
			off := 4 * rng.NormFloat64()
			for range 9 {
				off = keeps*off + 4*math.Sqrt(1-keeps*keeps)*rng.NormFloat64()
				days = append(days, 9+off)
			}
			lots = append(lots, days)
		}
		h := learnHabit(lots)
		if s := h.stays(); s < want[0] || s > want[1] || h.days != 108 {
			t.Errorf("days that keep %g: %g of %g days", keeps, s, h.days)
		}
	}
}

// A site whose lots always took five days foretells the same of one with few readings, and less so
// of one whose readings say otherwise.
func TestLotsToldByEarlierOnes(t *testing.T) {
	p := lot(16, 1)
	p.Readings = p.Readings[:3]
	alone, _ := p.exact()
	for range 6 {
		p.Past.took.add(120, p.Target)
	}
	told, _ := p.exact()
	five := dawn.Add(hours(120))
	if told.Likely.Sub(five).Abs() >= alone.Likely.Sub(five).Abs()*3/4 {
		t.Errorf("alone %v, told %v", alone.Likely, told.Likely)
	}
	early := alone.Likely.Sub(told.Likely)
	p.Readings = lot(16, 1).Readings[:11]
	late, _ := p.exact()
	p.Past = PatioPast{}
	if own, _ := p.exact(); own.Likely.Sub(late.Likely) > early/2 {
		t.Errorf("with eleven readings %v, told %v", own.Likely, late.Likely)
	}
}
