package drying

import (
	"math"
	"slices"
	"time"
)

const (
	scaleError = 0.005            // of a weight on a drum's scale, common practice, no source
	together   = 20 * time.Minute // a weight and a reading this near belong together
)

// MoistureOfWeight is the moisture in percent wet basis of coffee that weighs kg and holds dryKg of
// dry matter (mass balance). NaN when there is less coffee than dry matter, or none.
func MoistureOfWeight(kg, dryKg float64) float64 {
	if !(dryKg > 0 && kg >= dryKg) {
		return math.NaN()
	}
	return 100 * (1 - dryKg/kg)
}

// WeightAt is the weight in kg that a drum must show when its coffee, kg at a moisture, is at the
// target; percents are wet basis (mass balance).
func WeightAt(target, kg, moisture float64) float64 {
	return kg * (100 - moisture) / (100 - target)
}

// weighed is the readings fit to use, joined with those that the drum's scale gives. Where the dry
// matter is only worked out from readings, its error is shared by all weights; it is taken as each
// one's own, which is a little too wide.
func (r *Run) weighed() []Reading {
	usable := func(x Reading) bool { return x.Moisture > 0 && x.Moisture < 90 }
	fit := r.Readings
	if i := slices.IndexFunc(fit, func(x Reading) bool { return !usable(x) }); i >= 0 {
		fit = slices.DeleteFunc(slices.Clone(fit), func(x Reading) bool { return !usable(x) })
	}
	if len(r.Weights) == 0 {
		return fit
	}
	dryKg, share := r.DryKg, 0.0
	if dryKg == 0 {
		dryKg, share = dryMatter(fit, r.Weights)
	}
	out := slices.Clone(fit)
	for _, w := range r.Weights {
		x := Reading{At: w.At, Moisture: MoistureOfWeight(w.Kg, dryKg)}
		x.Sigma = (100 - x.Moisture) * math.Hypot(scaleError, share)
		if usable(x) {
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b Reading) int { return a.At.Compare(b.At) })
	return out
}

// dryMatter weighs the pairs of weight and reading by how sharply each gives the dry matter: kg,
// and one relative standard error. 0 where there is no pair.
func dryMatter(readings []Reading, weights []Weight) (kg, share float64) {
	var sum, all float64
	for _, w := range weights {
		for _, x := range readings {
			if x.At.Sub(w.At).Abs() > together {
				continue
			}
			v := sq(w.Kg * ready(x).plain / 100)
			sum, all = sum+w.Kg*(1-x.Moisture/100)/v, all+1/v
		}
	}
	if all == 0 {
		return 0, 0
	}
	return sum / all, math.Sqrt(1/all) / (sum / all)
}
