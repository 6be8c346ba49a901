package bot

import (
	"slices"

	"lotbell/bot/words"
	"lotbell/state"
)

// converse does what a line that was read asks for.
func (t *turn) converse(h Heard) {
	switch h.Outcome {
	case IsAsked:
		t.askBack(h)
	case IsRefused:
		t.refuse(h)
	default:
		if f := find(h.Facts, state.AirC); f != nil {
			t.dial(h.Facts, t.pendingAt(t.msg.From).Asked)
		}
		if t.origin(h.Facts) {
			return
		}
		t.facts(h.Facts)
		if h.Ask != "" && h.Ask != AskFigure && h.Outcome == IsSaidBack {
			t.stillAsk(h)
		}
	}
}

// stillAsk asks for what is missing of facts that were taken all the same: what a measure weighs,
// how many kilograms. The answer corrects the line.
func (t *turn) stillAsk(h Heard) {
	if !t.voice.Has("en", "ask."+h.Ask) || len(h.Facts) == 0 {
		return
	}
	f := h.Facts[0]
	if h.Ask == AskMeasure && f.Unit != "kg" && f.Unit != "" {
		h.About = t.shown(words.Measure, f.Unit)
	}
	t.ask(Asked{Place: f.Place, What: h.Ask, Facts: h.Left}, "", nil)
	t.say("ask."+h.Ask, "about", cut(h.About, 40), "near", h.Near, "place", f.Place, "room",
		t.roomLabel(h.Room), "example", t.exampleOf(h, f.Place))
}

// askBack asks for what is not clear. Only the words are kept until it is answered.
func (t *turn) askBack(h Heard) {
	if len(h.Facts) == 1 && h.Facts[0].What == SaysUndo {
		t.undo(h.Facts[0])
		return
	}
	if h.Ask == AskCall && len(h.Room) == 0 {
		t.say("call.nothing")
		return
	}
	q, key := Asked{What: h.Ask, Facts: h.Facts}, "ask."+h.Ask
	if len(h.Facts) > 0 {
		q.Place = h.Facts[0].Place
	} else if h.Ask != AskAgain {
		q.Place = h.Place
	}
	if len(h.Facts) == 0 && h.Ask == AskPlace && h.About != "" {
		q.Line, key = t.msg.Text, "ask.figure-place"
	}
	if h.Ask == AskFigure && h.Near == "" {
		key = "ask.figure-odd"
	}
	if h.Ask == AskTime && h.Near != "" {
		key = "ask.time-day"
	}
	t.ask(q, "facts", func(p *pending) { p.Heard = &h })
	t.say(key, "about", cut(h.About, 40), "near", h.Near, "place", q.Place, "room",
		t.roomLabel(h.Room), "example", t.exampleOf(h, q.Place))
	for _, f := range h.Facts {
		if f.Urgent {
			t.tellRole(state.Manager, "manager.words", "name", t.name(t.person.ID), "words",
				cut(t.msg.Text, 110))
			return
		}
	}
}

// dial remembers in which unit a drum's dial is, once somebody has said so.
func (t *turn) dial(fs []Fact, q *Asked) {
	if q == nil || q.What != AskDial || len(fs) == 0 {
		return
	}
	p, ok := t.mill.Place(q.Place)
	if !ok || p.DialUnit != "" {
		return
	}
	set := p.SetPlace
	set.DialUnit = "C"
	if fs[0].Said != "" {
		set.DialUnit = "F"
	}
	t.event(t.at, t.person.ID, 0, set)
}

// refuse says kindly what cannot be: an unsafe wish, an impossible figure, what is not kept here.
func (t *turn) refuse(h Heard) {
	switch {
	case find(h.Facts, SaysUnsafe) != nil:
		key := "stay-out"
		if find(h.Facts, SaysUnsafe).Word == "fumigate" {
			key = "fumigate"
		}
		t.caution(key)
		t.tellRole(state.Manager, "manager.unsafe", "name", t.name(t.person.ID), "words",
			cut(t.msg.Text, 100))
		t.tellPost(state.Safety, "manager.unsafe", "name", t.name(t.person.ID), "words",
			cut(t.msg.Text, 100))
	case find(h.Facts, SaysPrivate) != nil:
		t.say("refuse.not-kept")
	default:
		t.ask(Asked{What: Confirm, Facts: h.Facts}, "facts", func(p *pending) { p.Heard = &h })
		place, near := h.Place, h.Near
		if len(h.Facts) > 0 {
			place = h.Facts[0].Place
		}
		key := "refuse.figure"
		if near == "" {
			key = "refuse.figure-only"
		}
		t.say(key, "about", cut(h.About, 40), "near", near, "place", place)
	}
}

// facts does the conversation's own words and enters the floor's facts.
func (t *turn) facts(fs []Fact) {
	t.all = fs
	var floor []Fact
	for _, f := range fs {
		if do := talk(f.What); do != nil {
			do(t, f)
		} else {
			floor = append(floor, f)
		}
	}
	if len(floor) > 0 {
		t.enter(floor)
	}
}

// talk finds what a word of the conversation does; nil for a fact of the floor.
func talk(what string) func(t *turn, f Fact) {
	switch what {
	case SaysYes:
		return (*turn).yes
	case SaysNo:
		return (*turn).no
	case SaysOk:
		return (*turn).ok
	case SaysLater:
		return (*turn).later
	case SaysUndo:
		return (*turn).undo
	case SaysWhy:
		return (*turn).why
	case SaysLot:
		return (*turn).lotBook
	case SaysDue:
		return (*turn).due
	case SaysHow, SaysCap:
		return (*turn).how
	case SaysMill:
		return func(t *turn, _ Fact) { t.slate() }
	case SaysHello:
		return (*turn).hello
	case SaysHelpMe:
		return func(t *turn, f Fact) {
			if f.Word == state.Help {
				t.say("help.asks")
			}
			t.usage()
		}
	case SaysOn, SaysOff:
		return (*turn).shift
	case SaysLang:
		return (*turn).language
	case SaysCorrect:
		return (*turn).correct
	case SaysUnknown:
		return (*turn).dontKnow
	case SaysAgain:
		return func(t *turn, f Fact) { t.say("nothing.pending", "example", t.example()) }
	case SaysUnsafe:
		return func(t *turn, f Fact) { t.refuse(Heard{Facts: []Fact{f}}) }
	case SaysPrivate:
		return func(t *turn, f Fact) { t.say("refuse.not-kept") }
	}
	return nil
}

// tellRole sends a sentence to the holders of a role, other than whoever wrote.
func (t *turn) tellRole(r state.Role, key string, pairs ...any) {
	t.tellSome(func(p *state.Person) bool { return p.Is(r) }, key, pairs...)
}

// tellPost sends a sentence to those of a post, other than whoever wrote.
func (t *turn) tellPost(post state.Kind, key string, pairs ...any) {
	t.tellSome(func(p *state.Person) bool { return p.At(post) }, key, pairs...)
}

func (t *turn) tellSome(which func(p *state.Person) bool, key string, pairs ...any) {
	t.tellEach(which, func(lang string) string { return t.voice.Say(lang, key, pairs...) })
}

// tellEach sends to some people, other than whoever wrote, what is worded in each one's language.
func (t *turn) tellEach(which func(p *state.Person) bool, words func(lang string) string) {
	for _, p := range t.mill.Persons() {
		if p != t.person && which(p) {
			t.tell(p.ID, outRow(2, t.line), Outgoing{Text: words(t.langOf(p.ID))})
		}
	}
}

// quote is what is quoted of the sender: the line in question, when this one only answers yes.
func (t *turn) quote() string {
	if t.quoted != "" {
		return t.quoted
	}
	return t.msg.Text
}

// yes does what was asked about.
func (t *turn) yes(f Fact) {
	p := t.pendingAt(t.msg.From)
	if p.Do == "" {
		t.say("nothing.pending", "example", t.example())
		return
	}
	t.answered()
	switch p.Do {
	case "facts":
		t.quoted = p.Quote
		t.dial(p.Heard.Facts, p.Asked)
		t.facts(settled(*p.Heard))
	case "undo":
		t.withdraw(p.Line)
	case "book":
		t.adopt(p.Text, p.Quote)
	case "forget":
		t.erase(p.Text)
	case "coded":
		t.ask(*p.Asked, p.Do, func(q *pending) { q.Text = p.Text })
		t.say("code.ask", "name", t.name(t.person.ID))
	}
}

// settled is what a yes makes of facts: sure, and said a second time if it had to be. A wish that
// was asked whether it has happened has.
func settled(h Heard) []Fact {
	out := slices.Clone(h.Facts)
	if h.Ask == AskSure {
		out = happened(out)
	}
	for i := range out {
		again := slices.ContainsFunc(out[i].Doubt, func(d Doubt) bool { return d.What == "again" })
		if out[i].Doubt = nil; again {
			out[i].Doubt = []Doubt{{What: "again"}}
		}
	}
	return out
}

// happened makes acts of the wishes among facts; one that is told as an act besides falls away.
func happened(fs []Fact) []Fact {
	acts := map[string]string{state.OutOrdered: state.ActUnload, state.OutAsked: state.ActUnload,
		state.WashOrdered: state.ActWash, state.WashAsked: state.ActWash}
	var out []Fact
	for _, f := range fs {
		if act := acts[f.What]; act != "" {
			if slices.ContainsFunc(fs, func(g Fact) bool {
				return g.Place == f.Place && (moved(g.What) || g.What == state.WashRefused)
			}) {
				continue
			}
			f.What = act
		}
		out = append(out, f)
	}
	return out
}

// no leaves things as they are.
func (t *turn) no(f Fact) {
	p := t.pendingAt(t.msg.From)
	if p.Asked == nil {
		t.say("nothing.pending", "example", t.example())
		return
	}
	t.answered()
	t.say("left")
}

// undo shows the sender's last line and asks; yes withdraws it.
func (t *turn) undo(f Fact) {
	line := t.mill.LastLine(t.person.ID)
	if line == 0 {
		t.say("undo.nothing")
		return
	}
	words, err := t.db.Words(line)
	if err != nil || words == "" {
		words = t.b.Words[line]
	}
	t.ask(Asked{What: Confirm}, "undo", func(p *pending) { p.Line = line })
	e := t.mill.Said(line)[0]
	t.say("undo.ask", "words", cut(words, 80), "time", t.clock(e.At))
}

// withdraw takes a line back: every fact of it.
func (t *turn) withdraw(line state.Seq) {
	es := t.mill.Said(line)
	if len(es) == 0 {
		t.say("undo.nothing")
		return
	}
	var places []string
	for _, e := range es {
		for _, p := range bodyPlaces(e.Body) {
			if !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
		t.said(t.msg.At, state.Amend{Of: e.Seq})
	}
	t.say("undo.done")
	for _, p := range places {
		t.lines = append(t.lines, t.statusLine(p))
	}
}

// bodyPlaces lists the places a body speaks of, other than the floor and outside.
func bodyPlaces(b state.Body) []string {
	var out []string
	switch b := b.(type) {
	case state.Reading:
		out = append(out, b.Place)
	case state.Note:
		out = append(out, b.Place)
	case state.Tag:
		out = append(out, b.Place)
	case state.Move:
		for _, p := range append(slices.Clone(b.Out), b.In...) {
			if p.Place != state.Floor && p.Place != state.Outside {
				out = append(out, p.Place)
			}
		}
	}
	return out
}

// correct puts another figure in the place of the last one the sender said: "no 480".
func (t *turn) correct(f Fact) {
	if t.correctOpen(f) {
		return
	}
	line := t.mill.LastLine(t.person.ID)
	if line != 0 && f.Told && !f.Has {
		t.correctTime(line, f.At)
		return
	}
	if line != 0 && !f.Has && t.correctPlace(line, f.Place) {
		return
	}
	if line == 0 || !f.Has {
		t.say("correct.nothing", "example", t.example())
		return
	}
	for _, e := range t.mill.Said(line) {
		if b := corrected(e.Body, f); b != nil {
			t.said(t.msg.At, state.Amend{Of: e.Seq, Body: b})
			t.echo([]state.Event{*t.mill.Event(e.Seq)}, nil, "corrected")
			return
		}
	}
	t.say("correct.nothing", "example", t.example())
}

// correctOpen puts another figure or place into the line that stands open with a question, and
// reads it again: nothing of it is in the book yet, and the line before it was right.
func (t *turn) correctOpen(f Fact) bool {
	p := t.pendingAt(t.msg.From)
	if p.Asked == nil || len(p.Asked.Facts) == 0 || p.Asked.What != AskWhat || f.Told {
		return false
	}
	place, figure := p.Asked.Place, p.Asked.Facts[0]
	if f.Has {
		figure.Value, figure.Digits = f.Value, f.Digits
	}
	if f.Place != "" {
		place = f.Place
	}
	t.answered()
	c := t.context()
	c.Asked = nil
	t.converse(Read(place+" "+plainNumber(figure.Value, int(figure.Digits)), c, t.words))
	return true
}

// correctTime gives a line another hour, once it was asked for.
func (t *turn) correctTime(line state.Seq, at state.Instant) {
	var es []state.Event
	for _, e := range t.mill.Said(line) {
		t.said(t.msg.At, state.Amend{Of: e.Seq, At: min(at, t.at), Body: e.Body})
		es = append(es, *t.mill.Event(e.Seq))
	}
	t.answered()
	t.echo(es, nil, "corrected")
}

// corrected is a body with another figure; nil when it has none.
func corrected(b state.Body, f Fact) state.Body {
	switch b := b.(type) {
	case state.Reading:
		b.Value, b.Digits = f.Value, f.Digits
		return b
	case state.Move:
		for i := range b.In {
			if len(b.In) == 1 {
				in := slices.Clone(b.In)
				was := in[i].Mass
				in[i].Mass, b.Said = state.Kg(f.Value), ""
				out := slices.Clone(b.Out)
				for j := range out {
					if out[j].Place == state.Outside && out[j].Mass == was { // both were weighed as one
						out[j].Mass = in[i].Mass
					}
				}
				b.In, b.Out = in, out
				return b
			}
		}
	}
	return nil
}

// language changes the language somebody is spoken to in.
func (t *turn) language(f Fact) {
	if !t.voice.Speaks(f.Word) {
		t.say("lang.unknown", "about", f.Word)
		return
	}
	s := state.Staff{Person: t.person.ID, Roles: t.person.Roles, Posts: t.person.Posts,
		Lang: f.Word, Wakes: t.person.Wakes}
	t.said(t.msg.At, s)
	t.say("lang.set")
}
