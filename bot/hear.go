package bot

import (
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
	"lotbell/state/journal"
)

// hear answers the message in hand. Help comes first and from anyone.
func (t *turn) hear() {
	if t.aboutLink() {
		return
	}
	if t.msg.Group {
		t.group()
		return
	}
	if t.msg.Kind == Rehearsed {
		t.rehearsedBack()
		return
	}
	t.msg.Text = pressed(t.msg.Text)
	code := t.takeCode()
	heard := Read(t.msg.Text, t.context(), t.words)
	if find(heard.Facts, state.Help) != nil && !t.writesRule() {
		t.help(heard)
		return
	}
	switch {
	case t.msg.Kind != Document || t.person == nil:
	case t.msg.Text != "" && !t.person.Is(state.Keeper): // what stands under it is a line
	case t.hereShared():
		t.say("rights.own-phone")
		return
	default:
		t.document()
		return
	}
	if t.joins(heard) {
		return
	}
	if t.person == nil {
		t.stranger()
		return
	}
	t.reached(true)
	heard, more := t.shares(heard)
	if more && t.unlocked(heard, code) {
		t.attend(heard)
		t.offerLanguage(heard)
	}
}

// offerLanguage tells somebody who never chose a language, once, how to be answered in Spanish:
// after three lines written in it.
func (t *turn) offerLanguage(h Heard) {
	const lines = 3
	p := *t.pendingAt(t.msg.From)
	if !h.Spanish || t.person.Lang != "" || t.lang() == "es" || p.Spanish >= lines {
		return
	}
	if p.Spanish++; p.Spanish == lines {
		t.say("lang.offer")
	}
	t.keepPending(t.msg.From, &p)
}

// aboutLink takes what a transport says of itself: a chat that was shut, opened or moved, messages
// that are lost; and what the program does of its clock.
func (t *turn) aboutLink() bool {
	switch t.msg.Kind {
	case Blocked, Unblocked:
		if t.msg.Group {
			t.groupShut()
		} else {
			t.reached(t.msg.Kind == Unblocked)
		}
	case Moved:
		t.moved()
	case Missed:
		t.missed()
	case Trouble:
		t.trouble(t.msg.Text)
	case ClockWas:
		t.clockWas()
	default:
		return false
	}
	return true
}

// attend does what somebody of the mill has written.
func (t *turn) attend(heard Heard) {
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
	if t.codeAmong() {
		t.say("code.alone", "example", "code 4826")
		return
	}
	if _, sets := t.setupWord(words.FoldText(strings.TrimSpace(t.msg.Text))); sets && t.hereShared() {
		t.say("rights.own-phone")
		return
	}
	if !t.hereShared() && t.setsUp(heard) || t.received() || t.asksDay() ||
		!t.undoes(heard) && t.keeps() || t.finds() || t.announces(heard) {
		return
	}
	if t.whereCried(heard) {
		return
	}
	t.converse(heard)
	t.stillAway()
	if t.unnamed() {
		t.asksWho()
	}
}

// undoes says whether a line that begins like a command takes something back: "remove last".
func (t *turn) undoes(h Heard) bool {
	ws := strings.Fields(t.msg.Text)
	return find(h.Facts, SaysUndo) != nil && (len(ws) < 2 || t.personNamed(ws[1]) == 0)
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

// Cries says whether words cry for help, whoever wrote them. It may be asked beside the desk's own
// goroutine.
func (d *Desk) Cries(text string) bool {
	return find(Read(pressed(text), Context{}, d.words).Facts, state.Help) != nil
}

// cut shortens a text to some characters.
func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
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

// trouble tells every keeper of something that whoever runs the program must mend.
func (t *turn) trouble(what string) {
	for _, p := range t.mill.Persons() {
		if p.Is(state.Keeper) {
			t.tell(p.ID, journal.Out{Priority: 2, Key: "trouble/" + what},
				Outgoing{Text: t.voice.Say(t.langOf(p.ID), "trouble."+what)})
		}
	}
}

// unreadable answers a voice note, a picture, a sticker, a place on a map, a file. The shift lead
// learns that something was sent that could not be read.
func (t *turn) unreadable() {
	kind := t.msg.Kind
	if kind == Document {
		kind = Other
	}
	text := t.voice.Say(t.lang(), "cannot."+string(kind), "example", t.example())
	told := false
	for _, p := range t.mill.Persons() {
		if kind != Sticker && p.Is(state.Lead) && p != t.person {
			lang := t.langOf(p.ID)
			t.tell(p.ID, journal.Out{Priority: 4, Key: "unread/" + t.msg.From.ID},
				Outgoing{Text: t.voice.Say(lang, "lead.unread", "name", t.name(t.person.ID),
					"what", t.voice.Say(lang, "kind."+string(kind)))})
			told = true
		}
	}
	if told {
		text = t.voice.Say(t.lang(), "cannot.told", "text", text)
	}
	t.lines = append(t.lines, text)
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
