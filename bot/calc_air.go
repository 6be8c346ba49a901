package bot

import (
	"math"

	"lotbell/rules/air"
	"lotbell/rules/drying"
	grading "lotbell/rules/grade"
	"lotbell/rules/mass"
)

// Sources of the sums of air. The sorption law was read in a note that quotes it, and its
// coefficients agree with other texts: hence a copy.
const (
	calcSorptionSource = "Trejos, Roa & Oliveros 1989, Cenicafe 40(1):5-15 (drying parchment)"
	calcAirSource      = "ASHRAE Handbook Fundamentals 2017 chapter 1, as coded in PsychroLib 2.5"
)

// calcNoGrowth is the water activity below which no mould grows (ICO/FAO Good Hygiene Practices).
const calcNoGrowth = 0.68

// calcFits notes where the sorption law is stretched: it was fitted at 5 to 55 °C.
func (s *Sum) calcFits(tempC float64) {
	if tempC < 5 || tempC > 55 {
		s.note("sum.note.stretched", "c", tempC)
	}
}

// calcEMC is the moisture at which parchment comes to rest in air.
//
//	emc 25C 60%              moisture_db_pct, moisture_wb_pct
//
// Humidity is 0 to 100 %, temperature 0 to 80 °C: wider than the law's fit, because drums go
// there, and then the answer says that it is stretched.
func calcEMC(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	t, rh := a.celsius("temperature", 0, 80), a.percent("humidity", 0, 100)
	if err := a.done(); err != nil {
		return s, err
	}
	db := mass.DryBasis(drying.Equilibrium(t, rh/100))
	s.num("moisture_db_pct", float64(db))
	s.num("moisture_wb_pct", float64(db.Wet()))
	s.say("sum.emc", "c", t, "rh", rh, "wet", fixed(float64(db.Wet()), 1), "dry",
		fixed(float64(db), 1))
	s.note("sum.note.emc")
	if rh < 10 || rh > 90 {
		s.note("sum.note.no-ground")
	}
	s.calcFits(t)
	s.rests(calcSorptionSource, grading.ReadCopy)
	return s, nil
}

// calcActivity is the water activity of parchment at a moisture: the same law the other way round,
// set beside the safe limit.
//
//	aw 10.5% 25C             water_activity
//	aw 11.7%db 25C           the same
//
// Coffee wetter than the law's end (about 25 % dry basis) is refused: all its water is free, and a
// figure near 1 would look like a measurement.
func calcActivity(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	w, t := mass.WetBasis(a.moisture("moisture")), a.celsius("temperature", 0, 80)
	if err := a.done(); err != nil {
		return s, err
	}
	aw := drying.WaterActivity(t, float64(w.Dry()))
	if math.IsNaN(aw) {
		return s, a.fault(calcAny(float64(w))+"%", "sum.why.past-sorption")
	}
	s.num("water_activity", aw)
	key := "sum.aw"
	if aw >= calcNoGrowth {
		key = "sum.aw.not-under"
	}
	s.say(key, "hum", float64(w), "c", t, "aw", fixed(aw, 2), "limit", calcNoGrowth)
	s.note("sum.note.aw")
	s.calcFits(t)
	s.rests(calcSorptionSource, grading.ReadCopy)
	return s, nil
}

// calcAir is what air of a temperature and humidity holds; without an altitude at the sea.
//
//	air 20C 65% 1500m        pressure_pa, humidity_ratio, wet_bulb_c, dew_point_c,
//	                         enthalpy_kj_kg, volume_m3_kg, rh_pct, deficit_pa, density_kg_m3
//	air 20C wet 15.5C 1500m  the same, from a dry and a wet thermometer
//
// Humidity ratio, enthalpy and volume are per kg of dry air; the density is that of the moist air.
func calcAir(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	m, altitude, err := a.air()
	if err != nil {
		return s, err
	}
	s.num("rh_pct", 100*m.RH)
	s.num("deficit_pa", m.Deficit())
	s.num("density_kg_m3", m.Density())
	s.num("pressure_pa", m.Pa)
	s.num("humidity_ratio", m.HumidityRatio())
	s.num("wet_bulb_c", m.WetBulb())
	s.num("dew_point_c", m.DewPoint())
	s.num("enthalpy_kj_kg", m.Enthalpy())
	s.num("volume_m3_kg", m.Volume())
	s.say("sum.air", "c", m.TempC, "rh", math.Round(1000*m.RH)/10, "m", altitude,
		"wet", fixed(m.WetBulb(), 1), "dew", fixed(m.DewPoint(), 1),
		"water", fixed(1000*m.HumidityRatio(), 1), "heat", fixed(m.Enthalpy(), 1),
		"volume", fixed(m.Volume(), 3), "kpa", fixed(m.Pa/1000, 1))
	s.note("sum.note.air")
	s.rests(calcAirSource, grading.ReadCopy)
	return s, nil
}

// air is the air that a sum names: a temperature and a humidity, or a dry and a wet thermometer,
// at an altitude in m; without one at the sea.
func (a *calcWords) air() (m air.Moist, altitude float64, err error) {
	t, second := a.celsius("temperature", -40, 150), 0.0
	typed, how := a.names()
	switch how {
	case "":
		second = a.percent("humidity", 0, 100)
	case "wet":
		second = a.celsius("wet-bulb", -40, 150)
	default:
		return m, 0, a.fault(typed, "sum.why.no-part", "sum", a.called)
	}
	if a.has("m") {
		altitude = a.within(a.take("altitude", "m"), -400, 6000, "m")
	}
	switch err := a.done(); {
	case err != nil:
		return m, 0, err
	case how == "wet":
		m, err = air.FromWetBulb(t, second, air.Pressure(altitude))
		return m, altitude, err
	}
	m, err = air.At(t, second/100, altitude)
	return m, altitude, err
}

// calcHeat is air brought to another temperature, as a furnace or a cold night does it, with the
// moisture at which parchment would come to rest in it.
//
//	heat 20C 65% to 50C      rh_pct, moisture_wb_pct
//
// No water is added: the fumes of a direct fire, which carry some, are not reckoned.
func calcHeat(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	t, rh := a.celsius("temperature", -40, 150), a.percent("humidity", 0, 100)
	to := a.celsius("heated-to", -40, 150)
	if err := a.done(); err != nil {
		return s, err
	}
	m, err := air.At(t, rh/100, 0)
	if err != nil {
		return s, err
	}
	hot := m.Heated(to)
	rest := mass.DryBasis(drying.Equilibrium(to, hot.RH)).Wet()
	s.num("rh_pct", 100*hot.RH)
	s.num("moisture_wb_pct", float64(rest))
	s.say("sum.heat", "c", t, "rh", rh, "to", to, "hot", fixed(100*hot.RH, 1), "rest",
		fixed(float64(rest), 1))
	s.note("sum.note.heat")
	s.calcFits(to)
	s.rests(calcAirSource, grading.ReadCopy)
	return s, nil
}
