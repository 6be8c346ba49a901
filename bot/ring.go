package bot

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// ring words a call step and puts it into the outbox of everyone it goes to.
func (t *turn) ring(e state.Event, s state.CallStep) {
	c := t.mill.Standing(state.CallKey{Rule: s.Rule, Of: s.Of})
	switch s.What {
	case state.Rang, state.Again:
		if c == nil {
			return
		}
		for _, id := range s.To {
			t.rings = append(t.rings, ringing{id, c, e, s})
		}
		t.knock(c, s)
	default:
		t.ends = append(t.ends, ending{e, s})
	}
	t.o.Report(fmt.Sprintf("call %d %s: %s %s", s.Number, s.What, s.Rule, s.Of.Name))
}

// ringing is one call that goes to one person in this turn.
type ringing struct {
	to   state.PersonID
	call *state.Call
	e    state.Event
	step state.CallStep
}

// floodFrom is how many calls to one person in one step are gathered into one message.
const floodFrom = 4

// sendRings words the calls of this turn, first those that ended. Somebody whom many reach at once
// gets one message with all of them, the most urgent first (a flood, by EEMUA 191, is more than a
// person can read).
func (t *turn) sendRings() {
	for _, x := range t.ends {
		t.ended(x.e, x.step)
	}
	by := map[state.PersonID][]ringing{}
	var order []state.PersonID
	for _, r := range t.rings {
		if by[r.to] == nil {
			order = append(order, r.to)
		}
		by[r.to] = append(by[r.to], r)
	}
	for _, id := range order {
		rs := slices.DeleteFunc(slices.Clone(by[id]), func(r ringing) bool {
			return t.private(r.step.Rule) // never one of many
		})
		many := len(rs) >= floodFrom || inPlace(rs) > 1
		if many {
			t.ringMany(id, rs)
		}
		for _, r := range by[id] {
			if !many || t.private(r.step.Rule) {
				t.ringOne(id, r.call, r.e, r.step)
			}
		}
	}
	t.rings, t.ends = nil, nil
}

// inPlace counts the calls that go to somebody in the place of others.
func inPlace(rs []ringing) int {
	n := 0
	for _, r := range rs {
		if len(r.step.For) > 0 {
			n++
		}
	}
	return n
}

// spared says why a call comes to somebody else than it is meant for.
func (t *turn) spared(s state.CallStep, lang string) string {
	if len(s.For) == 0 {
		return ""
	}
	return " " + t.voice.Say(lang, "call.spared", "names", t.names(s.For), "n", t.mostCalls())
}

// mostCalls is how many calls one person gets in an hour, by the book; 0 for no bound.
func (t *turn) mostCalls() int { return int(t.watch.Book.Limits["calls_an_hour"].Value) }

// private says whether a call is for those alone whom it goes to.
func (d *Desk) private(rule string) bool {
	r := d.watch.Book.Rule(rule)
	return r != nil && r.Private
}

// readable lists those of some calls that the reader of an answer may read: what is private only on
// a phone of their own, and only who was rung and managers.
func (t *turn) readable(calls []*state.Call) []*state.Call {
	return slices.DeleteFunc(slices.Clone(calls), func(c *state.Call) bool {
		return t.private(c.Rule) && (t.person == nil || t.hereShared() ||
			!t.person.Is(state.Manager) && !slices.Contains(c.Told, t.person.ID))
	})
}

// ringMany words many calls for one person in one message.
func (t *turn) ringMany(id state.PersonID, rs []ringing) {
	slices.SortStableFunc(rs, func(a, b ringing) int { return a.call.Priority - b.call.Priority })
	lang := t.langOf(id)
	text := t.voice.Say(lang, "flood", "n", len(rs), "number", rs[0].call.Number)
	for _, r := range rs {
		text += "\n" + t.numbered(r.call, lang)
		if more := t.whoAndWhen(id, r.call, r.step, lang); more != "" {
			text += " " + more
		}
		text += t.spared(r.step, lang)
	}
	row := journal.Out{Priority: rs[0].call.Priority, Cause: rs[0].e.Seq,
		Expires: t.at.Add(alarmKeeps)}
	t.tell(id, row, Outgoing{Text: text})
}

// How long a call's message is worth sending: an old prompt is worded anew by the next rung.
const (
	alarmKeeps  = 12 * time.Hour
	promptKeeps = 1 * time.Hour
)

// ringOne words a call for one person. The first line is enough by itself.
func (t *turn) ringOne(id state.PersonID, c *state.Call, e state.Event, s state.CallStep) {
	lang := t.langOf(id)
	rule := t.watch.Book.Rule(c.Rule)
	text := t.numbered(c, lang)
	if s.What == state.Again {
		text = t.voice.Say(lang, "again") + " " + text
	}
	second := t.voice.Say(lang, "call.take", "number", c.Number)
	if more := t.whoAndWhen(id, c, s, lang); more != "" {
		second += " " + more
	}
	second += t.spared(s, lang)
	if doors := t.doors(id, c, s); doors != "" {
		second += " " + doors
	}
	if caution := t.to(id).callCaution(rule, s); caution != "" {
		second += "\n" + caution
	}
	for _, line := range t.to(id).underCall(rule) {
		second += "\n" + line
	}
	row := journal.Out{Priority: c.Priority, Cause: e.Seq, Expires: t.at.Add(promptKeeps),
		Key: fmt.Sprintf("call/%d", c.ID)}
	if c.Priority <= 2 {
		row.Expires = t.at.Add(alarmKeeps)
	}
	t.tell(id, row, Outgoing{Text: text + "\n" + second, Keys: t.keysFor(rule.Asks, c, lang),
		Private: rule.Private})
	if rule.Private && !t.privately(id) {
		t.o.Report("a private call (" + rule.Name + ") could not be told to " + t.name(id) +
			", who has no phone of their own")
	}
	if rule.Asks != "" && rule.Asks != "wash" {
		for _, a := range t.cards[id].At {
			t.askAt(ParseAddress(a), Asked{Place: c.Of.Name, What: rule.Asks}, "", nil)
		}
	}
}

// whoAndWhen is what stands under every call: who else was told, what to do where the sentence is
// the mill's own and may not say it, by when, and since when it is so.
func (t *turn) whoAndWhen(id state.PersonID, c *state.Call, s state.CallStep, lang string) string {
	rule := t.watch.Book.Rule(c.Rule)
	var out []string
	others := slices.DeleteFunc(slices.Clone(c.Told), func(o state.PersonID) bool { return o == id })
	if len(others) > 0 {
		out = append(out, t.voice.Say(lang, "call.others", "names", t.names(others)))
	}
	if rule.Action != "" && !t.voice.Has(lang, "call.name."+rule.Name) {
		out = append(out, t.voice.Say(lang, "call.do", "action", strings.TrimSuffix(rule.Action, ".")))
	}
	if rule.Respond > 0 {
		key, by := "call.by", c.Rang.Add(rule.Respond)
		if by < t.at {
			key = "call.due"
		}
		out = append(out, t.voice.Say(lang, key, "time", t.clockAt(by, t.at, lang)))
	}
	if s.Since != 0 && t.at.Sub(s.Since) > 15*time.Minute {
		out = append(out, t.voice.Say(lang, "call.since", "time", t.clockAt(s.Since, t.at, lang)))
	}
	return strings.Join(out, " ")
}

// keysFor is the keyboard of plain texts that goes with a call.
func (t *turn) keysFor(asks string, c *state.Call, lang string) [][]string {
	say := func(key string) string {
		return t.voice.Say(lang, key, "place", c.Of.Name, "number", c.Number)
	}
	take := []string{say("key.ok"), say("key.later")}
	switch asks {
	case "hand":
		return [][]string{{say("key.rough"), say("key.slippery")}, take}
	case "wash":
		return [][]string{{say("key.wash")}, take}
	}
	return [][]string{take}
}

// numbered is a call with its number, as it is rung and listed.
func (t *turn) numbered(c *state.Call, lang string) string {
	return fmt.Sprintf("(%d) %s", c.Number, t.sentence(c, lang))
}

// sentence is what a call says now.
func (t *turn) sentence(c *state.Call, lang string) string {
	rule := t.watch.Book.Rule(c.Rule)
	if rule == nil {
		return c.Rule
	}
	v := t.watch.Book.Look(t.mill, t.watch.Know, c.Of, t.at)
	return t.fill(v, c.Of, rule.Says, lang, t.at)
}

// callName is what a call is called when it is spoken of.
func (t *turn) callName(rule, lang string) string {
	if key := "call.name." + rule; t.voice.Has(lang, key) {
		return t.voice.Say(lang, key)
	}
	return strings.ReplaceAll(rule, "-", " ")
}

// operator is the comparison's sign.
func operator(text string) string {
	for _, w := range strings.Fields(text) {
		if strings.ContainsAny(w[:1], "<>=!") {
			return w
		}
	}
	return " "
}

// handTo is whom a call goes to when somebody leaves: the rest of its rung, else the managers.
func (t *turn) handTo(c *state.Call, from state.PersonID) []state.PersonID {
	rule := t.watch.Book.Rule(c.Rule)
	if rule == nil {
		return nil
	}
	var out []state.PersonID
	for rung := 0; rung < len(rule.Ladder) && len(out) == 0; rung++ {
		for _, w := range rule.Ladder[rung].Whom {
			for _, id := range t.whom(w, c.Of) {
				if p := t.mill.Person(id); id != from && p.Reachable && !slices.Contains(out, id) {
					out = append(out, id)
				}
			}
		}
	}
	if len(out) > 0 {
		return out
	}
	return slices.DeleteFunc(t.whom(string(state.Manager), c.Of), func(id state.PersonID) bool {
		return id == from
	})
}
