package bot

import (
	"math"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/rules/rest"
	"lotbell/state"
)

// nextRest is how far a lot at rest is, in a few words, with its moisture now where a sample is a
// day old or more.
func (t *turn) nextRest(r rules.Rest, s *state.Stay) string {
	text := t.voice.Say(t.lang(), "next.rested", "of", plainNumber(r.Days, 0))
	if t.at.Time().Before(r.From) {
		text = t.voice.Say(t.lang(), "next.rest", "day", t.restDay(s), "of", plainNumber(r.Days, 0))
	}
	if _, now, _ := r.Drift.At(t.at.Time()); !math.IsNaN(now) &&
		t.at.Time().Sub(r.Drift.Since) >= 24*time.Hour {
		text += " " + t.voice.Say(t.lang(), "next.now", "hum", plainNumber(now, 1))
	}
	return text
}

// restDay counts the days of a stay, the first one as 1.
func (t *turn) restDay(s *state.Stay) int { return int(t.at.Sub(s.From)/(24*time.Hour)) + 1 }

// whyRest tells of a lot at rest: its days, where its moisture goes, whether it is safe, cool and
// even, and what airing it now would do.
func (t *turn) whyRest(place string, r rules.Rest, s *state.Stay) {
	if days := plainNumber(r.Days, 0); t.at.Time().Before(r.From) {
		t.say("why.rest", "place", place, "day", t.restDay(s), "of", days, "time",
			t.clock(state.At(r.From)))
	} else {
		t.say("why.rested", "place", place, "of", days)
	}
	t.whyDrift(place, r.Drift)
	if r.Water.Verdict != rest.CannotTell && !math.IsNaN(r.Water.Activity) {
		key := "why.aw.reckoned"
		if r.Water.Measured {
			key = "why.aw.measured"
		}
		limit := rest.ActivityWarn
		if l, ok := t.watch.Book.Limits["aw_safe"]; ok {
			limit = l.Value
		}
		t.say(key, "aw", plainNumber(r.Water.Activity, 2), "limit", plainNumber(limit, 2))
	}
	if !math.IsNaN(r.Warming.Week) {
		t.say("why.warming", "c", plainNumber(r.Warming.Week, 1))
	}
	if !math.IsNaN(r.Warming.Above) {
		t.say("why.above", "c", plainNumber(r.Warming.Above, 1))
	}
	t.whyEven(r.Even)
	t.whyAiring(r.Airing)
}

func (t *turn) whyDrift(place string, d rest.Drift) {
	if !d.Known {
		t.say("why.airless.silo", "place", place)
		return
	}
	low, now, high := d.At(t.at.Time())
	_, week, _ := d.At(t.at.Add(7 * 24 * time.Hour).Time())
	t.say("why.drift", "hum", plainNumber(now, 1), "low", plainNumber(low, 1), "high",
		plainNumber(high, 1), "emc", plainNumber(d.Equilibrium, 1), "week", plainNumber(week, 1),
		"lots", d.Lots)
}

func (t *turn) whyEven(e rest.Evenness) {
	key := "why.even.few"
	switch {
	case e.Count < 2:
		return
	case e.Verdict == rest.Good:
		key = "why.even"
	case e.Verdict != rest.CannotTell:
		key = "why.uneven"
	}
	t.say(key, "n", e.Count, "points", plainNumber(e.Range, 1))
}

func (t *turn) whyAiring(a rest.Airing) { t.lines = append(t.lines, t.airing(a)) }

// airing is what airing would do now, in a sentence.
func (t *turn) airing(a rest.Airing) string {
	if a.Effect == rest.Unknown {
		return t.voice.Say(t.lang(), "why.airing.unknown", "example", t.airExample())
	}
	return t.voice.Say(t.lang(), "why.airing."+a.Cause.String(), "emc",
		plainNumber(a.Equilibrium, 1))
}

// airExample is a line that tells the air outside, at a place the mill has for it.
func (t *turn) airExample() string {
	for _, p := range t.mill.Places() {
		if p.Kind == state.Air {
			return p.Name + " 22C 60%"
		}
	}
	return "yard 22C 60%"
}

// airingLines says of each place at rest that holds coffee whether airing it helps now.
func (t *turn) airingLines() []string {
	var out []string
	for _, p := range t.mill.Places() {
		if (p.Kind == state.Silo || p.Kind == state.Store) && len(t.mill.StaysAt(p.Name)) > 0 {
			out = append(out, t.airingAt(p.Name)...)
		}
	}
	if out == nil {
		out = []string{t.voice.Say(t.lang(), "airing.none")}
	}
	return out
}

// airingAt says whether airing one place helps now; how it is there, where nothing rests.
func (t *turn) airingAt(place string) []string {
	k := t.mill.KindOf(place)
	if len(t.mill.StaysAt(place)) == 0 || k != state.Silo && k != state.Store {
		return []string{t.statusLine(place)}
	}
	v, _ := t.look(place, t.at)
	return []string{place + ": " + t.airing(v.Rest().Airing)}
}

// placeAside takes the name of a place out of a few words; "" when they name none.
func (t *turn) placeAside(text string) (place, rest string) {
	var left []string
	for _, w := range strings.Fields(text) {
		if _, ok := t.mill.Place(w); ok && place == "" {
			place = w
			continue
		}
		left = append(left, w)
	}
	return place, strings.Join(left, " ")
}
