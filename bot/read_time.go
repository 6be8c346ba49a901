package bot

import (
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// moment is a time that was said. Vague is one that was rounded or left open ("a while ago"); ask
// is one that cannot be told; ahead lies in the future.
type moment struct {
	at    state.Instant
	told  bool
	vague bool
	ask   bool
	ahead bool
}

// The hours that parts of a day stand for when no hour is said (common practice, no source).
const (
	dawnHour      = 5
	morningHour   = 8
	noonHour      = 12
	afternoonHour = 16
	nightHour     = 21
)

// clockReach is how long ago a clock time with 24 hours may lie before it is asked about; slack is
// how far ahead a clock that runs fast may be.
const (
	clockReach = 12 * time.Hour
	slack      = 6 * time.Minute
)

// spanRule reads lengths of time: "20 min", "hora y media", "media hora".
func (r *reader) spanRule(before *item, at []item) (item, int) {
	minutes, n := spanMinutes(at)
	if n == 0 {
		return item{}, 0
	}
	return item{kind: isSpan, text: textOf(at[:n]), fig: figure{v: minutes, clock: -1}}, n
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

// agoRule reads "hace 20 min", "20 min ago", "a while ago".
func (r *reader) agoRule(before *item, at []item) (item, int) {
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

// said collects the parts of a spoken time before it is worked out.
type said struct {
	hour, minute       int // hour -1: none
	day                int // days back; -1 tomorrow
	dated              bool
	part               string // "morning", "pm", …
	half               bool   // may be meant on a clock of twelve hours
	sure, about, marks bool
}

// clockRule reads clock times and parts of days: "a las 5y10", "0510", "ayer tarde", "at 2 pm".
func (r *reader) clockRule(before *item, at []item) (item, int) {
	s, n := said{hour: -1}, 0
	if n := forTheNight(at); n > 0 {
		return item{kind: isSkipped}, n
	}
	for n < len(at) {
		used := r.clockWord(&s, before, at[n:], n)
		if used == 0 {
			break
		}
		n += used
	}
	if n == 0 || s.hour < 0 && !s.dated && s.part == "" {
		return item{}, 0
	}
	if s.hour < 0 && s.part == "am" || s.part == "pm" && s.hour < 0 {
		return item{}, 0
	}
	return item{kind: isTime, text: textOf(at[:n]), at: r.moment(s)}, n
}

// forTheNight says how many items "for the night" are, which tell no time; 0 for none.
func forTheNight(at []item) int {
	if !at[0].says(words.Join, "to") {
		return 0
	}
	n := 1
	if n < len(at) && at[n].says(words.Join, "the") {
		n++
	}
	if n < len(at) && at[n].says(words.Time, "night") {
		return n + 1
	}
	return 0
}

// quarterRule reads "quarter to six" before its hour is taken for a place.
func (r *reader) quarterRule(before *item, at []item) (item, int) {
	if !at[0].says(words.Time, "quarter") {
		return item{}, 0
	}
	s := said{hour: -1}
	n := r.beforeHour(&s, at)
	if n == 0 {
		return item{}, 0
	}
	return item{kind: isTime, text: textOf(at[:n]), at: r.moment(s)}, n
}

// clockWord takes one more piece of a spoken time; it gives how many items it used.
func (r *reader) clockWord(s *said, before *item, at []item, n int) int {
	name, ok := at[0].of(words.Time)
	switch {
	case ok && name == "about":
		if len(at) > 1 && (at[1].says(words.Time, "at") || at[1].kind == isFigure && s.marks) {
			s.about = true
			return 1
		}
		return 0
	case ok && name == "at":
		if weak(at) && !r.verbal {
			return 0 // "p2 at 18"
		}
		if s.hour < 0 && len(at) > 1 && (n > 0 || !before.says(words.Quantity, "")) {
			i := 1
			for i < len(at)-1 && at[i].says(words.Time, "about") {
				i++
			}
			s.marks = true
			if used := r.beforeHour(s, at[i:]); used > 0 {
				return i + used
			}
			if used := hourOf(s, at[i:], at[0].text); used > 0 {
				return i + used
			}
			s.marks = false
		}
		return 0
	case ok && s.day0(name):
		return 1
	case ok && (name == "now"):
		return 0
	case s.hour < 0 && (ok && name == "quarter" || at[0].kind == isFigure && r.verbal) &&
		r.beforeHour(s, at) > 0:
		return r.beforeHour(s, at)
	case at[0].kind == isFigure && s.hour < 0:
		f := at[0].fig
		if f.clock >= 0 && (f.sure || s.dated || s.part == "night" && f.ints > 2) || s.dated && (s.part != "" || r.verbal) &&
			f.whole() && f.v < 25 && (len(at) == 1 || !at[1].says(words.Measure, "") &&
			!at[1].says(words.Unit, "")) {
			return hourOf(s, at, "")
		}
		if hourAndMinutes(at) && r.verbal {
			return hourOf(s, at, "")
		}
		if f.whole() && f.v >= 1 && f.v <= 12 && len(at) > 1 && (at[1].says(words.Time, "am") ||
			at[1].says(words.Time, "pm")) {
			return hourOf(s, at, "")
		}
	}
	return 0
}

// day0 takes a word for a day or a part of it.
func (s *said) day0(name string) bool {
	switch name {
	case "yesterday":
		s.day, s.dated = 1, true
	case "today":
		s.dated = true
	case "tomorrow":
		if s.dated || s.hour >= 0 { // "ayer en la mañana", "a las 5 mañana"
			s.part = "morning"
		} else {
			s.day, s.dated = -1, true
		}
	case "morning", "noon", "afternoon", "night", "midnight", "dawn", "am", "pm":
		s.part = name
	default:
		return false
	}
	return true
}

// hourAndMinutes reads "5 y 20" as a time: an hour, and minutes of two digits.
func hourAndMinutes(at []item) bool {
	return len(at) > 2 && at[0].fig.whole() && at[0].fig.v < 13 && len(at[0].fig.raw) < 3 &&
		at[0].fig.raw != "" && at[1].says(words.Join, "and") && at[2].kind == isFigure &&
		at[2].fig.whole() && len(at[2].fig.raw) == 2 && at[2].fig.v < 60 &&
		(len(at) == 3 || at[3].kind != isFigure && !at[3].says(words.Unit, ""))
}

// weak says that a word for "at" may as well stand before a measured figure: a whole number after
// the bare "at".
func weak(at []item) bool {
	return at[0].text == "at" && at[1:] != nil && len(at) > 1 && at[1].kind == isFigure &&
		!at[1].fig.sure && at[1].fig.clock < 0
}

// tellsVerb says that a line tells of something seen, done or wished.
func (r *reader) tellsVerb() bool {
	return r.says(words.Mark, "") || r.says(words.Act, "") || r.says(words.Order, "") ||
		r.says(words.Thing, "") || r.says(words.Time, "pm") || r.says(words.Time, "am")
}

// beforeHour reads a time told by what is missing to the hour or gone by: "quarter to six", "un
// cuarto para las 6", "half five", "ten past five".
func (r *reader) beforeHour(s *said, at []item) int {
	minutes, n := 0, 1
	switch x := &at[0]; {
	case x.says(words.Time, "quarter"):
		minutes = 15
	case x.says(words.Number, "half"):
		minutes = 30
	case x.kind == isFigure && x.fig.whole() && x.fig.v < 60:
		minutes = int(x.fig.v)
	default:
		return 0
	}
	past, to := false, false
	for n < len(at) && n < 4 {
		switch {
		case at[n].says(words.Time, "past"):
			past = true
		case at[n].says(words.Time, "to") || at[n].says(words.Join, "to"):
			to = true
		case at[n].says(words.Time, "at"):
		default:
			goto hour
		}
		n++
	}
hour:
	if n >= len(at) || at[n].kind != isFigure || !at[n].fig.whole() || at[n].fig.v > 12 ||
		at[n].fig.v < 1 || !past && !to && !(minutes == 30 && s.marks) {
		return 0
	}
	s.hour, s.minute, s.half = int(at[n].fig.v), minutes, true
	if to {
		s.hour, s.minute = (s.hour+23)%24, 60-minutes
	}
	return n + 1
}

// hourOf reads an hour with its minutes: "5y10", "2 y media", "5 menos cuarto", "0510".
func hourOf(s *said, at []item, word string) int {
	if at[0].says(words.Time, "noon") {
		s.hour = noonHour
		return 1
	}
	if at[0].kind != isFigure {
		return 0
	}
	f := at[0].fig
	switch {
	case f.clock >= 0 && (f.ints > 2 || f.sure):
		s.hour, s.minute = f.clock/60, f.clock%60
		s.sure = f.sure
		s.half = s.hour < 13 && s.hour > 0 && (f.raw == "" || f.raw[0] != '0')
	case f.digits == 2 && f.v < 24 && int(f.v*100+0.5)%100 < 60: // 5.10
		s.hour, s.minute, s.half = int(f.v), int(f.v*100+0.5)%100, f.v < 13
	case s.marks && f.digits == 1 && f.v < 13 && !strings.ContainsAny(f.raw, ".,") && f.v-float64(int(f.v)) == 0.5: // "3 y media"
		s.hour, s.minute, s.half = int(f.v), 30, true
	case f.whole() && f.v <= 24 && len(f.raw) <= 2:
		if len(word) > 2 && word[:3] == "a l" && word[len(word)-1] == 'a' && f.v != 1 {
			return 0
		}
		s.hour, s.half = int(f.v)%24, f.v < 13
	default:
		return 0
	}
	n := 1
	if n < len(at) && at[n].says(words.Measure, "") || n < len(at) && at[n].kind == isKind {
		s.hour = -1
		return 0
	}
	if n < len(at) && at[n].says(words.Unit, "h") {
		n++
	}
	return n + minutesOf(s, at[n:])
}

// minutesOf reads the minutes after a whole hour.
func minutesOf(s *said, at []item) int {
	if s.minute != 0 || len(at) < 1 {
		return 0
	}
	less := at[0].says(words.Time, "to")
	switch {
	case at[0].says(words.Number, "half"): // "dos media"
		s.minute = 30
		return 1
	case at[0].says(words.Time, "quarter"): // "4 y cuarto"
		s.minute = 15
		return 1
	}
	if len(at) < 2 || !less && !at[0].says(words.Join, "and") {
		return 0
	}
	minutes := 0
	switch x := &at[1]; {
	case x.says(words.Number, "half"):
		minutes = 30
	case x.says(words.Time, "quarter"):
		minutes = 15
	case x.kind == isFigure && x.fig.whole() && x.fig.v < 60:
		minutes = int(x.fig.v)
	default:
		return 0
	}
	if less {
		s.hour, minutes = (s.hour+23)%24, 60-minutes
	}
	s.minute = minutes % 60
	return 2
}

// moment works out a spoken time: the last one past.
func (r *reader) moment(s said) moment {
	m := moment{told: true, vague: s.about}
	if r.c.At == 0 {
		m.ask = true
		return m
	}
	now := r.c.At.Time().In(r.zone)
	if s.hour < 0 {
		s.hour = map[string]int{"dawn": dawnHour, "morning": morningHour, "noon": noonHour,
			"afternoon": afternoonHour, "night": nightHour, "midnight": 0, "": noonHour}[s.part]
		m.vague = m.vague || s.part != "noon" && s.part != "midnight"
		m.ask = s.part == "" && s.day > 0
		s.half = false
	} else {
		s.twelve()
	}
	t := time.Date(now.Year(), now.Month(), now.Day()-s.day, s.hour, s.minute, 0, 0, r.zone)
	switch {
	case s.day < 0:
		m.ahead = true
	case s.day > 0:
		m.vague = m.vague || s.half
	case s.part == "night" && s.hour >= noonHour && t.After(now): // last night
		t = t.AddDate(0, 0, -1)
	default:
		if t.After(now.Add(slack)) {
			t = t.AddDate(0, 0, -1)
		}
		if later := t.Add(12 * time.Hour); s.half && !later.After(now.Add(slack)) {
			t = later
		}
		m.vague = m.vague || s.half && !s.sure
		m.ask = !s.half && now.Sub(t) > clockReach && !s.dated
	}
	if t.After(now) && s.day >= 0 {
		t = now
	}
	m.at = state.At(t)
	return m
}

// twelve brings an hour said on a clock of twelve hours to its part of the day.
func (s *said) twelve() {
	if !s.half || s.part == "" {
		return
	}
	switch s.part {
	case "pm", "afternoon", "noon":
		if s.hour < 12 {
			s.hour += 12
		}
	case "night":
		if s.hour > 5 && s.hour < 12 {
			s.hour += 12
		} else if s.hour == 12 {
			s.hour = 0
		}
	case "am", "morning", "dawn", "midnight":
		s.hour %= 12
	}
	s.half = false
}
