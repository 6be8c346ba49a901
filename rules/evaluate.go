package rules

import (
	"slices"
	"time"

	"lotbell/state"
)

// Finding is what is true of a rule and a subject at an instant, and why.
type Finding struct {
	Rule    *Rule
	Is      state.Truth // the call's condition, held through its wait
	Over    state.Truth // it has returned to normal; told while it holds or its call stands
	Gone    bool        // the stay is over, or was never
	Idle    bool        // the rule is switched off until its instant
	Why     []state.Compared
	Window  [2]state.Instant
	Flips   state.Instant // when time alone may change it; 0: never
	Missing []string      // what nobody has told, when it cannot be told
}

// Evaluate says what is true of every rule about a subject at an instant, why, and when time
// alone may change it. It is a pure function: of what counts up to that instant and nothing else.
func (b *Book) Evaluate(m *state.Mill, k *Knowledge, of state.Subject, at state.Instant) []Finding {
	rules := b.rulesFor(m, of)
	if len(rules) == 0 {
		return nil
	}
	v := newView(m, b, k, of, at)
	gone := of.Kind == state.OfStay && (v.stay == nil || !v.stay.OpenAt(at))
	out := make([]Finding, len(rules))
	for i, r := range rules {
		out[i] = Finding{Rule: r, Gone: gone}
		if r.IdleUntil > at {
			out[i].Idle, out[i].Flips = true, r.IdleUntil
		} else if !gone {
			out[i].look(v)
		}
	}
	v.Done()
	return out
}

// look evaluates one rule in a view.
func (f *Finding) look(v *View) {
	r := f.Rule
	raw := r.When.Truth(v)
	var pending state.Instant
	f.Is, pending = held(raw, r.When, v, r.Wait, state.Yes)
	f.Flips = sooner(r.When.Flips(v), pending)
	if raw == state.Yes || v.mill.Standing(state.CallKey{Rule: r.Name, Of: v.of}) != nil {
		f.end(v, raw)
	}
	switch f.Is {
	case state.Yes:
		f.Why = r.When.Why(v)
		early, _, late := v.window()
		f.Window = [2]state.Instant{state.At(early), state.At(late)}
	case state.CannotTell:
		f.Missing = r.When.missing(v)
	}
}

// end evaluates what ends the call of a rule whose condition is as given.
func (f *Finding) end(v *View, raw state.Truth) {
	r := f.Rule
	ends, want, clear := r.When, state.No, opposite(raw)
	if r.Clear != nil {
		ends, want, clear = r.Clear, state.Yes, r.Clear.Truth(v)
		f.Flips = sooner(f.Flips, ends.Flips(v))
	}
	var pending state.Instant
	f.Over, pending = held(clear, ends, v, r.Off, want)
	f.Flips = sooner(f.Flips, pending)
}

// missing lists the facts that keep a condition from being told.
func (c *Cond) missing(v *View) []string {
	var out []string
	for _, f := range c.facts {
		x := v.value(f)
		known := x.Num == x.Num
		switch f.Unit {
		case Word:
			known = x.Word != ""
		case YesNo:
			known = x.Is != state.CannotTell
		}
		if !known {
			out = append(out, f.Name)
		}
	}
	return out
}

// held delays a truth: what is true now counts only when it was true all the time for d, as far
// as is known by now. No pending state is kept, so late readings need no repair. When it is true
// but not yet for long enough, the second value is when it will have been.
func held(now state.Truth, c *Cond, v *View, d time.Duration, want state.Truth) (state.Truth,
	state.Instant) {
	if now != state.Yes || d == 0 {
		return now, 0
	}
	since := v.heldSince(c, d, want)
	if v.at.Sub(since) >= d {
		return state.Yes, 0
	}
	return state.No, since.Add(d)
}

// Since is since when a finding has been true, looking back a day.
func (b *Book) Since(m *state.Mill, k *Knowledge, f Finding, of state.Subject,
	at state.Instant) state.Instant {
	return newView(m, b, k, of, at).heldSince(f.Rule.When, 24*time.Hour, state.Yes)
}

// heldSince is since when a condition has had the truth that it has in the view, looking back no
// further than d or than the coffee has been there.
func (v *View) heldSince(c *Cond, d time.Duration, want state.Truth) state.Instant {
	from, until := v.at.Add(-d), v.at
	if v.stay != nil {
		from = max(from, v.stay.From)
	}
	marks := v.happened(from)
	for i := len(marks) - 1; i >= 0; i-- {
		since := v.as(marks[i]).stretch(c, until, want)
		if since != marks[i] {
			return since
		}
		until = since
	}
	return until
}

// stretch is since when a condition has had a truth at until, where nothing happened between the
// view's instant and that one: since the view's instant, since time alone made it so, or since
// until, when only what happened there did.
func (v *View) stretch(c *Cond, until state.Instant, want state.Truth) state.Instant {
	since := until
	for t := v.at; t < until; t = c.Flips(v) {
		if t == 0 {
			break
		}
		v = v.as(t)
		if c.Truth(v) != want {
			since = until
		} else if since == until {
			since = t
		}
	}
	return since
}

// happened lists the instants before the view's, and not before from, at which anything happened
// that may bear on its subject; from is the first of them.
func (v *View) happened(from state.Instant) []state.Instant {
	out := []state.Instant{from}
	add := func(t state.Instant) {
		if t > from && t < v.at {
			out = append(out, t)
		}
	}
	for _, place := range v.linesOf() {
		l := v.mill.Line(place, v.at)
		for i := len(l) - 1; i >= 0 && l[i].At >= from; i-- {
			add(l[i].At)
		}
	}
	for _, s := range v.staysOf(from) {
		add(s.From)
		add(s.To)
		for _, some := range [2][]state.Arrival{s.Loads, s.Drawn} {
			for _, l := range some {
				add(l.At)
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// byItself says whether what happens at other places does not bear on the subject.
func (v *View) byItself() bool { return v.place != "" && v.mill.KindOf(v.place) != state.Intake }

// linesOf lists the places whose lines bear on the subject.
func (v *View) linesOf() []string {
	if v.byItself() {
		return []string{v.place, state.Whole, v.airPlace()}
	}
	out := []string{state.Whole, state.Floor}
	for _, p := range v.mill.Places() {
		out = append(out, p.Name)
	}
	return out
}

// staysOf lists the stays since an instant whose coming and going bears on the subject.
func (v *View) staysOf(from state.Instant) []*state.Stay {
	if v.of.Kind == state.OfStay {
		return []*state.Stay{v.stay}
	}
	kinds, out := endKinds, v.know.stays(v.mill)
	if v.byItself() {
		kinds, out = []state.Kind{v.mill.KindOf(v.place)}, v.mill.StaysAt(v.place)
	}
	out = slices.Clip(out)
	for _, k := range kinds {
		for _, s := range endedAfter(v.mill, k, from) {
			if !v.byItself() || s.Place == v.place {
				out = append(out, s)
			}
		}
	}
	return out
}

// as is the same subject at another instant.
func (v *View) as(t state.Instant) *View {
	if t == v.at {
		return v
	}
	return newView(v.mill, v.book, v.know, v.of, t)
}
