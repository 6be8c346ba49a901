package rules

import (
	"time"

	"lotbell/state"
)

// Finding is what is true of a rule and a subject at an instant, and why.
type Finding struct {
	Rule    *Rule
	Is      state.Truth // the call's condition, held through its wait
	Over    state.Truth // that it has returned to normal, held through its off-delay
	Gone    bool        // the stay is over, or was never
	Since   state.Instant
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
		if !gone {
			out[i].look(v)
		}
	}
	return out
}

// look evaluates one rule in a view.
func (f *Finding) look(v *View) {
	r := f.Rule
	raw := r.When.Truth(v)
	var pending state.Instant
	f.Is, pending = held(raw, r.When, v, r.Wait, state.Yes)
	f.Flips = sooner(r.When.Flips(v), pending)
	clear := opposite(raw)
	if r.Clear != nil {
		clear = r.Clear.Truth(v)
		f.Flips = sooner(f.Flips, r.Clear.Flips(v))
	}
	if r.Off == 0 {
		f.Over = clear
	} else if r.Clear != nil {
		f.Over, pending = held(clear, r.Clear, v, r.Off, state.Yes)
	} else {
		f.Over, pending = held(clear, r.When, v, r.Off, state.No)
	}
	f.Flips = sooner(f.Flips, pending)
	switch f.Is {
	case state.Yes:
		f.Why = r.When.Why(v)
		f.Window = v.window()
	case state.CannotTell:
		f.Missing = r.When.missing(v)
	}
}

// window is the forecast window that a call rests on, when its subject has one.
func (v *View) window() [2]state.Instant {
	if v.stay == nil {
		return [2]state.Instant{}
	}
	if v.stay.Kind == state.Tank {
		t := v.tank()
		return [2]state.Instant{state.At(t.Early), state.At(t.Late)}
	}
	d := v.dry()
	return [2]state.Instant{state.At(d.Early), state.At(d.Late)}
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

// held delays a truth: what is true now counts only when it was true d ago and at every reading
// or note since. No pending state is kept, so late readings need no repair. When it is true but
// not yet for long enough, the second value is when it will have been.
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

// heldSince is since when a condition has had a truth, looking back no further than d.
func (v *View) heldSince(c *Cond, d time.Duration, want state.Truth) state.Instant {
	start, until := v.at.Add(-d), v.at
	if v.stay != nil {
		start = max(start, v.stay.From)
	}
	for i := len(v.last) - 1; i >= 0; i-- {
		t := v.last[i].At
		if t >= until {
			continue
		}
		if t < start {
			break
		}
		if then := v.as(t); c.Truth(then) != want {
			return then.turned(c, until, want)
		}
		until = t
	}
	then := v.as(start)
	if c.Truth(then) == want {
		return start
	}
	return then.turned(c, until, want)
}

// as is the same subject at another instant.
func (v *View) as(t state.Instant) *View {
	if t == v.at {
		return v
	}
	return newView(v.mill, v.book, v.know, v.of, t)
}

// turned is when, after a view in which it does not hold, time alone made a condition hold; until,
// when only the event there did.
func (v *View) turned(c *Cond, until state.Instant, want state.Truth) state.Instant {
	for t := c.Flips(v); t != 0 && t < until; t = c.Flips(v) {
		v = v.as(t)
		if c.Truth(v) == want {
			return t
		}
	}
	return until
}

// Since is since when a finding has been true, looking back a day.
func (b *Book) Since(m *state.Mill, k *Knowledge, f Finding, of state.Subject,
	at state.Instant) state.Instant {
	return newView(m, b, k, of, at).heldSince(f.Rule.When, 24*time.Hour, state.Yes)
}
