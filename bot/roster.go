package bot

import (
	"slices"
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// absence is what an `absent` line says: who, and until when (0: until they come on again).
type absence struct {
	who   []state.PersonID
	until state.Instant
}

// absent says that somebody is not at the mill: absent luis, absent luis until 18:00, absent rosa
// luis 2 d; alone: the sender. Nothing rings there, and what rings now goes to the next.
func (t *turn) absent(ws []string) {
	a, ok := t.readAbsence(ws)
	if !ok {
		return
	}
	if !t.mayRoster(a.who) {
		t.tellRole(state.Manager, "manager.words", "name", t.name(t.person.ID), "words",
			cut(t.msg.Text, 110))
		t.say("absent.passed-on")
		return
	}
	for _, id := range a.who {
		t.away(id, a.until)
	}
}

// present says that somebody who was away is back: present luis; alone: the sender comes on shift.
func (t *turn) present(ws []string) {
	if len(ws) == 0 && t.person.ID != 0 {
		t.shift(Fact{What: SaysOn})
		return
	}
	a, ok := t.readAbsence(ws)
	if !ok {
		return
	}
	if !t.mayRoster(a.who) {
		t.say("absent.passed-on")
		return
	}
	for _, id := range a.who {
		t.said(t.msg.At, state.Duty{Person: id, Over: true})
		t.say("present.noted", "name", t.name(id))
	}
}

// mayRoster says whether the sender may say of some people that they are away or back: of oneself
// anybody may.
func (t *turn) mayRoster(who []state.PersonID) bool {
	p := t.person
	return p.Is(state.Manager) || p.Is(state.Deputy) || p.Is(state.Lead) || p.Is(state.Keeper) ||
		len(who) == 1 && who[0] == p.ID
}

// readAbsence reads names, then perhaps until when. What is wrong with it is said.
func (t *turn) readAbsence(ws []string) (absence, bool) {
	const example = "absent luis until 18:00"
	var a absence
	for i, w := range ws {
		w = words.FoldText(strings.Trim(w, ",;"))
		if id := t.personNamed(w); id != 0 {
			a.who = append(a.who, id)
			continue
		}
		if t.means(w, "answer.idle") && len(a.who) > 0 {
			continue
		}
		at, ok := t.untilWhen(ws[i:])
		if !ok {
			t.bad("absent.what", "about", cut(w, 30), "example", example)
			return a, false
		}
		a.until = at
		break
	}
	if len(a.who) == 0 && t.person.ID != 0 {
		a.who = append(a.who, t.person.ID)
	}
	if len(a.who) == 0 {
		t.bad("keeper.short", "example", example)
		return a, false
	}
	return a, true
}

// untilWhen reads "until 18:00", "until 1800", "hasta las 6", "2 h", "3 d": the next such hour by
// the mill's clock, or a time from now.
func (t *turn) untilWhen(ws []string) (state.Instant, bool) {
	var rest []string
	for _, w := range ws {
		if w = words.FoldText(w); !t.means(w, "answer.until") && !t.means(w, "answer.idle") ||
			w == "h" {
			rest = append(rest, w)
		}
	}
	text := strings.Join(rest, " ")
	if d, ok := spokenSpan(text); ok && strings.ContainsAny(text, "hdm") && d <= 30*24*time.Hour {
		return t.at.Add(d), true
	}
	for _, form := range [...]string{"15:04", "1504", "15", "15.04"} {
		at, err := time.Parse(form, text)
		if err != nil {
			continue
		}
		here := t.at.Time().In(t.mill.Zone())
		day := time.Date(here.Year(), here.Month(), here.Day(), at.Hour(), at.Minute(), 0, 0,
			here.Location())
		if !day.After(here) {
			day = day.AddDate(0, 0, 1)
		}
		return state.At(day), true
	}
	return 0, false
}

// away notes that somebody is not at the mill, and passes on what rings for them now.
func (t *turn) away(id state.PersonID, until state.Instant) {
	calls := t.held(id)
	t.said(t.msg.At, state.Duty{Person: id, Away: true, Until: until})
	if until != 0 {
		t.say("absent.until", "name", t.name(id), "time", t.clock(until))
	} else {
		t.say("absent.noted", "name", t.name(id))
	}
	for _, c := range calls {
		t.passOn(c, id)
	}
	for _, post := range t.mill.Person(id).Posts {
		at := t.whom(string(post), state.Subject{})
		if len(at) > 0 {
			t.say("absent.cover", "post", t.kindName(post), "names", t.names(at))
		} else {
			t.say("absent.none", "post", t.kindName(post))
			t.tellRole(state.Manager, "absent.none-manager", "name", t.name(id), "post", string(post))
		}
	}
}

// held lists the calls that are somebody's: those they have taken, and those rung to them that
// nobody has.
func (d *Desk) held(id state.PersonID) []*state.Call {
	return slices.DeleteFunc(d.callsFor(id), func(c *state.Call) bool {
		return c.State == state.Acknowledged && c.By != id
	})
}

// passOn gives a call of somebody to the next of its ladder, and tells both sides.
func (t *turn) passOn(c *state.Call, from state.PersonID) {
	if to := t.handTo(c, from); len(to) > 0 {
		t.give(c, from, to)
		t.say("shift.handed", "number", c.Number, "names", t.names(to))
		if t.person != nil && slices.Contains(to, t.person.ID) {
			t.lines = append(t.lines, t.numbered(c, t.lang()))
		}
	}
}

// give hands a call from somebody to others. Who writes just now reads of it in the answer.
func (t *turn) give(c *state.Call, from state.PersonID, to []state.PersonID) {
	t.event(t.at, 0, t.line, state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Handed,
		Number: c.Number, Priority: c.Priority, To: to, Rung: c.Rung})
	for _, id := range to {
		if t.person != nil && id == t.person.ID {
			continue
		}
		t.tell(id, outRow(c.Priority, t.line), Outgoing{Text: t.voice.Say(t.langOf(id),
			"handed", "name", t.name(from), "what", t.numbered(c, t.langOf(id)))})
	}
}

// stillAway tells somebody who writes from the floor that they are noted as away.
func (t *turn) stillAway() {
	if t.person.AwayAt(t.at) && t.line != 0 && t.mill.Event(t.line) != nil {
		t.say("absent.you")
	}
}

// doors is what a watchman is told besides: at whose doors to knock. Everybody else is "".
func (t *turn) doors(id state.PersonID, c *state.Call, s state.CallStep) string {
	if s.What != state.Again || !t.mill.Person(id).Is(state.Watch) {
		return ""
	}
	asleep := slices.DeleteFunc(slices.Clone(c.Told), func(p state.PersonID) bool {
		return slices.Contains(s.To, p) || t.mill.Person(p).AwayAt(t.at)
	})
	if len(asleep) == 0 {
		return ""
	}
	return t.voice.Say(t.langOf(id), "call.doors", "names", t.names(asleep))
}
