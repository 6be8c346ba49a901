// Package air is the physics of moist air: saturation, humidity ratio, wet bulb, dew point,
// enthalpy, volume, pressure at altitude, heated air and vapour-pressure deficit.
//
// Read [At] first: it makes a [Moist] from what a mill can read (temperature, relative humidity,
// altitude), and every property is a method of that. [FromWetBulb] makes one from two
// thermometers.
//
// Equations are those of the ASHRAE Handbook, Fundamentals, SI edition 2017, chapter 1; the
// number of each stands at its function. Units are °C, Pa, kg and kJ per kg of dry air; relative
// humidity is a fraction, 0 to 1. Air is taken as an ideal gas, as that chapter does in its
// equations: within 0.7 % of its real-gas tables up to 50 °C, 2 % at 85 °C. The package takes
// −100 to 200 °C (the range of equations 5 and 6) and −5000 to 11000 m (that of equation 3).
//
// It was checked against tables 1 to 3 and example 1 of that chapter as quoted by the tests of
// PsychroLib (Thevenard and Meyer, MIT licence), and against the npm package psychrolib 1.1.1
// over a grid of temperature, humidity and altitude; testdata/air holds both, with the script
// that makes the grid again.
//
// It knows nothing of coffee, keeps nothing and reads no clock.
package air

import (
	"fmt"
	"math"
)

const (
	standardPa = 101325.0 // Pa at sea level, standard atmosphere
	zeroC      = 273.15   // K
	triple     = 0.01     // °C; at and below it the balance is with ice
	ratio      = 0.621945 // molar mass of water over that of dry air
	gasDryAir  = 287.042  // J/(kg K)
)

// RangeError is a figure that no equation here holds for.
type RangeError struct {
	What      string // "temperature", "humidity", "altitude", "pressure" or "wet bulb"
	Value     float64
	Low, High float64
	Unit      string
	Example   string // a figure that works
}

// Error says what was wrong, what is possible, and a figure that works.
func (e RangeError) Error() string {
	return fmt.Sprintf("%s %g %s: must be %g to %g, for example %s",
		e.What, e.Value, e.Unit, e.Low, e.High, e.Example)
}

// Moist is moist air in one state. Make it with [At] or [FromWetBulb]; the zero value is dry air
// at 0 °C in a vacuum, for which the ratios are NaN.
type Moist struct {
	TempC float64
	RH    float64 // 0..1
	Pa    float64 // total pressure
}

// At is the air at tempC °C and relative humidity rh (0..1), at an altitude in metres.
// It fails with a [RangeError].
func At(tempC, rh, altitudeM float64) (Moist, error) {
	if err := within("temperature", tempC, -100, 200, "°C", "20"); err != nil {
		return Moist{}, err
	}
	if err := within("humidity", rh, 0, 1, "of 1", "0.65"); err != nil {
		return Moist{}, err
	}
	if err := within("altitude", altitudeM, -5000, 11000, "m", "1500"); err != nil {
		return Moist{}, err
	}
	m := Moist{TempC: tempC, RH: rh, Pa: Pressure(altitudeM)}
	if pv := m.VapourPressure(); pv >= m.Pa {
		return Moist{}, RangeError{"vapour pressure", pv, 0, m.Pa, "Pa", "that of 60 °C"}
	}
	return m, nil
}

// FromWetBulb is the air between a dry and a wet thermometer, °C, at a total pressure in Pa
// (ASHRAE 2017 ch. 1 eq. 33 and 35). It fails with a [RangeError], also when the wet one shows
// less than dry air would make it show.
func FromWetBulb(tempC, wetC, pa float64) (Moist, error) {
	if err := within("temperature", tempC, -100, 200, "°C", "40"); err != nil {
		return Moist{}, err
	}
	if err := within("pressure", pa, 20000, 120000, "Pa", "101325"); err != nil {
		return Moist{}, err
	}
	if err := within("wet bulb", wetC, -100, tempC, "°C", "20 beside 40 dry"); err != nil {
		return Moist{}, err
	}
	w := ratioAtWetBulb(tempC, wetC, pa)
	if pv := pa * w / (ratio + w); w >= 0 && pv < pa {
		return Moist{TempC: tempC, RH: math.Min(pv/Saturation(tempC), 1), Pa: pa}, nil
	}
	low := Moist{TempC: tempC, Pa: pa}.WetBulb()
	return Moist{}, RangeError{"wet bulb", wetC, low, tempC, "°C", "20 beside 40 dry"}
}

// within refuses a figure outside low..high, and one that is no number.
func within(what string, v, low, high float64, unit, example string) error {
	if v >= low && v <= high {
		return nil
	}
	return RangeError{what, v, low, high, unit, example}
}

// Pressure is that of the standard atmosphere in Pa at an altitude in metres (ASHRAE 2017 ch. 1
// eq. 3).
func Pressure(altitudeM float64) float64 {
	return standardPa * math.Pow(1-2.25577e-5*altitudeM, 5.2559)
}

// Saturation is the vapour pressure in Pa over ice up to the triple point and over water above it
// (ASHRAE 2017 ch. 1 eq. 5 and 6).
func Saturation(tempC float64) float64 {
	t := tempC + zeroC
	if tempC <= triple {
		return math.Exp(-5.6745359e3/t + 6.3925247 + t*(-9.677843e-3+
			t*(6.2215701e-7+t*(2.0747825e-9-t*9.484024e-13))) + 4.1635019*math.Log(t))
	}
	return math.Exp(-5.8002206e3/t + 1.3914993 + t*(-4.8640239e-2+
		t*(4.1764768e-5-t*1.4452093e-8)) + 6.5459673*math.Log(t))
}

// VapourPressure is the partial pressure of the water vapour, Pa (eq. 12, 22).
func (m Moist) VapourPressure() float64 {
	return m.RH * Saturation(m.TempC)
}

// Deficit is the vapour-pressure deficit, Pa: what the air could still take up.
func (m Moist) Deficit() float64 {
	return (1 - m.RH) * Saturation(m.TempC)
}

// HumidityRatio is the water in kg per kg of dry air (eq. 20).
func (m Moist) HumidityRatio() float64 {
	return humidityRatio(m.VapourPressure(), m.Pa)
}

func humidityRatio(pv, pa float64) float64 {
	return ratio * pv / (pa - pv)
}

// Enthalpy is the heat content in kJ per kg of dry air, 0 for dry air at 0 °C (eq. 30).
func (m Moist) Enthalpy() float64 {
	return 1.006*m.TempC + m.HumidityRatio()*(2501+1.86*m.TempC)
}

// Volume is that of the moist air in m³ per kg of dry air (eq. 26).
func (m Moist) Volume() float64 {
	return gasDryAir * (m.TempC + zeroC) * (1 + 1.607858*m.HumidityRatio()) / m.Pa
}

// Density is the mass of the moist air in kg/m³ (eq. 11).
func (m Moist) Density() float64 {
	return (1 + m.HumidityRatio()) / m.Volume()
}

// DewPoint is the temperature in °C at which this vapour would settle as dew or frost, found from
// [Saturation]. It is NaN in air so dry that it lies below −100 °C.
func (m Moist) DewPoint() float64 {
	pv := m.VapourPressure()
	if !(pv >= Saturation(-100)) {
		return math.NaN()
	}
	return bisect(-100, m.TempC, func(t float64) bool { return Saturation(t) > pv })
}

// WetBulb is the thermodynamic wet-bulb temperature in °C (eq. 33 and 35). Close to freezing both
// a wet and an icy bulb can be in balance, some tenths of a degree apart: the wet one is given.
// It is NaN where the air would boil.
func (m Moist) WetBulb() float64 {
	w := m.HumidityRatio()
	if !(w >= 0) {
		return math.NaN()
	}
	lo, hi := -100.0, m.TempC
	if hi > 0 && ratioAtWetBulb(m.TempC, 0, m.Pa) <= w {
		lo = 0
	} else {
		hi = math.Min(hi, 0)
	}
	return bisect(lo, hi, func(t float64) bool { return ratioAtWetBulb(m.TempC, t, m.Pa) > w })
}

// ratioAtWetBulb is the humidity ratio of air at tempC whose wet bulb shows wetC (eq. 33, 35).
func ratioAtWetBulb(tempC, wetC, pa float64) float64 {
	s := humidityRatio(Saturation(wetC), pa)
	if s < 0 { // beyond boiling: wetter than any air
		return math.Inf(1)
	}
	if wetC >= 0 {
		return ((2501-2.326*wetC)*s - 1.006*(tempC-wetC)) / (2501 + 1.86*tempC - 4.186*wetC)
	}
	return ((2830-0.24*wetC)*s - 1.006*(tempC-wetC)) / (2830 + 1.86*tempC - 2.1*wetC)
}

// Heated is the same air brought to another temperature with no water added or lost: what a
// furnace does. Cooled below its dew point it is saturated. Altitude plays no part.
func (m Moist) Heated(tempC float64) Moist {
	return Moist{TempC: tempC, RH: math.Min(1, m.VapourPressure()/Saturation(tempC)), Pa: m.Pa}
}

// bisect halves lo..hi until the step from false to true is known within 1e-6 °C.
func bisect(lo, hi float64, above func(float64) bool) float64 {
	for hi-lo > 1e-6 {
		mid := (lo + hi) / 2
		if above(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}
