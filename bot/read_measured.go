package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// What is measured, with its figure: "ph 4.4", "temp drop to 41", "top 21,5", "55 ar". A word of
// measuring swallows the words of moving between it and its figure: a temperature that drops
// unloads nothing.
//
//	ph 4.4, ph: 4.4, ph va en 4.4     the words between are swallowed
//	hum 13,2 13,5 13,1                three readings of one kind: their spread is kept
//	arriba 20 medio 23 fondo 25       temperatures by depth
//	55 ar 14,2 umid                   the words stand behind: see facesBack
//	primera 14, 24 basin heavy        density classes with their amounts
//	humo 34                           smoke, or a phone's "hum": asked

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
	thing, _ := thingOf(&at[0])
	if !at[0].says(words.Quantity, state.FuelH) && thing != "fuel" && thing != "fire" {
		return item{}, 0
	}
	n := 1
	for n < len(at) && n < 4 && (at[n].says(words.Join, "") || at[n].says(words.Time, "about") ||
		at[n].says(words.Talk, "left") || at[n].says(words.Act, "add") && len(at[n].text) < 5 ||
		at[n].says(words.Quantity, state.FuelH)) {
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
	if len(at) > 2 && (at[0].kind == isFigure || at[0].kind == isAmount) && at[1].joins("from") {
		if name, ok := at[2].of(words.Class); ok && !before.says(words.Class, "") { // "21 de primera"
			to := at[0]
			to.kind, to.word, to.text = isClass, name, at[2].text
			return to, 3
		}
	}
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

// grades settles words that name a class among others and a half or a depth alone: "pesado 19 medio
// 6", "p1 medio seco".
func (r *reader) grades() {
	sure := false
	for i := range r.items {
		x := &r.items[i]
		sure = sure || x.says(words.Class, "") && !x.says(words.Number, "") && !x.says(words.Depth, "")
	}
	for i := range r.items {
		x := &r.items[i]
		if !x.says(words.Class, "") || !x.says(words.Number, "") && !x.says(words.Depth, "") {
			continue
		}
		class := sure && i+1 < len(r.items) && (r.items[i+1].kind == isFigure ||
			r.items[i+1].says(words.Number, "") || r.items[i+1].says(words.Join, "from"))
		var is []words.Meaning
		for _, m := range x.is {
			if (m.In == words.Class) == class {
				is = append(is, m)
			}
		}
		x.is = is
	}
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
	if n >= 0 && r.items[n].kind == isAmount && r.items[last].says(words.Quantity, state.WeightKg) {
		return false // "saque d1 a 11,2 peso 1985 kg"
	}
	return n < 0 || r.items[n].kind == isAmount && b == isFigure
}
