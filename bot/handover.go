package bot

import (
	"slices"
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// A shift is handed over in two words. Who goes off says so, and perhaps what stands where; that is
// compared with the book, and the next of the post is told. The calls stay with who goes until
// somebody says received or comes on shift; after half an hour they go up their ladders.

// handAtMost is how long a hand-over waits to be received.
const handAtMost = 30 * time.Minute

// shift puts the sender on or off duty.
func (t *turn) shift(f Fact) {
	switch {
	case f.Word == "absent" && f.Said != "" && t.personNamed(words.FoldText(f.Said)) != t.person.ID:
		t.absent([]string{f.Said})
	case f.Word == "absent":
		t.away(t.person.ID, 0)
		t.tellRole(state.Manager, "manager.words", "name", t.name(t.person.ID), "words",
			cut(t.msg.Text, 110))
	case f.What == SaysOn:
		t.comeOn()
	default:
		t.goOff(t.all)
	}
}

// comeOn puts the sender on shift, which receives what is handed over at their post.
func (t *turn) comeOn() {
	from := t.handing(t.person)
	t.said(t.msg.At, state.Duty{Person: t.person.ID, On: true})
	t.say("shift.on")
	t.receive(from)
	t.dueLines()
}

// received takes a bare word such as "received" from somebody to whom a shift is handed over, and
// says whether it was one.
func (t *turn) received() bool {
	if t.person == nil || !t.means(words.FoldText(strings.TrimSpace(t.msg.Text)), "answer.received") {
		return false
	}
	from := t.handing(t.person)
	if len(from) == 0 {
		return false
	}
	if !t.person.OnDuty(t.at) {
		t.said(t.msg.At, state.Duty{Person: t.person.ID, On: true})
	}
	t.receive(from)
	t.dueLines()
	return true
}

// handing lists who hands over to somebody: those who went off, share a post with them, and were
// not received; to a lead or a manager, anybody nobody else is there for.
func (t *turn) handing(to *state.Person) []state.PersonID {
	var out []state.PersonID
	for _, p := range t.mill.Persons() {
		if p.Leaving != 0 && p.ID != to.ID && slices.Contains(t.receivers(p), to.ID) {
			out = append(out, p.ID)
		}
	}
	return out
}

// receivers is who may receive from somebody: the others of their posts, those on shift if any are;
// if there is none, the shift leads, else the managers.
func (t *turn) receivers(p *state.Person) []state.PersonID {
	var to []state.PersonID
	for _, post := range p.Posts {
		to = append(to, t.whom(string(post), state.Subject{})...)
	}
	for _, next := range [...]state.Role{state.Lead, state.Deputy, state.Manager} {
		to = slices.DeleteFunc(to, func(id state.PersonID) bool {
			return id == p.ID || !t.mill.Person(id).Reachable
		})
		if len(to) > 0 {
			break
		}
		to = t.whom(string(next), state.Subject{})
	}
	to = slices.DeleteFunc(to, func(id state.PersonID) bool { return id == p.ID })
	slices.Sort(to)
	return slices.Compact(to)
}

// receive gives the sender what some people hand over.
func (t *turn) receive(from []state.PersonID) {
	for _, id := range from {
		for _, c := range t.held(id) {
			t.give(c, id, []state.PersonID{t.person.ID})
		}
		t.said(t.msg.At, state.Duty{Person: id, Over: true})
		t.say("hand.received", "name", t.name(id))
		t.tell(id, outRow(3, t.line), Outgoing{Text: t.voice.Say(t.langOf(id), "hand.taken",
			"name", t.name(t.person.ID), "time", t.clockAt(t.at, t.at, t.langOf(id)))})
	}
}

// goOff ends the sender's shift: what stands is compared with what they wrote, and told to who may
// receive it. With nothing in hand nothing needs to be received.
func (t *turn) goOff(fs []Fact) {
	me := t.person
	calls, stands := t.held(me.ID), t.standing(me)
	if len(calls) == 0 && len(stands) == 0 {
		t.said(t.msg.At, state.Duty{Person: me.ID, Over: true})
		t.say("shift.off")
		return
	}
	t.said(t.msg.At, state.Duty{Person: me.ID})
	to := t.receivers(me)
	until := t.at.Add(handAtMost)
	if len(to) == 0 {
		t.say("hand.nobody", "time", t.clock(until))
	} else {
		t.say("hand.off", "names", t.names(to), "time", t.clock(until))
	}
	for _, c := range calls {
		t.lines = append(t.lines, t.numbered(c, t.lang()))
	}
	t.lines = append(t.lines, t.against(me, fs)...)
	for _, id := range to {
		t.offer(id, calls, stands, fs)
	}
	for _, place := range stands {
		t.lines = append(t.lines, t.statusLine(place))
	}
}

// offer tells somebody what is handed over to them, in their language.
func (t *turn) offer(id state.PersonID, calls []*state.Call, stands []string, fs []Fact) {
	u := t.to(id)
	u.say("hand.offer", "name", t.name(t.person.ID), "places", len(stands), "n", len(calls))
	if said := strings.TrimSpace(t.msg.Text); len(fs) > 1 {
		u.say("manager.words", "name", t.name(t.person.ID), "words", cut(said, 110))
	}
	u.lines = append(u.lines, u.against(t.person, fs)...)
	for _, c := range calls {
		u.lines = append(u.lines, u.numbered(c, u.lang()))
	}
	for _, place := range stands {
		u.lines = append(u.lines, u.statusLine(place))
	}
	t.tell(id, outRow(2, t.line), Outgoing{Text: strings.Join(u.lines, "\n"),
		Keys: [][]string{{t.voice.Say(u.lang(), "key.received")}}})
}

// to is a turn that speaks to somebody; it commits nothing.
func (t *turn) to(id state.PersonID) *turn {
	return &turn{Desk: t.Desk, at: t.at, msg: &Message{Lang: t.langOf(id), At: t.at}}
}

// standing lists the places of somebody's posts that hold coffee.
func (t *turn) standing(p *state.Person) []string {
	var out []string
	for _, x := range t.mill.Places() {
		if p.At(x.Kind) && len(t.mill.StaysAt(x.Name)) > 0 {
			out = append(out, x.Name)
		}
	}
	return out
}

// against compares what somebody who goes off wrote with the book, as it was before they wrote: in
// which places each has coffee, which fires burn, what is covered. A line that names no place says
// nothing to compare.
func (t *turn) against(p *state.Person, fs []Fact) []string {
	named, kinds := map[string]bool{}, slices.Clone(p.Posts)
	for _, f := range fs {
		if _, ok := t.mill.Place(f.Place); ok {
			named[f.Place] = true
			kinds = append(kinds, t.mill.KindOf(f.Place))
		}
	}
	if len(named) == 0 {
		return nil
	}
	var missing, empty, out []string
	for _, x := range t.mill.Places() {
		held := len(t.mill.StaysAt(x.Name)) > 0
		switch {
		case held && !named[x.Name] && slices.Contains(kinds, x.Kind):
			missing = append(missing, x.Name)
		case !held && named[x.Name]:
			empty = append(empty, x.Name)
		}
	}
	if len(missing) > 0 {
		out = append(out, t.voice.Say(t.lang(), "hand.missing", "names", strings.Join(missing, " ")))
	}
	if len(empty) > 0 {
		out = append(out, t.voice.Say(t.lang(), "hand.empty", "names", strings.Join(empty, " ")))
	}
	for _, f := range fs {
		if mark := t.otherwise(f); mark != "" {
			out = append(out, t.voice.Say(t.lang(), "hand.differs", "place", f.Place, "what",
				t.voice.Say(t.lang(), "mark."+mark)))
		}
	}
	if len(out) == 0 {
		out = append(out, t.voice.Say(t.lang(), "hand.same"))
	}
	return out
}

// otherwise is the mark that the book has where a line says the opposite; "" where they agree or
// the book says nothing.
func (t *turn) otherwise(f Fact) string {
	opposite := map[string]string{state.FireLit: state.FireOut, state.FireOut: state.FireLit,
		state.Covered: state.Uncovered, state.Uncovered: state.Covered}[f.What]
	if f.What == SaysNot && f.Word == state.Covered {
		opposite = state.Covered
	}
	if opposite == "" || len(t.mill.StaysAt(f.Place)) == 0 {
		return ""
	}
	v, _ := t.look(f.Place, t.at)
	is := func(fact string) state.Truth { x, _, _ := v.Read(fact); return x.Is }
	switch {
	case opposite == state.FireOut && is("fire_out") == state.Yes,
		opposite == state.FireLit && is("fire_lit") == state.Yes,
		opposite == state.Covered && is("covered") == state.Yes,
		opposite == state.Uncovered && is("covered") == state.No:
		return opposite
	}
	return ""
}

// nextHandover is when the first hand-over that nobody received ends; 0 for never.
func (d *Desk) nextHandover() state.Instant {
	next := state.Instant(0)
	for _, p := range d.mill.Persons() {
		if end := p.Leaving.Add(handAtMost); p.Leaving != 0 && (next == 0 || end < next) {
			next = end
		}
	}
	return next
}

// unreceived ends the hand-overs that nobody received in time: calls go to the next of their
// ladders, and the shift lead or the manager hears of it.
func (t *turn) unreceived() {
	for _, p := range t.mill.Persons() {
		if p.Leaving == 0 || t.at < p.Leaving.Add(handAtMost) {
			continue
		}
		n := 0
		for _, c := range t.held(p.ID) {
			if to := t.handTo(c, p.ID); len(to) > 0 {
				t.give(c, p.ID, to)
				n++
			}
		}
		t.own(state.Duty{Person: p.ID, Over: true})
		role := state.Lead
		if len(t.whom(string(role), state.Subject{})) == 0 {
			role = state.Manager
		}
		for _, id := range t.whom(string(role), state.Subject{}) {
			if id != p.ID {
				t.tell(id, outRow(3, 0), Outgoing{Text: t.voice.Say(t.langOf(id), "hand.unreceived",
					"name", t.name(p.ID), "n", n)})
			}
		}
	}
}
