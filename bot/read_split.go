package bot

import "lotbell/state"

// The channel: one washing parted into density classes.

// isSplit says that a clause parts a tank's coffee by density: classes with amounts, not at the
// intake.
func (r *reader) isSplit(c *clause) bool {
	if c.has(isClass) == nil {
		return false
	}
	k := r.kind(c)
	return k == state.Channel || k == state.Tank || k == "" && len(c.from) > 0
}

// washedInto keeps the wash of a line that tells the classes as well: "t1 lavada primera 2600".
func (r *reader) washedInto(c *clause, channel int, from []int) {
	washed := false
	for i := range c.parts {
		x := &c.parts[i]
		if (x.kind == isAct || x.kind == isOrder && x.both) && x.name == state.ActWash && !x.not {
			x.kind, washed = isSkipped, true
		}
	}
	for _, p := range from {
		if washed && r.c.Places[p].Kind == state.Tank {
			r.add(Fact{Place: r.place(p), What: state.ActWash, To: r.place(channel)})
		}
	}
}

// split notes the classes of one washing: one line of the channel.
func (r *reader) split(c *clause) {
	channel, from := -1, append([]int(nil), c.from...)
	for _, p := range c.places {
		switch {
		case r.c.Places[p].Kind == state.Channel && channel < 0:
			channel = p
		default:
			from = append(from, p)
		}
	}
	if channel < 0 {
		if r.count(state.Channel) != 1 {
			r.ask(AskPlace, "", "", r.placeNames(r.all(state.Channel))...)
			return
		}
		channel = r.firstOf(state.Channel)
		if len(from) == 0 {
			c.guess = append(c.guess, Doubt{What: "place", Sure: 0.8, Settle: AskPlace})
		}
	}
	r.washedInto(c, channel, from)
	c.places = []int{channel}
	unit, most := "", 0.0
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isClass {
			if x.unit != "" {
				unit = x.unit
			}
			most = max(most, max(x.fig.v, x.fig.alt))
		}
	}
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isClass {
			continue
		}
		f := Fact{Place: r.place(channel), What: SaysClass, Word: x.word, Has: true,
			From: r.placeNames(from), Product: "wet"}
		g := x.fig
		if g.alt != 0 && g.v < 100 && most >= 100 {
			g.turn()
		}
		y := *x
		if y.unit == "" {
			if y.unit, y.name = unit, unit; unit == "" && most < 100 {
				y.unit, y.name = "basin", "basin"
			}
			f.doubt("unit", 0.7, AskMeasure)
		}
		r.kilos(&f, &y, g)
		r.add(f)
	}
}
