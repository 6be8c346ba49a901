package drying

import "math"

// Roa's polynomial for parchment of Coffea arabica, desorption: Trejos-Rodríguez, Roa-Mejía and
// Oliveros-Tascón 1989, Cenicafé 40(1):5-15, eq. 2 and table 3. A paper of 2008 prints q1 as
// −0.03049: a misprint that puts the moisture 1.3 points off.
const (
	p1, p2, p3 = 61.030848, -108.37141, 74.461059
	q1, q2, q3 = -0.037049, 0.070114, -0.035177
)

// EquilibriumSE is one standard error of [Equilibrium], percent dry basis (same source).
const EquilibriumSE = 0.54

// Equilibrium is the moisture, in percent dry basis, at which parchment coffee comes to rest in
// air of tempC °C and relative humidity rh (0..1): Roa's equation, fitted at 5–55 °C and 5–100 %.
// Above 55 °C it is an extrapolation; below 10 and above 90 % humidity it is no ground for
// decisions. It is a drying curve: for coffee that takes up water it says too much. NaN outside
// 0..1.
func Equilibrium(tempC, rh float64) float64 {
	if !(rh >= 0 && rh <= 1) {
		return math.NaN()
	}
	return rh * (p1 + rh*(p2+rh*p3)) * math.Exp(rh*(q1+rh*(q2+rh*q3))*tempC)
}

// WaterActivity is the inverse of [Equilibrium]: the relative humidity, 0..1, in balance with
// parchment of moistureDB percent dry basis at tempC. A measured water activity overrides it: for
// dry lots it reads up to 0.07 too high. NaN where no humidity up to 1 gives that moisture.
func WaterActivity(tempC, moistureDB float64) float64 {
	if !(moistureDB >= 0 && moistureDB <= Equilibrium(tempC, 1)) {
		return math.NaN()
	}
	lo, hi := 0.0, 1.0
	for range 50 {
		if mid := (lo + hi) / 2; Equilibrium(tempC, mid) < moistureDB {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// LatentHeat is the heat in kJ to drive a kg of water out of parchment at tempC and moistureDB
// percent dry basis (Trejos and others 1989, eq. 6). The driest water is bound the hardest.
func LatentHeat(tempC, moistureDB float64) float64 {
	return (2502.4 - 2.4295*tempC) * (1 + 1.44408*math.Exp(-0.216011*moistureDB))
}

// saturation is the vapour pressure of water in Pa, 0–200 °C (ASHRAE Fundamentals 2017 ch. 1
// eq. 6).
func saturation(tempC float64) float64 {
	t := tempC + 273.15
	return math.Exp(-5.8002206e3/t + 1.3914993 - 4.8640239e-2*t + 4.1764768e-5*t*t -
		1.4452093e-8*t*t*t + 6.5459673*math.Log(t))
}

// dry turns percent wet basis into percent dry basis; wet is its inverse.
func dry(w float64) float64 { return 100 * w / (100 - w) }
func wet(m float64) float64 { return 100 * m / (100 + m) }
