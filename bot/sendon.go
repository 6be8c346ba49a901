package bot

import (
	"lotbell/state"
)

// What Lotbell has no rule for is passed on to whoever can do something about it, and the answer
// says to whom. Nothing of it is an event: it would change no forecast and ring nobody.

// hearers are those to whom a line goes for the sake of one of its facts; nil for nobody.
type hearers func(p *state.Person) bool

// hearersOf says to whom a fact is passed on, and answers the sender where the fact has no echo of
// its own. False: the fact is another's to deal with.
func (t *turn) hearersOf(f Fact) (who hearers, ok bool) {
	leads := func(p *state.Person) bool { return p.Is(state.Manager) || p.Is(state.Lead) }
	switch f.What {
	case SaysAsks:
		t.say("asked.for", "place", f.Place, "what", t.label(f.Word))
		post := t.mill.KindOf(f.Place)
		raining := f.Word == state.Covered && t.mill.Raining(t.at) != 0
		decides := t.decides()
		return func(p *state.Person) bool {
			return !decides && leads(p) || (decides || raining) && p.At(post)
		}, true
	case SaysTrouble:
		t.say("trouble.heard", "place", f.Place, "what", t.label(f.Word))
		return func(p *state.Person) bool { return leads(p) || p.At(state.Safety) }, true
	case SaysNot:
		if f.Word == SaysTrouble {
			t.say("all.well", "place", f.Place)
			return nil, true
		}
		t.say("not.so", "place", f.Place, "what", t.label(f.Word))
		return leads, true
	case SaysHolds:
		t.holds(f)
		return nil, true
	}
	return nil, false
}

// holds answers that coffee is in a place. In the line of one who goes off shift it was compared
// with the book there.
func (t *turn) holds(f Fact) {
	if find(t.all, SaysOff) == nil {
		t.lines = append(t.lines, t.statusLine(f.Place))
	}
}

// keptHearers are those to whom a line goes for the sake of a fact that was kept; nil for nobody.
func keptHearers(f Fact) hearers {
	switch f.What {
	case SaysHold, SaysSample:
		return func(p *state.Person) bool { return p.Is(state.Manager) || p.At(state.Lab) }
	case SaysReject:
		return func(p *state.Person) bool { return p.Is(state.Manager) }
	}
	return nil
}

// decides says whether the sender may order what others ask for.
func (t *turn) decides() bool {
	return t.person.Is(state.Manager) || t.person.Is(state.Deputy) || t.person.Is(state.Lead)
}

// sendOn sends the sender's words, once, to all whom some facts of the line concern, and says to
// whom; or that there is nobody.
func (t *turn) sendOn(who []hearers) {
	if len(who) == 0 {
		return
	}
	var names []state.PersonID
	for _, p := range t.mill.Persons() {
		for _, hears := range who {
			if p != t.person && p.Reachable && hears(p) {
				names = append(names, p.ID)
				t.tell(p.ID, outRow(2, t.line), Outgoing{Text: t.voice.Say(t.langOf(p.ID),
					"manager.words", "name", t.name(t.person.ID), "words", cut(t.quote(), 110))})
				break
			}
		}
	}
	if len(names) == 0 {
		t.say("passed.nobody")
		return
	}
	t.say("passed.on", "names", t.names(names))
}

// dontKnow takes that the answer to the last question is not known: the question is closed, and the
// shift lead, or else the manager, hears of it.
func (t *turn) dontKnow(f Fact) {
	q := t.pendingAt(t.msg.From).Asked
	if q == nil {
		t.say("nothing.pending", "example", t.example())
		return
	}
	t.answered()
	role := state.Lead
	if len(t.whom(string(role), state.Subject{})) == 0 {
		role = state.Manager
	}
	what := q.What
	if _, ok := state.QuantityOf(what); !ok {
		what = ""
	}
	t.tellEach(func(p *state.Person) bool { return p.Is(role) }, func(lang string) string {
		name := t.voice.Say(lang, "name.it")
		if what != "" {
			name = t.voice.Say(lang, "name."+what)
		}
		return t.voice.Say(lang, "unknown.told", "name", t.name(t.person.ID), "place", q.Place,
			"what", name)
	})
	t.say("unknown.noted", "names", t.names(t.whom(string(role), state.Subject{})))
}
