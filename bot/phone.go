package bot

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"lotbell/bot/voice"
	"lotbell/bot/words"
	"lotbell/state"
	"lotbell/state/journal"
)

// speakerFor is how long somebody stays the present speaker of a shared phone after their last
// line: a shift.
const speakerFor = 8 * time.Hour

// waiting is a line from a shared phone that cannot be done before it is known who wrote it.
type waiting struct {
	ID   string
	At   state.Instant
	Text string
}

// mostWaiting is how many such lines a phone keeps.
const mostWaiting = 30

// shared says whether several persons write from an address.
func (d *Desk) shared(address string) bool { return len(d.people[address]) > 1 }

// hereShared says whether the message in hand comes from a shared phone.
func (t *turn) hereShared() bool { return t.msg != nil && t.shared(t.msg.From.String()) }

// writer is who wrote the message in hand; nil for a stranger. On a shared phone it is whoever
// last said so; after a silence, and before anybody has said so, somebody without a number, who
// has the posts of all and the rights of none.
func (t *turn) writer() *state.Person {
	ids := t.people[t.msg.From.String()]
	switch len(ids) {
	case 0:
		return nil
	case 1:
		return t.mill.Person(ids[0])
	}
	p := t.pendingAt(t.msg.From)
	if slices.Contains(ids, p.Speaker) && t.at.Sub(p.Spoke) <= speakerFor {
		return t.mill.Person(p.Speaker)
	}
	who := &state.Person{Roles: []state.Role{state.Worker}, Reachable: true}
	for _, id := range ids {
		x := t.mill.Person(id)
		if x == nil {
			continue
		}
		if who.Lang == "" || id == p.Speaker {
			who.Lang = x.Lang
		}
		for _, k := range x.Posts {
			if !slices.Contains(who.Posts, k) {
				who.Posts = append(who.Posts, k)
			}
		}
	}
	return who
}

// unnamed says whether the message in hand is from a shared phone and nobody has said who writes.
func (t *turn) unnamed() bool { return t.person != nil && t.person.ID == 0 && t.hereShared() }

// shares does what comes first on a phone: saying who writes. It gives what is left to do of the
// line, and false when that is nothing. What is seen on the floor is taken from anybody, because an
// alarm must not wait for a name; what needs a name waits for it.
func (t *turn) shares(h Heard) (Heard, bool) {
	if t.msg.Kind == Text && t.introduces() {
		return h, false
	}
	if !t.hereShared() {
		return h, true
	}
	p := t.pendingAt(t.msg.From)
	if t.person.ID != 0 {
		p.Spoke = t.at
		t.keepPending(t.msg.From, p)
		return h, true
	}
	floor := slices.ContainsFunc(h.Facts, func(f Fact) bool { return talk(f.What) == nil })
	if !t.ordersKeeper() && (floor || !slices.ContainsFunc(h.Facts, personal)) {
		h.Facts = slices.DeleteFunc(slices.Clone(h.Facts), personal)
		return h, true
	}
	if len(p.Waiting) < mostWaiting && t.msg.Text != "" && t.msg.Kind == Text {
		p.Waiting = append(p.Waiting, waiting{t.msg.ID, t.msg.At, t.msg.Text})
		t.keepPending(t.msg.From, p)
	}
	t.asksWho()
	return h, false
}

// personal says whether a fact of the conversation means nothing without knowing whose it is.
func personal(f Fact) bool {
	switch f.What {
	case SaysOk, SaysLater, SaysUndo, SaysDue, SaysOn, SaysOff, SaysLang, SaysCorrect,
		state.WashOrdered, state.WashRefused, state.OutOrdered:
		return true
	}
	return false
}

// asksWho asks who writes, with a key for each.
func (t *turn) asksWho() {
	ids := t.people[t.msg.From.String()]
	t.say("speaker.ask", "names", t.names(ids), "example", t.name(ids[0]))
	t.keys = nil
	for _, id := range ids {
		t.keys = append(t.keys, []string{t.voice.Say(t.lang(), "key.speaker", "name", t.name(id))})
	}
}

// introduces takes "I am ana" and "ana here". On a phone of one person it says how a phone is
// shared, if somebody else is named.
func (t *turn) introduces() bool {
	name, ok := t.selfNamed(t.msg.Text)
	if !ok {
		return false
	}
	id := t.personNamed(name)
	ids := t.people[t.msg.From.String()]
	switch {
	case id == 0 || t.mill.Person(id) == nil:
		if !t.unnamed() {
			return false // "I am going" is no name
		}
		t.asksWho()
	case !slices.Contains(ids, id):
		t.say("speaker.not-here", "name", t.name(id))
	case len(ids) == 1:
		t.say("speaker.now", "name", t.name(id))
	default:
		t.speaks(id)
	}
	return true
}

// selfNamed finds the name in a line by which somebody says who writes.
func (t *turn) selfNamed(text string) (string, bool) {
	text = strings.Trim(words.FoldText(text), " .,!:")
	for _, w := range t.listed("speaker.before") {
		if name, ok := strings.CutPrefix(text, w+" "); ok && !strings.Contains(name, " ") {
			return name, true
		}
	}
	for _, w := range t.listed("speaker.after") {
		if name, ok := strings.CutSuffix(text, " "+w); ok && !strings.Contains(name, " ") {
			return strings.Trim(name, ",:"), true
		}
	}
	return "", false
}

// speaks makes somebody the present speaker, and does what waited for that.
func (t *turn) speaks(id state.PersonID) {
	p := *t.pendingAt(t.msg.From)
	if p.Speaker != id && p.Do != "" {
		coded := p.Do == "coded"
		p.forget() // a yes is the answer of whoever was asked
		if coded { // and a code that still comes is no figure
			p.Asked, p.AskedAt, p.Do = &Asked{What: "code"}, t.at, "uncoded"
		}
	}
	held := p.Waiting
	p.Speaker, p.Spoke, p.Waiting = id, t.at, nil
	t.keepPending(t.msg.From, &p)
	t.person = t.mill.Person(id)
	t.wrote[id] = true
	t.keys = nil
	t.say("speaker.now", "name", t.name(id))
	now := t.msg
	for _, w := range held {
		m := *now
		m.ID, m.At, m.Text = w.ID, w.At, w.Text
		t.msg, t.line = &m, 0
		t.hear()
	}
	t.msg = now
}

// oneRow is a message of this turn to a shared phone: its place among the rows, whom it names.
type oneRow struct {
	row   int
	names string
	text  string
}

// tell sends a text to a person at every address they have. On a shared phone it begins with their
// name; one that is for several of the phone goes there once, and what is private not at all.
func (t *turn) tell(id state.PersonID, row journal.Out, o Outgoing) {
	for _, a := range t.cards[id].At {
		switch {
		case !t.shared(a):
			t.post(ParseAddress(a), id, row, o)
		case !o.Private:
			t.tellShared(a, id, row, o)
		}
	}
}

// tellOpen sends a message to the phones that are a person's own, and a text to those they share.
func (t *turn) tellOpen(id state.PersonID, row journal.Out, own Outgoing, open string) {
	own.Private = true
	t.tell(id, row, own)
	for _, a := range t.cards[id].At {
		if t.shared(a) {
			t.tellShared(a, id, row, Outgoing{Text: open})
		}
	}
}

// tellPrivately sends a sentence to the holders of a role where nobody else reads it. When none of
// them has such a phone the operator is told, without what it says.
func (t *turn) tellPrivately(r state.Role, key string, pairs ...any) {
	alone := false
	for _, p := range t.mill.Persons() {
		if p != t.person && p.Is(r) {
			alone = alone || t.privately(p.ID)
			t.tell(p.ID, outRow(2, t.line), Outgoing{Private: true,
				Text: t.voice.Say(t.langOf(p.ID), key, pairs...)})
		}
	}
	if !alone && !t.person.Is(r) {
		t.o.Report("something private (" + key + ") could be told to nobody: no " + string(r) +
			" has a phone of their own")
	}
}

// tellShared sends a text to a shared phone, with the name of whoever it is for, and no picture.
func (t *turn) tellShared(address string, id state.PersonID, row journal.Out, o Outgoing) {
	o.Picture = nil
	for i := range t.phones[address] {
		s := &t.phones[address][i]
		old := &t.b.Out[s.row]
		if old.Cause != row.Cause || row.Cause == 0 || old.Key != row.Key ||
			row.Key == "" && s.text != o.Text {
			continue
		}
		s.names += ", " + t.name(id)
		o.Text = fitFirst(s.names + ": " + s.text)
		if body, err := json.Marshal(o); err == nil {
			old.Body = body
		}
		return
	}
	s := oneRow{row: len(t.b.Out), names: t.name(id), text: o.Text}
	t.phones[address] = append(t.phones[address], s)
	o.Text = fitFirst(s.names + ": " + o.Text)
	t.post(ParseAddress(address), id, row, o)
}

// fitFirst breaks the first line of a text that a name has made longer than a plain message.
func fitFirst(text string) string {
	first, rest, more := strings.Cut(text, "\n")
	if voice.Septets(first) <= shortest {
		return text
	}
	end := len(first)
	for voice.Septets(first[:end]) > shortest {
		cut := strings.LastIndex(first[:end], " ")
		if cut <= 0 {
			return text
		}
		end = cut
	}
	text = first[:end] + "\n" + strings.TrimSpace(first[end:])
	if more {
		text += "\n" + rest
	}
	return text
}

// reached notes whether the chat of the message in hand takes messages. Somebody cannot be reached
// when none of their chats does.
func (t *turn) reached(open bool) {
	p := t.pendingAt(t.msg.From)
	if p.Shut == open {
		p.Shut = !open
		t.keepPending(t.msg.From, p)
	}
	for _, id := range t.people[t.msg.From.String()] {
		can := slices.ContainsFunc(t.cards[id].At, func(a string) bool {
			return !t.pendingAt(ParseAddress(a)).Shut
		})
		if x := t.mill.Person(id); x != nil && x.Reachable != can {
			t.own(state.Reach{Person: id, OK: can})
		}
	}
}

// moved follows a chat that has a new address: everyone who writes from it, what it was asked, and
// what it is sent as a group.
func (t *turn) moved() {
	from, to := t.msg.From.String(), t.msg.To.String()
	for _, id := range slices.Clone(t.people[from]) {
		c := t.cards[id]
		c.At = slices.Clone(c.At)
		c.At[slices.Index(c.At, from)] = to
		t.card(c)
	}
	if p := *t.pendingAt(t.msg.From); t.person != nil || p.Answered != 0 {
		t.keepPending(t.msg.To, &p)
		delete(t.pend, from)
		t.b.Pending[from] = nil
	}
	t.regroup(from, to)
}
