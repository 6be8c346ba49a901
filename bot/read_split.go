package bot

import "lotbell/state"

// The channel: one washing parted into density classes, in the words of whoever stands at it.
//
//	c1 t3 primera 14 segunda 5 natas 1     basins from tank 3, by the mill's basin
//	lavada t1 primera 2600 segunda 900     kilograms, and the wash of tank 1
//	24 basin heavy 6 medium                the words behind their figures
//
// Floats are the skimmings of the same channel and count as a class.

// isSplit says that a clause parts a tank's coffee by density: classes with amounts, not at the
// intake.
func (r *reader) isSplit(c *clause) bool {
	if c.has(isClass) == nil {
		return false
	}
	if x := c.has(isClass); r.channels == 0 && r.classes == 1 && x.unit == "" && x.fig.v < 100 &&
		!oneOf(state.Channel, r.c.Posts[:min(1, len(r.c.Posts))]) {
		return false // "wash 5 first" parts nothing
	}
	k := r.kind(c)
	return k == state.Channel || k == state.Tank || k == "" && len(c.from) > 0
}

// split notes the classes of one washing: one line of the channel. A mill without a channel parts
// the coffee where it falls, beside the tank.
func (r *reader) split(c *clause) {
	at, from, ok := r.parted(c)
	if !ok {
		r.ask(AskPlace, "", "", r.placeNames(r.all(state.Channel))...)
		return
	}
	r.washedInto(c, at, from)
	c.places = []int{at}
	unit, most := "", 0.0 // what one says of one class is meant of all
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isClass {
			if x.unit != "" {
				unit = x.unit
			}
			most = max(most, max(x.fig.v, x.fig.alt))
		}
	}
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isClass {
			f := Fact{Place: r.place(at), What: SaysClass, Word: x.word, Has: true,
				From: r.placeNames(from), Product: "wet"}
			r.classMass(&f, *x, unit, most)
			r.add(f)
		}
	}
}

// parted says where coffee was parted and which tanks it came from: at the channel that was named,
// or the only one. It is false when there are several and none was named.
func (r *reader) parted(c *clause) (at int, from []int, ok bool) {
	at, from = -1, append([]int(nil), c.from...)
	for _, p := range c.places {
		switch {
		case r.c.Places[p].Kind == state.Channel && at < 0:
			at = p
		default:
			from = append(from, p)
		}
	}
	switch n := r.count(state.Channel); {
	case at >= 0:
	case n == 1:
		at = r.firstOf(state.Channel)
		if len(from) == 0 {
			c.guess = append(c.guess, Doubt{What: "place", Sure: 0.8, Settle: AskPlace})
		}
	case n == 0 && len(from) > 0:
		at = from[0]
	default:
		return -1, nil, false
	}
	return at, from, true
}

// classMass gives a class its kilograms. Without a unit it is that of the other classes; small
// figures alone are basins, as channels are counted by them.
func (r *reader) classMass(f *Fact, x item, unit string, most float64) {
	g := x.fig
	if g.alt != 0 && g.v < 100 && most >= 100 { // 4.200 beside 380 is thousands
		g.turn()
	}
	if x.unit == "" {
		if x.unit, x.name = unit, unit; unit == "" && most < 100 {
			x.unit, x.name = "basin", "basin"
		}
		f.doubt("unit", 0.7, AskMeasure)
	}
	r.kilos(f, &x, g)
}

// washedInto keeps the wash of a line that tells the classes as well: "t1 lavada primera 2600
// segunda 900". Where the mill has no channel the coffee waits on the floor.
func (r *reader) washedInto(c *clause, at int, from []int) {
	washed := false
	for i := range c.parts {
		x := &c.parts[i]
		if (x.kind == isAct || x.kind == isOrder && x.both) && x.name == state.ActWash && !x.not {
			x.kind, washed = isSkipped, true
		}
	}
	for _, p := range from {
		if !washed || r.c.Places[p].Kind != state.Tank {
			continue
		}
		f := Fact{Place: r.place(p), What: state.ActWash}
		if r.c.Places[at].Kind == state.Channel {
			f.To = r.place(at)
		}
		r.add(f)
	}
}
