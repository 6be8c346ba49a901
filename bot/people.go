package bot

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"lotbell/state"
	"lotbell/state/journal"
)

// Book is the text and version of the rule book in force.
func (d *Desk) Book() (string, int) { return d.mill.Book() }

// FirstCode is the code by which the first keeper enrols, as long as nobody of the mill can be
// reached; "" afterwards. It is made once and kept, and ends with its use.
func (d *Desk) FirstCode(now state.Instant) (string, error) {
	for _, c := range d.cards {
		if len(c.At) > 0 {
			return "", nil
		}
	}
	for _, id := range d.peopleIDs() {
		if c := d.cards[id]; c.Code != "" && c.Until == 0 {
			return c.Code, nil
		}
	}
	if d.o.Code == nil {
		return "", nil
	}
	t := d.turn(now)
	c := journal.Card{Person: t.mill.NextPerson(), Name: "keeper", Code: d.o.Code()}
	t.card(c)
	t.own(state.Staff{Person: c.Person, Roles: []state.Role{state.Manager, state.Keeper},
		Lang: "en"})
	t.own(state.Reach{Person: c.Person})
	return c.Code, d.finish(t)
}

// CannotWrite is the one line that goes out unsaved when nothing can be stored.
func (d *Desk) CannotWrite(lang string) string {
	if !d.voice.Speaks(lang) {
		return d.voice.Say("es", "cannot-write") + " / " + d.voice.Say("en", "cannot-write")
	}
	return d.voice.Say(lang, "cannot-write")
}

// HelpAddresses are where a cry for help goes, by a transport.
func (d *Desk) HelpAddresses(via string) []string {
	var out []string
	for _, p := range d.mill.Persons() {
		if !p.Is(state.Manager) && !p.At(state.Safety) && !p.Is(state.Watch) && !p.Is(state.Lead) {
			continue
		}
		for _, a := range d.cards[p.ID].At {
			if x := ParseAddress(a); x.Via == via && !slices.Contains(out, x.ID) {
				out = append(out, x.ID)
			}
		}
	}
	return out
}

// peopleIDs lists everyone who has a card, also those who have left, by number.
func (d *Desk) peopleIDs() []state.PersonID { return slices.Sorted(maps.Keys(d.cards)) }

// personNamed finds somebody by name; 0 when there is none.
func (d *Desk) personNamed(name string) state.PersonID {
	for _, id := range d.peopleIDs() {
		if d.cards[id].Name != "" && strings.EqualFold(d.cards[id].Name, name) {
			return id
		}
	}
	return 0
}

// card changes the address book.
func (t *turn) card(c journal.Card) {
	t.file(c)
	t.b.Cards = append(t.b.Cards, c)
}

// file keeps a card of the address book in memory. One address may be of several persons.
func (d *Desk) file(c journal.Card) {
	for _, a := range d.cards[c.Person].At {
		d.people[a] = slices.DeleteFunc(slices.Clone(d.people[a]), func(id state.PersonID) bool {
			return id == c.Person
		})
		if len(d.people[a]) == 0 {
			delete(d.people, a)
		}
	}
	d.cards[c.Person] = c
	for _, a := range c.At {
		if !slices.Contains(d.people[a], c.Person) {
			d.people[a] = append(slices.Clone(d.people[a]), c.Person)
			slices.Sort(d.people[a])
		}
	}
}

// longestName is the most letters of a person's name.
const longestName = 24

// wakesAll is the keeper's word for somebody whom every call may wake.
const wakesAll = "all"

// personLine says who somebody is, and which calls may wake them at night when they are off shift:
// person rosa worker tanks es urgent. All may, unless it says urgent or never.
func (t *turn) personLine(words []string) {
	const example = "person rosa worker tanks es"
	if len(words) < 2 {
		t.bad("keeper.short", "example", example)
		return
	}
	name := strings.ToLower(words[0])
	s := state.Staff{Person: t.personNamed(name)}
	if old := t.mill.Person(s.Person); old != nil {
		s.Lang, s.Wakes = old.Lang, old.Wakes
	}
	for _, w := range words[1:] {
		l := strings.ToLower(w)
		kind, isKind := t.kind(l)
		switch {
		case slices.Contains(state.Roles(), state.Role(l)):
			s.Roles = append(s.Roles, state.Role(l))
		case isKind:
			s.Posts = append(s.Posts, kind)
		case t.voice.Speaks(l):
			s.Lang = l
		case l == state.WakesUrgent || l == state.WakesNever:
			s.Wakes = l
		case l == wakesAll:
			s.Wakes = ""
		default:
			t.bad("keeper.word", "about", cut(w, 30), "example", example)
			return
		}
	}
	switch {
	case len([]rune(name)) > longestName:
		t.bad("keeper.word", "about", cut(name, 30), "example", example)
		return
	case t.lastKeeper(s.Person) && !slices.Contains(s.Roles, state.Keeper):
		t.bad("keeper.last", "name", name)
		return
	case len(s.Roles) == 0:
		s.Roles = []state.Role{state.Worker}
	}
	t.staff(name, s)
	t.say("keeper.person", "name", name)
}

// staff makes somebody one of the mill. Who has no phone yet cannot be reached.
func (t *turn) staff(name string, s state.Staff) {
	if s.Person == 0 {
		s.Person = t.mill.NextPerson()
	}
	c := t.cards[s.Person]
	if len(c.At) == 0 {
		c.Person, c.Name = s.Person, name
		if t.o.Bind != "" {
			c.At = []string{Address{t.o.Bind, name}.String()}
		}
		t.card(c)
	}
	t.said(t.at, s)
	if p := t.mill.Person(s.Person); len(c.At) == 0 && p.Reachable {
		t.own(state.Reach{Person: s.Person})
	}
}

// lastKeeper says whether somebody is the only keeper.
func (d *Desk) lastKeeper(id state.PersonID) bool {
	if !d.mill.Person(id).Is(state.Keeper) {
		return false
	}
	return !slices.ContainsFunc(d.mill.Persons(), func(p *state.Person) bool {
		return p.ID != id && p.Is(state.Keeper)
	})
}

// remove takes somebody off the mill at once. What they are called stays for the past, until it is
// to be forgotten.
func (t *turn) remove(words []string) {
	const example = "remove rosa"
	if len(words) != 1 {
		t.bad("keeper.short", "example", example)
		return
	}
	id := t.personNamed(words[0])
	switch {
	case t.mill.Person(id) == nil:
		t.bad("keeper.nobody", "about", cut(words[0], 30), "example", example)
	case t.lastKeeper(id):
		t.bad("keeper.last", "name", t.name(id))
	default:
		t.leave(id)
		t.say("keeper.removed", "name", t.name(id))
	}
}

// leave ends somebody's part in the mill: their calls go to the next, what waits to be sent to
// them is withdrawn, and their phone is a stranger's.
func (t *turn) leave(id state.PersonID) {
	t.handAll(id)
	t.said(t.at, state.Staff{Person: id, Gone: true})
	c := t.cards[id]
	for _, a := range c.At {
		t.leavePhone(id, ParseAddress(a))
	}
	t.card(journal.Card{Person: id, Name: c.Name})
}

// leavePhone withdraws what waits for somebody at an address, and what they were asked there.
func (t *turn) leavePhone(id state.PersonID, a Address) {
	rows, err := t.db.Outbox(a.Via, 0)
	if err != nil {
		t.o.Report("cannot read what waits to be sent: " + err.Error())
	}
	for _, r := range rows {
		if r.Person == id && r.To == a.ID {
			t.b.Drop = append(t.b.Drop, r.No)
		}
	}
	if !t.shared(a.String()) {
		delete(t.pend, a.String())
		t.b.Pending[a.String()] = nil
		return
	}
	if p := *t.pendingAt(a); p.Speaker == id {
		p.forget()
		p.Speaker, p.Spoke, p.Waiting = 0, 0, nil
		t.keepPending(a, &p)
	}
}

// handAll hands the calls of somebody who leaves to the next of the ladder: those they have taken
// or put aside, and those that nobody else was rung for who can be reached.
func (t *turn) handAll(id state.PersonID) {
	for _, c := range t.callsFor(id) {
		others := slices.ContainsFunc(c.Told, func(x state.PersonID) bool {
			return x != id && t.mill.Person(x) != nil && t.mill.Person(x).Reachable
		})
		if others && c.By != id {
			continue
		}
		to := t.handTo(c, id)
		if len(to) == 0 {
			to = t.whoElse(id)
		}
		t.said(t.at, state.CallStep{Rule: c.Rule, Of: c.Of, What: state.Handed, Number: c.Number,
			Priority: c.Priority, To: to})
		for _, x := range to {
			lang := t.langOf(x)
			t.tell(x, outRow(c.Priority, t.line), Outgoing{Text: t.voice.Say(lang, "handed.gone",
				"name", t.name(id), "what", t.numbered(c, lang)),
				Keys: t.keysFor("", c, lang)})
		}
	}
}

// whoElse is who stands in when no ladder names anybody: the other managers, else the keepers.
func (t *turn) whoElse(id state.PersonID) []state.PersonID {
	for _, r := range []state.Role{state.Manager, state.Keeper} {
		var out []state.PersonID
		for _, p := range t.mill.Persons() {
			if p.ID != id && p.Is(r) {
				out = append(out, p.ID)
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}

// peopleList lists who is of the mill; with a name, where that person is reached.
func (t *turn) peopleList(words []string) {
	if len(words) > 0 {
		t.contact(words[0])
		return
	}
	for _, p := range t.mill.Persons() {
		line := t.name(p.ID) + ":"
		for _, r := range p.Roles {
			line += " " + string(r)
		}
		for _, k := range p.Posts {
			line += " " + t.kindName(k)
		}
		if p.Wakes != "" {
			line += ", " + t.voice.Say(t.lang(), "people.wakes-"+p.Wakes)
		}
		c := t.cards[p.ID]
		switch {
		case c.Code != "" && c.Until > t.at:
			line += ", " + t.voice.Say(t.lang(), "people.invited", "time", t.clock(c.Until))
		case !p.Reachable:
			line += ", " + t.voice.Say(t.lang(), "people.unreachable")
		}
		t.lines = append(t.lines, line)
	}
}

// contact shows where somebody is reached, never on a phone that others read.
func (t *turn) contact(name string) {
	id := t.personNamed(name)
	switch {
	case id == 0:
		t.bad("keeper.nobody", "about", cut(name, 30), "example", "people rosa")
	case t.hereShared():
		t.say("rights.own-phone")
	default:
		c := t.cards[id]
		at := strings.Join(c.At, ", ")
		if at == "" {
			at = t.voice.Say(t.lang(), "people.no-phone")
		}
		for _, a := range c.At {
			if t.shared(a) {
				at += fmt.Sprintf(" (%s: %s)", a, t.names(t.people[a]))
			}
		}
		t.say("people.contact", "name", c.Name, "at", at)
	}
}

// forgetting asks before somebody's contact and words are erased for good.
func (t *turn) forgetting(words []string) {
	const example = "forget rosa"
	if len(words) != 1 {
		t.bad("keeper.short", "example", example)
		return
	}
	id := t.personNamed(words[0])
	switch {
	case id == 0:
		t.bad("keeper.nobody", "about", cut(words[0], 30), "example", example)
	case t.lastKeeper(id):
		t.bad("keeper.last", "name", t.name(id))
	default:
		t.ask(Asked{What: Confirm}, "forget", func(p *pending) { p.Text = t.name(id) })
		t.say("forget.ask", "name", t.name(id))
	}
}

// erase blanks somebody's card and every line they wrote. The journal stays as it is: events hold
// a number only. It reads the whole journal, about 2 µs an event.
func (t *turn) erase(name string) {
	id := t.personNamed(name)
	if id == 0 {
		t.say("keeper.nobody", "about", cut(name, 30), "example", "forget rosa")
		return
	}
	es, err := t.db.Load()
	if err != nil {
		t.o.Report("cannot read the journal to forget somebody: " + err.Error())
		t.say("forget.failed")
		return
	}
	if t.mill.Person(id) != nil {
		t.leave(id)
	}
	t.card(journal.Card{Person: id})
	n := 0
	for _, e := range es {
		if _, done := t.b.Words[e.Msg]; e.By == id && !done {
			t.b.Words[e.Msg] = ""
			n++
		}
	}
	t.say("forget.done", "name", name, "n", n)
}
