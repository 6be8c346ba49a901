package bot

import (
	"fmt"
	"math"

	"lotbell/rules/air"
	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	grading "lotbell/rules/grade"
	"lotbell/rules/mass"
)

// Sources of the sums of drying. The sorption law was read in a note that quotes it, and its
// coefficients agree with other texts: hence a copy.
const (
	calcSorptionSource = "Trejos, Roa & Oliveros 1989, Cenicafe 40(1):5-15 (drying parchment)"
	calcLayerSource    = "Parra-Coronado, Roa & Oliveros 2008, Rev. Bras. Eng. Agric. Amb. 12(4)"
	calcAirSource      = "ASHRAE Handbook Fundamentals 2017 chapter 1, as coded in PsychroLib 2.5"
	calcBalanceSource  = "dry-matter balance; FAO/ICO, Determination of moisture content"
)

// A drum takes so many times the thin-layer hours: full-size beds against the law (AIMS Agric.
// Food 2023, end times at 35, 45 and 55 °C: 1.25, 1.06, 1.32; lower end rounded up, as a window).
const calcBedLow, calcBedHigh = 1.1, 1.35

// calcNoGrowth is the water activity below which no mould grows (ICO/FAO Good Hygiene Practices).
const calcNoGrowth = 0.68

// calcFirstWindow is the half-width of a tank's window at a mill with no tanks of its own, as a
// share of the hours.
const calcFirstWindow = 0.40

// calcDrained is the moisture of washed, drained parchment, % wet basis (from memory, verify).
const calcDrained = 53.0

// calcFits notes where the sorption law is stretched: it was fitted at 5 to 55 °C.
func (s *Sum) calcFits(tempC float64) {
	if tempC < 5 || tempC > 55 {
		s.note("The law was fitted at 5 to 55 C: at %g C it is stretched.", tempC)
	}
}

// calcEMC is the moisture at which parchment comes to rest in air.
//
//	emc 25C 60%              moisture_db_pct, moisture_wb_pct
//
// Humidity is 0 to 100 %, temperature 0 to 80 °C: wider than the law's fit, because drums go
// there, and then the answer says that it is stretched.
func calcEMC(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	t, rh := a.celsius("a temperature", 0, 80), a.percent("an air humidity", 0, 100)
	if err := a.done(); err != nil {
		return s, err
	}
	db := mass.DryBasis(drying.Equilibrium(t, rh/100))
	s.num("moisture_db_pct", float64(db))
	s.num("moisture_wb_pct", float64(db.Wet()))
	s.say("emc %g C %g %%: coffee rests at %.1f %% wet basis (%.1f %% dry basis)", t, rh, db.Wet(),
		db)
	s.note("One standard error is 0.45 points. Coffee that takes up water stops lower.")
	if rh < 10 || rh > 90 {
		s.note("Under 10 and over 90 %% humidity it is no ground for decisions.")
	}
	s.calcFits(t)
	s.Source, s.Mark = calcSorptionSource, grading.ReadCopy
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
	w, t := mass.WetBasis(a.moisture("a moisture")), a.celsius("a temperature", 0, 80)
	if err := a.done(); err != nil {
		return s, err
	}
	aw := drying.WaterActivity(t, float64(w.Dry()))
	if math.IsNaN(aw) {
		return s, a.fault(fmt.Sprintf("%g%%", float64(w)),
			"is wetter than the sorption law goes: all its water is free")
	}
	s.num("water_activity", aw)
	verdict := "under"
	if aw >= calcNoGrowth {
		verdict = "not under"
	}
	s.say("aw %g %% %g C: water activity %.2f, %s the safe limit %g",
		float64(w), t, aw, verdict, calcNoGrowth)
	s.note("A measured water activity overrides it: for dry lots this reads up to 0.07 too high.")
	s.calcFits(t)
	s.Source, s.Mark = calcSorptionSource, grading.ReadCopy
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
	t, rh := m.TempC, math.Round(1000*m.RH)/10
	s.num("rh_pct", 100*m.RH)
	s.num("deficit_pa", m.Deficit())
	s.num("density_kg_m3", m.Density())
	s.num("pressure_pa", m.Pa)
	s.num("humidity_ratio", m.HumidityRatio())
	s.num("wet_bulb_c", m.WetBulb())
	s.num("dew_point_c", m.DewPoint())
	s.num("enthalpy_kj_kg", m.Enthalpy())
	s.num("volume_m3_kg", m.Volume())
	s.say("air %g C %g %% %g m: wet bulb %.1f C, dew point %.1f C, %.1f g water/kg, "+
		"%.1f kJ/kg, %.3f m3/kg, %.1f kPa", t, rh, altitude, m.WetBulb(), m.DewPoint(),
		1000*m.HumidityRatio(), m.Enthalpy(), m.Volume(), m.Pa/1000)
	s.note("Per kg of dry air.")
	s.Source, s.Mark = calcAirSource, grading.ReadCopy
	return s, nil
}

// air is the air that a sum names: a temperature and a humidity, or a dry and a wet thermometer,
// at an altitude in m; without one at the sea.
func (a *calcWords) air() (m air.Moist, altitude float64, err error) {
	t, how, second := a.celsius("a temperature", -40, 150), a.names(), 0.0
	switch how {
	case "":
		second = a.percent("an air humidity", 0, 100)
	case "wet":
		second = a.celsius("the wet thermometer", -40, 150)
	default:
		return m, 0, a.fault(how, "is not part of "+a.form.name)
	}
	if a.has("m") {
		altitude = a.within(a.take("an altitude", "m"), -400, 6000, "m")
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
	t, rh := a.celsius("a temperature", -40, 150), a.percent("an air humidity", 0, 100)
	to := a.celsius("the temperature it is brought to", -40, 150)
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
	s.say("heat %g C %g %% to %g C: %.1f %% humidity, in which coffee rests at %.1f %%", t, rh, to,
		100*hot.RH, float64(rest))
	s.note("The same at any altitude. Fumes of a direct fire carry water of their own.")
	s.calcFits(to)
	s.Source, s.Mark = calcAirSource, grading.ReadCopy
	return s, nil
}

// calcFerment is the hours in the tank at a steady temperature of the mass, at a mill whose own
// tanks have taught nothing yet.
//
//	ferment 20.5C            hours, early_hours, late_hours
//
// The window is 40 % either way; outside the temperatures of the law there is none, and its two
// figures are null.
func calcFerment(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	t := a.celsius("the temperature of the mass", 1, 45)
	if err := a.done(); err != nil {
		return s, err
	}
	h := ferment.Hours(t)
	s.num("hours", h)
	s.say("ferment %g C: about %.1f h", t, h)
	if t >= ferment.Coldest && t <= ferment.Hottest {
		early, late := h*(1-calcFirstWindow), h*(1+calcFirstWindow)
		s.num("early_hours", early)
		s.num("late_hours", late)
		s.more(", %.0f to %.0f h until the mill's own tanks teach", early, late)
	} else {
		s.num("early_hours", math.NaN())
		s.num("late_hours", math.NaN())
		s.more("; no window outside %g to %g C", ferment.Coldest, ferment.Hottest)
	}
	s.note("Temperature in the mass, mean of 2 or 3 depths. The hand test decides.")
	s.Source = "square-root law through Puerta 2013, Rev. Cenicafe 64(1):42-59 (22 h at 20.5 C)"
	s.Mark = grading.ReadCopy
	return s, nil
}

// calcPatio is the ground that coffee takes, spread in a layer.
//
//	patio 60kg 3cm           area_m2, for washed and drained coffee
//	patio 60kg 3cm 20%       the same at another moisture
//
// Washed and drained is 53 % wet basis, from memory; the area per kg was measured in that state.
func calcPatio(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	kg, moisture, state := a.kg("a mass"), calcDrained, "washed and drained"
	depth := a.within(a.take("a depth, as in 3cm", "cm"), 0.5, 30, "cm")
	if a.has("%", "%db") {
		moisture = a.moisture("a moisture")
		state = fmt.Sprintf("at %g %%", moisture)
	}
	if err := a.done(); err != nil {
		return s, err
	}
	area := drying.PatioArea(kg, depth, moisture)
	if math.IsNaN(area) {
		return s, a.fault(fmt.Sprintf("%g%%", moisture), "is wetter than coffee gets")
	}
	s.num("area_m2", area)
	s.say("patio %g kg %s, %g cm deep: %.1f m2 (%.1f kg/m2)", kg, state, depth, area,
		kg/area)
	if depth > 3 {
		s.note("Published layers for washed parchment are 2 to 3 cm.")
	}
	s.Source, s.Mark = "Cenicafe Avance Tecnico 353: 60 kg on 3.3 m2 at 3 cm", grading.Read
	if moisture != calcDrained {
		s.note("Between wet and dry the density is taken to go straight with the dry basis.")
		s.Mark = grading.Practice
	}
	return s, nil
}

// calcDry is the hours from one moisture to another in steady drum air.
//
//	dry 35% to 10.5% 55C 20C 70%   drum air, outside air and its humidity
//	dry 35% to 10.5% 55C 10%       drum air and its own humidity
//
// gives thin_layer_hours, early_hours, late_hours, air_rh_pct (in the drum) and rest_wb_pct, the
// moisture at rest there. The two moistures come before the humidity. Where the air never gets to
// the target the hours are null and the answer is "no". It is a sum for planning: a drum that runs
// is forecast from its own readings, not from this.
func calcDry(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	from, to := a.moisture("the moisture now"), a.moisture("the target moisture")
	drum := a.celsius("the drum air", 10, 80)
	ambient := drum
	if a.has("C", "F") {
		ambient = a.celsius("the outside air", -10, 60)
	}
	rh := a.percent("an air humidity", 0, 100)
	if err := a.done(); err != nil {
		return s, err
	}
	if ambient > drum {
		return s, a.fault("", "the first temperature is the drum air, which is the hotter")
	}
	if to >= from {
		return s, a.fault("", fmt.Sprintf("%g %% is as dry as %g %% already", from, to))
	}
	inside := drying.HeatedRH(ambient, rh/100, drum)
	h := drying.ThinLayerHours(from, to, drum, inside)
	rest := mass.DryBasis(drying.Equilibrium(drum, inside)).Wet()
	if math.IsInf(h, 1) {
		h, s.No = math.NaN(), true
	}
	s.num("thin_layer_hours", h)
	s.num("early_hours", h*calcBedLow)
	s.num("late_hours", h*calcBedHigh)
	s.num("air_rh_pct", 100*inside)
	s.num("rest_wb_pct", float64(rest))
	s.say("dry %g to %g %% in air of %g C, %.1f %%: %.0f to %.0f h, fire steady", from, to, drum,
		100*inside, h*calcBedLow, h*calcBedHigh)
	if s.No {
		s.say("dry %g to %g %%: never in air of %g C, %.1f %%, it rests at %.1f %%", from, to, drum,
			100*inside, rest)
	}
	s.note("Thin-layer hours times %g to %g. Stops and swings of the fire take longer.",
		calcBedLow, calcBedHigh)
	s.note("Published limits are on the bean, 40 to 45 C; near the end the bean is nearly as hot " +
		"as the air.")
	s.calcFits(drum)
	s.Source, s.Mark = calcLayerSource, grading.ReadCopy
	return s, nil
}

// calcWeight is the mass at another moisture, W2 = W1·(100−w1)/(100−w2), or with one moisture
// the dry matter.
//
//	weight 1000kg 53% to 10.5%     mass_kg, loss_pct, water_kg
//	weight 1000kg 53%              dry_matter_kg, water_kg
//
// Coffee that takes up water gains: the loss is then negative.
func calcWeight(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	kg, from := a.kg("a mass"), mass.WetBasis(a.moisture("a moisture"))
	s.Source, s.Mark = calcBalanceSource, grading.Read
	if !a.has("%", "%db") {
		if err := a.done(); err != nil {
			return s, err
		}
		dry, err := mass.DryMatter(kg, from)
		s.num("dry_matter_kg", dry)
		s.num("water_kg", kg-dry)
		s.say("%g kg at %g %%: %.1f kg dry matter, %.1f kg water", kg,
			float64(from), dry, kg-dry)
		return s, err
	}
	to := mass.WetBasis(a.moisture("the other moisture"))
	if err := a.done(); err != nil {
		return s, err
	}
	then, err := mass.At(kg, from, to)
	if err != nil {
		return s, err
	}
	loss, err := mass.Shrink(from, to)
	s.num("mass_kg", then)
	s.num("loss_pct", loss)
	s.num("water_kg", kg-then)
	change := "less"
	if loss < 0 {
		change = "more"
	}
	s.say("%g kg at %g %% weigh %.1f kg at %g %%: %.1f %% %s", kg, float64(from),
		then, float64(to), math.Abs(loss), change)
	s.note("Water alone: handling and dust are extra.")
	return s, err
}

// calcBlend is several weighings of coffee as one: masses add, and so do dry matters.
//
//	blend 1000kg 12% 500kg 10%     mass_kg, moisture_wb_pct
func calcBlend(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	var parts []mass.Weighing
	for len(parts) < 2 || a.err == nil && a.has("kg") {
		parts = append(parts, mass.Weighing{Kg: a.kg("a mass"),
			Moisture: mass.WetBasis(a.moisture("its moisture"))})
	}
	if err := a.done(); err != nil {
		return s, err
	}
	all, err := mass.Blend(parts...)
	if err != nil {
		return s, err
	}
	s.num("mass_kg", all.Kg)
	s.num("moisture_wb_pct", float64(all.Moisture))
	s.say("blend of %d: %.1f kg at %.2f %%", len(parts), all.Kg, float64(all.Moisture))
	s.note("Wet and dry coffee laid together even out over weeks, and may sweat meanwhile.")
	s.Source, s.Mark = calcBalanceSource, grading.Read
	return s, nil
}

// calcLoss is what two weighings of one lot say: how much was water, and how much their moistures
// do not explain, on the moisture of the second.
//
//	loss 1000kg 53% 520kg 11%      loss_kg, water_kg, unexplained_kg, unexplained_pct, verdict
//
// A gain that is a conflict makes the answer "no". Percentages are of what was expected.
func calcLoss(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	before := mass.Weighing{Kg: a.kg("the first mass"), Moisture: mass.WetBasis(a.moisture(
		"the first moisture"))}
	after := mass.Weighing{Kg: a.kg("the second mass"), Moisture: mass.WetBasis(a.moisture(
		"the second moisture"))}
	if err := a.done(); err != nil {
		return s, err
	}
	l, err := mass.Between(before, after)
	if err != nil {
		return s, err
	}
	verdict := mass.Judge(l.Unexplained+after.Kg, after.Kg)
	s.num("loss_kg", l.Total)
	s.num("water_kg", l.Water)
	s.num("unexplained_kg", l.Unexplained)
	s.num("unexplained_pct", l.Pct)
	s.word("verdict", verdict.String())
	s.No = verdict == mass.Conflict
	s.say("loss %.1f kg: %.1f water, %.1f not explained (%.1f %%): %s", l.Total,
		l.Water, l.Unexplained, l.Pct, verdict)
	s.note("Asked back over %d %%; a gain over %d %% is a conflict (the mill's own habit).",
		mass.AskPct, mass.ConflictPct)
	s.Source, s.Mark = calcBalanceSource, grading.Read
	return s, nil
}

// calcBasis is a moisture on both bases.
//
//	basis 10.5%              moisture_db_pct, moisture_wb_pct
//	basis 11.7%db            the same, from the dry basis
func calcBasis(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	w := mass.WetBasis(a.moisture("a moisture"))
	if err := a.done(); err != nil {
		return s, err
	}
	s.num("moisture_db_pct", float64(w.Dry()))
	s.num("moisture_wb_pct", float64(w))
	s.say("%.2f %% wet basis is %.2f %% dry basis", float64(w), float64(w.Dry()))
	s.Source = "definition: M = 100 w / (100 - w)"
	return s, nil
}
