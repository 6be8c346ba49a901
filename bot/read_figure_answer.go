package bot

import "lotbell/state"

// A bare figure as the answer to a question.
//
// What was asked for gives the figure its meaning, unless at such a place it can only mean
// something else: 56 is no moisture of a drum even when its moisture was asked for. An amount goes to the
// fact that waited for one, in the unit asked about; without such a fact it corrects the last line.

// answerFigure gives a bare figure to the question that asked for it.
func (r *reader) answerFigure(a *Asked, x *item) bool {
	p := r.byName(a.Place)
	if q, ok := state.QuantityOf(a.What); ok && x.kind == isFigure && p >= 0 {
		if what, _ := bareAt(&r.c.Places[p], x.fig); what != "" && what != q.Name && x.unit == "" {
			f := Fact{Place: a.Place, What: what, Has: true} // 56 is no moisture of a drum
			f.doubt("what", 0.8, AskWhat)
			r.measure(f, p, x.fig, x.unit)
			return true
		}
		r.measure(Fact{Place: a.Place, What: q.Name, Has: true}, p, x.fig, x.unit)
		return true
	}
	switch a.What {
	case "kg", AskKg, AskMeasure:
		if len(a.Facts) == 0 || p < 0 {
			f := Fact{Place: a.Place, What: SaysCorrect, Has: true}
			r.kilos(&f, x, large(x.fig))
			r.add(f)
			return true
		}
		r.answerKilos(a, x)
		return true
	case AskCall:
		f := Fact{What: SaysOk, Value: x.fig.v, Has: true}
		r.whichCall(&f)
		r.add(f)
		return true
	case AskFigure, Confirm:
		if len(a.Facts) > 0 && p >= 0 {
			if q, ok := state.QuantityOf(a.Facts[0].What); ok {
				r.measure(Fact{Place: a.Place, What: q.Name, Has: true}, p, x.fig, x.unit)
				return true
			}
		}
		fallthrough
	case AskLine, AskMore:
		if x.kind == isFigure && x.fig.whole() && x.fig.v < 20 && a.What == Confirm {
			return false
		}
		f := Fact{Place: a.Place, What: SaysCorrect, Value: x.fig.v, Has: true, Unit: x.unit,
			Digits: x.fig.digits}
		f.doubt("what", 0.9, AskLine)
		r.add(f)
		return true
	}
	return false
}

// answerKilos fills an amount into the first of the facts that wait, in the unit that was asked for
// unless another was said.
func (r *reader) answerKilos(a *Asked, x *item) {
	for i, f := range a.Facts {
		if i == 0 {
			y := *x
			if y.unit == "" && f.Unit != "kg" {
				y.unit, y.name = f.Unit, f.Unit
			}
			f.Has, f.Doubt = true, nil
			r.kilos(&f, &y, large(x.fig))
		}
		r.add(f)
	}
}

// large takes the reading of a figure that can be kilograms.
func large(g figure) figure {
	if g.alt > g.v {
		g.turn()
	}
	return g
}
