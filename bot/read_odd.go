package bot

import (
	"strconv"

	"lotbell/state"
)

// Bare figures that no place can show: a mark went missing (580 for 58.0), kilograms without a
// word, or one that may be several things.
//
//	t3 4200      a load; asked when the tank holds coffee already (a further load, or a correction?)
//	t3 42000     refused where 4200 fits and 42000 does not
//	d1 580       refused: 58.0 is meant
//	d1 2010      asked: kilograms out of the drum, or a clock time
//	d1 40        asked: air or moisture
//	s1 100       asked: bags or degrees
//
// A refused figure keeps what it was likely meant for, which a "yes" then takes.

// bareOdd deals with a figure that is no reading at its place: kilograms into a tank, a figure a
// mark went missing from, one that may be several things.
func (r *reader) bareOdd(c *clause, x *item, v *PlaceView) {
	n := x.fig
	if n.alt != 0 && n.v < 100 {
		n.turn()
	}
	switch v.Kind {
	case state.Tank:
		if n.v >= 450 && n.v <= 100000 && (v.Capacity == 0 || n.v <= v.Capacity*1.2) {
			f := Fact{Place: v.Name, What: state.ActAdd, Value: n.v, Has: true, Unit: "kg",
				Product: "pulped"}
			f.doubt("what", 0.8, AskMore)
			if v.Holds || v.Closed {
				r.ask(AskMore, show(x.fig), "")
				r.leave(f)
				return
			}
			r.add(f)
			return
		}
		if n.v > v.Capacity && v.Capacity > 0 && n.v/10 <= v.Capacity && n.v >= 450 {
			r.unpointed(x, v)
			return
		}
	case state.Drum, state.Predryer:
		if n.v >= 400 && (v.Capacity == 0 || n.v <= v.Capacity*1.2) && n.v > 999 {
			f := Fact{Place: v.Name, What: state.ActUnload, Value: n.v, Has: true, Unit: "kg",
				Product: "dry"}
			if !v.Holds {
				f.What, f.Product = state.ActLoad, "wet"
			}
			r.ask(AskSure, show(x.fig), "")
			r.leave(f)
			return
		}
		if n.v > 150 && n.v < 1000 || n.v > 110 && v.Dial == "C" {
			r.unpointed(x, v)
			return
		}
	case state.Patio:
		if n.v > 60 && n.v < 1000 {
			r.unpointed(x, v)
			return
		}
	case state.Silo:
		if n.v >= 80 && n.v < 160 && n.whole() {
			r.openFigure(x, v, "")
			return
		}
	}
	r.openFigure(x, v, "")
}

// unpointed refuses a figure whose mark seems to be missing: d1 580 was meant for 58.0.
func (r *reader) unpointed(x *item, v *PlaceView) {
	g := figure{v: round(x.fig.v/10, 1), digits: 1, clock: -1}
	what, _ := bareAt(v, g)
	if v.Kind == state.Tank {
		r.refuse(AskFigure, show(x.fig), strconv.FormatFloat(g.v, 'f', -1, 64))
		r.leave(Fact{Place: v.Name, What: state.ActAdd, Value: g.v, Has: true, Unit: "kg",
			Product: "pulped"})
		return
	}
	if what == "" {
		r.refuse(AskFigure, show(x.fig), "")
		return
	}
	f := Fact{Place: v.Name, What: what, Value: g.v, Digits: 1, Has: true}
	q, _ := state.QuantityOf(what)
	f.Unit = q.Unit
	f.doubt("decimal", 0.6, AskFigure)
	r.refuse(AskFigure, show(x.fig), strconv.FormatFloat(g.v, 'f', 1, 64))
	r.leave(f)
}

// openFigure asks what a figure is, offering what it may be at such a place.
func (r *reader) openFigure(x *item, v *PlaceView, hint string) {
	var room []string
	r.oneOpen = !r.must && hint == ""
	for _, what := range mayBe(v.Kind) {
		low, high := usual(what)
		if x.fig.v >= low && x.fig.v <= high {
			q, _ := state.QuantityOf(what)
			r.leave(Fact{Place: v.Name, What: what, Value: x.fig.v, Has: true, Unit: q.Unit,
				Digits: x.fig.digits, Doubt: []Doubt{{"what", 0.5, AskWhat}}})
			room = append(room, what)
		}
	}
	r.ask(AskWhat, show(x.fig), hint, room...)
}

// mayBe lists what a bare figure may be at a kind of place.
func mayBe(k state.Kind) []string {
	switch k {
	case state.Tank:
		return []string{state.MassC, state.PH}
	case state.Drum, state.Predryer:
		return []string{state.AirC, state.Moisture}
	case state.Patio:
		return []string{state.Moisture, state.Depth}
	case state.Silo, state.Store:
		return []string{state.Moisture, state.BeanC, state.Bags}
	case state.Waiting:
		return []string{state.Moisture, state.BeanC}
	case state.Air:
		return []string{state.AmbientC, state.AmbientH}
	}
	return nil
}
