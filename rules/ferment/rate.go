package ferment

import "math"

// Constants of the published prior; sources stand in the package comment.
const (
	HoursAt20   = 23.1  // hours to completion at 20 °C in the mass
	SelfHeating = 3.3   // °C of the mass above the air when only the air is known
	Coldest     = 14.0  // °C, below it no window is given
	Hottest     = 32.0  // °C, above it no window is given
	flatAbove   = 35.0  // °C, the pace is not extrapolated beyond
	pHEnd       = 3.3   // where a run left to itself ends (Peñuela et al. 2010)
	pHStart     = 5.5   // fresh mucilage, from memory, verify
	pHSteepness = 1.672 // 0.076/h x 22 h (Puerta 2013)
)

// Hours is the time to completion at a constant mass temperature in °C by the published prior,
// (20/T)² x 23.1 h; +Inf at or below 0 °C, the value of 35 °C above it, NaN for NaN.
func Hours(celsius float64) float64 { return 1 / pace(celsius, 0) }

// AltitudeAmbient is the mean air temperature in °C at an altitude in metres in the Colombian
// Andes, 29.42 - 0.0061 x altitude (Chaves and Jaramillo 1998, Cenicafé 49(3); from memory,
// verify). It is wrong in other mountains: ask the mill's usual hours first.
func AltitudeAmbient(metres float64) float64 { return 29.42 - 0.0061*metres }

// PH is the pH expected at a progress (1 is completion) from the pH at filling. It falls along
// an S-shaped course towards 3.3. It supports a hand test and never replaces it.
func PH(start, progress float64) float64 {
	low := sigmoid(-pHSteepness)
	f := (sigmoid(pHSteepness*(progress-1)) - low) / (1 - low)
	return start - (start-pHEnd)*f
}

// pace is progress per hour at a mass temperature when growth stops at tmin: the square-root
// law, scaled so that every tmin gives 23.1 h at 20 °C.
func pace(celsius, tmin float64) float64 {
	x := (min(celsius, flatAbove) - tmin) / (20 - tmin)
	if x <= 0 {
		return 0
	}
	return x * x / HoursAt20
}

func sigmoid(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
