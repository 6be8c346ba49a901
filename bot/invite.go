package bot

import (
	"crypto/subtle"
	"regexp"
	"slices"
	"strings"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// invitedFor is how long an invitation is good.
const invitedFor = 48 * time.Hour

// invite makes a code for somebody, good once: they send "join CODE" from the phone they will write
// from, or open the link. "invite nora worker tanks es" says who she is at the same time.
func (t *turn) invite(words []string) {
	if len(words) == 0 || t.o.Code == nil {
		t.bad("keeper.short", "example", "invite rosa worker tanks es")
		return
	}
	if len(words) > 1 {
		before := t.failed
		t.failed = false
		if t.personLine(words); t.failed {
			return
		}
		t.failed = before
	}
	id := t.personNamed(words[0])
	if id == 0 || t.mill.Person(id) == nil {
		t.bad("keeper.nobody", "about", cut(words[0], 30), "example", "invite rosa worker tanks es")
		return
	}
	if t.hereShared() && !t.privately(t.person.ID) {
		t.say("rights.own-phone")
		return
	}
	c := t.cards[id]
	c.Code, c.Until = t.o.Code(), t.at.Add(invitedFor)
	t.card(c)
	for _, line := range t.invitation(c) {
		if !t.hereShared() {
			t.lines = append(t.lines, line)
			continue
		}
		t.tell(t.person.ID, outRow(answersAt, 0), Outgoing{Text: line, Private: true})
	}
	if t.hereShared() {
		t.say("keeper.invited-there", "name", c.Name)
	}
}

// invitation words an invitation, with a link when the transport has one.
func (t *turn) invitation(c journal.Card) []string {
	until := t.clock(c.Until)
	out := []string{t.voice.Say(t.lang(), "keeper.invite", "name", c.Name, "code", c.Code, "time",
		until)}
	if t.o.Link != nil {
		if link := t.o.Link(c.Code); link != "" {
			out = append(out, t.voice.Say(t.lang(), "keeper.link", "link", link))
		}
	}
	return out
}

// joinWord says whether a word begins a line that brings a code. "start" is what a link sends.
func joinWord(word string) bool {
	return slices.Contains([]string{"join", "start", "entrar"}, strings.ToLower(word))
}

// joins takes "join CODE" and "start CODE"; it says whether the line was one. Too many wrong codes
// get no answer. A line of somebody of the mill may mean something else: it is a code only when it
// fits or could be nothing but one.
func (t *turn) joins(h Heard) bool {
	words := strings.Fields(t.msg.Text)
	if t.msg.Kind != Text || len(words) == 0 || len(words) > 2 || !joinWord(words[0]) {
		return false
	}
	if len(words) == 1 {
		if t.person != nil && strings.EqualFold(words[0], "start") {
			t.usage()
			return true
		}
		return false
	}
	until, barred := t.barred()
	switch {
	case t.person != nil && !t.codeLike(words[1], h):
		return !barred && t.enrol(words[1])
	case barred && t.person != nil:
		t.say("code.rest", "time", t.clock(until))
	case barred, t.enrol(words[1]):
	case t.person != nil:
		t.wrongCode()
		t.say("code.closed")
	default:
		t.wrongCode()
		return false
	}
	return true
}

// codeForm matches the codes that serve makes: ten letters of base 32 (RFC 4648).
var codeForm = regexp.MustCompile(`^[a-z2-7]{10}$`)

// codeLike says whether what somebody of the mill wrote behind "join" can be nothing but a code. A
// wish to enter somewhere is never taken for one.
func (t *turn) codeLike(word string, h Heard) bool {
	word = strings.ToLower(word)
	if f := find(h.Facts, SaysUnsafe); f != nil {
		return f.Place == state.Whole && codeForm.MatchString(word) && strings.ContainsAny(word, "234567")
	}
	_, place := t.mill.Place(word)
	return !place && len(word) >= 6 && len(h.Facts) == 0
}

// enrol binds an address to the person whose invitation has this code. The person's role and posts
// are those that a keeper gave them.
func (t *turn) enrol(code string) bool {
	code = strings.ToLower(code)
	for _, id := range t.peopleIDs() {
		c := t.cards[id]
		if c.Code == "" ||
			subtle.ConstantTimeCompare([]byte(strings.ToLower(c.Code)), []byte(code)) != 1 {
			continue
		}
		if c.Until != 0 && t.at > c.Until || t.mill.Person(id) == nil {
			c.Code, c.Until = "", 0
			t.card(c)
			return false
		}
		t.bind(c)
		return true
	}
	return false
}

// bind gives a person the phone that the message in hand comes from, and welcomes them.
func (t *turn) bind(c journal.Card) {
	c.Code, c.Until = "", 0
	here := t.msg.From.String()
	if !slices.Contains(c.At, here) {
		c.At = append(slices.Clone(c.At), here)
	}
	t.card(c)
	t.person = t.mill.Person(c.Person)
	t.wrote[c.Person] = true
	t.reached(true)
	t.tellRole(state.Keeper, "keeper.joined", "name", c.Name)
	t.say("enrolled", "name", c.Name)
	t.offerSetup()
	if t.hereShared() {
		p := *t.pendingAt(t.msg.From)
		p.forget()
		p.Speaker, p.Spoke = c.Person, t.at
		t.keepPending(t.msg.From, &p)
		ids := t.people[here]
		t.say("speaker.shared", "names", t.names(ids), "example", t.name(ids[0]))
	}
	t.usage()
}

// strangerEvery is how often a stranger is answered.
const strangerEvery = time.Hour

// stranger tells somebody who is not of the mill how to be enrolled, once an hour, and nothing
// else; nothing at all after too many wrong codes.
func (t *turn) stranger() {
	p := t.pendingAt(t.msg.From)
	if _, no := t.barred(); no || p.Answered != 0 && t.at.Sub(p.Answered) < strangerEvery {
		return
	}
	p.Answered = t.at
	t.keepPending(t.msg.From, p)
	t.say("stranger")
}
