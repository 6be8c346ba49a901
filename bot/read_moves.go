package bot

import (
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

// The facts of a move, and what may stand beside it: moisture, a clock time that looks like a
// weight.
//
//	d1 load p1 p3 2800kg hum 34     one load of two patios, and its moisture
//	d1 unload 10.6 2010kg           the bare figure is the moisture
//	d1 unload 2010                  asked soon after 20:10: kilograms, or an hour
//	p1 tendido primera de c1        the first class alone
//	t1 t2 washed                    two facts; kilograms would be asked for, they are of both

// note makes the facts of a settled move: one for each place that it is about.
func (r *reader) note(c *clause, m move, x *item) {
	at, others := m.to, m.from
	leaves := m.act == state.ActUnload || m.act == state.ActGather || m.act == state.ActWash ||
		m.act == state.ActMove || m.act == state.ActShip
	if leaves {
		at, others = m.from, m.to
	}
	amount, count, guess := c.weighing(r)
	if m.act == state.ActAdd && amount == nil && c.dubiousLoad() {
		amount = c.has(isFigure)
		r.ask(AskKg, r.place(at[0]), "")
	}
	if x.unit == "asked" { // no verb is known: the unknown word may be "let us" or "do not"
		r.ask(AskSure, r.place(at[0]), "")
	}
	if x.unit != "" {
		c.guess = append(c.guess, Doubt{What: "what", Sure: 0.8, Settle: AskMore})
	}
	for i, p := range at {
		f := Fact{Place: r.place(p), What: m.act}
		if f.Word = c.class(); f.Word == "" && m.act == state.ActSpread {
			f.Word = c.detail("thin", "thick")
		}
		if leaves && len(others) > 0 {
			f.To = r.place(others[0])
		} else if !leaves {
			f.From = r.placeNames(others)
		}
		if m.act == state.ActMove {
			f.From = []string{r.place(p)}
		}
		if amount != nil && i == 0 {
			r.weighing(&f, c, p, amount, count, guess)
		}
		n := r.add(f)
		if !n.Has && (m.act == state.ActAdd || m.act == state.ActUnload && c.has(isReading) == nil ||
			m.act == state.ActLoad || m.act == state.ActMove || m.act == state.ActStore) {
			r.wonder(n, AskKg, r.place(p), 0.5)
		}
		if len(at) > 1 && amount != nil {
			r.wonder(n, AskKg, r.place(p), 0.5)
		}
	}
	if amount != nil {
		amount.kind = isSkipped
	}
	r.moistureOf(c, at)
	if len(at) > 0 {
		c.places = at[:1]
	}
}

// class is the density class that a clause names without an amount of its own: only that part of
// what lies there is moved.
func (c *clause) class() string {
	if c.grade != "" {
		return c.grade
	}
	for i := range c.parts {
		if class, ok := c.parts[i].of(words.Class); ok {
			return class
		}
	}
	return ""
}

// ungrade takes a class and an amount that stand together as the amount of a move and the class of
// what is moved: "p1 tendido 2600kg primera de c1". A split has several, or no move.
func (c *clause) ungrade() {
	x := c.has(isClass)
	if x == nil {
		return
	}
	c.grade = x.word
	if x.kind = isAmount; x.unit == "" {
		x.kind = isFigure
	}
}

// moistureOf takes a bare figure beside a move as the moisture of what is moved.
func (r *reader) moistureOf(c *clause, at []int) {
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isFigure && (x.unit == "" || x.unit == "%") && x.fig.v >= 6 && x.fig.v <= 62 &&
			len(at) > 0 && r.c.Places[at[0]].Kind != state.Tank {
			f := Fact{Place: r.place(at[0]), What: state.Moisture, Has: true}
			if x.fig.whole() && x.unit == "" {
				f.doubt("what", 0.9, AskWhat)
			}
			r.measure(f, at[0], x.fig, "")
			x.kind = isSkipped
		}
	}
}

// lately says that a bare figure may as well be a clock time of the last hours: 2010.
func (r *reader) lately(g figure) bool {
	if g.clock < 0 || r.c.At == 0 {
		return false
	}
	s := said{hour: -1}
	if hourOf(&s, []item{{kind: isFigure, fig: g}}, "") == 0 {
		return false
	}
	s.half = false
	m := r.moment(s)
	return !m.ask && r.c.At.Sub(m.at).Hours() < 3
}

// clockText writes minutes since midnight as a clock time.
func clockText(minutes int) string {
	m := strconv.Itoa(minutes % 60)
	if len(m) < 2 {
		m = "0" + m
	}
	return strconv.Itoa(minutes/60) + ":" + m
}

// mass is the amount of a clause: one with its unit, or the first bare figure that can be
// kilograms; nil when there is none.
func (c *clause) mass(r *reader) *item {
	if m := c.has(isAmount); m != nil {
		return m
	}
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isFigure && x.unit == "" && !x.fig.sure && (x.fig.v >= 100 || x.fig.alt >= 100) {
			return x
		}
	}
	return nil
}
