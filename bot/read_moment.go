package bot

import (
	"time"

	"lotbell/state"
)

// From a spoken time to an instant: always the last one past. "A las 2" is the last two o'clock
// before the message, by day or by night; 0510 the nearest past one within twelve hours, or it is
// asked.
//
//	said at 05:00    "a las 2"      02:00 today
//	said at 01:30    "a las 2"      14:00 yesterday, said back
//	said at 06:00    "0510"         05:10 today
//	said at 04:00    "0510"         22 h 50 min ago: asked
//	said at 05:00    "2350 ayer"    23:50 yesterday
//	any time         "tomorrow 6"   not past: the line is asked whether it has happened

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
	if s.dated && s.day == 0 && s.part == "" && m.vague && t.After(now) { // "today": by now
		t = now
	}
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
