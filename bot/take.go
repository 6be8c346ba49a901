package bot

import (
	"slices"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// Calls as people answer them: taken, put aside, taken by the figure they ask for.

// ok takes a call: the only one that stands for the sender, or the one named by its number.
func (t *turn) ok(f Fact) {
	c := t.callMeant(f)
	if c == nil {
		return
	}
	if c.State == state.Acknowledged && c.By == t.person.ID {
		t.say("taken.already", "number", c.Number)
		return
	}
	t.claim(c)
	t.say("taken.you", "number", c.Number, "what", t.sentence(c, t.lang()))
}

// claim makes a call the sender's, and tells the others who were rung.
func (t *turn) claim(c *state.Call) {
	t.said(t.msg.At, state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Taken, Number: c.Number,
		Priority: c.Priority})
	for _, id := range c.Told {
		if id != t.person.ID {
			t.tell(id, outRow(3, t.line), Outgoing{Text: t.voice.Say(t.langOf(id), "taken.other",
				"number", c.Number, "name", t.name(t.person.ID), "place", t.placeOf(c.Of, t.langOf(id)))})
		}
	}
}

// takeUp takes the alarms that ask for a figure which the sender has just told: that is an answer.
// A prompt ends by itself, and an alarm that asks for none rings on until it is taken or over.
func (t *turn) takeUp(es []state.Event) {
	for _, c := range t.callsFor(t.person.ID) {
		r := t.watch.Book.Rule(c.Rule)
		if r == nil || r.Kind != rules.Alarm || c.State != state.Unacknowledged {
			continue
		}
		if slices.ContainsFunc(es, func(e state.Event) bool {
			b, ok := e.Body.(state.Reading)
			return ok && b.What == r.Asks && b.Place == c.Of.Name && e.At >= c.Since
		}) {
			t.claim(c)
		}
	}
}

// callMeant finds the call that a bare or numbered word means, or asks which.
func (t *turn) callMeant(f Fact) *state.Call {
	mine := t.readable(t.callsFor(t.person.ID))
	numbered := strings.ContainsAny(t.msg.Text, "0123456789")
	if f.Has && (numbered || len(mine) != 1 || mine[0].Priority > 1) {
		c := t.mill.Numbered(int(f.Value))
		switch {
		case c == nil && t.seen(int(f.Value)):
			return nil
		case c == nil || len(t.readable([]*state.Call{c})) == 0:
			t.say("call.none", "number", int(f.Value))
			return nil
		}
		return c
	}
	var open []*state.Call
	for _, c := range mine {
		if c.State != state.Acknowledged {
			open = append(open, c)
		}
	}
	switch {
	case len(mine) == 0:
		t.say("call.nothing")
	case len(open) == 1 && open[0].Priority > 1:
		return open[0]
	case len(open) == 0 && len(mine) == 1:
		return mine[0]
	default:
		t.say("call.which")
		for _, c := range mine {
			t.lines = append(t.lines, t.numbered(c, t.lang()))
		}
	}
	return nil
}

// seen takes a call that was over before anybody took it: it does not ring again for that.
func (t *turn) seen(number int) bool {
	for _, c := range t.readable(t.mill.Returned()) {
		if c.Number == number {
			t.said(t.msg.At, state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Taken, Number: number,
				Priority: c.Priority})
			t.say("taken.over", "number", number, "place", t.placeOf(c.Of, t.lang()), "call",
				t.callName(c.Rule, t.lang()), "time", t.clock(c.Last))
			return true
		}
	}
	return false
}

// How long a call may be put aside: the most urgent only briefly.
const (
	asideUsual  = 20 * time.Minute
	asideUrgent = 10 * time.Minute
	asideMost   = 8 * time.Hour
)

// later puts a call aside until; for what is urgent only briefly.
func (t *turn) later(f Fact) {
	c := t.callMeant(f)
	if c == nil {
		return
	}
	d := asideUsual
	if span, ok := spokenSpan(f.Said); ok {
		d = min(span, asideMost)
	}
	if c.Priority == 1 {
		d = min(d, asideUrgent)
	}
	until := t.at.Add(d)
	t.said(t.msg.At, state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Aside, Number: c.Number,
		Priority: c.Priority, Until: until})
	t.say("aside", "number", c.Number, "time", t.clock(until))
}
