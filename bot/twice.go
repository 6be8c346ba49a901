package bot

import (
	"slices"
	"time"

	"lotbell/state"
)

// A line that was sent twice is asked about before it counts twice.

// How long the same line counts as said twice; a reading may well be the same again sooner.
const (
	twiceLine    = 30 * time.Minute
	twiceReading = 5 * time.Minute
)

// twice says whether the sender has said all of this already, and when.
func (t *turn) twice(fs []Fact) (state.Instant, bool) {
	var when state.Instant
	for _, f := range fs {
		for _, d := range f.Doubt {
			if d.What == "again" {
				return 0, false
			}
		}
		e := t.mill.LastAlike(t.person.ID, func(e *state.Event) bool { return sameMatter(e.Body, f) },
			t.at.Add(-twiceLine))
		if e == nil || !alike(e.Body, f) || !t.sameTime(e, f) {
			return 0, false
		}
		when = e.At
	}
	return when, len(fs) > 0
}

// sameMatter says whether an event is of the kind of a fact, at its place: the last such one
// decides whether the fact is news.
func sameMatter(b state.Body, f Fact) bool {
	switch b := b.(type) {
	case state.Reading:
		return b.Place == f.Place && b.What == f.What && b.Depth == depth(f)
	case state.Note:
		return b.Place == f.Place || b.Place == state.Whole && wholeMark(f.What)
	case state.Move:
		return slices.Contains(bodyPlaces(b), f.Place)
	}
	return false
}

// sameTime says whether a fact may be the event once more: a reading may well be the same again
// soon, and what is said of another hour is another fact.
func (t *turn) sameTime(e *state.Event, f Fact) bool {
	back := twiceLine
	if _, is := e.Body.(state.Reading); is {
		back = twiceReading
	}
	if f.Told && f.At != 0 {
		back = time.Minute
	}
	d := t.when(f).Sub(e.At)
	return d <= back && d >= -time.Minute
}

// alike says whether an event says what a fact says.
func alike(b state.Body, f Fact) bool {
	switch b := b.(type) {
	case state.Reading:
		return b.Place == f.Place && b.What == f.What && b.Value == f.Value && b.Depth == depth(f)
	case state.Note:
		return b.What == f.What && (b.Place == f.Place || b.Place == state.Whole)
	case state.Move:
		if b.Act != f.What || len(b.In) == 0 {
			return false
		}
		kg := b.In[0].Mass.Kg()
		for _, from := range f.From {
			if !slices.ContainsFunc(b.Out, func(p state.Part) bool { return p.Place == from }) {
				return false
			}
		}
		return slices.Contains(bodyPlaces(b), f.Place) && (!f.Has || kg == f.Value)
	}
	return false
}

// markAgain marks facts as meant a second time.
func markAgain(fs []Fact) []Fact {
	out := slices.Clone(fs)
	for i := range out {
		out[i].Doubt = append(slices.Clone(out[i].Doubt), Doubt{What: "again"})
	}
	return out
}

// askTwice asks whether what is in the book since an instant has happened a second time.
func (t *turn) askTwice(fs []Fact, since state.Instant) {
	t.ask(Asked{What: Confirm}, "facts", func(p *pending) {
		p.Heard = &Heard{Outcome: IsTaken, Facts: markAgain(fs)}
	})
	t.say("twice", "time", t.clock(since))
}
