package bot

import (
	"math"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	grading "lotbell/rules/grade"
	"lotbell/rules/mass"
)

const (
	calcTankSource  = "square-root law through Puerta 2013, Rev. Cenicafe 64(1):42-59 (22 h at 20.5 C)"
	calcPatioSource = "Cenicafe Avance Tecnico 353: 60 kg on 3.3 m2 at 3 cm"
	calcLayerSource = "Parra-Coronado, Roa & Oliveros 2008, Rev. Bras. Eng. Agric. Amb. 12(4)"
)

// A drum takes so many times the thin-layer hours: full-size beds against the law (AIMS Agric.
// Food 2023, end times at 35, 45 and 55 °C: 1.25, 1.06, 1.32; lower end rounded up, as a window).
const calcBedLow, calcBedHigh = 1.1, 1.35

// calcFirstWindow is the half-width of a tank's window at a mill with no tanks of its own, as a
// share of the hours.
const calcFirstWindow = 0.40

// calcDrained is the moisture of washed, drained parchment, % wet basis (from memory, verify).
const calcDrained = 53.0

// calcFerment is the hours in the tank at a steady temperature of the mass, at a mill whose own
// tanks have taught nothing yet.
//
//	ferment 20.5C            hours, early_hours, late_hours
//
// The window is 40 % either way; outside the temperatures of the law there is none, and its two
// figures are null.
func calcFerment(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	t := a.celsius("mass-temperature", 1, 45)
	if err := a.done(); err != nil {
		return s, err
	}
	h := ferment.Hours(t)
	early, late := h*(1-calcFirstWindow), h*(1+calcFirstWindow)
	if t >= ferment.Coldest && t <= ferment.Hottest {
		s.say("sum.ferment", "c", t, "h", fixed(h, 1), "early", fixed(early, 0), "late",
			fixed(late, 0))
	} else {
		early, late = math.NaN(), math.NaN()
		s.say("sum.ferment.no-window", "c", t, "h", fixed(h, 1), "low", ferment.Coldest, "high",
			ferment.Hottest)
	}
	s.num("hours", h)
	s.num("early_hours", early)
	s.num("late_hours", late)
	s.note("sum.note.ferment")
	s.rests(calcTankSource, grading.ReadCopy)
	return s, nil
}

// calcPatio is the ground that coffee takes, spread in a layer.
//
//	patio 60kg 3cm           area_m2, for washed and drained coffee
//	patio 60kg 3cm 20%       the same at another moisture
//
// Washed and drained is 53 % wet basis, from memory; the area per kg was measured in that state.
func calcPatio(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	kg, moisture, key := a.kg("mass"), calcDrained, "sum.patio"
	depth := a.within(a.take("depth", "cm"), 0.5, 30, "cm")
	if a.has("%", "%db") {
		moisture, key = a.moisture("moisture"), "sum.patio.at"
	}
	if err := a.done(); err != nil {
		return s, err
	}
	area := drying.PatioArea(kg, depth, moisture)
	if math.IsNaN(area) {
		return s, a.fault(calcAny(moisture)+"%", "sum.why.too-wet")
	}
	s.num("area_m2", area)
	s.say(key, "kg", kg, "hum", calcAny(moisture), "cm", depth, "area", fixed(area, 1), "each",
		fixed(kg/area, 1))
	if depth > 3 {
		s.note("sum.note.deep")
	}
	s.rests(calcPatioSource, grading.Read)
	if moisture != calcDrained {
		s.note("sum.note.density")
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
	from, to := a.moisture("moisture-now"), a.moisture("target")
	drum := a.celsius("drum-air", 10, 80)
	ambient := drum
	if a.has("C", "F") {
		ambient = a.celsius("outside-air", -10, 60)
	}
	rh := a.percent("humidity", 0, 100)
	if err := a.done(); err != nil {
		return s, err
	}
	if ambient > drum {
		return s, a.fault("", "sum.why.drum-hotter")
	}
	if to >= from {
		return s, a.fault("", "sum.why.as-dry", "from", calcAny(from), "to", calcAny(to))
	}
	inside := drying.HeatedRH(ambient, rh/100, drum)
	h := drying.ThinLayerHours(from, to, drum, inside)
	rest := mass.DryBasis(drying.Equilibrium(drum, inside)).Wet()
	key := "sum.dry"
	if math.IsInf(h, 1) {
		h, s.No, key = math.NaN(), true, "sum.dry.never"
	}
	s.num("thin_layer_hours", h)
	s.num("early_hours", h*calcBedLow)
	s.num("late_hours", h*calcBedHigh)
	s.num("air_rh_pct", 100*inside)
	s.num("rest_wb_pct", float64(rest))
	s.say(key, "from", from, "to", to, "c", drum, "rh", fixed(100*inside, 1), "early",
		fixed(h*calcBedLow, 0), "late", fixed(h*calcBedHigh, 0), "rest", fixed(float64(rest), 1))
	s.note("sum.note.dry", "low", calcBedLow, "high", calcBedHigh)
	s.note("sum.note.bean")
	s.calcFits(drum)
	s.rests(calcLayerSource, grading.ReadCopy)
	return s, nil
}
