package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Figures with their unit or measure: "2010 kg", "18 sacos y medio", "bruto 2135", "13 %". What a
// measure weighs is the mill's to say and is looked up later.
//
//	2010 kg, 2010kg, 4 200 kg     kilograms
//	baje 12 900kg                 12 %, and 900 kg
//	18 sacos y medio, sacos 18    a measure of the mill
//	bruto 2135 tara 2             a weighing
//	11 in the 100, 13 por ciento  per cent

// unitRule gives a figure its unit: "57 C", "2010 kg", "14 %", "18 sacos y medio". What is a
// weight or a measure becomes an amount.
func (r *reader) unitRule(before *item, at []item) (item, int) {
	if at[0].kind != isFigure || at[0].fig.sure {
		return item{}, 0
	}
	to, n := at[0], 1
	if r.thousands(at) { // "4 200 kg"
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

// thousands says that a figure and a group of three digits before kilograms are one figure with a
// blank in it. They are two where coffee is loaded or taken out and the first may be its moisture,
// "baje 12 900kg"; else what does not fit, or may be either, is asked.
func (r *reader) thousands(at []item) bool {
	if len(at) < 3 || at[1].kind != isFigure || len(at[1].fig.raw) != 3 || !at[1].fig.whole() ||
		at[1].fig.minus || !at[0].fig.whole() || at[0].fig.ints > 3 || at[0].fig.raw == "" ||
		!at[2].says(words.Unit, "kg") {
		return false
	}
	fits, k := r.takesIn(at[0].fig.v*1000 + at[1].fig.v)
	low, high := usual(state.Moisture)
	switch moist := at[0].fig.v >= low && at[0].fig.v <= high; {
	case moist && k != state.Tank && k != state.Intake && (r.says(words.Act, state.ActUnload) ||
		r.says(words.Act, state.ActLoad) || r.says(words.Order, "unload") ||
		r.says(words.Order, "load")):
		return false
	case !fits, moist && k != state.Tank && k != state.Intake:
		r.ask(AskSplit, textOf(at[:2]), "")
		return false
	}
	return true
}

// takesIn says whether a place that the line names takes so many kilograms, a little more than it
// is said to hold, and of which kind the first is; of none named, whether any here does.
func (r *reader) takesIn(kg float64) (fits bool, k state.Kind) {
	named := r.hasPlaces()
	for i := range r.items {
		for _, p := range r.items[i].ps {
			if v := &r.c.Places[p]; k == "" {
				k = v.Kind
				fits = v.Capacity == 0 || kg <= v.Capacity*1.2
			}
		}
	}
	if named {
		return fits, k
	}
	k = r.spokenOf()
	for i := range r.c.Places {
		v := &r.c.Places[i]
		fits = fits || v.Kind == k && (v.Capacity == 0 || kg <= v.Capacity*1.2)
	}
	return fits, k
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
		} else if m := r.decimals(&to.fig, at[n:]); m > 0 { // "20 grados punto 5"
			n += m
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
