package bot

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"lotbell/state"
)

// wayLines is how many stays of a lot's way are told, the last ones.
const wayLines = 10

// lotBook tells a lot from fruit to shipment: what it is, where it lies, its way from place to
// place with that of its forebears, and what became of it. What was lost without a reason is the
// manager's alone.
func (t *turn) lotBook(f Fact) {
	id := t.lotAsked(f)
	l := t.mill.Lot(id)
	if l == nil {
		t.say("lot.none", "about", lotWords(f))
		return
	}
	line := t.voice.Say(t.lang(), "lot.born", "lot", int(id), "time", t.clock(l.Born))
	if at := t.standsAt(id); at != "" {
		line += " " + at
	}
	t.lines = append(t.lines, line)
	if tags := t.lotTags(l); tags != "" {
		t.lines = append(t.lines, tags)
	}
	t.lines = append(t.lines, t.labTold(l)...)
	for _, p := range l.Parents {
		t.say("lot.from", "lot", int(p.Lot), "kg", t.massOf(p.Mass))
	}
	way := t.way(l)
	if n := len(way) - wayLines; n > 0 {
		t.say("lot.earlier", "n", n)
		way = way[n:]
	}
	for _, s := range way {
		t.lines = append(t.lines, t.stayed(s))
	}
	var into []string
	for _, child := range t.mill.Lots() {
		if slices.ContainsFunc(child.Parents, func(p state.Share) bool { return p.Lot == id }) {
			into = append(into, plainNumber(float64(child.ID), 0))
		}
	}
	if len(into) > 0 {
		t.say("lot.into", "lots", strings.Join(into, " "))
	}
	if others := t.lotsBeside(id, f); others != "" {
		t.say("lot.also", "lots", others)
	}
}

// lotsBeside are the other lots at a place that was asked about.
func (t *turn) lotsBeside(id state.LotID, f Fact) string {
	var out []string
	for _, s := range t.mill.StaysAt(f.Place) {
		if f.Lot == 0 && s.ID.Lot != id {
			out = append(out, plainNumber(float64(s.ID.Lot), 0))
		}
	}
	return strings.Join(out, " ")
}

// standsAt tells where a lot lies now and how much of it; "" where it is no more.
func (t *turn) standsAt(id state.LotID) string {
	var parts []string
	for _, s := range t.mill.OpenStays() {
		if s.ID.Lot == id {
			parts = append(parts, t.massOf(s.Mass)+" "+t.voice.Say(t.lang(), "lot.at", "place",
				t.placeOf(state.Subject{Name: s.Place}, t.lang())))
		}
	}
	if len(parts) == 0 {
		for _, s := range slices.Concat(t.mill.Closed(state.Silo), t.mill.Closed(state.Store)) {
			if s.ID.Lot == id && s.Left == state.ActShip {
				return t.voice.Say(t.lang(), "lot.shipped", "time", t.clock(s.To))
			}
		}
		return t.voice.Say(t.lang(), "lot.gone")
	}
	return t.voice.Say(t.lang(), "lot.now", "what", strings.Join(parts, ", "))
}

// lotTags tells what has been said of a lot.
func (t *turn) lotTags(l *state.Lot) string {
	var parts []string
	for name, value := range l.Tags {
		if value != "" && !slices.Contains(labSums, name) {
			parts = append(parts, t.tagPhrase(state.Tag{Lot: l.ID, Name: name, Value: value}))
		}
	}
	slices.Sort(parts)
	return strings.Join(parts, ", ")
}

// way lists the stays of a lot and of its forebears, in the order of time. A forebear's stays
// count as long as they began before the lot did.
func (t *turn) way(l *state.Lot) []*state.Stay {
	family := map[state.LotID]bool{}
	var add func(id state.LotID)
	add = func(id state.LotID) {
		if x := t.mill.Lot(id); x != nil && !family[id] {
			family[id] = true
			for _, p := range x.Parents {
				add(p.Lot)
			}
		}
	}
	add(l.ID)
	var out []*state.Stay
	for _, s := range t.allStays() {
		own := s.ID.Lot == l.ID || family[s.ID.Lot] && s.To != 0 && s.To <= t.began(l)
		if own && !passing(s) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b *state.Stay) int { return int(a.From - b.From) })
	return out
}

// passing says that coffee was on the floor for as long as it takes to say where it went.
func passing(s *state.Stay) bool {
	return s.Place == state.Floor && s.To != 0 && s.To.Sub(s.From) < time.Minute
}

// began is when a lot first came to a place under its own number.
func (t *turn) began(l *state.Lot) state.Instant {
	first := state.Instant(0)
	for _, s := range t.allStays() {
		if s.ID.Lot == l.ID && (first == 0 || s.From < first) {
			first = s.From
		}
	}
	return first
}

// allStays lists every stay of the mill, those that are over first.
func (t *turn) allStays() []*state.Stay {
	var out []*state.Stay
	for _, k := range append(state.Kinds(), "") {
		out = append(out, t.mill.Closed(k)...)
	}
	return append(out, t.mill.OpenStays()...)
}

// stayed is one stay of a lot's way: where, from when to when, how much, how wet.
func (t *turn) stayed(s *state.Stay) string {
	place := t.placeOf(state.Subject{Name: s.Place}, t.lang())
	key, until, of := "lot.stay", t.clock(s.To), s.To.Sub(s.From)
	if s.To == 0 {
		key, of = "lot.stays", t.at.Sub(s.From)
	}
	text := t.voice.Say(t.lang(), key, "place", place, "from", t.clock(s.From), "to", until,
		"span", spanWords(of), "kg", t.massOf(s.Mass))
	first, last := t.moistureOf(s)
	switch {
	case first != "" && last != "" && first != last:
		text += ", " + first + " - " + last + " %"
	case last != "":
		text += ", " + last + " %"
	}
	if lost := t.lostBefore(s); lost != "" {
		text += ", " + lost
	}
	return text
}

// lostBefore is what went without a reason on the way to a stay, for a manager in private: on its
// own move, and on the one before where the coffee only passed over the floor.
func (t *turn) lostBefore(s *state.Stay) string {
	if !t.person.Is(state.Manager) || t.hereShared() {
		return ""
	}
	left := 1.0
	for _, x := range append(t.passedBefore(s), s) {
		left *= 1 - t.lossBefore(x)/100
	}
	if lost := 100 * (1 - left); math.Abs(lost) >= 0.05 {
		return t.voice.Say(t.lang(), "lot.loss", "pct", plainNumber(lost, 1))
	}
	return ""
}

// passedBefore is the stay on the floor from which a stay's coffee came at once; none mostly.
func (t *turn) passedBefore(s *state.Stay) []*state.Stay {
	for _, w := range t.mill.Closed(state.Waiting) {
		if w.ID.Lot == s.ID.Lot && s.Place != state.Floor && w.To == s.From && passing(w) {
			return []*state.Stay{w}
		}
	}
	return nil
}

// lossBefore is how many per cent went without a reason on the way to a stay; 0 where it is not
// known.
func (t *turn) lossBefore(s *state.Stay) float64 {
	v := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
	x, _, _ := v.Read("loss_pct")
	if math.IsNaN(x.Num) {
		return 0
	}
	return x.Num
}

// lossDays is how many days back losses? looks: a week.
const lossDays = 7

// lossLines answers losses?, to a manager on a phone of their own: what went without a reason in
// the last days, by lot, the largest first.
func (t *turn) lossLines() []string {
	if !t.person.Is(state.Manager) || t.hereShared() {
		return []string{t.voice.Say(t.lang(), "season.private")}
	}
	type loss struct {
		pct  float64
		stay *state.Stay
	}
	var all []loss
	for _, s := range t.allStays() {
		if t.at.Sub(s.From) > lossDays*24*time.Hour {
			continue
		}
		if x := t.lossBefore(s); x >= 0.05 {
			all = append(all, loss{x, s})
		}
	}
	slices.SortStableFunc(all, func(a, b loss) int { return cmp.Compare(b.pct, a.pct) })
	if len(all) == 0 {
		return []string{t.voice.Say(t.lang(), "losses.none", "days", lossDays)}
	}
	out := []string{t.voice.Say(t.lang(), "losses.head", "days", lossDays)}
	for _, x := range all[:min(len(all), wayLines)] {
		key, place := "losses.lot", x.stay.Place
		if place == state.Floor { // not yet anywhere, or on the way for a moment
			key, place = "losses.out", x.stay.Came
		}
		out = append(out, t.voice.Say(t.lang(), key, "lot", int(x.stay.ID.Lot), "place",
			t.placeOf(state.Subject{Name: place}, t.lang()), "time", t.clock(x.stay.From),
			"pct", plainNumber(x.pct, 1), "kg", t.massOf(x.stay.Mass)))
	}
	return out
}

// moistureOf is the first and the last moisture known of a stay, "" where none is.
func (t *turn) moistureOf(s *state.Stay) (first, last string) {
	end := s.To
	if end == 0 {
		end = t.at
	}
	if s.Moist > 0 {
		first = plainNumber(s.Moist, 1)
		last = first
	}
	for _, e := range t.mill.During(s, end) {
		b, ok := e.Body.(state.Reading)
		if !ok || b.What != state.Moisture || !e.Concerns(s) {
			continue
		}
		last = plainNumber(b.Value, 1)
		if first == "" {
			first = last
		}
	}
	return first, last
}

// massOf is a mass in kilograms, or the words for one that nobody weighed.
func (t *turn) massOf(g state.Grams) string {
	if g <= 0 {
		return t.voice.Say(t.lang(), "not-weighed")
	}
	return kg(g) + " kg"
}

// lotAsked is the lot that a question is about: by its number, or what lies at a place.
func (t *turn) lotAsked(f Fact) state.LotID {
	if stays := t.mill.StaysAt(f.Place); f.Lot == 0 && len(stays) > 0 {
		return stays[0].ID.Lot
	}
	return f.Lot
}
