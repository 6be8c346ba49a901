package bot

import (
	"strconv"
	"strings"

	"lotbell/state"
)

// What can be true, what is usual, and what an impossible figure was likely meant for. A
// Fahrenheit figure on a dial of unknown unit is asked once.
//
// Three ranges, from wide to narrow: what the state can hold (state.Quantities), what is usual
// (asked about outside), and what a bare figure must be within to be taken without its word
// (bareAt).

// measure notes one reading: in its unit, within what can be true, with its doubts.
func (r *reader) measure(f Fact, p int, g figure, unit string) {
	q, _ := state.QuantityOf(f.What)
	low, high := usual(f.What)
	switch {
	case g.minus && q.Low >= 0:
		r.belowNought(&f, g)
	case g.minus:
		g.v = -g.v
	}
	if g.alt != 0 && (g.v < low || g.v > high) {
		g.turn()
	}
	f.Value, f.Digits, f.Unit = g.v, g.digits, q.Unit
	if g.guess || g.raw == "" { // put together, or spoken in words
		f.doubt("decimal", 0.9, AskFigure)
	}
	if q.Unit == "C" && !r.celsius(&f, p, unit) {
		return
	}
	if unit == "lb" && f.What == state.WeightKg {
		f.Value, f.Said = pounds(f.Value), show(g)+" lb"
	}
	low, high = usual(f.What)
	switch {
	case f.Value < q.Low || f.Value > q.High || f.What == state.AirC && f.Value > onlyFAir:
		r.impossible(f, g)
		return
	case g.minus && q.Low >= 0:
		r.leave(f)
		return
	case f.Value < low || f.Value > high:
		f.doubt("what", 0.5, AskFigure)
		r.ask(AskFigure, show(g), "")
		r.leave(f)
		return
	}
	f.Urgent = f.Urgent || f.What == state.AirC && f.Value >= hotAir
	r.add(f)
}

// belowNought refuses a minus before what cannot be below nought; a yes takes the figure without
// it.
func (r *reader) belowNought(f *Fact, g figure) {
	r.refuse(AskFigure, show(g), strings.TrimPrefix(show(g), "-"))
	f.doubt("decimal", 0.6, AskFigure)
}

// mostMass is a mass in kg that no line of a small mill tells, whatever its places hold: a truck
// brings up to 40 t. Where places hold more, it is ten times the largest (common practice, no
// source).
const mostMass = 100000

// tooHeavy turns down masses and counts that no place here can hold many times over. They are not
// kept, and no yes takes them.
func (r *reader) tooHeavy(fs []Fact) []Fact {
	most := float64(mostMass)
	for i := range r.c.Places {
		most = max(most, 10*r.c.Places[i].Capacity)
	}
	kept := fs[:0]
	for _, f := range fs {
		mass := moved(f.What) || f.What == SaysCorrect || f.What == SaysReject || f.What == SaysCount
		if !f.Has || !mass || f.Value <= most {
			kept = append(kept, f)
			continue
		}
		r.refuse(AskFigure, strconv.FormatFloat(f.Value, 'f', -1, 64), "")
		r.h.Place = f.Place
	}
	return kept
}

// celsius brings a temperature to °C by its unit or the place's dial. It is false when the unit
// must be asked for.
func (r *reader) celsius(f *Fact, p int, unit string) bool {
	limit := float64(onlyFMass)
	if f.What == state.AirC {
		limit = onlyFAir
	}
	dial := r.c.Places[p].Dial
	if unit == "C" || unit == "F" {
		dial = unit
	}
	if dial == "" && f.Value > limit && f.Value <= 300 && (f.Value-32)/1.8 <= limit {
		g := *f
		g.fahrenheit()
		g.doubt("unit", 0.8, AskDial)
		r.ask(AskDial, show(figure{v: f.Value, digits: f.Digits}), "F", "C", "F")
		r.leave(g)
		return false
	}
	if dial == "F" {
		f.fahrenheit()
	} else if dial == "" && f.What == state.AirC && f.Value > 75 {
		f.doubt("unit", 0.7, AskDial)
	}
	return true
}

// fahrenheit turns a fact's value from °F into °C.
func (f *Fact) fahrenheit() {
	f.Said = show(figure{v: f.Value, digits: f.Digits}) + " F"
	f.Value, f.Digits = round((f.Value-32)/1.8, 1), 1
}

// impossible refuses a figure that cannot be true and offers the one it was likely meant for.
func (r *reader) impossible(f Fact, g figure) {
	low, high := usual(f.What)
	q, _ := state.QuantityOf(f.What)
	for _, factor := range [...]float64{0.1, 0.01, 10} {
		v := g.v * factor
		if v >= low && v <= high && v >= q.Low && v <= q.High {
			f.Value = round(v, 3)
			f.Digits = g.digits
			switch factor {
			case 0.1:
				f.Digits++
			case 0.01:
				f.Digits += 2
			}
			f.Unit, f.Said = q.Unit, ""
			r.refuse(AskFigure, show(g), strconv.FormatFloat(f.Value, 'f', int(f.Digits), 64))
			r.leave(f)
			return
		}
	}
	r.refuse(AskFigure, show(g), "")
}
