package bot

import (
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// Lengths of time, and how long ago something was.
//
//	20 min, 2 h, hora y media, 3 dias     a length
//	hace 20 min, 20 min ago               an instant
//	hace rato, a while ago                an instant, vague: said back
//	apagada 2 horas                       since two hours, vague: has it lasted, or was it so long ago
//
//	hace 20 min, 20 min ago, half an hour ago, faz meia hora, hace 2 horas y media
//	hace 20          minutes, said back
//	en 3 horas       still to come: asked whether it has happened
//	hace rato        no time at all: asked where it matters

// spanRule reads lengths of time: "20 min", "hora y media", "media hora".
func (r *reader) spanRule(before *item, at []item) (item, int) {
	minutes, n := spanMinutes(at)
	if n == 0 {
		return item{}, 0
	}
	f := figure{v: minutes, clock: -1, minus: at[0].fig.minus}
	return item{kind: isSpan, text: textOf(at[:n]), fig: f}, n
}

func spanMinutes(at []item) (minutes float64, used int) {
	unit := map[string]float64{"min": 1, "h": 60, "day": 1440}
	amount, n := 0.0, 0
	switch {
	case at[0].kind == isFigure && !at[0].fig.sure:
		amount, n = at[0].fig.v, 1
	case at[0].says(words.Number, "half"):
		amount, n = 0.5, 1
	case at[0].says(words.Number, "1") || at[0].says(words.Unit, "h"):
		amount = 1
		if at[0].says(words.Number, "1") {
			n = 1
		}
	default:
		return 0, 0
	}
	if n > 0 && n < len(at) && at[n].says(words.Number, "half") { // "half an hour"
		n++
	}
	if n >= len(at) {
		return 0, 0
	}
	name, ok := at[n].of(words.Unit)
	if !ok || unit[name] == 0 {
		return 0, 0
	}
	minutes = amount * unit[name]
	n++
	if name != "h" {
		return minutes, n
	}
	rest := at[n:]
	if len(rest) > 1 && rest[0].says(words.Join, "and") {
		switch {
		case rest[1].says(words.Number, "half"):
			return minutes + 30, n + 2
		case rest[1].kind == isFigure && len(rest) > 2 && rest[2].says(words.Unit, "min"):
			return minutes + rest[1].fig.v, n + 3
		}
	}
	if n == 1 && at[0].kind == isWord { // a bare "hour" is no length
		return 0, 0
	}
	return minutes, n
}

// ahead reads "en 3 horas", "in 3 h", in a line that tells of the floor: an instant still to come.
// Alone it is for how long a call waits.
func (r *reader) ahead(at []item) (item, int) {
	if len(at) < 2 || !at[0].joins("in") || at[1].kind != isSpan || !r.hasPlaces() && !r.verbal ||
		len(at) > 2 && at[2].says(words.Time, "ago") {
		return item{}, 0
	}
	then := r.c.At.Add(time.Duration(at[1].fig.v) * time.Minute)
	return item{kind: isTime, text: textOf(at[:2]), at: moment{at: then, told: true, ahead: true}}, 2
}

// agoRule reads "hace 20 min", "20 min ago", "a while ago".
func (r *reader) agoRule(before *item, at []item) (item, int) {
	if to, n := r.ahead(at); n > 0 {
		return to, n
	}
	n := 0
	for n < len(at) && (at[n].says(words.Time, "ago") || at[n].says(words.Time, "about")) {
		n++
	}
	prefixed := n > 0 && (at[0].says(words.Time, "ago") || n > 1 && at[1].says(words.Time, "ago"))
	if n < len(at) && at[n].says(words.Time, "while") {
		m := moment{told: true, vague: true, ask: true, at: r.c.At}
		n++
		if n < len(at) && at[n].says(words.Time, "ago") {
			n++
		}
		if s := n + 1; s < len(at) && at[n].says(words.Time, "about") && at[s].kind == isSpan {
			m.at, m.ask, n = r.c.At-state.Instant(at[s].fig.v*60000), false, s+1 // "like 20 min"
		}
		return item{kind: isTime, text: textOf(at[:n]), at: m}, n
	}
	if n >= len(at) {
		return item{}, 0
	}
	minutes, suffixed := 0.0, false
	switch {
	case at[n].says(words.Unit, "h") && n+1 < len(at) && at[n+1].says(words.Time, "ago"):
		minutes = 60 // "an hour ago"
	case at[n].kind == isSpan:
		minutes = at[n].fig.v
	case prefixed && at[n].kind == isFigure && at[n].fig.v < 60: // "hace 20": minutes, said back
		minutes = at[n].fig.v
	default:
		return item{}, 0
	}
	vague := at[n].kind == isFigure || n > 1
	n++
	if n < len(at) && at[n].says(words.Time, "ago") {
		suffixed = true
		n++
	}
	if !prefixed && !suffixed {
		return item{}, 0
	}
	back := time.Duration(minutes * float64(time.Minute))
	return item{kind: isTime, text: textOf(at[:n]),
		at: moment{at: r.c.At.Add(-back), told: true, vague: vague}}, n
}
