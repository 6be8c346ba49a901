package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/record"
)

// driedAnswer is the answer for a drum or a patio.
func driedAnswer(q forecastAsked, f drying.Forecast) forecastAnswer {
	a := newAnswer(q, f.Early, f.Likely, f.Late, f.Next, f.Confidence)
	a.Target, a.Status = &q.target, string(f.Status)
	if !math.IsNaN(f.Slope) {
		a.Slope = figure(f.Slope)
	}
	goal := fmt.Sprintf("%g %%", q.target)
	a.first = goal + ": no time yet, " + driedStatus(q, f)
	if a.Likely != nil {
		a.first = goal + " " + a.window()
		if f.Status != drying.Good {
			a.first += " (" + string(f.Status) + ")"
		}
	}
	a.Reason = driedReason(q, f)
	return a
}

// driedStatus says what a status means.
func driedStatus(q forecastAsked, f drying.Forecast) string {
	switch f.Status {
	case drying.FewReadings:
		if q.kind == record.Patio {
			return "too few readings: three are needed, two where the site has taught"
		}
		return "too few readings: four over three hours are needed, or eight over one"
	case drying.SurfaceWater:
		return "water is still outside the bean: no law holds above 45 %"
	case drying.Stalling:
		return "it dries at under half of the expected pace"
	case drying.FireOut:
		return "the fire or the fan is out"
	case drying.HeatingQuick:
		return "the air climbs too fast for the bean"
	case drying.Unreachable:
		return "this air leaves it wetter than the target"
	}
	if !f.Likely.After(q.at) && f.Next.IsZero() {
		return "the last reading is at the target or under it"
	}
	return "on its way"
}

// reasons gathers what a forecast rests on: the facts that the computation hands out, put in words.
type reasons []string

func (r *reasons) add(format string, args ...any) { *r = append(*r, fmt.Sprintf(format, args...)) }

// driedReason is what the forecast of a drum or patio rests on, in one sentence.
func driedReason(q forecastAsked, f drying.Forecast) string {
	x, r := f.Reason, reasons{driedStatus(q, f)}
	r.add("readings used: %d", x.Used)
	if f.Status == drying.Stalling && !math.IsNaN(x.Expected) {
		r.add("expected %.2f points an hour", x.Expected)
	}
	if x.Air > 0 && !math.IsNaN(x.Equilibrium) {
		taken := ""
		if x.AirAssumed {
			taken = " (taken, nobody read it)"
		}
		r.add("air of %.0f C%s would leave it at %.1f %%", x.Air, taken, x.Equilibrium)
	}
	if x.DampAssumed && x.Used > 0 {
		r.add("the air outside was not read")
	}
	if !x.Stop.From.IsZero() {
		how := "logged"
		if x.StopFound {
			how = "found, nobody logged it"
		}
		r.add("stop from %s to %s, %s", minute(x.Stop.From), until(x.Stop.To), how)
	}
	if !x.Stoked.IsZero() {
		r.add("the fire burns hotter since %s", minute(x.Stoked))
	}
	if !x.Odd.IsZero() {
		r.add("the reading of %s was set aside as a jump of sampling", minute(x.Odd))
	}
	if x.Torn {
		r.add("the last reading is far off: a second sample would tell")
	}
	r.learned(q.kind, x)
	return strings.Join(r, "; ")
}

// learned says what earlier records did to the pace.
func (r *reasons) learned(kind record.Kind, x drying.Reason) {
	loads := "runs of this drum"
	if kind == record.Patio {
		loads = "lots of this site"
	}
	if x.PastRuns == 0 {
		r.add("no earlier %s, the published pace", loads)
		return
	}
	r.add("earlier %s: %d, with %.0f %% of the say in the pace", loads, x.PastRuns, 100*x.PastWeight)
}

// until is the end of a stretch.
func until(at time.Time) string {
	if at.IsZero() {
		return "now"
	}
	return minute(at)
}

// tankAnswer is the answer for a tank: its window is that of ready, its next reading a hand test.
func tankAnswer(q forecastAsked, f ferment.Forecast) forecastAnswer {
	a := newAnswer(q, f.Early, f.Likely, f.Late, f.NextTest, f.Confidence)
	a.Status = f.Status.String()
	a.spoiling = &spoiling{instant(f.SpoilWarn), instant(f.Spoil)}
	a.first = "Ready: no time yet, " + tankStatus(f)
	if a.Likely != nil {
		a.first = "Ready " + a.window()
		if f.Status != ferment.Good {
			a.first += " (" + a.Status + ")"
		}
	}
	a.Reason = tankReason(f)
	return a
}

// tankStatus says what a status means.
func tankStatus(f ferment.Forecast) string {
	switch f.Status {
	case ferment.NoLoad:
		return "nothing is in the tank"
	case ferment.NoBasis:
		return "neither a temperature nor a past to go by: test by hand"
	case ferment.TooCold:
		return "colder than 14 C, where no window is given: test by hand"
	case ferment.TooHot:
		return "hotter than 32 C, where no window is given: test by hand"
	case ferment.TestedRough:
		return "tested rough"
	case ferment.HandsDiffer:
		return "slippery after rough: the slippery test counts"
	case ferment.NoSafeHour:
		return "the oldest fruit spoils before the youngest is ready"
	}
	return "on its way"
}

// tankReason is what the forecast of a tank rests on, in one sentence.
func tankReason(f ferment.Forecast) string {
	x, r := f.Reason, reasons{tankStatus(f)}
	if x.Source == ferment.FromMass || x.Source == ferment.FromAmbient {
		r.add("mass at %.1f C, from a thermometer in the %s", x.Celsius,
			map[ferment.Source]string{ferment.FromMass: "coffee", ferment.FromAmbient: "air"}[x.Source])
	}
	if !math.IsNaN(x.Used) {
		at := ""
		if !math.IsNaN(x.At) {
			at = fmt.Sprintf(" at %.1f C", x.At)
		}
		r.add("%.1f h from the last load%s: published %.1f h", x.Used, at, x.Prior)
		if x.PastStays > 0 {
			r.add("by %d earlier tanks of this mill %.1f h, with %.0f %% of the say", x.PastStays,
				x.Learned, 100*x.LearnedWeight)
		} else {
			r.add("no earlier tanks")
		}
	}
	if !x.Slippery.IsZero() {
		r.add("slippery at %s", minute(x.Slippery))
	}
	if !x.Rough.IsZero() {
		r.add("rough at %s", minute(x.Rough))
	}
	if !math.IsNaN(x.PH) && !math.IsNaN(x.PHShift) {
		r.add("pH %.1f where %.1f is expected shifts the hours by %.0f %%", x.PH, x.PHExpected,
			100*x.PHShift)
	}
	return strings.Join(r, "; ")
}
