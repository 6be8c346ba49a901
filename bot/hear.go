package bot

import (
	"strings"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// hear answers the message in hand. Help comes first and from anyone.
func (t *turn) hear() {
	switch t.msg.Kind {
	case Blocked, Unblocked:
		if t.person != nil {
			t.event(t.at, 0, 0, state.Reach{Person: t.person.ID, OK: t.msg.Kind == Unblocked})
		}
		return
	case Moved:
		t.moved()
		return
	case Missed:
		t.missed()
		return
	case Rehearsed:
		if t.person != nil {
			t.rehearsedBack()
		}
		return
	case Document:
		if t.person != nil {
			t.document()
		}
		return
	}
	heard := Read(t.msg.Text, t.context(), t.words)
	if f := find(heard.Facts, state.Help); f != nil {
		t.help()
		return
	}
	if t.person == nil {
		t.stranger()
		return
	}
	if !t.person.Reachable {
		t.event(t.at, 0, 0, state.Reach{Person: t.person.ID, OK: true})
	}
	switch t.msg.Kind {
	case Edited:
		t.edited()
		return
	case Text:
	default:
		if t.msg.Text == "" {
			t.unreadable()
			return
		}
	}
	if t.setsUp(heard) || t.received() || t.keeps() {
		return
	}
	t.converse(heard)
	t.stillAway()
}

// find is the first fact of a kind.
func find(fs []Fact, what string) *Fact {
	for i := range fs {
		if fs[i].What == what {
			return &fs[i]
		}
	}
	return nil
}

// help passes a cry on at once, before anything else is done with the message. A stranger's is
// kept and passed on with the address they wrote from.
func (t *turn) help() {
	t.said(t.msg.At, state.Note{Place: state.Whole, What: state.Help})
	t.say("help.passed")
	if s, ok := t.mill.Setting(state.SetTell); ok {
		t.say("help.number", "number", s.Text)
	}
	words := strings.TrimSpace(t.msg.Text)
	for _, p := range t.mill.Persons() {
		if (p.Is(state.Manager) || p.At(state.Safety) || p.Is(state.Watch) || p.Is(state.Lead)) &&
			p != t.person {
			who := t.voice.Say(t.langOf(p.ID), "help.stranger", "from", t.msg.From.ID)
			if t.person != nil {
				who = t.name(t.person.ID)
			}
			text := t.voice.Say(t.langOf(p.ID), "help.words", "who", who, "words", cut(words, 90))
			t.tell(p.ID, journal.Out{Priority: 0, Cause: t.line}, Outgoing{Text: text})
		}
	}
}

// cut shortens a text to some characters.
func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// strangerEvery is how often a stranger is answered.
const strangerEvery = time.Hour

// stranger tells somebody who is not of the mill how to be enrolled, once an hour, and nothing
// else. A right code enrols.
func (t *turn) stranger() {
	if words := strings.Fields(t.msg.Text); len(words) == 2 {
		if w := strings.ToLower(words[0]); w == "join" || w == "start" || w == "entrar" {
			if t.enrol(words[1]) {
				return
			}
		}
	}
	p := t.pendingAt(t.msg.From)
	if p.Answered != 0 && t.at.Sub(p.Answered) < strangerEvery {
		return
	}
	p.Answered = t.at
	t.keepPending(t.msg.From, p)
	t.say("stranger")
}

// enrol binds an address to the person whose invitation has this code.
func (t *turn) enrol(code string) bool {
	for _, c := range t.cards {
		if c.Code != "" && c.Code == code {
			c.Code, c.At = "", append(c.At, t.msg.From.String())
			t.card(c)
			t.person = t.mill.Person(c.Person)
			t.say("enrolled", "name", c.Name)
			t.say("words.post")
			return true
		}
	}
	return false
}

// card changes the address book.
func (t *turn) card(c journal.Card) {
	t.file(c)
	t.b.Cards = append(t.b.Cards, c)
}

// moved follows a chat that has a new address.
func (t *turn) moved() {
	if t.person == nil {
		return
	}
	c := t.cards[t.person.ID]
	at := make([]string, len(c.At))
	for i, a := range c.At {
		at[i] = a
		if a == t.msg.From.String() {
			at[i] = t.msg.To.String()
		}
	}
	c.At = at
	t.card(c)
}

// missed asks everyone to send again what a transport has lost.
func (t *turn) missed() {
	for _, p := range t.mill.Persons() {
		lang := t.langOf(p.ID)
		t.tell(p.ID, journal.Out{Priority: 2, Key: "missed"}, Outgoing{Text: t.voice.Say(lang,
			"missed", "from", t.clockAt(t.msg.At, t.at, lang), "to",
			t.clockAt(t.msg.Until, t.at, lang))})
	}
}

// unreadable answers a voice note, a picture, a sticker, a place on a map. The shift lead learns
// that something was sent that could not be read.
func (t *turn) unreadable() {
	t.say("cannot."+string(t.msg.Kind), "example", t.example())
	if t.msg.Kind == Sticker {
		return
	}
	for _, p := range t.mill.Persons() {
		if p.Is(state.Lead) && p != t.person {
			text := t.voice.Say(t.langOf(p.ID), "lead.unread", "name", t.name(t.person.ID),
				"what", t.voice.Say(t.langOf(p.ID), "kind."+string(t.msg.Kind)))
			t.tell(p.ID, journal.Out{Priority: 4, Key: "unread/" + t.msg.From.ID},
				Outgoing{Text: text})
		}
	}
}

// example is a line that works for the sender's post, with a place the mill has.
func (t *turn) example() string {
	for _, post := range t.person.Posts {
		for _, p := range t.mill.Places() {
			if p.Kind == post && t.voice.Has("en", "example."+string(post)) {
				return t.voice.Say(t.lang(), "example."+string(post), "place", p.Name)
			}
		}
	}
	return t.voice.Say(t.lang(), "example.any")
}
