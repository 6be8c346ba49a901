package bot

import (
	"lotbell/state"
)

// From a fact to a move: what leaves where, and what arrives where.

// move makes a move of a fact: what leaves where, and what arrives where.
func (t *turn) move(f Fact, line []Fact) state.Body {
	mass := state.Grams(0)
	if f.Has && f.Unit == "kg" {
		mass = state.Kg(f.Value)
	}
	hum := 0.0
	for _, o := range line {
		if o.What == state.Moisture && o.Place == f.Place {
			hum = o.Value
		}
	}
	b := state.Move{Act: f.What, Said: f.Said}
	if f.Has && f.Unit != "kg" {
		b.Said = plainNumber(f.Value, int(f.Digits)) + " " + f.Unit
	}
	from := f.From
	if len(from) == 0 {
		from = t.source(f)
	}
	b.Out = t.leaving(from, mass, hum)
	to := t.destination(f)
	if classes := classesOf(line); len(classes) > 0 && f.What != state.ActAdd {
		for _, c := range classes {
			part := state.Part{Lot: t.mill.NextLot(), Place: to, Class: c.Word}
			if c.Unit == "kg" {
				part.Mass = state.Kg(c.Value)
			} else {
				b.Said += " " + plainNumber(c.Value, int(c.Digits)) + " " + c.Unit
			}
			b.In = append(b.In, part)
		}
		return b
	}
	if hum == 0 && f.What == state.ActStore && len(from) == 1 {
		hum = t.humidity(from[0]) // it comes as it was last read
	}
	t.oneClass(&b, f)
	b.In = []state.Part{{Lot: t.mill.NextLot(), Place: to, Mass: mass, Moisture: hum,
		Derived: f.Derived}}
	return b
}

// leaving is what leaves some places when a mass of a moisture (0: not known) arrives elsewhere: all
// of what is there, unless that is clearly more.
func (t *turn) leaving(from []string, mass state.Grams, hum float64) []state.Part {
	var parts []state.Part
	for _, p := range from {
		out := state.Part{Place: p, All: true, Moisture: t.weighedAt(p)}
		if p == state.Outside {
			out = state.Part{Place: p, Mass: mass}
		} else if part := t.partOf(p, mass, max(hum, t.humidity(p))); len(from) == 1 && part > 0 {
			out.All, out.Mass = false, part
		}
		parts = append(parts, out)
	}
	return parts
}

// oneClass limits a move to the lot of the class that was named, where the source has such a one.
func (t *turn) oneClass(b *state.Move, f Fact) {
	if len(b.Out) != 1 || f.Word == "" {
		return
	}
	place := t.stillAt(b.Out[0].Place)
	for _, s := range t.mill.StaysAt(place) {
		if s.Tag("class") == f.Word {
			b.Out[0] = state.Part{Place: b.Out[0].Place, Lot: s.ID.Lot, All: true,
				Moisture: b.Out[0].Moisture}
			return
		}
	}
}

// washedMoisture is what washed, drained parchment holds, % wet basis (from memory of the trade's
// figures, 52 to 56; Oliveros et al. 2010 start at 53).
const washedMoisture = 53

// partShare is the share of what should be at a place below which a weighed move takes a part of
// it only (common practice, no source: scales and books differ by less).
const partShare = 0.7

// partOf is how much of what the book has at a place leaves it when a weighed mass arrives
// elsewhere: 0 for all of it. What dried there weighs less than when it came, so both are compared
// on dry matter.
func (t *turn) partOf(place string, mass state.Grams, hum float64) state.Grams {
	held, moist := state.Grams(0), washedMoisture*1.0
	for _, s := range t.mill.StaysAt(place) {
		if s.Mass == 0 || s.Partly {
			return 0
		}
		held += s.Mass
		if s.Moist > 0 {
			moist = s.Moist
		}
	}
	if held == 0 || mass == 0 {
		return 0
	}
	expected := float64(held)
	if hum > 0 && hum < moist {
		expected *= (100 - moist) / (100 - hum)
	}
	if float64(mass) >= partShare*expected {
		return 0
	}
	return state.Grams(float64(mass) * float64(held) / expected)
}

// classesOf lists the classes of a channel's split that a line names.
func classesOf(line []Fact) []Fact {
	var out []Fact
	for _, f := range line {
		if f.What == SaysClass && f.Has {
			out = append(out, f)
		}
	}
	return out
}

// calledBy lists the stays that a place's name means: those there or, once it is empty, what of it
// lies on the floor and is still called by it.
func (t *turn) calledBy(place string) []*state.Stay {
	if at := t.mill.StaysAt(place); len(at) > 0 {
		return at
	}
	var out []*state.Stay
	for _, s := range t.mill.StaysAt(state.Floor) {
		if s.Came == place {
			out = append(out, s)
		}
	}
	return out
}

// humidity is the last known moisture of what lies at a place; 0 when none is known.
func (t *turn) humidity(place string) float64 {
	v, _ := t.look(place, t.at)
	if at := t.calledBy(place); len(at) > 0 {
		v = t.watch.Book.Look(t.mill, t.watch.Know, at[0].Subject(), t.at)
	}
	if x, _, ok := v.Read("hum"); ok && x.Num == x.Num {
		return x.Num
	}
	return 0
}

// weighedAt is the moisture at which what the book has at a place was weighed, % wet basis: that of
// its coming, not the last one read. 0 when it is not known of all of it.
func (t *turn) weighedAt(place string) float64 {
	sum, held := 0.0, 0.0
	for _, s := range t.calledBy(place) {
		if s.Moist == 0 || !s.Weighed() {
			return 0
		}
		sum, held = sum+s.Moist*s.Mass.Kg(), held+s.Mass.Kg()
	}
	if held == 0 {
		return 0
	}
	return sum / held
}

// source is where the coffee of a move comes from when nobody said: from outside into an intake
// or a tank, out of the place itself when it is emptied, else what waits.
func (t *turn) source(f Fact) []string {
	switch f.What {
	case state.ActAdd, state.ActIntake:
		return []string{state.Outside}
	case state.ActWash, state.ActGather, state.ActUnload, state.ActShip:
		return []string{f.Place}
	}
	if waiting := t.mill.StaysAt(state.Floor); len(waiting) > 0 {
		return []string{state.Floor}
	}
	if f.To != "" && f.To != f.Place {
		return []string{f.Place}
	}
	return nil
}

// destination is where the coffee of a move goes.
func (t *turn) destination(f Fact) string {
	if f.To != "" {
		return f.To
	}
	switch f.What {
	case state.ActAdd, state.ActIntake, state.ActLoad, state.ActSpread, state.ActStore:
		return f.Place
	case state.ActShip:
		return state.Outside
	case state.ActMove:
		if len(f.From) > 0 {
			return f.Place
		}
	}
	return state.Floor
}
