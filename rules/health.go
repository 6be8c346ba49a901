package rules

import (
	"cmp"
	"slices"
	"time"

	"lotbell/state"
)

// Health is how the calls of a stretch of time served the people: the figures that the alarm
// standards ask to be watched (ISA-18.2-2016 clause 16, IEC 62682, EEMUA 191; numbers from
// secondary texts, check a licensed copy before quoting).
type Health struct {
	From, To   state.Instant
	Calls      int            // that first rang
	Split      [5]int         // by priority, 1 to 4
	InTime     int            // alarms taken or over within their time to respond
	Alarms     int            // alarms whose time to respond is over
	Longest    []StandingCall // the longest standing now, the longest first, at most three
	Stale      int            // standing for more than a day
	Chattering []Source       // that rang three times or more within six hours
	Top        []Source       // the ten that rang most
	Loads      []Load
}

// StandingCall is a call that stands.
type StandingCall struct {
	Rule  string
	Of    state.Subject
	Since state.Instant
}

// Source is a rule at a place, and how often it rang.
type Source struct {
	Rule, Place string
	Rings       int
}

// The targets that stand beside the figures.
const (
	TargetHour      = 6  // rings an hour for a person with a phone: our own; a console operator's is 6 to 12
	TargetStale     = 5  // fewer than this on any day
	TargetTop       = 5  // percent of the load from the ten busiest sources at most, for a console
	TargetUrgent    = 5  // percent of calls of the highest priority
	TargetInTime    = 90 // percent of alarms answered in time: common practice, no source
	chatterRings    = 3
	chatterWithin   = 6 * time.Hour
	staleAfter      = 24 * time.Hour
	topSources      = 10
	longestStanding = 3
)

// HealthOf works the figures out from a journal, for the time from an instant to its end. The book
// tells the times to respond.
func HealthOf(es []state.Event, b *Book, from, to state.Instant) Health {
	h := healthCount{Health: Health{From: from, To: to, Loads: Loads(es, from, ShiftsIn(es))}, book: b,
		open: map[state.CallKey]*openCall{}, rang: map[Source][]state.Instant{}}
	for _, e := range es {
		if s, ok := e.Body.(state.CallStep); ok {
			h.step(e, s)
		}
	}
	h.finish()
	return h.Health
}

type openCall struct {
	rang     state.Instant
	respond  time.Duration
	answered bool
}

type healthCount struct {
	Health
	book *Book
	open map[state.CallKey]*openCall
	rang map[Source][]state.Instant
}

// step counts one step in the life of a call.
func (h *healthCount) step(e state.Event, s state.CallStep) {
	k := state.CallKey{Rule: s.Rule, Of: s.Of}
	c := h.open[k]
	switch {
	case s.What == state.Rang:
		c = &openCall{rang: e.At}
		if r := h.book.Rule(s.Rule); r != nil && r.Kind == Alarm {
			c.respond = r.Respond
		}
		h.open[k] = c
		if e.At >= h.From {
			h.Calls++
			h.Split[min(max(s.Priority, 0), 4)]++
			src := Source{Rule: s.Rule, Place: s.Of.Name}
			h.rang[src] = append(h.rang[src], e.At)
		}
	case c == nil:
	case s.What == state.Taken || s.Ends():
		h.answer(c, e.At)
		if s.Ends() {
			delete(h.open, k)
		}
	}
}

// answer counts whether an alarm was answered in time, once.
func (h *healthCount) answer(c *openCall, at state.Instant) {
	if c.respond == 0 || c.answered || c.rang < h.From {
		return
	}
	c.answered = true
	h.Alarms++
	if at.Sub(c.rang) <= c.respond {
		h.InTime++
	}
}

// finish counts what still stands and ranks the sources.
func (h *healthCount) finish() {
	for k, c := range h.open {
		if h.To.Sub(c.rang) > c.respond {
			h.answer(c, h.To)
		}
		h.Longest = append(h.Longest, StandingCall{k.Rule, k.Of, c.rang})
		if h.To.Sub(c.rang) > staleAfter {
			h.Stale++
		}
	}
	slices.SortFunc(h.Longest, func(a, b StandingCall) int {
		return cmp.Or(cmp.Compare(a.Since, b.Since), cmp.Compare(a.Rule, b.Rule),
			cmp.Compare(a.Of.Name, b.Of.Name))
	})
	h.Longest = h.Longest[:min(len(h.Longest), longestStanding)]
	for src, at := range h.rang {
		src.Rings = len(at)
		h.Top = append(h.Top, src)
		for i := chatterRings - 1; i < len(at); i++ {
			if at[i].Sub(at[i-chatterRings+1]) <= chatterWithin {
				h.Chattering = append(h.Chattering, src)
				break
			}
		}
	}
	busiest := func(a, b Source) int {
		return cmp.Or(b.Rings-a.Rings, cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Place, b.Place))
	}
	slices.SortFunc(h.Top, busiest)
	slices.SortFunc(h.Chattering, busiest)
	h.Top = h.Top[:min(len(h.Top), topSources)]
}
