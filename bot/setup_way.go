package bot

import (
	"slices"
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/rules"
	"lotbell/state"
)

// takeWay reads the coffee's way, kind by kind: "intake pulper tank channel patio drum silo". A
// step that has no question of its own gets its place, under the name that follows it if one does.
func (t *turn) takeWay(a answer) (string, string) {
	var way, said []string
	var names []state.SetPlace
	pulps := 0.0
	for i := 0; i < len(a.words); i++ {
		w := a.words[i]
		k, ok := t.kind(w)
		if t.means(w, "answer.soak") {
			k, ok = state.Waiting, true
		}
		switch {
		case ok && k != state.Safety && k != state.Air && k != state.Meter:
			way, said = append(way, string(k)), append(said, t.kindName(k))
			if i+1 < len(a.words) && named(a.words[i+1]) {
				names = append(names, state.SetPlace{Name: a.words[i+1], Kind: k})
			} else if s := t.usualPlace(k); s.Name != "" {
				names = append(names, s)
			}
		case named(w) && i > 0 && len(names) > 0 && names[len(names)-1].Name == w:
		case t.idle(w) || t.means(w, "answer.to"):
		default:
			x, n := t.rateAt(a.words[i:])
			if n == 0 || x < leastPulp || x > mostPulp {
				return "", w
			}
			pulps, i = x, i+n-1
		}
	}
	if len(way) == 0 && pulps == 0 {
		return "", a.raw
	}
	for _, s := range names {
		if !goodName(s.Name) || t.taken(s.Name, s.Kind) {
			return "", s.Name
		}
	}
	for _, s := range names {
		t.said(t.msg.At, t.over(s))
	}
	if len(way) > 0 {
		t.put(state.SetRoute, 0, strings.Join(way, " "))
	}
	if len(names) > 0 {
		said = append(said, "("+t.placesText(names)+")")
	}
	if pulps > 0 {
		t.put(state.SetPulp, pulps, "")
		said = append(said, t.settings(state.SetPulp))
	}
	return strings.Join(said, " "), ""
}

// What a mill pulps in an hour, in tonnes, is between these (common practice, no source).
const leastPulp, mostPulp = 0.02, 200

// rateAt reads tonnes in an hour at the front of some words: 2 t/h, 2t/h, 2000 kg per hour, 2 t. The
// second value is how many words it took, 0 for none.
func (t *turn) rateAt(ws []string) (float64, int) {
	first := strings.TrimSuffix(ws[0], "/h")
	words := append([]string{first}, ws[1:]...)
	if len(words) > 1 {
		words[1] = strings.TrimSuffix(words[1], "/h")
	}
	a, n := t.amountAt(words)
	kg, isMass := a.kilos()
	if n == 0 || !isMass || a.unit == "" {
		return 0, 0
	}
	for n < len(ws) && (t.means(ws[n], "answer.per") || t.unitOf(ws[n]) == "h") {
		n++
	}
	return kg / 1000, n
}

// usualPlace is the place of a step that the set-up does not ask for by name; no name when it does
// or when the mill has one.
func (t *turn) usualPlace(k state.Kind) state.SetPlace {
	s := state.SetPlace{Kind: k}
	if placesKnown(k)(t) != "" {
		return s
	}
	s.Name = map[state.Kind]string{state.Intake: "r1", state.Pulper: "pulper", state.Channel: "c1",
		state.Waiting: "w1"}[k]
	return s
}

// usualWay is the way of a mill that does not know: a channel, and nothing said of the order.
func (t *turn) usualWay() string {
	s := t.usualPlace(state.Channel)
	if s.Name == "" {
		return placesKnown(state.Channel)(t)
	}
	t.said(t.msg.At, s)
	return s.Name
}

// storeAir is the place where a store's air is read: the rules know it by "store" in its name.
const storeAir = "store-air"

// takeAir reads where the air's heat and humidity are measured: "yard, store".
func (t *turn) takeAir(a answer) (string, string) {
	var sets []state.SetPlace
	for _, w := range a.words {
		k, isKind := t.kind(w)
		name := w
		switch {
		case t.means(w, "answer.none") && len(a.words) == 1:
			return t.voice.Say(t.lang(), "setup.none"), ""
		case w == storeAir || isKind && (k == state.Store || k == state.Silo):
			name = storeAir
		case isKind && k == state.Air || t.taken(w, "") && !t.taken(w, state.Air):
			if !goodName(w) || t.taken(w, state.Air) {
				name = "yard"
			}
		case t.idle(w):
			continue
		case t.taken(w, state.Air) || !named(w) && t.mill.KindOf(w) != state.Air:
			return "", w
		}
		if is, known := t.mill.Place(name); known && is.Kind != state.Air {
			return "", w
		}
		sets = append(sets, state.SetPlace{Name: name, Kind: state.Air})
	}
	if len(sets) == 0 {
		return "", a.raw
	}
	for _, s := range sets {
		t.said(t.msg.At, s)
	}
	return t.placesText(sets), ""
}

// takeMeasures reads what the mill's measure words weigh: "basin wet 38 kg, debe 13".
func (t *turn) takeMeasures(a answer) (string, string) {
	var sets []state.SetMeasure
	var s state.SetMeasure
	own := false // a word of the mill's own, which needs its kg said
	for i := 0; i < len(a.words); {
		w := a.words[i]
		x, n := t.amountAt(a.words[i:])
		mass, isMass := x.kilos()
		meaning := t.meaning(w)
		switch {
		case n > 0 && (!isMass || s.Word == "" || mass <= 0 || mass > 5000 || own && x.unit == ""):
			return "", w
		case n > 0:
			s.Mass = state.Kg(mass)
			sets, s, own = append(sets, s), state.SetMeasure{}, false
		case i == 0 && len(a.words) == 1 && t.means(w, "answer.none"):
			return t.voice.Say(t.lang(), "setup.none"), ""
		case s.Word != "" && meaning.In == words.Product:
			s.Product = meaning.Name
		case s.Word == "" && meaning.In == words.Measure:
			s.Word = meaning.Name
		case t.idle(w):
		case s.Word == "" && meaning.Name == "" && !strings.ContainsAny(w, "0123456789"):
			s.Word, own = w, true
		default:
			return "", w
		}
		i += max(n, 1)
	}
	if s.Word != "" || len(sets) == 0 {
		return "", a.raw
	}
	for _, s := range sets {
		t.said(t.msg.At, s)
	}
	return t.measuresText(sets), ""
}

// meaning is what a word means as a measure or a product, else its first meaning.
func (t *turn) meaning(word string) words.Meaning {
	for _, name := range [...]string{"wet", "dry"} {
		if t.means(word, "answer."+name) {
			return words.Meaning{In: words.Product, Name: name}
		}
	}
	n, is := t.words.Match([]string{word})
	if n == 0 {
		return words.Meaning{}
	}
	for _, m := range is {
		if m.In == words.Measure || m.In == words.Product {
			return m
		}
	}
	return is[0]
}

// measuresText lists measures: basin wet 38 kg, tin 13 kg.
func (t *turn) measuresText(sets []state.SetMeasure) string {
	var out []string
	for _, s := range sets {
		name := t.shown(words.Measure, s.Word)
		if s.Product != "" {
			name += " " + t.shown(words.Product, s.Product)
		}
		out = append(out, name+" "+plainNumber(s.Mass.Kg(), 2)+" kg")
	}
	return strings.Join(out, ", ")
}

// measuresKnown tells the measures that were told.
func (t *turn) measuresKnown() string {
	var sets []state.SetMeasure
	for k, g := range t.mill.Measures() {
		sets = append(sets, state.SetMeasure{Word: k[0], Product: k[1], Mass: g})
	}
	slices.SortFunc(sets, func(a, b state.SetMeasure) int {
		return strings.Compare(a.Word+" "+a.Product, b.Word+" "+b.Product)
	})
	return t.measuresText(sets)
}

// takeTarget reads the moisture to stop at, the days of rest, who prepares the coffee, and what must
// not be mixed: "10.5 %, rest 30 days, prepared here, certified organic, owners none".
func (t *turn) takeTarget(a answer) (string, string) {
	target, rest, prepares, told := 0.0, -1.0, "", map[string]string{}
	for i := 0; i < len(a.words); {
		w := a.words[i]
		x, n := t.amountAt(a.words[i:])
		if k, is := t.toldAt(a.words[i:], told); is {
			if k == 0 {
				return "", w
			}
			i += k
			continue
		}
		switch {
		case n > 0 && (x.unit == "%" || x.unit == "" && x.x >= 8 && x.x <= 14 && target == 0):
			if x.x < 8 || x.x > 14 {
				return "", w
			}
			target = x.x
		case n > 0 && (x.unit == "day" || x.unit == "" && i > 0 && t.means(a.words[i-1], "answer.rest")):
			rest = x.x
		case t.means(w, "answer.away"):
			prepares, n = "no", 1
		case t.means(w, "answer.here"):
			prepares, n = "yes", 1
		case t.idle(w) || t.means(w, "answer.rest"):
			n = 1
		default:
			return "", w
		}
		i += max(n, 1)
	}
	if target == 0 && rest < 0 && prepares == "" && len(told) == 0 {
		return "", a.raw
	}
	if l := t.watch.Book.Limits["rest_normal"]; rest >= 0 && (rest < l.Low || rest > l.High) {
		return "", strconv.Itoa(int(rest))
	}
	if target > 0 {
		t.put(state.SetTarget, target, "")
	}
	if prepares != "" {
		t.put(state.SetPrepares, 0, prepares)
	}
	t.putTold(told)
	said := t.settings(state.SetTarget, state.SetPrepares, state.SetCertified, state.SetOwners)
	if rest >= 0 {
		said += ", " + t.sign([]string{"rest_normal"}, []float64{rest})
	}
	return strings.TrimPrefix(said, ", "), ""
}

// takeHeat reads the drum air that the mill signs for: wet coffee, then nearly dry: "60 50".
func (t *turn) takeHeat(a answer) (string, string) {
	limits := []string{"drum_air_wet", "drum_air_dry"}
	values, at := []float64{notGiven, notGiven}, 0
	for i := 0; i < len(a.words); {
		w := a.words[i]
		x, n := t.amountAt(a.words[i:])
		switch {
		case n > 0 && (x.unit == "" || x.unit == "C" || x.unit == "F" || x.unit == "degree"):
			if x.unit == "F" {
				x.x = (x.x - 32) / 1.8
			}
			if at > 1 || !t.inLimit(limits[at], x.x) {
				return "", w
			}
			values[at] = x.x
			at++
		case t.means(w, "answer.wet"):
			at, n = 0, 1
		case t.means(w, "answer.dry"):
			at, n = 1, 1
		case t.idle(w, state.Drum):
			n = 1
		default:
			return "", w
		}
		i += max(n, 1)
	}
	if values[0] == notGiven && values[1] == notGiven {
		return "", a.raw
	}
	for i, name := range limits { // dry coffee never has more than wet
		if values[i] == notGiven {
			values[i] = t.watch.Book.Limits[name].Value
		}
	}
	values[1] = min(values[1], values[0])
	return t.sign(limits, values), ""
}

// notGiven stands for a figure that was not given; no drum's air can be it.
const notGiven = -300.0

// inLimit says whether a limit of the book may have a value.
func (t *turn) inLimit(name string, x float64) bool {
	l, ok := t.watch.Book.Limits[name]
	return ok && x >= l.Low && x <= l.High
}

// sign puts other limits in force and tells them. On a mill with coffee in it they are not changed
// this way, since nobody would see first what they ring: then it tells the lines that do.
func (t *turn) sign(names []string, values []float64) string {
	b, lines := t.watch.Book, []string(nil)
	for i, name := range names {
		if l, ok := b.Limits[name]; !ok || l.Value == values[i] {
			continue
		}
		lines = append(lines, "limit "+name+" "+plainNumber(values[i], 2))
		text, err := b.WithLimit(name, values[i])
		if err == nil {
			b, err = rules.Parse(text)
		}
		if err != nil {
			return err.Error()
		}
	}
	if len(lines) > 0 && len(t.mill.Lots()) > 0 {
		return t.voice.Say(t.lang(), "setup.limits-by-line", "lines", strings.Join(lines, " / "))
	}
	if b != t.watch.Book {
		_, version := t.mill.Book()
		t.said(t.msg.At, state.Adopt{Version: version + 1, Text: b.Text, Why: "set-up"})
	}
	return limitNow(names...)(t)
}
