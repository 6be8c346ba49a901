package rest

import "math"

// Effect is what airing would do.
type Effect int8

const (
	Unknown Effect = iota // a reading is missing
	Helps                 // blow
	Harms                 // keep shut
	Neither               // not worth it
)

// Cause says why airing has its effect.
type Cause int8

const (
	NoCause     Cause = iota // of an unknown effect
	WouldDry                 // towards the band from above
	WouldWet                 // away from the band, upwards
	WouldOver                // drier than the band
	WouldRaise               // towards the band from below
	WouldCool                // same moisture, cooler coffee
	WouldWarm                // same moisture, warmer coffee
	WouldSweat               // the air's dew point is at or above the coffee's temperature
	WithinError              // the air's equilibrium is no further off than the isotherm's error
)

// String is a word for tables and tests.
func (c Cause) String() string {
	return [...]string{"", "dries", "wets", "over-dries", "raises", "cools", "warms", "sweats",
		"within-error"}[c]
}

// Airing is the judgement of blowing today's air through a lot.
type Airing struct {
	Effect      Effect
	Cause       Cause
	Equilibrium float64 // % w.b. that the air would bring it to, NaN unknown
}

// coolBy is how much cooler than the coffee the air must be to be worth blowing, °C: common
// practice with stored grain, from memory, verify.
const coolBy = 3.0

// Blow judges today's air (°C, humidity 0 to 1) for a lot with a moisture in % w.b., a temperature
// in °C and a band that it should lie in, low to high % w.b. Airing is worth it only if the air's
// equilibrium lies within the band or draws the coffee towards it, by more than the isotherm's
// error of 0.45 points. It is a judgement of the air alone; who may open what is the mill's.
func Blow(air Air, moisture, celsius, low, high float64) Airing {
	if !(air.Humidity > 0 && air.Humidity <= 1) {
		return Airing{Equilibrium: math.NaN()}
	}
	a := Airing{Equilibrium: wet(settled(air.Celsius, air.Humidity))}
	if math.IsNaN(a.Equilibrium + moisture + celsius + low + high) {
		return a
	}
	pull := a.Equilibrium - moisture
	switch {
	case dewPoint(air.Celsius, air.Humidity) >= celsius:
		a.Effect, a.Cause = Harms, WouldSweat
	case moisture > high && pull < -EquilibriumError:
		a.Effect, a.Cause = Helps, WouldDry
	case moisture < low && pull > EquilibriumError && a.Equilibrium <= high:
		a.Effect, a.Cause = Helps, WouldRaise
	case pull > EquilibriumError && a.Equilibrium > high:
		a.Effect, a.Cause = Harms, WouldWet
	case pull < -EquilibriumError && a.Equilibrium < low:
		a.Effect, a.Cause = Harms, WouldOver
	case air.Celsius <= celsius-coolBy:
		a.Effect, a.Cause = Helps, WouldCool
	case air.Celsius >= celsius+coolBy:
		a.Effect, a.Cause = Harms, WouldWarm
	default:
		a.Effect, a.Cause = Neither, WithinError
	}
	return a
}
