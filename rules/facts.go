package rules

import (
	"slices"
	"strings"

	"lotbell/state"
)

// Fact is a name that conditions may use, for some kinds of subject. How it moves between events
// decides how its next change is found.
type Fact struct {
	Name  string
	On    []string // kinds of place, "mill", "post", "guard"; nil: all
	Unit  Unit
	Moves Moves
	Doc   string
	Words []string // all that a fact of few words can be; nil: any word

	ofReading bool // the age of a reading

	span  [2]float64 // the least and the most it can be; none: not known
	index int
	get   func(v *View) Value
	next  func(v *View) state.Instant            // Steps: its next change
	curve func(v *View, t state.Instant) float64 // Curve: its value later
}

// Moves is how a fact moves between events.
type Moves int8

// Still facts change by events only. An Age grows and a Left shrinks with the clock, now being an
// age from the beginning of time; a Curve is a forecast read at an instant, which goes one way;
// Steps change at instants they can name.
const (
	Still Moves = iota
	Age
	Left
	Curve
	Steps
)

// String is the word of the reference.
func (m Moves) String() string {
	return [...]string{"still", "age", "left", "curve", "steps"}[m]
}

// maxFacts is the room of a View; a test holds it above the length of the table.
const maxFacts = 224

// The kinds of subject that a rule may be on besides the kinds of place.
const (
	OnMill  = "mill"
	OnPost  = "post"
	OnGuard = "guard"
)

// stayKinds are the kinds of place in which coffee stays.
func stayKinds() []string {
	return []string{"tank", "channel", "waiting", "patio", "predryer", "drum", "silo", "store"}
}

// onKinds are all the words that a call's `on` may be.
func onKinds() []string {
	return append(stayKinds(), string(state.Intake), string(state.Meter), OnMill, OnPost)
}

// asPlace says whether calls on a kind are about the place as a whole, never about what lies there:
// the fruit of an intake is one heap, and a meter holds none.
func asPlace(kind string) bool {
	return kind == string(state.Intake) || kind == string(state.Meter)
}

// Facts lists every fact, in the order of the reference.
func Facts() []*Fact { return slices.Clone(table) }

// table is built once and never changed, nor is what is looked up in it by kind and name.
var (
	table = buildTable()
	names = buildNames()
)

func buildTable() []*Fact {
	var t []*Fact
	for _, part := range [][]*Fact{clockFacts(), millFacts(), postFacts(), stayFacts(), dialFacts(),
		readingFacts(), markFacts(), tankFacts(), dryingFacts(), restFacts(), moreFacts(),
		intakeFacts(), meterFacts(), guardFacts(), eachFacts()} {
		t = append(t, part...)
	}
	for i, f := range t {
		f.index = i
	}
	return t
}

func buildNames() map[string]map[string]*Fact {
	out := map[string]map[string]*Fact{}
	for _, kind := range append(onKinds(), OnGuard) {
		out[kind] = map[string]*Fact{}
		for _, f := range table {
			if f.On == nil || slices.Contains(f.On, kind) {
				out[kind][f.Name] = f
			}
		}
	}
	return out
}

// namesOn is the vocabulary for one kind of subject. It must not be changed.
func namesOn(kind string) map[string]*Fact { return names[kind] }

// factOn finds a fact of a kind of subject, else one of that name of any kind; nil: no such name.
func factOn(kind, name string) *Fact {
	if f := names[kind][name]; f != nil {
		return f
	}
	for _, f := range table {
		if f.Name == name {
			return f
		}
	}
	return nil
}

// UnitOf is the unit of a name that conditions on a kind of subject may use; false for no such name.
func UnitOf(kind, name string) (Unit, bool) {
	f := factOn(kind, name)
	if f == nil {
		return anyUnit, false
	}
	return f.Unit, true
}

// Where lists the kinds of subject that have the fact; "everything" for all.
func (f *Fact) Where() string {
	if f.On == nil {
		return "everything"
	}
	return strings.Join(f.On, " ")
}

// clockFacts are true of every subject.
func clockFacts() []*Fact {
	return []*Fact{
		{Name: "now", Unit: Moment, Moves: Age, Doc: "the instant of looking",
			get: func(v *View) Value { return moment(v.at) }},
		{Name: "hour", Unit: Hours, Moves: Steps, Doc: "the hour of the mill's clock, 0 to 23",
			get:  func(v *View) Value { return number(float64(v.local().Hour())) },
			next: nextHour, span: [2]float64{0, 23}},
		{Name: "night", Unit: YesNo, Moves: Steps,
			Doc: "between sunset and sunrise; 18 to 6 until the mill's position is known",
			get: func(v *View) Value { return truth(v.isNight()) }, next: nextNight},
		{Name: "sunset", Unit: Moment, Moves: Steps,
			Doc: "today's sunset; 18:00 until the mill's position is known",
			get: func(v *View) Value { return moment(v.sunset()) }, next: nextMidnight},
		{Name: "power_out", Unit: YesNo, Doc: "the power is out",
			get: func(v *View) Value { return truth(v.mill.PowerOut(v.at) != 0) }},
		{Name: "power_out_age", Unit: Span, Moves: Age, Doc: "since the power went",
			get: func(v *View) Value { return v.since(v.mill.PowerOut(v.at)) }},
		{Name: "water_out", Unit: YesNo, Doc: "the water is out",
			get: func(v *View) Value { return truth(v.mill.WaterOut(v.at) != 0) }},
		{Name: "water_out_age", Unit: Span, Moves: Age, Doc: "since the water stopped",
			get: func(v *View) Value { return v.since(v.mill.WaterOut(v.at)) }},
		{Name: "raining", Unit: YesNo, Moves: Steps,
			Doc: "it rains: said, and not said to be over; for 4 hours from the last word of it",
			get: func(v *View) Value { return truth(rainEnds(v) != 0) }, next: rainEnds},
		{Name: "rain_age", Unit: Span, Moves: Age,
			Doc: "since rain was last told, until it is over",
			get: func(v *View) Value { return v.since(v.rain()) }},
	}
}
