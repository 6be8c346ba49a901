package bot

import (
	"strconv"
	"strings"

	"lotbell/state"
)

// Facts about the site that are kept as they were said: a generator, the hours with water, a permit,
// what is certified, whose coffee there is.

// toldNames are their names, in the order in which they are kept.
func toldNames() []string {
	return []string{state.SetGenerator, state.SetWater, state.SetPermit, state.SetCertified,
		state.SetOwners}
}

// toldAt reads one of them at the front of some words, and says whether its word stands there; it took
// none of them when what should follow does not.
func (t *turn) toldAt(ws []string, told map[string]string) (took int, is bool) {
	name, text, n := "", "", 0
	switch w := ws[0]; {
	case t.means(w, "answer.generator"):
		told[state.SetGenerator] = "yes"
		return 1, true
	case t.means(w, "answer.without") && len(ws) > 1 && t.means(ws[1], "answer.generator"):
		told[state.SetGenerator] = "no"
		return 2, true
	case t.means(w, "answer.water"):
		name = state.SetWater
		text, n = t.hoursAt(ws[1:])
	case t.means(w, "answer.permit"):
		name = state.SetPermit
		text, n = textAt(ws[1:])
	case t.means(w, "answer.certified"):
		name = state.SetCertified
		text, n = t.namesAt(ws[1:])
	case t.means(w, "answer.owners"):
		name = state.SetOwners
		text, n = t.namesAt(ws[1:])
	default:
		return 0, false
	}
	if n == 0 {
		return 0, true
	}
	told[name] = text
	return n + 1, true
}

// putTold states them.
func (t *turn) putTold(told map[string]string) {
	for _, name := range toldNames() {
		if text := told[name]; text != "" {
			t.put(name, 0, text)
		}
	}
}

// toldLine reads one of them as a line of a mill's file has it: what is kept, "" when it cannot be,
// and then a line that works.
func (t *turn) toldLine(name string, ws []string) (text, example string) {
	text = strings.ToLower(strings.Join(ws, " "))
	ws = strings.Fields(text)
	n := 0
	switch name {
	case state.SetGenerator:
		if text == "yes" || text == "no" {
			return text, ""
		}
		return "", "set generator yes"
	case state.SetWater:
		if text, n = t.hoursAt(ws); n == len(ws) && text != "" {
			return text, ""
		}
		return "", "set water_hours 6-18"
	case state.SetPermit:
		if _, n = textAt(ws); n == len(ws) {
			return text, ""
		}
		return "", "set permit ph 6-9"
	}
	if names, n := t.namesAt(ws); n > 0 && names == text {
		return text, ""
	}
	return "", "set certified organic"
}

// textAt is what stands up to a comma, as it was said; "" when it is nothing or more than a line.
func textAt(ws []string) (text string, took int) {
	for took < len(ws) && ws[took] != "," {
		took++
	}
	if text = strings.Join(ws[:took], " "); len(text) > 60 {
		return "", 0
	}
	return text, took
}

// hoursAt reads hours of the clock at the front of some words: 6-18, 6 to 18, or always.
func (t *turn) hoursAt(ws []string) (hours string, took int) {
	for took < len(ws) && t.idle(ws[took]) && ws[took] != "," {
		took++
	}
	if took == len(ws) {
		return "", 0
	}
	if t.means(ws[took], "answer.always") {
		return "0-24", took + 1
	}
	from, to, ok := strings.Cut(ws[took], "-")
	if took++; !ok && took+1 < len(ws) && t.means(ws[took], "answer.to") {
		to, took = ws[took+1], took+2
	}
	a, err := strconv.Atoi(from)
	b, err2 := strconv.Atoi(strings.TrimSuffix(to, "h"))
	if err != nil || err2 != nil || a < 0 || a > 24 || b < 0 || b > 24 || a == b {
		return "", 0
	}
	return strconv.Itoa(a) + "-" + strconv.Itoa(b), took
}

// namesAt reads the names at the front of some words, up to a comma, as one text; "none" for none.
func (t *turn) namesAt(ws []string) (names string, took int) {
	var out []string
	for took < len(ws) && ws[took] != "," && len(out) < 12 {
		switch w := ws[took]; {
		case t.means(w, "answer.none"):
			out = append(out, "none")
		case t.idle(w):
		case len(w) > longestName:
			return "", 0
		default:
			out = append(out, w)
		}
		took++
	}
	if len(out) == 0 {
		return "", 0
	}
	return strings.Join(out, " "), took
}
