package rules

import (
	"time"

	"lotbell/rules/sun"
	"lotbell/state"
)

// local is the instant on the mill's clock.
func (v *View) local() time.Time { return v.at.Time().In(v.know.zone(v.mill)) }

func nextHour(v *View) state.Instant {
	t := v.local()
	return state.At(t.Truncate(time.Minute).Add(time.Duration(60-t.Minute()) * time.Minute))
}

// nextMidnight is when the next day begins by the mill's clock: not at midnight where the clock
// is set at midnight.
func nextMidnight(v *View) state.Instant {
	t := v.local()
	next := time.Date(t.Year(), t.Month(), t.Day()+1, 0, 0, 0, 0, t.Location())
	for next.Day() == t.Day() {
		next = next.Add(15 * time.Minute)
	}
	for x := next.Add(-15 * time.Minute); x.After(t) && x.Day() != t.Day(); {
		next, x = x, x.Add(-15*time.Minute)
	}
	return state.At(next)
}

// site is the mill's position; false until it was told.
func (v *View) site() (sun.Place, bool) {
	lat, ok1 := v.mill.Setting(state.SetLat)
	lon, ok2 := v.mill.Setting(state.SetLon)
	p := sun.Place{Latitude: lat.Number, Longitude: lon.Number}
	return p, ok1 && ok2 && p.Valid()
}

// atHour is an hour of the view's day on the mill's clock.
func (v *View) atHour(h int) time.Time {
	t := v.local()
	return time.Date(t.Year(), t.Month(), t.Day(), h, 0, 0, 0, t.Location())
}

func (v *View) isNight() bool {
	if p, ok := v.site(); ok {
		change, night := v.know.change(p, v.local())
		return !change.IsZero() && !night
	}
	h := v.local().Hour()
	return h < 6 || h >= 18
}

func (v *View) sunset() state.Instant {
	if p, ok := v.site(); ok {
		return state.At(v.know.day(p, v.local()).Set)
	}
	return state.At(v.atHour(18))
}

func nextNight(v *View) state.Instant {
	if p, ok := v.site(); ok {
		change, _ := v.know.change(p, v.local())
		return state.At(change)
	}
	for _, h := range []int{6, 18} {
		if x := v.atHour(h); x.After(v.local()) {
			return state.At(x)
		}
	}
	return state.At(v.atHour(30))
}

// rainHolds is how long rain counts that nobody has said to be over: a forgotten word must not
// keep the next rain from ringing (common practice, no source).
const rainHolds = 4 * time.Hour

// rain is when rain was last told; 0 when it was said to be over since, or never told.
func (v *View) rain() state.Instant {
	e := v.mill.LastNote(state.Whole, v.at, state.RainStart, state.RainOver)
	if e == nil || e.Body.(state.Note).What == state.RainOver {
		return 0
	}
	return e.At
}

// rainEnds is until when the last word of rain counts; 0 when it does not rain.
func rainEnds(v *View) state.Instant {
	if at := v.rain(); at != 0 && v.at < at.Add(rainHolds) {
		return at.Add(rainHolds)
	}
	return 0
}

// cover is when the coffee was last covered and until when that holds: a cover that nobody has
// said to be taken off counts until seven the next morning, as the forecast of a patio has it. 0
// when nobody covered it, or it was uncovered or turned since.
func (v *View) cover() (from, until state.Instant) {
	e := v.noted(state.Covered, state.Uncovered, state.Turned)
	if e == nil || e.Body.(state.Note).What != state.Covered {
		return 0, 0
	}
	on := e.At.Time().In(v.know.zone(v.mill))
	off := time.Date(on.Year(), on.Month(), on.Day(), 7, 0, 0, 0, on.Location())
	if !off.After(on) {
		off = off.AddDate(0, 0, 1)
	}
	return e.At, state.At(off)
}

// covered says whether the coffee is covered at the view's instant.
func (v *View) covered() bool {
	_, until := v.cover()
	return v.at < until
}

// coverEnds is when the cover will count as taken off; 0 when it is not on.
func coverEnds(v *View) state.Instant {
	if _, until := v.cover(); v.at < until {
		return until
	}
	return 0
}
