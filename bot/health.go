package bot

import (
	"strconv"
	"time"

	"lotbell/rules"
)

// healthDays is how far back the health of the calls is counted when nobody says otherwise.
const healthDays = 7

// health tells how the calls served the people, with the standards' targets beside the figures.
func (t *turn) health(words []string) {
	days := healthDays
	if len(words) > 0 {
		if n, err := strconv.Atoi(words[0]); err == nil && n > 0 && n <= 400 {
			days = n
		}
	}
	es, err := t.db.Load()
	if err != nil {
		t.o.Report("health: " + err.Error())
		t.say("book.cannot-rehearse")
		return
	}
	from := t.at.Add(-time.Duration(days) * 24 * time.Hour)
	h := rules.HealthOf(es, t.watch.Book, from, t.at)
	t.say("health.head", "days", days, "n", h.Calls)
	if h.Calls == 0 && len(h.Longest) == 0 {
		return
	}
	t.say("health.split", "one", percentOf(h.Split[1], h.Calls), "two", percentOf(h.Split[2], h.Calls),
		"rest", percentOf(h.Split[3]+h.Split[4], h.Calls), "target", rules.TargetUrgent)
	if h.Alarms > 0 {
		t.say("health.in-time", "share", percentOf(h.InTime, h.Alarms), "alarms", h.Alarms, "target",
			rules.TargetInTime)
	}
	for _, l := range h.Loads[:min(5, len(h.Loads))] {
		t.say("health.load", "name", t.name(l.Person), "rings", l.Rings, "perday",
			plainNumber(float64(l.Rings)/float64(days), 1), "most", l.MostHour, "target",
			rules.TargetHour)
	}
	for _, c := range h.Longest {
		t.say("health.standing", "call", t.callName(c.Rule, t.lang()), "place",
			t.placeOf(c.Of, t.lang()), "time", t.clock(c.Since))
	}
	t.say("health.stale", "stale", h.Stale, "target", rules.TargetStale)
	for _, s := range h.Chattering {
		t.say("health.chatters", "call", t.callName(s.Rule, t.lang()), "place", s.Place, "rings",
			s.Rings)
	}
	for _, s := range h.Top[:min(3, len(h.Top))] {
		t.say("health.top", "call", t.callName(s.Rule, t.lang()), "place", s.Place, "share",
			percentOf(s.Rings, h.Calls))
	}
}

// percentOf is a part of a whole in percent.
func percentOf(part, whole int) int {
	if whole == 0 {
		return 0
	}
	return (100*part + whole/2) / whole
}
