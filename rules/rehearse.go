package rules

import (
	"cmp"
	"time"

	"lotbell/state"
)

// ownSeq is where the numbers of rehearsed steps begin: above any journal.
const ownSeq state.Seq = 1 << 60

// Rehearsal is what a book would have made of a journal.
type Rehearsal struct {
	Steps []state.Event            // Lotbell's own call steps
	Usual map[string]time.Duration // by post, of calls that nobody could answer then: the median
	Never int                      // such calls that nobody answers: nobody ever answered any
}

// Rehearse feeds a journal, as it was heard, to a watch under a made clock, and gives the steps
// that calls would have taken. Lotbell's own steps in the journal are left out and found again;
// those of people are kept where the same rule rang for the same stay, as long after it rang. Other
// calls count as answered after their post's median, without one after the mill's. With b nil each
// stretch runs under the book then in force, and the result is what rang; compile makes a book of
// an adopted text.
func Rehearse(es []state.Event, b *Book, compile func(text string) (*Book, error)) (Rehearsal,
	error) {
	fixed := b != nil
	if !fixed {
		b = &Book{}
	}
	r := rehearsal{m: state.NewMill(), w: NewWatch(b), seq: ownSeq, was: AnswersIn(es),
		asks: map[state.CallKey]answer{}, out: Rehearsal{Usual: map[string]time.Duration{}}}
	for len(es) > 0 {
		n := 1
		for n < len(es) && es[n].Heard == es[0].Heard {
			n++
		}
		step := es[:n]
		es = es[n:]
		for t := r.next(); t != 0 && t <= step[0].Heard && !blindAt(step, t); t = r.next() {
			r.pass(t)
		}
		if err := r.hear(step, fixed, compile); err != nil {
			return Rehearsal{}, err
		}
	}
	return r.out, nil
}

type rehearsal struct {
	m     *state.Mill
	w     *Watch
	at    state.Instant // of the last step
	seq   state.Seq
	was   *Answers
	asks  map[state.CallKey]answer // of the calls that stand
	soon  state.Instant            // when the first of them is answered; 0: none is
	first state.CallKey
	out   Rehearsal
}

// next is when time alone may change a call, or somebody answers one; 0 for never.
func (r *rehearsal) next() state.Instant {
	if r.soon == 0 {
		return r.w.Next()
	}
	return sooner(r.w.Next(), max(r.soon, r.at))
}

// pass lets time pass to an instant: what is due is looked at, else a call is answered.
func (r *rehearsal) pass(t state.Instant) {
	if due := r.w.Next(); due != 0 && due <= t {
		r.look(nil, due)
		return
	}
	r.answer(r.first, t)
}

// answer lets somebody answer a call: whoever did then, else the first who was told.
func (r *rehearsal) answer(k state.CallKey, t state.Instant) {
	a := r.asks[k]
	if c := r.m.Standing(k); a.by == 0 && len(c.Told) > 0 {
		a.by = c.Told[0]
	}
	if a.usual {
		r.out.Usual[r.post(k)], _ = r.was.usual(r.post(k))
	}
	r.fold(state.Event{At: t, Heard: t, By: a.by, Body: a.step})
	r.asks[k] = answer{then: a.then}
	r.soonest()
	r.look([]state.Subject{k.Of}, t)
}

// soonest finds the call that is answered first.
func (r *rehearsal) soonest() {
	r.soon = 0
	for k, a := range r.asks {
		if a.at != 0 && (r.soon == 0 || a.at < r.soon || a.at == r.soon && before(k, r.first)) {
			r.soon, r.first = a.at, k
		}
	}
}

// before orders calls that are answered at one instant.
func before(a, b state.CallKey) bool {
	return cmp.Or(cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Of.Name, b.Of.Name),
		cmp.Compare(a.Of.Stay.Opened, b.Of.Stay.Opened)) < 0
}

// hear folds the events of one step and looks.
func (r *rehearsal) hear(step []state.Event, fixed bool,
	compile func(string) (*Book, error)) error {
	at := step[0].Heard
	r.at = at
	var said []state.Event
	for _, e := range step {
		if !spoken(e) {
			continue
		}
		switch b := e.Body.(type) {
		case state.CallStep:
			e.Body = r.heard(b, at)
		case state.Clock:
			r.setBack(b.Is)
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

// setBack answers at once what by a clock that was ahead is answered later.
func (r *rehearsal) setBack(is state.Instant) {
	for k, a := range r.asks {
		a.at = min(a.at, is)
		r.asks[k] = a
	}
	r.soonest()
}

// heard is what a step that somebody took in the journal is here: the same where the call asks as
// it did then; an answer to no call where it does not, though whoever wrote has written.
func (r *rehearsal) heard(s state.CallStep, at state.Instant) state.CallStep {
	k := state.CallKey{Rule: s.Rule, Of: s.Of}
	if s.What == state.Handed && r.m.Standing(k) != nil {
		r.ask(k, at, r.asks[k].then)
	} else if a, asks := r.asks[k]; asks && !a.heard {
		return state.CallStep{What: s.What, Of: s.Of}
	}
	return s
}

// look takes one step and folds it.
func (r *rehearsal) look(touched []state.Subject, at state.Instant) {
	r.at = at
	for _, s := range r.w.Step(r.m, touched, at) {
		k := state.CallKey{Rule: s.Rule, Of: s.Of}
		c := r.m.Standing(k)
		quiet := c != nil && c.State != state.Unacknowledged
		r.out.Steps = append(r.out.Steps, r.fold(state.Event{At: at, Heard: at, Body: s}))
		switch {
		case s.What == state.Rang:
			r.ask(k, at, r.was.like(k, at))
		case s.What == state.Again && quiet:
			r.ask(k, at, r.asks[k].then)
		case s.Ends():
			delete(r.asks, k)
			r.soonest()
		}
	}
}

// ask notes a call that asks for an answer from an instant on, as one of the journal did.
func (r *rehearsal) ask(k state.CallKey, at state.Instant, then []*asking) {
	a := r.was.to(k, at, r.post(k), then)
	if a.never {
		r.out.Never++
	}
	r.asks[k] = a
	r.soonest()
}

// post is the post that a call belongs to.
func (r *rehearsal) post(k state.CallKey) string {
	return postOf(k.Of, string(r.m.KindOf(k.Of.Name)))
}

// fold folds a step that is in no journal.
func (r *rehearsal) fold(e state.Event) state.Event {
	r.seq++
	e.Seq, e.Msg = r.seq, r.seq
	r.m.ApplyStep(e)
	return e
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
