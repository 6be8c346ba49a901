package grade

import "math"

// mostSteps is the most scale steps a class III scale may have (OIML R 76, from memory).
const mostSteps = 10000

// ScaleError is the most that a class III scale with step stepKg may be off at a load, in kg: ±0.5
// step up to 500 steps, ±1 up to 2000, ±1.5 up to 10 000, doubled in service (UK SI 1995/1907
// Schedule 2 paragraph 4; Directive 2014/31/EU). A difference inside it is no difference. It fails
// with a [RangeError].
func ScaleError(loadKg, stepKg float64, inService bool) (float64, error) {
	if err := checkStep(stepKg); err != nil {
		return 0, err
	}
	if err := notNegative("load", loadKg, "kg", "60"); err != nil {
		return 0, err
	}
	steps, most := loadKg/stepKg*(1-1e-12), 0.0 // 60/0.05 is 1200, whatever the machine says
	switch {
	case steps <= 500:
		most = 0.5 * stepKg
	case steps <= 2000:
		most = stepKg
	case steps <= mostSteps:
		most = 1.5 * stepKg
	default:
		return 0, cannot("load", loadKg, "kg", "is over 10 000 steps of a class III scale",
			"60 kg at 0.05")
	}
	if inService {
		most *= 2
	}
	return most, nil
}

// checkStep refuses a scale step that is not 1, 2 or 5 times a power of ten (Directive 2014/31/EU
// Annex I), with a [RangeError].
func checkStep(kg float64) error {
	if kg > 0 && !math.IsInf(kg, 1) {
		lead := kg / math.Pow(10, math.Floor(math.Log10(kg)+1e-12))
		for _, n := range []float64{1, 2, 5} {
			if math.Abs(lead-n) < 1e-9 {
				return nil
			}
		}
	}
	return cannot("scale step", kg, "kg", "must be 1, 2 or 5 times a power of ten", "0.05")
}

// RoundToStep is a reading rounded to the scale's step: nothing is shown finer than its
// instrument. It fails with a [RangeError] for a step no scale has.
func RoundToStep(kg, stepKg float64) (float64, error) {
	if err := checkStep(stepKg); err != nil {
		return 0, err
	}
	if inverse := math.Round(1 / stepKg); stepKg < 1 {
		return math.Round(kg*inverse) / inverse, nil // 0.05 has no exact double, 20 has
	}
	return math.Round(kg/stepKg) * stepKg, nil
}
