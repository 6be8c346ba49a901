package bot

import (
	"slices"
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// answer is the line that answers a question of the set-up: as typed, and its words. A comma
// between two digits belongs to a figure, any other is a word "," of its own, as is a new line.
type answer struct {
	raw   string
	words []string
}

// answerOf parts a line into words, small and without accents.
func (t *turn) answerOf(raw string) answer {
	text := []rune(words.FoldText(raw))
	var b strings.Builder
	digit := func(i int) bool {
		return i >= 0 && i < len(text) && text[i] >= '0' && text[i] <= '9'
	}
	for i, c := range text {
		switch {
		case c == ',' && digit(i-1) && digit(i+1):
			b.WriteRune(c)
		case c == ',' || c == ';' || c == '\n':
			b.WriteString(" , ")
		case c == '(' || c == ')' || c == ':' && !digit(i+1):
			b.WriteByte(' ')
		default:
			b.WriteRune(c)
		}
	}
	return answer{raw: strings.TrimSpace(raw), words: strings.Fields(b.String())}
}

// parts lists the answer's stretches between commas, without the empty ones.
func (a answer) parts() [][]string {
	var out [][]string
	from := 0
	for i := 0; i <= len(a.words); i++ {
		if i == len(a.words) || a.words[i] == "," {
			if i > from {
				out = append(out, a.words[from:i])
			}
			from = i + 1
		}
	}
	return out
}

// means says whether a text is one of the words listed under a key, in any language.
func (d *Desk) means(text, key string) bool { return slices.Contains(d.listed(key), text) }

// listed are the words under a key, of every language, small and without accents. They are put in
// order once.
func (d *Desk) listed(key string) []string {
	all, known := d.lists[key]
	if known {
		return all
	}
	for _, lang := range d.voice.Langs() {
		for _, w := range strings.Split(d.voice.Say(lang, key), ",") {
			all = append(all, strings.TrimSpace(words.FoldText(w)))
		}
	}
	d.lists[key] = all
	return all
}

// idle says whether a word adds nothing to an answer: and, each, of, the word for the thing that
// is asked about.
func (d *Desk) idle(word string, kinds ...state.Kind) bool {
	if word == "," || d.means(word, "answer.idle") {
		return true
	}
	k, ok := d.kind(word)
	return ok && slices.Contains(kinds, k)
}

// figureOf reads a figure. A mark before exactly three digits parts thousands, any other decimals:
// 6.000 and 6,000 are six thousand, 18,5 and 18.5 eighteen and a half.
func figureOf(text string) (float64, bool) {
	i := strings.LastIndexAny(text, ".,")
	if i > 0 && len(text)-i == 4 && text[0] != '0' && i <= 3 {
		text = text[:i] + text[i+1:]
	}
	text = strings.Replace(text, ",", ".", 1)
	if text == "" || strings.Trim(text, "0123456789.-") != "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil
}

// amount is a figure with its unit, "" when none stands beside it.
type amount struct {
	x    float64
	unit string
}

// amountAt reads a figure and its unit at the front of some words, joined (6000kg, 120m2) or apart,
// and how many words it took; 0 for none. Units are words of the floor: kg, t, lb, m, h, min, day.
func (t *turn) amountAt(ws []string) (a amount, took int) {
	digits := strings.IndexFunc(ws[0], func(r rune) bool {
		return (r < '0' || r > '9') && r != '.' && r != ',' && r != '-'
	})
	if digits < 0 {
		x, ok := figureOf(ws[0])
		if !ok {
			return a, 0
		}
		if len(ws) > 1 {
			if u := t.unitOf(ws[1]); u != "" {
				return amount{x, u}, 2
			}
		}
		return amount{x, ""}, 1
	}
	x, ok := figureOf(ws[0][:digits])
	u := t.unitOf(ws[0][digits:])
	if !ok || u == "" {
		return a, 0
	}
	return amount{x, u}, 1
}

// unitOf is the program's word for a unit: "" for none. Metres of height and square metres are
// the set-up's own.
func (t *turn) unitOf(word string) string {
	switch word {
	case "m2", "mt2", "mts2":
		return "m2"
	case "m", "msnm", "masl", "metros", "metres", "meters", "mts":
		return "m"
	case "ft", "feet", "pies":
		return "ft"
	}
	n, is := t.words.Match([]string{word})
	for _, m := range is {
		if n == 1 && m.In == words.Unit {
			return m.Name
		}
	}
	return ""
}

// lbKg is the avoirdupois pound in kilograms, exact (international yard and pound agreement, 1959).
const lbKg = 0.45359237

// kilos is an amount in kilograms; false for one in another unit.
func (a amount) kilos() (float64, bool) {
	switch a.unit {
	case "kg", "":
		return a.x, true
	case "t":
		return 1000 * a.x, true
	case "lb":
		return lbKg * a.x, true
	}
	return 0, false
}
