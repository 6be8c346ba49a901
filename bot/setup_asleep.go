package bot

import (
	"slices"

	"lotbell/rules"
	"lotbell/state"
)

// sleeper is what one answer would wake: the calls that can never be told, or reach nobody, until
// a question of the set-up is answered.
type sleeper struct {
	question int    // its number, from 1
	why      string // what is missing: a sentence wakes.WHY
	calls    []string
}

// nobody is the why of calls that are awake but find nobody at their post; unasked that of guards, which
// are no calls, on what nobody has said to be kept apart.
const (
	nobody  = "nobody"
	unasked = "apart"
)

// asleepNow counts the calls that can never be told.
func (t *turn) asleepNow() int {
	n := 0
	for _, x := range t.sleepers() {
		if x.why != nobody && x.why != unasked {
			n += len(x.calls)
		}
	}
	return n
}

// sleepers lists them by question. It looks at the book and at what the mill is, not at what lies
// in it: a reading that nobody has made yet is the floor's to give.
func (t *turn) sleepers() []sleeper {
	var out []sleeper
	for _, r := range t.watch.Book.Calls {
		name, why := t.missing(r)
		if name == "" {
			continue
		}
		n := slices.IndexFunc(questions(), func(q question) bool { return q.name == name }) + 1
		i := slices.IndexFunc(out, func(s sleeper) bool { return s.question == n && s.why == why })
		if i < 0 {
			out = append(out, sleeper{question: n, why: why})
			i = len(out) - 1
		}
		out[i].calls = append(out[i].calls, t.callName(r.Name, t.lang()))
	}
	if guards := t.neverAsked(); len(guards) > 0 {
		n := slices.IndexFunc(questions(), func(q question) bool { return q.name == "target" }) + 1
		out = append(out, sleeper{question: n, why: unasked, calls: guards})
	}
	slices.SortStableFunc(out, func(a, b sleeper) int { return a.question - b.question })
	return out
}

// neverAsked lists the guards on owners and certificates at a mill that has told of neither.
func (t *turn) neverAsked() []string {
	_, certified := t.mill.Setting(state.SetCertified)
	_, owners := t.mill.Setting(state.SetOwners)
	var out []string
	for _, g := range t.watch.Book.Guards {
		if names := g.When.Names(); !certified && !owners &&
			(slices.Contains(names, "claim") || slices.Contains(names, "owner")) {
			out = append(out, t.callName(g.Name, t.lang()))
		}
	}
	return out
}

// missing is the question whose answer a call waits for, and what is missing; "" for a call that
// is awake. The first that applies is told.
func (t *turn) missing(r *rules.Rule) (question, why string) {
	if question, why = t.placeMissing(state.Kind(r.On)); question != "" {
		return question, why
	}
	for _, name := range append(r.When.Names(), clearNames(r)...) {
		if question, why = t.factMissing(r, name); question != "" {
			return question, why
		}
	}
	for _, rung := range r.Ladder {
		for _, w := range rung.Whom {
			if w == "everyone" || len(t.mill.Persons()) > 0 && t.somebodyIs(w, r) {
				return "", ""
			}
		}
	}
	return "people", nobody
}

func clearNames(r *rules.Rule) []string {
	if r.Clear == nil {
		return nil
	}
	return r.Clear.Names()
}

// placeMissing is the question for a kind of place that the mill has none of.
func (t *turn) placeMissing(k state.Kind) (question, why string) {
	if placesKnown(k)(t) != "" {
		return "", ""
	}
	switch k {
	case state.Tank:
		return "tanks", "no-place"
	case state.Patio:
		return "patios", "no-place"
	case state.Drum, state.Predryer:
		return "drums", "no-place"
	case state.Silo, state.Store:
		return "silos", "no-place"
	case state.Channel, state.Intake:
		return "way", "no-place"
	case state.Meter:
		return "silos", "no-place"
	case rules.OnPost:
		if !slices.ContainsFunc(t.mill.Persons(), func(p *state.Person) bool {
			return len(p.Posts) > 0
		}) {
			return "people", nobody
		}
	}
	return "", ""
}

// factMissing is the question that a fact of a condition waits for.
func (t *turn) factMissing(r *rules.Rule, name string) (question, why string) {
	has := func(names ...string) bool {
		return slices.ContainsFunc(names, func(n string) bool {
			_, ok := t.mill.Setting(n)
			return ok
		})
	}
	air := len(t.mill.AirPlaces()) > 0
	switch name {
	case "dial_known":
		if slices.ContainsFunc(t.mill.Places(), func(p state.Place) bool {
			return p.Kind == state.Kind(r.On) && p.DialWhere == ""
		}) {
			return "drums", "dial"
		}
	case "ready_early", "ready_likely", "ready_late", "spoil", "spoil_warn", "ready_time":
		if r.On == string(state.Tank) && !air && !t.probed() &&
			!has(state.SetUsual, state.SetUsualCold, state.SetAltitude) {
			return "hours", "pace"
		}
	case "ambient", "rh", "ambient_age", "rh_age", "ambient_slope", "rh_slope":
		if !air {
			return "air", "air"
		}
	}
	return "", ""
}

// probed says whether some tank has a thermometer.
func (t *turn) probed() bool {
	return slices.ContainsFunc(t.mill.Places(), func(p state.Place) bool { return p.Probe == "yes" })
}

// somebodyIs says whether a word of a ladder means anybody of the mill.
func (t *turn) somebodyIs(whom string, r *rules.Rule) bool {
	if whom == "post" {
		whom = r.On
	}
	return slices.ContainsFunc(t.mill.Persons(), func(p *state.Person) bool {
		return p.Is(state.Role(whom)) || p.At(state.Kind(whom))
	})
}
