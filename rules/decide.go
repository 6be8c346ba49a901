package rules

import (
	"slices"
	"time"

	"lotbell/state"
)

// Decide compares what is true of a subject with the calls that stand for it, and says what those
// calls do now and when to look again. It is a pure function: the same comparison gives nothing
// new, so that a restart rings nothing. A step that rings has no number yet; see [Watch.Step].
func (b *Book) Decide(m *state.Mill, k *Knowledge, of state.Subject, fs []Finding,
	at state.Instant) (steps []state.CallStep, next state.Instant) {
	for i := range fs {
		f := &fs[i]
		c := m.Standing(state.CallKey{Rule: f.Rule.Name, Of: of})
		var step *state.CallStep
		var again state.Instant
		switch {
		case f.Idle && c != nil:
			end := ending(c, state.Withdrawn, at)
			step = &end
		case f.Idle:
		case c == nil && f.Is == state.Yes && f.Over != state.Yes && quiet(m, k, f.Rule, at) != 0:
			again = quiet(m, k, f.Rule, at)
		case c == nil && f.Is == state.Yes && f.Over != state.Yes:
			step = b.raise(m, k, of, f, at)
			again = after(at, f.Rule.nextRung(step.Rung))
		case c != nil:
			step, again = b.stand(m, k, c, f, at)
		}
		if step != nil {
			steps = append(steps, *step)
		}
		next = sooner(next, sooner(again, f.Flips))
	}
	for _, c := range m.CallsOf(of) {
		about := func(f Finding) bool { return f.Rule.Name == c.Rule }
		if !slices.ContainsFunc(fs, about) {
			steps = append(steps, ending(c, state.Withdrawn, at))
		}
	}
	return steps, next
}

// Calls of the lowest priority wait while the mill sleeps (common practice, no source).
const (
	lowest     = 4
	quietFrom  = 21 // hours of the mill's clock
	quietUntil = 5
)

// sleeps says whether a mill sleeps at an hour of its clock.
func sleeps(hour int) bool { return hour >= quietFrom || hour < quietUntil }

// quiet is until when a call of the lowest priority waits at an instant; 0 when it need not.
func quiet(m *state.Mill, k *Knowledge, r *Rule, at state.Instant) state.Instant {
	if r.Priority < lowest || at == 0 {
		return 0
	}
	t := at.Time().In(k.zone(m))
	if !sleeps(t.Hour()) {
		return 0
	}
	day := t
	if t.Hour() >= quietFrom {
		day = t.AddDate(0, 0, 1)
	}
	return state.At(time.Date(day.Year(), day.Month(), day.Day(), quietUntil, 0, 0, 0,
		t.Location()))
}

// raise rings a call for the first time.
func (b *Book) raise(m *state.Mill, k *Knowledge, of state.Subject, f *Finding,
	at state.Instant) *state.CallStep {
	rung, to := tell(m, f.Rule, 0, of, at)
	_, version := m.Book()
	return &state.CallStep{Rule: f.Rule.Name, Of: of, What: state.Rang, Priority: f.Rule.Priority,
		To: to, Rung: rung, Since: b.Since(m, k, *f, of, at), Window: f.Window, Why: f.Why,
		Book: version}
}

// stand says what a call does that is already ringing.
func (b *Book) stand(m *state.Mill, k *Knowledge, c *state.Call, f *Finding,
	at state.Instant) (*state.CallStep, state.Instant) {
	if f.Gone {
		what := state.Done
		if s := m.Stay(c.Of.Stay); s == nil || s.To != 0 && s.To < c.Rang {
			what = state.TakenBack
		}
		s := ending(c, what, at)
		return &s, 0
	}
	if what := b.ended(m, k, c, f); what != "" {
		s := ending(c, what, at)
		s.Why = f.Rule.ends().Why(newView(m, b, k, c.Of, at))
		return &s, 0
	}
	due := f.Rule.nextRing(m, c)
	if c.State == state.Unacknowledged && c.Rung+1 < len(f.Rule.Ladder) &&
		len(c.To) > 0 && len(reachable(m, c.To)) == 0 {
		due = at // nobody of the rung can be reached any more: that is no answer
	}
	if q := quiet(m, k, f.Rule, due); due != 0 && q != 0 {
		due = q
	}
	if due == 0 || due > at {
		return nil, due
	}
	rung := c.Rung
	if c.State == state.Unacknowledged {
		rung = min(c.Rung+1, len(f.Rule.Ladder)-1)
	}
	done := c.State == state.Unacknowledged && c.Rung == len(f.Rule.Ladder)-1
	rung, to := tell(m, f.Rule, rung, c.Of, at)
	if done && rung > 0 && !f.Rule.Private { // the ladder is at its end: the post and the manager too
		_, post := tell(m, f.Rule, 0, c.Of, at)
		all := awake(m, f.Rule, reachable(m, slices.Concat(post,
			Whom(m, string(state.Manager), c.Of, at), to)), at)
		if len(all) > 0 {
			to = all
		}
	}
	_, version := m.Book()
	s := state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Again, Number: c.Number,
		Priority: c.Priority, To: to, Rung: rung, Since: c.Since, Window: f.Window, Why: f.Why,
		Book: version}
	if f.Is != state.Yes {
		s.Window, s.Why = c.Window, c.Why
	}
	return &s, after(at, f.Rule.nextRung(rung))
}

// ends is the condition that ends the call.
func (r *Rule) ends() *Cond {
	if r.Clear != nil {
		return r.Clear
	}
	return r.When
}

// ended says how a standing call ends, "" while it stands on: it is over, or it has lost its
// ground, since as far as is known now its condition did not hold when it rang. Under another
// book than it rang under a call is over; so it is at a post, of whose people no past is known.
func (b *Book) ended(m *state.Mill, k *Knowledge, c *state.Call, f *Finding) string {
	_, version := m.Book()
	lost := c.Book == version && c.Of.Kind != state.OfPost
	switch {
	case f.Over == state.Yes:
		then := newView(m, b, k, c.Of, c.Rang)
		lost = lost && f.Rule.When.Truth(then) == state.No && !then.answered(c)
	case f.Over == state.CannotTell && f.Is == state.CannotTell && lost:
		if f.Rule.When.Truth(newView(m, b, k, c.Of, c.Rang)) == state.Yes {
			return ""
		}
	default:
		return ""
	}
	if lost {
		return state.TakenBack
	}
	return state.Over
}

// answered says that something was told of the very instant at which a call rang, after it had
// rung: an answer, which takes nothing of the call's ground away.
func (v *View) answered(c *state.Call) bool {
	n := len(v.last)
	return n > 0 && v.last[n-1].At == c.Rang && v.last[n-1].Heard > c.Rang
}

// ending is the step that ends a call; everyone it was rung to is told, once.
func ending(c *state.Call, what string, at state.Instant) state.CallStep {
	return state.CallStep{Rule: c.Rule, Of: c.Of, What: what, Number: c.Number,
		Priority: c.Priority, To: c.Told, Since: c.Since, Book: c.Book}
}

// nextRing is when a standing call rings again if nothing changes; 0 for never. Down time does
// not count: ladders go on from the end of a gap.
func (r *Rule) nextRing(m *state.Mill, c *state.Call) state.Instant {
	switch c.State {
	case state.Shelved:
		return c.Until
	case state.Acknowledged:
		if r.Respond == 0 {
			return 0
		}
		return max(c.Last, m.BlindUntil()).Add(r.Respond)
	}
	return after(max(c.RungAt, m.BlindUntil()), r.nextRung(c.Rung))
}

// nextRung is how long after a rung the next ring comes; 0 for never.
func (r *Rule) nextRung(rung int) time.Duration {
	if rung+1 < len(r.Ladder) {
		return r.Ladder[rung+1].After - r.Ladder[rung].After
	}
	return r.Again
}

func after(at state.Instant, d time.Duration) state.Instant {
	if d == 0 {
		return 0
	}
	return at.Add(d)
}
