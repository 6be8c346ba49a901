package rules

import (
	"math"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/rest"
	"lotbell/state"
)

// window is the forecast's window of a tank, a patio or a drum.
func (v *View) window() (early, likely, late time.Time) {
	if v.stay != nil && v.stay.Kind == state.Tank {
		t := v.tankAhead()
		return t.Early, t.Likely, t.Late
	}
	d := v.dryAhead()
	return d.Early, d.Likely, d.Late
}

// dryingFacts are the forecast of a patio or a drum; the window's names are those of the tank.
func dryingFacts() []*Fact {
	on := []string{"patio", "predryer", "drum", OnGuard}
	window := []string{"tank", "patio", "predryer", "drum", OnGuard}
	return []*Fact{
		{Name: "ready_early", On: window, Unit: Moment,
			Doc: "the early end of the window to wash, gather or unload", get: func(v *View) Value {
				early, _, _ := v.window()
				return moment(state.At(early))
			}},
		{Name: "ready_likely", On: window, Unit: Moment, Doc: "the likely instant of it",
			get: func(v *View) Value {
				_, likely, _ := v.window()
				return moment(state.At(likely))
			}},
		{Name: "ready_late", On: window, Unit: Moment, Doc: "the late end of it",
			get: func(v *View) Value {
				_, _, late := v.window()
				return moment(state.At(late))
			}},
		{Name: "ready_in", On: window, Unit: Span, Moves: Left,
			Doc: "time left until the early end; below 0 after it", get: func(v *View) Value {
				early, _, _ := v.window()
				return v.until(early)
			}},
		{Name: "next_reading", On: on, Unit: Moment,
			Doc: "when a moisture reading would next be useful",
			get: func(v *View) Value { return moment(state.At(v.dryAhead().Next)) }},
		{Name: "hum_now", On: append(on, "silo", "store"), Unit: Percent, Moves: Curve,
			Doc: "moisture now by the forecast, in a silo or a store by its drift; else as read in " +
				"the last 3 hours",
			get:   func(v *View) Value { return number(v.humAt(v.at)) },
			curve: func(v *View, t state.Instant) float64 { return v.humAt(t) }},
		{Name: "drying", On: on, Unit: Word, Doc: "what the forecast is worth",
			Words: dryingStatuses(),
			get:   func(v *View) Value { return word(string(v.dryAhead().Status)) }},
		{Name: "target", On: on, Unit: Percent, Doc: "moisture at which this mill unloads",
			get: func(v *View) Value { return number(v.target()) }},
	}
}

// dryingStatuses are the words that a drying forecast may have.
func dryingStatuses() []string {
	return []string{string(drying.Good), string(drying.FewReadings), string(drying.SurfaceWater),
		string(drying.Stalling), string(drying.FireOut), string(drying.HeatingQuick),
		string(drying.Unreachable)}
}

// restFacts are about coffee at rest.
func restFacts() []*Fact {
	on := []string{"silo", "store"}
	air := func(v *View, what string) float64 { return v.lastValue(what).Num }
	airEnds := func(v *View) state.Instant {
		return sooner(v.airEnds(state.AmbientC), v.airEnds(state.AmbientH))
	}
	return []*Fact{
		{Name: "emc", On: on, Unit: Percent, Moves: Steps, next: airEnds,
			Doc: "moisture the store's air draws the coffee to, % wet basis (Roa 1989)",
			get: func(v *View) Value {
				m := drying.Equilibrium(air(v, state.AmbientC), air(v, state.AmbientH)/100)
				return number(100 * m / (100 + m))
			}},
		{Name: "aw_now", On: on, Unit: Plain, Moves: Steps, next: airEnds,
			Doc: "water activity: measured, else reckoned from moisture at the store's heat",
			get: func(v *View) Value {
				if e := v.reading(state.Aw); e != nil {
					return number(v.mean(e, state.Aw))
				}
				w := v.lastValue(state.Moisture).Num
				return number(drying.WaterActivity(air(v, state.AmbientC), 100*w/(100-w)))
			}},
		{Name: "hum_week", On: on, Unit: Percent, Moves: Curve,
			Doc:   "moisture in a week by its drift toward the store's air (Roa 1989)",
			get:   func(v *View) Value { return number(v.driftAt(v.at.Add(aWeek))) },
			curve: func(v *View, t state.Instant) float64 { return v.driftAt(t.Add(aWeek)) }},
		{Name: "hum_spread", On: on, Unit: Percent,
			Doc: "points from the driest to the wettest of the last samples told in one line",
			get: func(v *View) Value { return number(rest.Even(v.samples()).Range) }},
		{Name: "temp_rise", On: on, Unit: Celsius,
			Doc: "bean temperature less the lowest of the week before it",
			get: func(v *View) Value { return v.rise(state.BeanC, aWeek) }},
	}
}

const aWeek = 7 * 24 * time.Hour

// rise is the last reading of a quantity less the lowest of the time before it.
func (v *View) rise(what string, back time.Duration) Value {
	last := v.reading(what)
	if last == nil {
		return unknown()
	}
	low := math.Inf(1)
	for _, e := range v.last {
		if e.At < last.At && last.At.Sub(e.At) <= back && v.reads(e, what) {
			low = min(low, e.Body.(state.Reading).Value)
		}
	}
	if math.IsInf(low, 1) {
		return unknown()
	}
	return number(v.mean(last, what) - low)
}
