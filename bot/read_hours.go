package bot

import (
	"strings"

	"lotbell/bot/words"
)

// The hour and the minutes of a spoken time.
//
//	0510, 5:10, 5y10, 05h10     05:10
//	5.10                        05:10 beside a word of time, else a reading
//	5 y media, half past 5      05:30
//	a las 5 menos cuarto        04:45
//	quarter to 6                05:45
//	a las 3                     03:00 or 15:00: the last one past, see read_moment.go
//
// An hour below 13 without a nought before it is of a clock of twelve hours. "a la 3" is no hour
// but a place: only "a la 1" is one.

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
		at[n].fig.v < 1 || !past && !to && !(minutes == 30 && (s.marks || halfHour(at))) {
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
	case s.marks && f.digits == 1 && f.v < 13 && !strings.ContainsAny(f.raw, ".,") &&
		f.v-float64(int(f.v)) == 0.5: // "3 y media"
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
	less := at[0].says(words.Time, "less")
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
