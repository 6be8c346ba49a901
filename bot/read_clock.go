package bot

import "lotbell/bot/words"

// Clock times as they are said: "a las 5y10", "0510", "yesterday 2350", "quarter to six", "14h",
// "a las 2 de la tarde". What a bare figure of three or four digits means is not decided here: see
// bareClock.
//
// Words of time are data; their order is not fixed: parts of the day, days and the hour may stand
// in any order beside each other. "Mañana" is the morning after a day or an hour, and tomorrow
// alone. A plain English "at" before a whole number is a time only in a line that tells of
// something done: "p2 at 18" is a moisture.

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

// hourAfter reads the hour behind "at", "a las", perhaps with an "about" between.
func (r *reader) hourAfter(s *said, at []item) int {
	if s.hour >= 0 || len(at) < 2 {
		return 0
	}
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
	return 0
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
		if weak(at) && !r.verbal || n == 0 && before.says(words.Quantity, "") {
			return 0 // "p2 at 18", "temp at 18"
		}
		return r.hourAfter(s, at)
	case ok && s.dayWord(name):
		return 1
	case ok && (name == "now"):
		return 0
	case s.hour < 0 && (ok && name == "quarter" || at[0].kind == isFigure && r.verbal ||
		at[0].says(words.Number, "half") && len(at) > 1 && (at[1].says(words.Time, "past") ||
			r.verbal && halfHour(at))) &&
		r.beforeHour(s, at) > 0:
		return r.beforeHour(s, at)
	case at[0].kind == isFigure && s.hour < 0:
		f := at[0].fig
		clock := f.clock >= 0 && (f.sure || s.dated || s.part == "night" && f.ints > 2)
		if clock || s.dated && (s.part != "" || r.verbal) &&
			f.whole() && f.v < 25 && (len(at) == 1 || !at[1].says(words.Measure, "") &&
			!at[1].says(words.Unit, "")) {
			return hourOf(s, at, "")
		}
		if hourAndMinutes(at) && r.verbal {
			return hourOf(s, at, "")
		}
		if (f.whole() || f.digits == 2) && f.v >= 1 && f.v < 13 && len(at) > 1 && (at[1].says(words.Time, "am") ||
			at[1].says(words.Time, "pm")) {
			return hourOf(s, at, "")
		}
	}
	return 0
}

// dayWord takes a word for a day or a part of it.
func (s *said) dayWord(name string) bool {
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

// halfHour reads English "half four" at the end of what is said: 04:30.
func halfHour(at []item) bool {
	return at[0].says(words.Number, "half") && len(at) > 1 && at[1].kind == isFigure && at[1].fig.whole() && at[1].fig.v < 13 &&
		(len(at) == 2 || at[2].kind == isStop)
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
