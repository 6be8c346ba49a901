package drying

import "math"

// The thin-layer law of parchment: Parra-Coronado, Roa-Mejía and Oliveros-Tascón 2008, Rev. Bras.
// Eng. Agríc. Ambient. 12(4):415-427, part I, eq. 15. In steady air it is a Page curve:
// (M−Me)/(M0−Me) = exp(−k·t^q), k = m·(Pvs−Pv)^n, t in hours, pressures in kPa. Air 10–70 °C,
// 56.3 to 8.1 % wet basis.
const (
	lawM = 0.0143
	lawN = 0.87898
	lawQ = 1.06439
)

// DryingConstant is k of the thin-layer law, per hour^1.06439, in air of airC °C and rh (0..1).
func DryingConstant(airC, rh float64) float64 {
	return lawM * math.Pow(max(0, 1-rh)*saturation(airC)/1000, lawN)
}

// wetStart is the moisture of parchment as it comes from the washing channel, percent wet basis
// (Oliveros and others 2010, Cenicafé 61(2):108-118): the law's hours count from it.
const wetStart = 53.0

// ThinLayerHours is the time for a thin layer to dry from one moisture to another, percent wet
// basis, in steady air, where the drying began at 53 % or at from if that is wetter. A patio or a
// drum is slower: see [BedFactor]. It is 0 where the coffee is as dry already, +Inf where this air
// never gets there.
func ThinLayerHours(from, to, airC, rh float64) float64 {
	me, k := Equilibrium(airC, rh), DryingConstant(airC, rh)
	if to >= from {
		return 0
	}
	if !(dry(to) > me) {
		return math.Inf(1)
	}
	start := dry(max(from, wetStart))
	age := func(w float64) float64 {
		return math.Pow(math.Log((start-me)/(dry(w)-me))/k, 1/lawQ)
	}
	return age(to) - age(from)
}

// HeatedRH is the relative humidity, 0..1, of air of ambientC and rh once heated to airC with no
// water added (ASHRAE 2017 ch. 1: the vapour pressure stays).
func HeatedRH(ambientC, rh, airC float64) float64 {
	return min(1, rh*saturation(ambientC)/saturation(airC))
}
