package rules

import (
	"strings"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/state"
)

// Knowledge is what has been worked out from a mill and can be thrown away: forecasts, each kept
// while nothing that bears on it changes, and what past stays taught. It belongs to one mill and
// one goroutine. The zero value is not ready; use [NewKnowledge].
type Knowledge struct {
	zoneName string
	loc      *time.Location
	tanks    map[state.StayID][]kept[ferment.Forecast]
	dryings  map[state.StayID][]kept[drying.Forecast]
	taught   uint64 // the PastRevision that the lessons rest on
	tankPast []*ferment.Past
	drumPast map[string][]drying.Past
	patios   map[int]drying.PatioPast
}

// NewKnowledge knows nothing yet.
func NewKnowledge() *Knowledge {
	k := &Knowledge{tanks: map[state.StayID][]kept[ferment.Forecast]{},
		dryings: map[state.StayID][]kept[drying.Forecast]{}}
	k.forget()
	return k
}

// forget drops what past stays taught.
func (k *Knowledge) forget() {
	k.tankPast, k.drumPast = nil, map[string][]drying.Past{}
	k.patios = map[int]drying.PatioPast{}
	clear(k.tanks)
	clear(k.dryings)
}

// refresh drops lessons that may no longer be true.
func (k *Knowledge) refresh(m *state.Mill) {
	if r := m.PastRevision(); r != k.taught {
		k.forget()
		k.taught = r
	}
}

// zone is the mill's time zone, looked up once.
func (k *Knowledge) zone(m *state.Mill) *time.Location {
	if s, _ := m.Setting(state.SetZone); k.loc == nil || s.Text != k.zoneName {
		k.zoneName, k.loc = s.Text, m.Zone()
	}
	return k.loc
}

// kept is a forecast with what it rested on.
type kept[F any] struct {
	rests basis
	made  F
}

// basis is everything that bears on a forecast: how much of each line was looked at, and how
// often those lines have changed other than by growing.
type basis struct {
	own, air, whole, loads int
	revision               uint64
}

// keep finds the forecast that rests on b, or makes and keeps it. Only a few of a stay are kept:
// the present one and those that a delay looks back at.
func keep[F any](in map[state.StayID][]kept[F], id state.StayID, b basis, make func() F) F {
	for _, x := range in[id] {
		if x.rests == b {
			return x.made
		}
	}
	f := make()
	old := in[id]
	if len(old) >= 4 {
		old = append(old[:0], old[1:]...)
	}
	in[id] = append(old, kept[F]{b, f})
	return f
}

// basis is what the forecasts of the view's stay rest on.
func (v *View) basis() basis {
	b := basis{own: len(v.last), whole: len(v.mill.Line(state.Whole, v.at)),
		revision: v.mill.Revision(v.place) + v.mill.Revision(state.Whole)}
	for _, l := range v.stay.Loads {
		if l.At <= v.at {
			b.loads++
		}
	}
	if a := v.airPlace(); a != "" {
		b.air = len(v.mill.Line(a, v.at))
		b.revision += v.mill.Revision(a)
	}
	return b
}

// airPlace is where the air that bears on this place is read: the store's for a silo or a store
// when one is named for it, else the first place of air.
func (v *View) airPlace() string {
	kind, first := v.mill.KindOf(v.place), ""
	indoors := kind == state.Silo || kind == state.Store
	for _, name := range v.mill.AirPlaces() {
		if indoors == (strings.Contains(name, "store") || strings.Contains(name, "silo")) {
			return name
		}
		if first == "" {
			first = name
		}
	}
	return first
}

// weather is the last reading of the air outside (or in the store) that is not older than a
// quarter of a day.
func (v *View) weather(what string) (float64, bool) {
	l := v.mill.Line(v.airPlace(), v.at)
	for i := len(l) - 1; i >= 0 && v.at.Sub(l[i].At) <= 6*time.Hour; i-- {
		if r, ok := l[i].Body.(state.Reading); ok && r.What == what {
			return r.Value, true
		}
	}
	return 0, false
}
