package rest

import "math"

// EquilibriumError is the standard error of [Equilibrium] in points w.b.
const EquilibriumError = 0.45

// The humidities between which a verdict may rest on the isotherm.
const driest, dampest = 0.10, 0.90

// Equilibrium is the moisture in % w.b. at which parchment neither takes up nor gives off water,
// from the temperature in °C and the relative humidity (0 to 1). NaN for a humidity outside 0 to 1.
// Roa equation, Trejos et al. 1989.
func Equilibrium(celsius, humidity float64) float64 { return wet(dryBasis(celsius, humidity)) }

// Activity is the water activity (0 to 1) of parchment at a temperature in °C and a moisture in %
// w.b., the inverse of [Equilibrium]; NaN for a moisture that no humidity of 0 to 1 gives.
func Activity(celsius, moisture float64) float64 {
	low, high := 0.0, 1.0
	if !(moisture >= 0 && moisture <= Equilibrium(celsius, high)) {
		return math.NaN()
	}
	for range 50 {
		mid := (low + high) / 2
		if Equilibrium(celsius, mid) < moisture {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// dryBasis is the Roa equation itself, % d.b.
func dryBasis(celsius, h float64) float64 {
	if !(h >= 0 && h <= 1) {
		return math.NaN()
	}
	const (
		p1, p2, p3 = 61.030848, -108.37141, 74.461059
		q1, q2, q3 = -0.037049, 0.070114, -0.035177
	)
	return h * (p1 + h*(p2+h*p3)) * math.Exp(h*(q1+h*(q2+h*q3))*celsius)
}

// settled is the equilibrium on the dry basis at a humidity held within the range of verdicts; NaN
// for a humidity that is none.
func settled(celsius, humidity float64) float64 {
	if !(humidity >= 0 && humidity <= 1) {
		return math.NaN()
	}
	return dryBasis(celsius, min(max(humidity, driest), dampest))
}

func wet(dry float64) float64 { return 100 * dry / (100 + dry) }
func dry(wet float64) float64 { return 100 * wet / (100 - wet) }

// dewPoint in °C, Magnus form (Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601, from memory,
// verify; within 0.1 °C of ASHRAE between 0 and 40 °C).
func dewPoint(celsius, humidity float64) float64 {
	const a, b = 17.625, 243.04
	x := math.Log(humidity) + a*celsius/(b+celsius)
	return b * x / (a - x)
}
