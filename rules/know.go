package rules

import (
	"slices"
	"strings"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/rest"
	"lotbell/rules/sun"
	"lotbell/state"
)

// Knowledge is what has been worked out from a mill and can be thrown away: forecasts, each kept
// while nothing that bears on it changes, and what past stays taught. Whatever it holds, a fact is
// what it would be without it. It belongs to one mill and one goroutine. The zero value is not
// ready; use [NewKnowledge].
type Knowledge struct {
	book     *Book
	zoneName string
	loc      *time.Location
	sun      almanac
	tanks    map[state.StayID][]*kept[ferment.Forecast]
	dryings  map[state.StayID][]*kept[drying.Forecast]
	drifts   map[state.StayID][]*kept[rest.Drift]

	prints map[state.StayID]print   // of stays that are over, while the past stays as it is
	rows   map[state.StayID]airRows // of the air that stays lie in

	past      uint64 // of the mill, when the lessons were last looked through
	looked    uint64 // counts those looks
	lessons   uint64 // counts the lessons that were made
	tankPast  tankLessons
	learned   map[print]lesson
	learnedOf map[state.StayID]lesson

	now   census
	spare *View // one that nobody holds any more, to be used again
}

// NewKnowledge knows nothing yet.
func NewKnowledge() *Knowledge {
	k := &Knowledge{}
	k.forget()
	return k
}

// forget drops everything.
func (k *Knowledge) forget() {
	k.tanks = map[state.StayID][]*kept[ferment.Forecast]{}
	k.dryings = map[state.StayID][]*kept[drying.Forecast]{}
	k.drifts = map[state.StayID][]*kept[rest.Drift]{}
	k.tankPast, k.learned = tankLessons{}, map[print]lesson{}
	k.learnedOf = map[state.StayID]lesson{}
	k.prints, k.rows = map[state.StayID]print{}, map[state.StayID]airRows{}
}

// refresh drops what another book had made, and has lessons looked through that may no longer be
// true. A stay that ends is no such reason: it only adds to them.
func (k *Knowledge) refresh(m *state.Mill, b *Book) {
	if b != k.book {
		k.forget()
		k.book = b
	}
	past := m.PastRevision()
	for _, kind := range endKinds {
		past -= uint64(len(m.Closed(kind)))
	}
	if past != k.past {
		k.past = past
		k.looked++
		clear(k.prints)
	}
}

// endKinds are all the kinds of place that a stay may end in, those of no name too.
var endKinds = append(state.Kinds(), "")

// census is who and what is at a mill as of its last event, put in order once for all who count.
type census struct {
	mill    *state.Mill
	next    state.Seq
	stays   []*state.Stay
	persons []*state.Person
}

// census is the present one of a mill.
func (k *Knowledge) census(m *state.Mill) *census {
	if k.now.mill != m || k.now.next != m.Next() {
		k.now = census{mill: m, next: m.Next()}
	}
	return &k.now
}

// stays lists the open stays of a mill.
func (k *Knowledge) stays(m *state.Mill) []*state.Stay {
	c := k.census(m)
	if c.stays == nil {
		c.stays = m.OpenStays()
	}
	return c.stays
}

// persons lists the people of a mill.
func (k *Knowledge) persons(m *state.Mill) []*state.Person {
	c := k.census(m)
	if c.persons == nil {
		c.persons = m.Persons()
	}
	return c.persons
}

// lesson is a number for what was just learned, unlike all before.
func (k *Knowledge) lesson() uint64 { k.lessons++; return k.lessons }

// zone is the mill's time zone, looked up once.
func (k *Knowledge) zone(m *state.Mill) *time.Location {
	if s, _ := m.Setting(state.SetZone); k.loc == nil || s.Text != k.zoneName {
		k.zoneName, k.loc = s.Text, m.Zone()
	}
	return k.loc
}

// almanac is what was last worked out of the sun.
type almanac struct {
	site         sun.Place
	from, change time.Time // no change between the two
	night        bool      // begins with the change
	date         time.Time // midnight of the day
	day          sun.Day
}

// over is the almanac of a site.
func (k *Knowledge) over(p sun.Place) *almanac {
	if p != k.sun.site {
		k.sun = almanac{site: p}
	}
	return &k.sun
}

// change is the next sunrise or sunset after an instant and whether night begins with it.
func (k *Knowledge) change(p sun.Place, at time.Time) (time.Time, bool) {
	a := k.over(p)
	if at.Before(a.from) || !at.Before(a.change) {
		a.from = at
		a.change, a.night = p.Next(at)
	}
	return a.change, a.night
}

// day is the sun on the civil date of an instant.
func (k *Knowledge) day(p sun.Place, at time.Time) sun.Day {
	a := k.over(p)
	date := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, at.Location())
	if !date.Equal(a.date) {
		a.date, a.day = date, p.On(at)
	}
	return a.day
}

// kept is a forecast with what it rested on.
type kept[F any] struct {
	rests basis
	made  F
}

// basis is everything that bears on a forecast: how much of each line was looked at, how often
// those lines have changed other than by growing, the lesson that was used, the class.
type basis struct {
	own, air, whole, loads int
	revision, lesson       uint64
	class                  string
}

// Only a few forecasts of a stay are kept: the present one and those that a delay looks back at;
// and of so many stays.
const (
	keptOfStay = 4
	keptStays  = 5000
)

// keep finds the forecast that rests on b, or makes and keeps it. It must not be changed.
func keep[F any](in map[state.StayID][]*kept[F], id state.StayID, b basis, make func() F) *F {
	old := in[id]
	for _, x := range old {
		if x.rests == b {
			return &x.made
		}
	}
	if len(in) > keptStays {
		clear(in)
	}
	x := &kept[F]{b, make()}
	if len(old) >= keptOfStay {
		old = append(old[:0], old[1:]...)
	}
	in[id] = append(old, x)
	return &x.made
}

// basis is what the forecasts of the view's stay rest on.
func (v *View) basis(lesson uint64) basis {
	b := basis{own: len(v.last), whole: len(v.mill.Line(state.Whole, v.at)), lesson: lesson,
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
	b.class = v.stay.Tag("class")
	return b
}

// airPlace is where the air that bears on this place is read: the store's for a silo or a store
// when one is named for it, else the first place of air.
func (v *View) airPlace() string {
	kind, all := v.mill.KindOf(v.place), v.mill.AirPlaces()
	indoors := kind == state.Silo || kind == state.Store
	if i := slices.IndexFunc(all, func(name string) bool { return ofStore(name) == indoors }); i >= 0 {
		return all[i]
	}
	if len(all) > 0 {
		return all[0]
	}
	return ""
}

// outside is where the air outside is read; "" when only a store's is.
func (v *View) outside() string {
	for _, name := range v.mill.AirPlaces() {
		if !ofStore(name) {
			return name
		}
	}
	return ""
}

// ofStore says whether a place of air is named for the store.
func ofStore(name string) bool {
	return strings.Contains(name, "store") || strings.Contains(name, "silo")
}

// airHolds is how long a reading of the air stands for the weather.
const airHolds = 6 * time.Hour

// weather is the last reading of the air that bears on this place; nil when there is none that is
// young enough.
func (v *View) weather(what string) *state.Event { return v.weatherAt(v.airPlace(), what) }

// weatherAt is the last reading of the air at a place of air; nil when none is young enough.
func (v *View) weatherAt(place, what string) *state.Event {
	l := v.mill.Line(place, v.at)
	for i := len(l) - 1; i >= 0 && v.at.Sub(l[i].At) <= airHolds; i-- {
		if r, ok := l[i].Body.(state.Reading); ok && r.What == what {
			return l[i]
		}
	}
	return nil
}
