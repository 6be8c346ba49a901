package rules

import (
	"lotbell/state"
)

// ownSeq is where the numbers of rehearsed steps begin: above any journal.
const ownSeq state.Seq = 1 << 60

// Rehearse feeds a journal, as it was heard, to a watch under a made clock, and gives the steps
// that calls would have taken. Lotbell's own steps in the journal are left out and found again;
// those of people are kept, by rule and subject. With b nil each stretch runs under the book then
// in force, and the result is what rang; compile makes a book of an adopted text.
func Rehearse(es []state.Event, b *Book, compile func(text string) (*Book, error)) ([]state.Event,
	error) {
	fixed := b != nil
	if !fixed {
		b = &Book{}
	}
	r := rehearsal{m: state.NewMill(), w: NewWatch(b), seq: ownSeq}
	for len(es) > 0 {
		n := 1
		for n < len(es) && es[n].Heard == es[0].Heard {
			n++
		}
		step := es[:n]
		es = es[n:]
		for t := r.w.Next(); t != 0 && t <= step[0].Heard && !blindAt(step, t); t = r.w.Next() {
			r.look(nil, t)
		}
		if err := r.hear(step, fixed, compile); err != nil {
			return nil, err
		}
	}
	return r.steps, nil
}

type rehearsal struct {
	m     *state.Mill
	w     *Watch
	seq   state.Seq
	steps []state.Event
}

// hear folds the events of one step and looks.
func (r *rehearsal) hear(step []state.Event, fixed bool,
	compile func(string) (*Book, error)) error {
	at := step[0].Heard
	var said []state.Event
	for _, e := range step {
		if !spoken(e) {
			continue
		}
		said = append(said, e)
		if a, ok := e.Body.(state.Adopt); ok && !fixed {
			b, err := compile(a.Text)
			if err != nil {
				return err
			}
			r.w.Book = b
		}
	}
	if len(said) > 0 {
		r.look(r.m.Apply(said...), at)
	}
	return nil
}

// look takes one step and folds it.
func (r *rehearsal) look(touched []state.Subject, at state.Instant) {
	for _, s := range r.w.Step(r.m, touched, at) {
		r.seq++
		e := state.Event{Seq: r.seq, Msg: r.seq, At: at, Heard: at, Body: s}
		r.steps = append(r.steps, e)
		r.m.ApplyStep(e)
	}
}

// spoken says whether an event is none of Lotbell's own call steps.
func spoken(e state.Event) bool {
	s, ok := e.Body.(state.CallStep)
	return !ok || !Own(e, s)
}

// Own says whether a call step is Lotbell's own doing and not a person's.
func Own(e state.Event, s state.CallStep) bool {
	switch s.What {
	case state.Taken, state.Aside, state.Handed:
		return false
	}
	return e.By == 0
}

// blindAt says whether an instant lies in a gap that the step records: nothing could ring in it.
func blindAt(step []state.Event, t state.Instant) bool {
	for _, e := range step {
		if b, ok := e.Body.(state.Blind); ok && t >= b.From {
			return true
		}
	}
	return false
}

// Rang lists Lotbell's own call steps of a journal, in order: what rang, rang again and ended.
func Rang(es []state.Event) []state.Event {
	var out []state.Event
	for _, e := range es {
		if !spoken(e) {
			out = append(out, e)
		}
	}
	return out
}
