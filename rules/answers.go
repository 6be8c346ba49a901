package rules

import (
	"slices"
	"time"

	"lotbell/state"
)

// asking is one time that a call asked for an answer: it rang, or rang again after it was taken or
// its time aside was over, or it was handed on.
type asking struct {
	at, end state.Instant  // end: the call was over or asked anew; 0: it stands
	how     state.CallStep // the first answer, as taken or put aside
	by      state.PersonID // who gave it
	after   time.Duration  // how long after it asked
	quiet   bool           // taken or put aside: it asks for nothing
	untimed bool           // the clock was put right meanwhile
	met     bool           // a call of the rehearsal rang at that instant
}

// answered says whether anybody answered.
func (a *asking) answered() bool { return a.how.What != "" }

// Answers is how soon the calls of a journal were answered.
type Answers struct {
	of    map[state.CallKey][][]*asking // each call's, in order
	posts map[string]time.Duration      // the median by post: a kind of place, or the mill
	mill  []time.Duration               // that of all; none: nobody ever answered
}

// AnswersIn finds how soon the calls of a journal were answered.
func AnswersIn(es []state.Event) *Answers {
	a := &Answers{of: map[state.CallKey][][]*asking{}, posts: map[string]time.Duration{}}
	kinds := map[string]string{state.Floor: string(state.Waiting)}
	open := map[state.CallKey]*asking{}
	for _, e := range es {
		switch b := e.Body.(type) {
		case state.SetPlace:
			kinds[b.Name] = string(b.Kind)
		case state.CallStep:
			a.step(open, e, b)
		case state.Clock: // a time between two clocks is none
			for _, x := range open {
				x.untimed = true
			}
		}
	}
	all, by := []time.Duration(nil), map[string][]time.Duration{}
	for k, calls := range a.of {
		for _, x := range slices.Concat(calls...) {
			if x.answered() && !x.untimed {
				post := postOf(k.Of, kinds[k.Of.Name])
				all, by[post] = append(all, x.after), append(by[post], x.after)
			}
		}
	}
	for post, some := range by {
		a.posts[post] = median(some)
	}
	if len(all) > 0 {
		a.mill = []time.Duration{median(all)}
	}
	return a
}

// postOf is the post that a subject belongs to, of a place's kind.
func postOf(of state.Subject, kind string) string {
	if of.Kind == state.OfMill || of.Kind == state.OfPost {
		return of.Name
	}
	return kind
}

// median is the middle of some times, the later of two.
func median(ds []time.Duration) time.Duration {
	slices.Sort(ds)
	return ds[len(ds)/2]
}

// step follows a call of the journal.
func (a *Answers) step(open map[state.CallKey]*asking, e state.Event, s state.CallStep) {
	k := state.CallKey{Rule: s.Rule, Of: s.Of}
	x := open[k]
	asks := s.What == state.Handed || s.What == state.Again && x != nil && x.quiet
	switch {
	case x == nil && s.What != state.Rang, x != nil && s.What == state.Rang:
		return
	case s.Ends():
		x.end = e.Heard
		delete(open, k)
	case x == nil:
		open[k] = &asking{at: e.Heard}
		a.of[k] = append(a.of[k], []*asking{open[k]})
	case asks:
		x.end = e.Heard
		open[k] = &asking{at: e.Heard}
		last := &a.of[k][len(a.of[k])-1]
		*last = append(*last, open[k])
	case s.What == state.Taken || s.What == state.Aside:
		x.quiet = true
		if !x.answered() {
			x.how, x.by, x.after = s, e.By, e.Heard.Sub(x.at)
		}
	}
}

// usual is after how long calls of a post are answered; false when nobody ever answered one.
func (a *Answers) usual(post string) (time.Duration, bool) {
	if d, ok := a.posts[post]; ok || len(a.mill) == 0 {
		return d, ok
	}
	return a.mill[0], true
}

// like is what the call of the journal asked that one of a rehearsal is nearest to: of the same
// rule and stay or, where it is about a place or the mill, of the same hours; nil: there is none.
// Of two at one instant, the clock being put right between them, the first comes first.
func (a *Answers) like(k state.CallKey, at state.Instant) []*asking {
	var best []*asking
	far := sameCall
	if k.Of.Kind == state.OfStay {
		far = 1<<63 - 1
	}
	for _, call := range a.of[k] {
		if call[0].at == at && !call[0].met {
			call[0].met = true
			return call
		}
		if gap := max(call[0].at.Sub(at), at.Sub(call[0].at)); gap <= far {
			best, far = call, gap
		}
	}
	return best
}

// answer is how a call of a rehearsal that asks is answered.
type answer struct {
	heard bool          // it asks as it did in the journal, whose answer comes with the journal
	at    state.Instant // else when; 0: never
	step  state.CallStep
	by    state.PersonID
	usual bool      // after the usual time
	never bool      // never, since nobody ever answered a call
	then  []*asking // what the call of the journal asked next
}

// to is the answer to a call that asks at an instant, with what the call of the journal asked from
// then on. People answer as long after it as they did then, where the same rule rang for the same
// stay. A call that nobody could answer then, since it did not ring or was over too soon, is
// answered after the post's median.
func (a *Answers) to(k state.CallKey, at state.Instant, post string, then []*asking) answer {
	var x *asking
	if len(then) > 0 {
		x, then = then[0], then[1:]
	}
	out := answer{heard: x != nil && x.at == at, then: then}
	usual, ok := a.usual(post)
	switch {
	case x != nil && x.answered() && !out.heard && !x.untimed:
		out.at, out.step, out.by = at.Add(x.after), x.how, x.by
		if x.how.Until != 0 {
			out.step.Until = x.how.Until.Add(at.Sub(x.at))
		}
	case x != nil && (out.heard && x.answered() || x.untimed && !x.answered() || x.end == 0 ||
		x.end.Sub(x.at) >= usual):
	case !ok:
		out.never = true
	default:
		out.at, out.usual = at.Add(usual), true
		out.step = state.CallStep{Rule: k.Rule, Of: k.Of, What: state.Taken}
	}
	return out
}
