package bot

import (
	"math"
	"slices"
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/state"
)

// echo says what was understood, a line a place, and what comes next there, so that a mishearing
// is seen at once.
func (t *turn) echo(es []state.Event, fs []Fact, before string) {
	var places []string
	phrases := map[string][]string{}
	for len(es) > 0 {
		p, n := mainPlace(es[0].Body), valuesOfOne(es)
		if !slices.Contains(places, p) {
			places = append(places, p)
		}
		phrases[p] = append(phrases[p], t.phrase(es[:n]...))
		es = es[n:]
	}
	for _, p := range places {
		line := t.placeOf(state.Subject{Name: p}, t.lang()) + ": " + strings.Join(phrases[p], ", ")
		if before != "" {
			line = t.voice.Say(t.lang(), before) + " " + line
		}
		line += "."
		if guess := t.guesses(fs, p); guess != "" {
			line += " " + guess
		}
		if next := t.next(p); next != "" {
			line += " " + next
		}
		t.lines = append(t.lines, line)
	}
}

// mainPlace is the place a body is told about: where coffee went, or what was emptied.
func mainPlace(b state.Body) string {
	m, ok := b.(state.Move)
	if !ok {
		return bodyPlaces(b)[0]
	}
	switch m.Act {
	case state.ActWash, state.ActUnload, state.ActGather, state.ActShip:
		if len(m.Out) > 0 {
			return m.Out[0].Place
		}
	}
	return m.In[0].Place
}

// valuesOfOne counts the first events that are values of one quantity and nothing more, 1 at least.
func valuesOfOne(es []state.Event) int {
	first, ok := es[0].Body.(state.Reading)
	n := 1
	for ; ok && n < len(es); n++ {
		next, _ := es[n].Body.(state.Reading)
		next.Value, next.Digits = first.Value, first.Digits
		if next != first || first.Depth != "" || first.Said != "" || es[n].At != es[0].At {
			break
		}
	}
	return n
}

// phrase is one event in a few words, or several values of one quantity.
func (t *turn) phrase(es ...state.Event) string {
	e, text := es[0], ""
	switch b := e.Body.(type) {
	case state.Reading:
		if b.What == state.Bags && t.hereShared() {
			return t.voice.Say(t.lang(), "count.kept")
		}
		key := "read." + b.What
		if b.What == state.AmbientC && t.mill.KindOf(b.Place) != state.Air {
			key = "read.air_c" // of a store, not of the yard
		}
		var values []string
		for _, e := range es {
			b := e.Body.(state.Reading)
			values = append(values, plainNumber(b.Value, max(int(b.Digits), 1)))
		}
		text = t.voice.Say(t.lang(), key, "value", strings.Join(values, " "))
		if b.Depth != "" {
			text += " " + t.voice.Say(t.lang(), "depth."+b.Depth)
		}
		if b.Said != "" {
			text += " (" + b.Said + ")"
		}
	case state.Tag:
		text = t.tagPhrase(b)
	case state.Note:
		text = t.voice.Say(t.lang(), "mark."+b.What)
	case state.Move:
		text = t.movePhrase(b, e.Seq)
	}
	if t.at.Sub(e.At) > lateAfter {
		text += " " + t.voice.Say(t.lang(), "at", "time", t.clock(e.At))
	}
	return text
}

// lateAfter is how old an event must be for its hour to be said back.
const lateAfter = 90 * time.Second

func (t *turn) movePhrase(b state.Move, seq state.Seq) string {
	var from, parts []string
	for _, p := range b.Out {
		from = append(from, t.placeOf(state.Subject{Name: p.Place}, t.lang()))
	}
	mass := state.Grams(0)
	for _, p := range b.In {
		mass += p.Mass
		if p.Class != "" {
			weight := t.voice.Say(t.lang(), "not-weighed")
			if p.Mass > 0 {
				weight = kg(p.Mass) + " kg"
			}
			parts = append(parts, t.shown(words.Class, p.Class)+": "+weight)
		}
	}
	amount := kg(mass) + " kg"
	if mass == 0 {
		if s, ok := t.mill.SumOf(seq); ok && s.Arrived > 0 {
			amount = "~" + kg(s.Arrived) + " kg"
		} else {
			amount = t.voice.Say(t.lang(), "not-weighed")
		}
	}
	if len(parts) > 0 {
		amount = strings.Join(parts, ", ")
	}
	if b.Said != "" {
		amount += " (" + t.amountWords(b.Said) + ")"
	}
	origin := ""
	if len(from) > 0 && from[0] != state.Outside {
		origin = t.voice.Say(t.lang(), "from", "from", strings.Join(from, " "))
	}
	return t.voice.Say(t.lang(), "act."+b.Act, "kg", amount, "from", origin,
		"to", t.placeOf(state.Subject{Name: b.In[0].Place}, t.lang()))
}

// guesses says what was guessed about a place's facts, so that it can be put right.
func (t *turn) guesses(fs []Fact, place string) string {
	for _, f := range fs {
		if f.Place != place && f.To != place {
			continue
		}
		for _, d := range f.Doubt {
			if key := "guess." + d.What; t.voice.Has("en", key) {
				return t.voice.Say(t.lang(), key, "place",
					t.placeOf(state.Subject{Name: f.Place}, t.lang()), "value",
					plainNumber(f.Value, 2), "unit", t.shown(words.Measure, f.Unit))
			}
		}
	}
	return ""
}

// next says what comes next at a place, in a few words; "" when nothing does.
func (t *turn) next(place string) string {
	stays := t.mill.StaysAt(place)
	if len(stays) == 0 {
		return ""
	}
	s := stays[0]
	v, _ := t.look(place, t.at)
	switch s.Kind {
	case state.Tank:
		return t.nextTank(v.Tank(), s)
	case state.Drum, state.Predryer, state.Patio:
		return t.nextDry(v.Dry(), s)
	case state.Silo, state.Store:
		return t.nextRest(v.Rest(), s)
	}
	return ""
}

func (t *turn) nextTank(f ferment.Forecast, s *state.Stay) string {
	process := s.Tag("process")
	if process != "" && process != "washed" {
		return ""
	}
	total := ""
	if len(s.Loads) > 1 {
		total = t.voice.Say(t.lang(), "next.total", "kg", kg(s.Mass)) + " "
	}
	if !f.Reason.Rough.IsZero() {
		return total + t.voice.Say(t.lang(), "next.rough")
	}
	if f.Early.IsZero() {
		if f.NextTest.IsZero() {
			return total
		}
		return total + t.voice.Say(t.lang(), "next.clock", "test", t.clock(state.At(f.NextTest)))
	}
	return total + t.voice.Say(t.lang(), "next.tank", "early", t.clock(state.At(f.Early)), "late",
		t.clock(state.At(f.Late)), "test", t.clock(state.At(f.NextTest)))
}

func (t *turn) nextDry(f drying.Forecast, s *state.Stay) string {
	if f.Early.IsZero() {
		key := "dry." + string(f.Status)
		if s.Kind == state.Patio && f.Status == drying.FewReadings {
			return ""
		}
		return t.voice.Say(t.lang(), key, "n", f.Reason.Used)
	}
	text := t.voice.Say(t.lang(), "next.dry", "early", t.clock(state.At(f.Early)), "late",
		t.clock(state.At(f.Late)))
	if f.Status != drying.Good {
		text += " " + t.voice.Say(t.lang(), "dry."+string(f.Status), "n", f.Reason.Used)
	}
	if x := f.MoistureAt(t.at.Time()); !math.IsNaN(x) {
		text += " " + t.voice.Say(t.lang(), "next.now", "hum", plainNumber(x, 1))
	}
	return text
}
