package bot

import (
	"maps"
	"slices"
	"strings"

	"lotbell/bot/voice"
	"lotbell/state"
	"lotbell/state/journal"
)

// help passes a cry on at once, before anything else is done with the message, and says whom it
// reached, what to keep from, and asks where when that was not said. A stranger's is kept and
// passed on with the address they wrote from. A message that comes again with the same words, for a
// change that nobody sees, is no new cry.
func (t *turn) help(h Heard) {
	if line, known := t.lineOf(); known && t.msg.Kind == Edited {
		if was, err := t.db.Words(line); err == nil && was == t.msg.Text {
			return
		}
	}
	t.said(t.msg.At, state.Note{Place: state.Whole, What: state.Help})
	to := t.cryOn()
	t.comfort(slices.Clone(to))
	if s, ok := t.mill.Setting(state.SetTell); ok {
		t.say("help.number", "number", s.Text)
	}
	if about := find(h.Facts, state.Help).Word; about != "" {
		t.caution("help-" + about)
	}
	if find(h.Facts, SaysUnsafe) != nil {
		t.caution("stay-out")
	}
	asked, setup := t.pendingAt(t.msg.From).Asked, t.setupAt()
	switch {
	case t.person == nil || t.msg.Group || setup.Asked != 0 && setup.By == t.person.ID:
	case asked != nil && asked.What == state.Help:
		t.answered()
	case h.Ask == AskPlace && asked == nil && len(to) > 0:
		t.say("help.where")
		t.ask(Asked{What: state.Help}, "", nil)
	}
}

// writesRule says that a keeper writes a rule of several lines, whose sentences tell of fires.
func (t *turn) writesRule() bool {
	first, _, more := strings.Cut(t.msg.Text, "\n")
	ws := strings.Fields(first)
	return more && t.person.Is(state.Keeper) && len(ws) > 0 &&
		slices.Contains([]string{"rule", "book"}, t.verb(ws[0]))
}

// whereCried takes the answer to that question for a further cry, so that its words are passed on
// too: a place and no more, or what nobody here understands.
func (t *turn) whereCried(h Heard) bool {
	a := t.pendingAt(t.msg.From).Asked
	if a == nil || a.What != state.Help {
		return false
	}
	only := len(h.Facts) == 1 && h.Facts[0].What == SaysHow && !strings.Contains(t.msg.Text, "?")
	if !only && (len(h.Facts) > 0 || h.Ask != AskAgain && h.Ask != AskPlace && h.Ask != AskWhat) {
		return false
	}
	t.help(Heard{Facts: []Fact{{Place: state.Whole, What: state.Help}}})
	return true
}

// cryKeys are whom a cry goes to, in the order in which they are named: the first minute's, and the
// others of the mill, who are told at once where none of the first can be reached.
var cryKeys = [...]string{string(state.Manager), string(state.Watch), string(state.Lead),
	string(state.Safety), cryOthers}

const cryOthers = "others"

// cryKey is what somebody is called for when a cry is passed on.
func cryKey(p *state.Person) string {
	for _, r := range [...]state.Role{state.Manager, state.Watch, state.Lead} {
		if p.Is(r) {
			return string(r)
		}
	}
	if p.At(state.Safety) {
		return string(state.Safety)
	}
	return cryOthers
}

// cryOn sends the words of a cry to those of the first minute, or to everybody where none of them
// can be reached. It gives the keys of those it reached, the first two: what is said must be short.
func (t *turn) cryOn() []string {
	told := map[string]bool{}
	send := func(first bool) {
		for _, p := range t.mill.Persons() {
			if key := cryKey(p); p != t.person && (key != cryOthers) == first {
				told[key] = told[key] || t.reaches(p.ID)
				t.tellCry(p.ID)
			}
		}
	}
	if send(true); !slices.Contains(slices.Collect(maps.Values(told)), true) {
		send(false)
	}
	keys := slices.DeleteFunc(slices.Clone(cryKeys[:]), func(k string) bool { return !told[k] })
	return keys[:min(len(keys), 2)]
}

// reaches says whether somebody has a phone that takes messages and is not the one in hand.
func (t *turn) reaches(id state.PersonID) bool {
	return slices.ContainsFunc(t.cards[id].At, func(a string) bool {
		return a != t.msg.From.String() && !t.pendingAt(ParseAddress(a)).Shut
	})
}

// tellCry sends the words of a cry to one.
func (t *turn) tellCry(id state.PersonID) {
	lang := t.langOf(id)
	who := t.voice.Say(lang, "help.stranger", "from", t.msg.From.ID)
	if t.person != nil {
		who = t.name(t.person.ID)
	}
	t.tell(id, journal.Out{Priority: 0, Cause: t.line}, Outgoing{Text: t.voice.Say(lang,
		"help.words", "who", who, "words", cut(strings.TrimSpace(t.msg.Text), 90))})
}

// comfort says whom a cry reached, or first of all that it reached nobody, and what to keep from.
func (t *turn) comfort(to []string) {
	said := t.voice.Say(t.lang(), "help.nobody")
	if len(to) > 0 {
		for i, key := range to {
			to[i] = t.voice.Say(t.lang(), "help.to."+key)
		}
		said = t.voice.Say(t.lang(), "help.passed", "who",
			strings.Join(to, t.voice.Say(t.lang(), "help.and")))
	}
	caution := t.cautionIn(t.lang(), "help")
	if both := said + " " + caution; voice.Septets(both) <= shortest {
		t.lines = append(t.lines, both)
		return
	}
	t.lines = append(t.lines, said, caution)
}
