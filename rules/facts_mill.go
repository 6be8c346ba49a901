package rules

import (
	"time"

	"lotbell/state"
)

// millFacts are counts over the whole mill, never lists.
func millFacts() []*Fact {
	on := []string{OnMill}
	count := func(name, doc string, f func(v *View) int) *Fact {
		return &Fact{Name: name, On: on, Unit: Plain, Doc: doc,
			get: func(v *View) Value { return number(float64(f(v))) }}
	}
	due := count("tanks_due_4h", "tanks whose likely end is within 4 hours or past",
		func(v *View) int { n, _ := v.tanksDue(4 * time.Hour); return n })
	due.Moves = Steps
	due.next = func(v *View) state.Instant { _, next := v.tanksDue(4 * time.Hour); return next }
	open := count("open_patios", "patios with coffee that is not covered",
		func(v *View) int { n, _ := v.openPatios(); return n })
	open.Moves = Steps
	open.next = func(v *View) state.Instant { _, next := v.openPatios(); return next }
	return []*Fact{
		count("held_drums", "drums with coffee in them",
			func(v *View) int { return len(v.drums()) }),
		count("lit_drums", "drums with coffee whose fire is not out", (*View).litDrums),
		count("hot_drums", "drums with coffee and air last read over 40 C", (*View).hotDrums),
		count("held_tanks", "tanks with coffee in them",
			func(v *View) int { return len(v.openAt(state.Tank)) }),
		due,
		{Name: "waiting_kg", On: on, Unit: Kilo, Doc: "kilograms that wait between two places",
			get: func(v *View) Value { return number(v.heldKg(state.Waiting, state.Channel)) }},
		{Name: "tank_room_kg", On: on, Unit: Kilo, Doc: "kilograms that empty tanks can take",
			get: func(v *View) Value { return number(v.tankRoom()) }},
		open,
		{Name: "fuel_h", On: on, Unit: Hours, Doc: "hours of fuel, as last told",
			get: func(v *View) Value {
				if e := v.reading(state.FuelH); e != nil {
					return number(e.Body.(state.Reading).Value)
				}
				return unknown()
			}},
	}
}

// postFacts are about a post: the people who work at one kind of place.
func postFacts() []*Fact {
	on := []string{OnPost}
	return []*Fact{
		{Name: "post", On: []string{OnPost}, Unit: Word, Doc: "which post: tank, patio, drum, silo, …",
			get: func(v *View) Value { return word(v.of.Name) }},
		{Name: "silent_age", On: on, Unit: Span, Moves: Age,
			Doc: "since anybody of the post last wrote; cannot be told before anybody has",
			get: func(v *View) Value { return v.since(v.lastWord()) }},
		{Name: "running", On: on, Unit: Plain, Doc: "stays going on at the post",
			get: func(v *View) Value {
				return number(float64(len(v.openAt(state.Kind(v.of.Name)))))
			}},
		{Name: "on_duty", On: on, Unit: Plain, Moves: Steps, Doc: "people on shift at the post",
			get:  func(v *View) Value { n, _ := v.onDuty(); return number(float64(n)) },
			next: func(v *View) state.Instant { _, next := v.onDuty(); return next }},
	}
}

// lastWord is when anybody of the post last wrote.
func (v *View) lastWord() state.Instant {
	last := state.Instant(0)
	for _, p := range v.know.persons(v.mill) {
		if p.At(state.Kind(v.of.Name)) {
			last = max(last, v.mill.LastFrom(p.ID))
		}
	}
	return min(last, v.at)
}

// onDuty counts the people of the post who are on shift, and says when the first of their shifts
// ends by itself.
func (v *View) onDuty() (n int, next state.Instant) {
	for _, p := range v.know.persons(v.mill) {
		if p.At(state.Kind(v.of.Name)) && p.OnDuty(v.at) {
			n++
			next = sooner(next, p.OnSince.Add(state.DutyEnds))
		}
	}
	return n, next
}

// over is a stay of the mill at the same instant.
func (v *View) over(s *state.Stay) *View {
	return newView(v.mill, v.book, v.know, s.Subject(), v.at)
}

// drums lists the drums and pre-dryers with coffee in them.
func (v *View) drums() []*state.Stay {
	return append(v.openAt(state.Drum), v.openAt(state.Predryer)...)
}

func (v *View) litDrums() (n int) {
	for _, s := range v.drums() {
		if e := v.over(s).noted(state.FireOut, state.FireLit); e == nil ||
			e.Body.(state.Note).What == state.FireLit {
			n++
		}
	}
	return n
}

func (v *View) hotDrums() (n int) {
	for _, s := range v.drums() {
		if v.over(s).lastValue(state.AirC).Num > 40 {
			n++
		}
	}
	return n
}

// tanksDue counts the tanks whose likely end is so near, and says when the next one will be.
func (v *View) tanksDue(in time.Duration) (n int, next state.Instant) {
	for _, s := range v.openAt(state.Tank) {
		likely := state.At(v.over(s).tankAhead().Likely)
		switch due := likely.Add(-in); {
		case likely == 0:
		case due <= v.at:
			n++
		default:
			next = sooner(next, due)
		}
	}
	return n, next
}

func (v *View) heldKg(kinds ...state.Kind) float64 {
	sum := state.Grams(0)
	for _, k := range kinds {
		for _, s := range v.openAt(k) {
			sum += s.MassAt(v.at)
		}
	}
	return sum.Kg()
}

func (v *View) tankRoom() float64 {
	room := state.Grams(0)
	for _, p := range v.mill.Places() {
		if p.Kind == state.Tank && firstAt(v.mill, p.Name, v.at) == nil {
			room += p.Capacity
		}
	}
	return room.Kg()
}

// openPatios counts the patios with coffee that is not covered, and says when the first of the
// covers will count as taken off.
func (v *View) openPatios() (n int, next state.Instant) {
	seen := map[string]bool{}
	for _, s := range v.openAt(state.Patio) {
		if seen[s.Place] {
			continue
		}
		seen[s.Place] = true
		place := state.Subject{Kind: state.OfPlace, Name: s.Place}
		x := newView(v.mill, v.book, v.know, place, v.at)
		if x.covered() {
			next = sooner(next, coverEnds(x))
		} else {
			n++
		}
	}
	return n, next
}
