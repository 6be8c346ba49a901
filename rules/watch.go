package rules

import (
	"cmp"
	"slices"
	"time"

	"lotbell/state"
)

// Watch looks at subjects when they are touched or due, and says what their calls do. Live
// running, replay and rehearsal share it. It keeps only due instants and what can be worked out
// anew, so it may be thrown away at any time.
type Watch struct {
	Book *Book
	Know *Knowledge
	due  map[state.Subject]state.Instant
	next state.Instant
}

// NewWatch watches under a book. On a mill that has a past, [Watch.Prime] must come first.
func NewWatch(b *Book) *Watch {
	return &Watch{Book: b, Know: NewKnowledge(), due: map[state.Subject]state.Instant{}}
}

// Next is the next instant at which time alone may change a call; 0 for never.
func (w *Watch) Next() state.Instant { return w.next }

// Prime works out what is due on a mill as it stood at an instant, and rings nothing.
func (w *Watch) Prime(m *state.Mill, at state.Instant) {
	w.Step(m, append(m.Everything(), posts(w.Know.persons(m))...), at)
}

// Step looks at the subjects that were touched or are due at an instant and says what their calls
// do now. The caller folds the steps into the mill.
func (w *Watch) Step(m *state.Mill, touched []state.Subject, at state.Instant) []state.CallStep {
	var steps []state.CallStep
	for _, x := range w.take(m, touched, at) {
		fs := w.Book.Evaluate(m, w.Know, x, at)
		do, again := w.Book.Decide(m, w.Know, x, fs, at)
		steps = append(steps, do...)
		switch {
		case again == 0:
			delete(w.due, x)
		case again <= at: // it never is; if it were, a call late by a second is better than none
			w.due[x] = at.Add(time.Second)
		default:
			w.due[x] = again
		}
	}
	w.Book.spare(m, steps, at)
	given := map[int]bool{}
	for i := range steps {
		if steps[i].What == state.Rang {
			steps[i].Number = m.NextNumber(given)
			given[steps[i].Number] = true
		}
	}
	w.next = 0
	for _, t := range w.due {
		w.next = sooner(w.next, t)
	}
	return steps
}

// take lists the subjects to look at, each once, in a fixed order. The mill, the intakes
// and the posts are looked at in every step: what they count is touched by events of all kinds.
func (w *Watch) take(m *state.Mill, touched []state.Subject, at state.Instant) []state.Subject {
	all := slices.Clone(touched)
	if w.next != 0 && w.next <= at {
		for x, t := range w.due {
			if t <= at {
				all = append(all, x)
			}
		}
	}
	if len(w.Book.on[OnMill]) > 0 {
		all = append(all, state.Subject{Kind: state.OfMill, Name: state.Whole})
	}
	if len(w.Book.perPlace[string(state.Intake)]) > 0 {
		for _, p := range m.Places() {
			if p.Kind == state.Intake {
				all = append(all, state.Subject{Kind: state.OfPlace, Name: p.Name})
			}
		}
	}
	if len(w.Book.on[OnPost]) > 0 {
		all = append(all, posts(w.Know.persons(m))...)
	}
	slices.SortFunc(all, func(a, b state.Subject) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Name, b.Name),
			cmp.Compare(a.Stay.Opened, b.Stay.Opened), cmp.Compare(a.Stay.Lot, b.Stay.Lot))
	})
	return slices.Compact(all)
}

// posts lists the posts that somebody works at, each once.
func posts(people []*state.Person) []state.Subject {
	var out []state.Subject
	for _, p := range people {
		for _, k := range p.Posts {
			if s := (state.Subject{Kind: state.OfPost, Name: string(k)}); !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out
}
