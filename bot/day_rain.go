package bot

import (
	"slices"
	"strings"

	"lotbell/state"
)

// rainPatio is a patio that holds coffee, as it fares in the rain.
type rainPatio struct {
	place   string
	covered *state.Event // the note that covers it; nil: open
	wet     *state.Event // the note that it got wet in this rain; nil: none
}

// patiosInRain lists the patios that hold coffee, and since when it rains; 0 when it does not, then
// what got wet is told of the last day.
func (t *turn) patiosInRain() (ps []rainPatio, since state.Instant) {
	since = t.mill.Raining(t.at)
	from := since
	if from == 0 {
		from = t.at.Add(-oneDay)
	}
	for _, p := range t.mill.Places() {
		if p.Kind != state.Patio || len(t.mill.StaysAt(p.Name)) == 0 {
			continue
		}
		x := rainPatio{place: p.Name}
		v, _ := t.look(p.Name, t.at)
		if is, _, _ := v.Read("covered"); is.Is == state.Yes {
			x.covered = t.mill.LastNote(p.Name, t.at, state.Covered)
		}
		if e := t.mill.LastNote(p.Name, t.at, state.Rewetted); e != nil && e.At >= from {
			x.wet = e
		}
		ps = append(ps, x)
	}
	return ps, since
}

// rainLines answers rain?: how many are covered, which are open and which got wet; then who covered
// each, and when. Who left one open is nobody's line.
func (t *turn) rainLines() []string {
	ps, since := t.patiosInRain()
	var open, wet, by []string
	for _, p := range ps {
		if p.covered == nil {
			open = append(open, p.place)
		} else {
			by = append(by, t.voice.Say(t.lang(), "rain.covered", "place", p.place, "name",
				t.name(p.covered.By), "time", t.clock(p.covered.At)))
		}
		if p.wet != nil {
			wet = append(wet, p.place)
		}
	}
	first := t.voice.Say(t.lang(), "rain.dry")
	if since != 0 {
		first = t.voice.Say(t.lang(), "rain.since", "time", t.clock(since))
	}
	if len(ps) == 0 {
		return []string{first + " " + t.voice.Say(t.lang(), "rain.nothing")}
	}
	first += " " + t.voice.Say(t.lang(), "rain.count", "covered", len(by), "all", len(ps))
	if len(open) > 0 {
		first += " " + t.voice.Say(t.lang(), "rain.open", "names", strings.Join(open, " "))
	}
	if len(wet) > 0 {
		first += " " + t.voice.Say(t.lang(), "rain.wet", "names", strings.Join(wet, " "))
	}
	return append([]string{first}, by...)
}

// brokenLines answers broken?: every machine that stands, with what lies in it.
func (t *turn) brokenLines() []string {
	var out []string
	for _, p := range t.mill.Places() {
		e := t.mill.LastNote(p.Name, t.at, state.Stopped, state.Running)
		if e == nil || e.Body.(state.Note).What == state.Running {
			continue
		}
		out = append(out, t.voice.Say(t.lang(), "broken.since", "place", p.Name, "time",
			t.clock(e.At)))
		out = append(out, t.standLines(p.Name)...)
	}
	if len(out) == 0 {
		out = append(out, t.voice.Say(t.lang(), "broken.none"))
	}
	return out
}

// standLines tells what it means that a machine stands: the coffee in it, where there is room for
// it, and what waits behind it.
func (t *turn) standLines(place string) []string {
	kind := t.mill.KindOf(place)
	var out []string
	switch kind {
	case state.Drum, state.Predryer:
	case state.Pulper:
		return append(t.waitingLines(), t.pulperStands()...)
	default:
		return t.waitingLines()
	}
	if len(t.mill.StaysAt(place)) > 0 {
		out = append(out, t.statusLine(place))
	}
	var free []string
	for _, p := range t.mill.Places() {
		stands := t.mill.LastNote(p.Name, t.at, state.Stopped, state.Running)
		if p.Kind == kind && p.Name != place && len(t.mill.StaysAt(p.Name)) == 0 &&
			(stands == nil || stands.Body.(state.Note).What == state.Running) {
			free = append(free, p.Name)
		}
	}
	if len(free) == 0 {
		return append(out, t.voice.Say(t.lang(), "room.none", "kind", t.kindName(kind)))
	}
	return append(out, t.voice.Say(t.lang(), "room.free", "kind", t.kindName(kind), "names",
		strings.Join(free, " ")))
}

// unansweredLines answers unanswered?: the calls that nobody has taken, with who was rung.
func (t *turn) unansweredLines() []string {
	var out []string
	for _, c := range t.readable(t.mill.Calls()) {
		if c.State != state.Unacknowledged {
			continue
		}
		out = append(out, t.numbered(c, t.lang())+"\n  "+t.voice.Say(t.lang(), "unanswered.told",
			"time", t.clock(c.Rang), "names", t.names(c.Told)))
	}
	if len(out) == 0 {
		out = append(out, t.voice.Say(t.lang(), "unanswered.none"))
	}
	return out
}

// knock sends the watchman to the doors of those who do not answer: at night, when an urgent call
// rings on after the end of its ladder, unless the ladder has rung him itself.
func (t *turn) knock(c *state.Call, s state.CallStep) {
	rule := t.watch.Book.Rule(c.Rule)
	v, _ := t.look(state.Whole, t.at)
	night, _, _ := v.Read("night")
	if s.What != state.Again || rule == nil || c.Priority > 2 || night.Is != state.Yes ||
		t.at.Sub(c.Rang) <= rule.Ladder[len(rule.Ladder)-1].After {
		return
	}
	for _, id := range t.whom(string(state.Watch), c.Of) {
		asleep := slices.DeleteFunc(slices.Clone(c.Told), func(p state.PersonID) bool {
			return p == id || t.mill.Person(p).AwayAt(t.at)
		})
		if slices.Contains(s.To, id) || len(asleep) == 0 {
			continue
		}
		lang := t.langOf(id)
		t.tell(id, outRow(c.Priority, c.ID), Outgoing{Text: t.voice.Say(lang, "unanswered.knock",
			"call", t.placeOf(c.Of, lang)+" "+t.callName(c.Rule, lang), "names", t.names(asleep)) + "\n" +
			t.numbered(c, lang)})
	}
}
