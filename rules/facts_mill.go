package rules

import (
	"time"

	"lotbell/rules/sun"
	"lotbell/state"
)

// millFacts are counts over the whole mill, never lists.
func millFacts() []*Fact {
	on := []string{OnMill}
	count := func(name string, u Unit, doc string, f func(v *View) float64) *Fact {
		return &Fact{Name: name, On: on, Unit: u, Moves: Count, Doc: doc,
			get: func(v *View) Value { return number(f(v)) }}
	}
	return []*Fact{
		count("held_drums", Plain, "drums with coffee in them",
			func(v *View) float64 { return float64(len(v.staysOf(state.Drum, state.Predryer))) }),
		count("lit_drums", Plain, "drums with coffee whose fire is not out",
			func(v *View) float64 { return float64(v.litDrums()) }),
		count("hot_drums", Plain, "drums with coffee and air last read over 40 C",
			func(v *View) float64 { return float64(v.hotDrums()) }),
		count("held_tanks", Plain, "tanks with coffee in them",
			func(v *View) float64 { return float64(len(v.staysOf(state.Tank))) }),
		count("tanks_due_4h", Plain, "tanks whose likely end is within 4 hours",
			func(v *View) float64 { return float64(v.tanksDue(4 * time.Hour)) }),
		count("waiting_kg", Kilo, "kilograms that wait between two places",
			func(v *View) float64 { return v.heldKg(state.Waiting, state.Channel) }),
		count("tank_room_kg", Kilo, "kilograms that empty tanks can take",
			func(v *View) float64 { return v.tankRoom() }),
		count("open_patios", Plain, "patios with coffee that nobody has said to be covered",
			func(v *View) float64 { return float64(v.openPatios()) }),
		{Name: "fuel_h", On: on, Unit: Hours, Doc: "hours of fuel, as last told",
			get: func(v *View) Value {
				for i := len(v.last) - 1; i >= 0; i-- {
					if r, ok := v.last[i].Body.(state.Reading); ok && r.What == state.FuelH {
						return number(r.Value)
					}
				}
				return unknown()
			}},
	}
}

// postFacts are about a post: the people who work at one kind of place.
func postFacts() []*Fact {
	on := []string{OnPost}
	return []*Fact{
		{Name: "silent_age", On: on, Unit: Span, Moves: Age,
			Doc: "since anybody of the post last wrote; cannot be told before anybody has",
			get: func(v *View) Value { return v.since(v.lastWord()) }},
		{Name: "running", On: on, Unit: Plain, Moves: Count, Doc: "stays going on at the post",
			get: func(v *View) Value {
				return number(float64(len(v.staysOf(state.Kind(v.of.Name)))))
			}},
		{Name: "on_duty", On: on, Unit: Plain, Moves: Count, Doc: "people on shift at the post",
			get: func(v *View) Value {
				n := 0
				for _, p := range v.mill.Persons() {
					if p.At(state.Kind(v.of.Name)) && p.OnDuty(v.at) {
						n++
					}
				}
				return number(float64(n))
			}},
	}
}

// lastWord is when anybody of the post last wrote.
func (v *View) lastWord() state.Instant {
	last := state.Instant(0)
	for _, p := range v.mill.Persons() {
		if p.At(state.Kind(v.of.Name)) {
			last = max(last, v.mill.LastFrom(p.ID))
		}
	}
	return min(last, v.at)
}

// staysOf lists the stays of some kinds that were going on.
func (v *View) staysOf(kinds ...state.Kind) []*state.Stay {
	var out []*state.Stay
	for _, s := range v.mill.OpenStays() {
		for _, k := range kinds {
			if s.Kind == k && s.OpenAt(v.at) {
				out = append(out, s)
			}
		}
	}
	return out
}

func (v *View) over(s *state.Stay) *View {
	return newView(v.mill, v.book, v.know, s.Subject(), v.at)
}

func (v *View) litDrums() (n int) {
	for _, s := range v.staysOf(state.Drum, state.Predryer) {
		if e := v.over(s).noted(state.FireOut, state.FireLit); e == nil ||
			e.Body.(state.Note).What == state.FireLit {
			n++
		}
	}
	return n
}

func (v *View) hotDrums() (n int) {
	for _, s := range v.staysOf(state.Drum, state.Predryer) {
		if v.over(s).lastValue(state.AirC).Num > 40 {
			n++
		}
	}
	return n
}

func (v *View) tanksDue(in time.Duration) (n int) {
	for _, s := range v.staysOf(state.Tank) {
		likely := v.over(s).tank().Likely
		if !likely.IsZero() && likely.Before(v.at.Add(in).Time()) {
			n++
		}
	}
	return n
}

func (v *View) heldKg(kinds ...state.Kind) float64 {
	sum := state.Grams(0)
	for _, s := range v.staysOf(kinds...) {
		sum += s.Mass
	}
	return sum.Kg()
}

func (v *View) tankRoom() float64 {
	room := state.Grams(0)
	for _, p := range v.mill.Places() {
		if p.Kind == state.Tank && len(v.mill.StaysAt(p.Name)) == 0 {
			room += p.Capacity
		}
	}
	return room.Kg()
}

func (v *View) openPatios() (n int) {
	for _, p := range v.mill.Places() {
		if p.Kind != state.Patio || len(v.mill.StaysAt(p.Name)) == 0 {
			continue
		}
		e := v.mill.LastNote(p.Name, v.at, state.Covered, state.Uncovered)
		if e == nil || e.Body.(state.Note).What == state.Uncovered {
			n++
		}
	}
	return n
}

// local is the instant on the mill's clock.
func (v *View) local() time.Time { return v.at.Time().In(v.know.zone(v.mill)) }

func nextHour(v *View) state.Instant {
	t := v.local()
	return state.At(t.Truncate(time.Minute).Add(time.Duration(60-t.Minute()) * time.Minute))
}

func nextMidnight(v *View) state.Instant {
	t := v.local()
	return state.At(time.Date(t.Year(), t.Month(), t.Day()+1, 0, 0, 0, 0, t.Location()))
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
		next, night := p.Next(v.local())
		return !next.IsZero() && !night
	}
	h := v.local().Hour()
	return h < 6 || h >= 18
}

func (v *View) sunset() state.Instant {
	if p, ok := v.site(); ok {
		return state.At(p.On(v.local()).Set)
	}
	return state.At(v.atHour(18))
}

func nextNight(v *View) state.Instant {
	if p, ok := v.site(); ok {
		next, _ := p.Next(v.local())
		return state.At(next)
	}
	for _, h := range []int{6, 18, 30} {
		if x := v.atHour(h); x.After(v.local()) {
			return state.At(x)
		}
	}
	return 0
}
