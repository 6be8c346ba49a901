package rules

import (
	"cmp"
	"slices"
	"time"

	"lotbell/state"
)

// Load is how many times somebody was, or would have been, rung.
type Load struct {
	Person    state.PersonID
	Rings     int
	MostHour  int // in the busiest hour of the clock
	MostShift int // in the busiest shift
}

// Loads counts the rings of each person from an instant on, the busiest first. The guidance of
// the alarm standards for one operator is about one in ten minutes (EEMUA 191, ISA-18.2, from
// secondary texts); a person with a phone and wet hands should get much less.
func Loads(es []state.Event, from state.Instant, shifts Shifts) []Load {
	rings := map[state.PersonID]int{}
	hours, of := map[state.PersonID]map[int64]int{}, map[state.PersonID]map[state.Instant]int{}
	for _, e := range es {
		s, ok := e.Body.(state.CallStep)
		if !ok || e.At < from || s.What != state.Rang && s.What != state.Again {
			continue
		}
		for _, id := range s.To {
			if hours[id] == nil {
				hours[id], of[id] = map[int64]int{}, map[state.Instant]int{}
			}
			rings[id]++
			hours[id][int64(e.At)/int64(time.Hour/time.Millisecond)]++
			of[id][shifts.of(id, e.At)]++
		}
	}
	var out []Load
	for id, n := range rings {
		l := Load{Person: id, Rings: n}
		for _, k := range hours[id] {
			l.MostHour = max(l.MostHour, k)
		}
		for _, k := range of[id] {
			l.MostShift = max(l.MostShift, k)
		}
		out = append(out, l)
	}
	slices.SortFunc(out, func(a, b Load) int {
		return cmp.Or(b.Rings-a.Rings, cmp.Compare(a.Person, b.Person))
	})
	return out
}

// Shifts are the shifts that people said they worked, and the mill's clock for those who did not.
type Shifts struct {
	said map[state.PersonID][]worked
	zone *time.Location
}

type worked struct{ from, to state.Instant }

// ShiftsIn finds the shifts of a journal.
func ShiftsIn(es []state.Event) Shifts {
	s := Shifts{said: map[state.PersonID][]worked{}, zone: time.UTC}
	for _, e := range es {
		switch b := e.Body.(type) {
		case state.Duty:
			said := s.said[b.Person]
			if n := len(said); n > 0 {
				said[n-1].to = min(said[n-1].to, e.At)
			}
			if b.On {
				s.said[b.Person] = append(said, worked{e.At, e.At.Add(state.DutyEnds)})
			}
		case state.Set:
			if z, err := time.LoadLocation(b.Text); b.Name == state.SetZone && err == nil {
				s.zone = z
			}
		}
	}
	return s
}

// of is when the shift began that an instant falls in: as it was said, else at six in the morning
// or in the evening.
func (s Shifts) of(p state.PersonID, at state.Instant) state.Instant {
	for _, x := range s.said[p] {
		if x.from <= at && at < x.to {
			return x.from
		}
	}
	if s.zone == nil {
		s.zone = time.UTC
	}
	t := at.Time().In(s.zone).Add(-6 * time.Hour)
	half := time.Date(t.Year(), t.Month(), t.Day(), t.Hour()/12*12, 0, 0, 0, s.zone)
	return state.At(half.Add(6 * time.Hour))
}
