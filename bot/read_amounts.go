package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// unitRule gives a figure its unit: "57 C", "2010 kg", "14 %", "18 sacos y medio". What is a
// weight or a measure becomes an amount.
func (r *reader) unitRule(before *item, at []item) (item, int) {
	if at[0].kind != isFigure || at[0].fig.sure {
		return item{}, 0
	}
	to, n := at[0], 1
	for n < len(at) && n < 4 && at[n].kind == isFigure && at[n].fig.raw != "" &&
		len(at[n].fig.raw) == 3 && at[n].fig.whole() && to.fig.whole() && to.fig.ints <= 3 &&
		n+1 < len(at) && at[n+1].says(words.Unit, "kg") { // "4 200 kg"
		to.fig.v, to.fig.guess = to.fig.v*1000+at[n].fig.v, true
		n++
	}
	if n < len(at) && at[n].says(words.Time, "about") {
		n++
	}
	if n == len(at) {
		return item{}, 0
	}
	if name, ok := at[n].of(words.Unit); ok {
		return r.withUnit(to, name, at, n)
	}
	if m := ofHundred(at, n); m > 0 { // "11 in the 100"
		to.unit = "%"
		return to, m
	}
	if name, ok := at[n].of(words.Measure); ok && !(at[n].says(words.Act, "") && r.next(at, n)) {
		to.kind, to.unit, to.name = isAmount, name, at[n].text
		n++
		if n+1 < len(at) && at[n].says(words.Join, "and") && at[n+1].says(words.Number, "half") {
			to.fig.v, to.fig.digits = to.fig.v+0.5, 1
			n += 2
		}
		return to, n
	}
	return item{}, 0
}

// ofHundred says how many items "in the 100" after a figure are; 0 when it is not there.
func ofHundred(at []item, n int) int {
	m := n
	for m < len(at) && m < n+2 && (at[m].joins("in", "from", "the")) {
		m++
	}
	if m > n && m < len(at) && at[m].kind == isFigure && at[m].fig.v == 100 {
		return m + 1
	}
	return 0
}

// next says that a measure word that may be an act too has figures or classes of its own after
// it: "saco 1a 1.450".
func (r *reader) next(at []item, n int) bool {
	return n+1 < len(at) && at[n+1].says(words.Class, "")
}

// withUnit joins a figure and its unit word.
func (r *reader) withUnit(to item, name string, at []item, n int) (item, int) {
	n++
	switch name {
	case "kg", "lb", "t":
		to.kind, to.unit, to.name = isAmount, name, at[n-1].text
		if n+1 < len(at) && at[n].says(words.Join, "and") && at[n+1].says(words.Number, "half") {
			to.fig.v, to.fig.digits = to.fig.v+0.5, 1
			n += 2
		}
	case "degree":
		to.unit = "degree"
		if n < len(at) && (at[n].says(words.Unit, "C") || at[n].says(words.Unit, "F")) {
			to.unit, _ = at[n].of(words.Unit)
			n++
		}
		if n+1 < len(at) && at[n].says(words.Join, "and") && at[n+1].says(words.Number, "half") {
			to.fig.v, to.fig.digits = to.fig.v+0.5, 1
			n += 2
		}
	case "h", "min", "day":
		return item{}, 0
	default:
		to.unit = name
	}
	to.text = textOf(at[:n])
	return to, n
}

// measureFirst reads a measure or a weighing word before its figure: "sacos 35", "bruto 2135".
func (r *reader) measureFirst(before *item, at []item) (item, int) {
	if len(at) < 2 {
		return item{}, 0
	}
	if at[0].kind == isFigure && at[1].says(words.Weigh, "") &&
		(len(at) == 2 || at[2].kind != isFigure) { // "2.950 bruto tara 1"
		to := at[0]
		to.kind = isWeigh
		to.name, _ = at[1].of(words.Weigh)
		return to, 2
	}
	if name, ok := at[0].of(words.Weigh); ok {
		n := r.toFigure(at, 1)
		if n < 0 {
			return item{}, 0
		}
		to := at[n]
		to.kind, to.name = isWeigh, name
		return to, n + 1
	}
	name, ok := at[0].of(words.Measure)
	if !ok || at[0].says(words.Act, "") || at[1].kind != isFigure || at[1].unit != "" ||
		before.kind == isFigure || before.kind == isAmount {
		return item{}, 0
	}
	if len(at) > 2 && (at[2].says(words.Measure, "") || at[2].says(words.Unit, "")) {
		return item{}, 0
	}
	to := at[1]
	to.kind, to.unit, to.name = isAmount, name, at[0].text
	return to, 2
}

// toFigure is the index of the figure or amount that belongs to the word before index n; words of
// moving, of being and unknown ones may stand between ("temp drop to 41"). -1 when there is none.
func (r *reader) toFigure(at []item, n int) int {
	for i := n; i < len(at) && i < n+4; i++ {
		switch x := &at[i]; {
		case x.kind == isFigure && !x.fig.sure || x.kind == isAmount:
			return i
		case x.stops("=") || x.stops(":") || x.stops("-") || x.stops("(") || x.stops("~"):
		case x.kind == isWord && (x.joins("is", "to", "in", "the", "from") ||
			x.says(words.Act, "unload") || x.says(words.Act, "add") || x.says(words.Time, "now") ||
			x.says(words.Time, "at") || x.says(words.Time, "about") || x.says(words.State, "") ||
			x.says(words.Act, "move") || x.joins("still", "with") || x.says(words.Number, "with")):
		case x.kind == isOther && i == n:
		default:
			return -1
		}
	}
	return -1
}

// readingRule joins what is measured and its figures: "ph 4.4", "hum 13,2 13,5", "top 21,5",
// "55 ar". The figures that follow without a word between are further readings of the same kind.
func (r *reader) readingRule(before *item, at []item) (item, int) {
	if at[0].kind == isWord && at[0].says(words.Depth, "") && !r.backwards {
		if before.kind == isPlace && r.c.Places[before.ps[0]].Kind == state.Drum {
			return item{}, 0 // "d2 abajo 11,2": it has come down
		}
		return r.depthRule(at)
	}
	if to, n := fuelLeft(at); n > 0 {
		return to, n
	}
	if r.backwards {
		return r.figureFirst(at)
	}
	name, ok := r.quantityOf(&at[0])
	if !ok {
		return item{}, 0
	}
	i := 1
	depth := ""
	if i < len(at) && at[i].says(words.Depth, "") {
		depth, _ = at[i].of(words.Depth)
		i++
	}
	n := r.toFigure(at, i)
	if n < 0 {
		return item{}, 0
	}
	if at[0].says(words.Mark, "smoke") && (n > 1 || at[n].fig.v < 5 || at[n].fig.v > 60) ||
		at[0].says(words.Class, "") && r.classes > 1 {
		return item{}, 0
	}
	to := at[n]
	if to.kind == isAmount && name != "weight_kg" && name != "fuel_h" {
		return item{}, 0
	}
	to.kind, to.name, to.word, to.near = isReading, name, depth, at[0].near
	to.both = at[0].says(words.Mark, "smoke")
	return to, n + 1
}

// fuelLeft reads how long fuel will last: "husk 9 h", "lena para 3 horas".
func fuelLeft(at []item) (item, int) {
	_, isFuel := thingOf(&at[0])
	if !at[0].says(words.Quantity, state.FuelH) && (!isFuel || at[0].says(words.Thing, "power") ||
		at[0].says(words.Thing, "water")) {
		return item{}, 0
	}
	n := 1
	for n < len(at) && n < 4 && (at[n].says(words.Join, "") || at[n].says(words.Time, "about") ||
		at[n].says(words.Talk, "left")) {
		n++
	}
	if n == len(at) || at[n].kind != isSpan {
		return item{}, 0
	}
	to := at[n]
	to.kind, to.name = isReading, state.FuelH
	to.fig.v = round(to.fig.v/60, 1)
	return to, n + 1
}

// quantityOf is what a word measures. "humo" before a figure is a phone's "hum".
func (r *reader) quantityOf(x *item) (string, bool) {
	if name, ok := x.of(words.Quantity); ok {
		return name, true
	}
	return "hum_pct", x.says(words.Mark, "smoke") && x.text[0] == 'h'
}

// figureFirst reads a figure before its word, in a line whose words stand behind: "55 ar".
func (r *reader) figureFirst(at []item) (item, int) {
	if at[0].kind != isFigure || len(at) < 2 {
		return item{}, 0
	}
	to := at[0]
	if name, ok := at[1].of(words.Quantity); ok {
		to.kind, to.name = isReading, name
		return to, 2
	}
	if depth, ok := at[1].of(words.Depth); ok {
		to.kind, to.name, to.word = isReading, "temp", depth
		return to, 2
	}
	return item{}, 0
}

// depthRule reads "top 21,5": the temperature at a depth.
func (r *reader) depthRule(at []item) (item, int) {
	depth, _ := at[0].of(words.Depth)
	n := r.toFigure(at, 1)
	if n != 1 || at[n].kind == isAmount || at[n].unit == "%" || at[n].unit == "cm" {
		return item{}, 0
	}
	to := at[n]
	to.kind, to.name, to.word, to.is = isReading, "temp", depth, nil
	return to, n + 1
}

// moreRule takes figures that follow a reading as further readings of the same kind, where they
// are near it: several moistures of one drum.
func (r *reader) moreRule(before *item, at []item) (item, int) {
	if at[0].kind != isFigure || before.kind != isReading || at[0].unit != "" && at[0].unit !=
		before.unit || at[0].fig.sure || before.word != "" {
		return item{}, 0
	}
	f := at[0].fig
	if f.v < before.fig.v*0.7 || f.v > before.fig.v*1.4 {
		return item{}, 0
	}
	to := at[0]
	to.kind, to.name, to.unit = isReading, before.name, before.unit
	return to, 1
}

// classRule joins a density class and its amount: "primera 14", "24 basin heavy".
func (r *reader) classRule(before *item, at []item) (item, int) {
	i, n := 0, 1
	if r.backwards {
		if at[0].kind != isFigure && at[0].kind != isAmount || len(at) < 2 {
			return item{}, 0
		}
		i = 1
	} else {
		if n = r.toFigure(at, 1); n < 0 {
			return item{}, 0
		}
	}
	name, ok := at[i].of(words.Class)
	if !ok {
		return item{}, 0
	}
	to := at[n-i]
	if r.backwards {
		to = at[0]
	}
	to.kind, to.word, to.text = isClass, name, at[i].text
	if to.unit == "" {
		to.unit = ""
	}
	return to, max(n, i) + 1
}

// countClasses counts the words of a line that may name density classes.
func (r *reader) countClasses() int {
	n := 0
	for i := range r.items {
		if r.items[i].says(words.Class, "") {
			n++
		}
	}
	return n
}

// facesBack says whether the words of a line follow their figures: the first word for a quantity
// or class has a figure before it and the last has none behind.
func (r *reader) facesBack() bool {
	first, last, pairs := -1, -1, 0
	for i := range r.items {
		x := &r.items[i]
		if x.says(words.Quantity, "") || x.says(words.Class, "") || x.says(words.Depth, "") {
			if first < 0 {
				first = i
			}
			last = i
			pairs++
		}
	}
	if first < 1 {
		return false
	}
	b := r.items[first-1].kind
	if b != isFigure && b != isAmount {
		return false
	}
	if r.items[first-1].fig.sure {
		return false
	}
	n := r.toFigure(r.items, last+1)
	return n < 0 || r.items[n].kind == isAmount && b == isFigure
}
