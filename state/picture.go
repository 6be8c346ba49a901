package state

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// forever is later than anything that happened.
const forever = Instant(1<<63 - 1)

// Picture writes the whole mill as text, one fact a line, in an order that depends on nothing but
// the facts: for tests and for whoever repairs a journal. Instants are in UTC, masses in kg, "?"
// where nobody weighed. Without names it leaves out the journal numbers, the instants of hearing
// and the lot numbers that nobody gave, so that two journals of the same facts heard in another
// order have the same picture. It grows with the journal and is not meant for people of the floor.
func (m *Mill) Picture(names bool) string {
	p := &picture{m: m, names: names}
	p.site()
	for _, name := range p.places() {
		p.place(name)
	}
	p.heading("lots")
	for _, l := range p.lots() {
		p.lot(l)
	}
	p.heading("moves")
	for _, e := range m.ledger {
		if _, ok := e.Body.(Note); !ok {
			p.say("  %s%s", p.event(e), p.sum(e.Seq))
		}
	}
	p.heading("conflicts")
	for _, c := range m.Conflicts() {
		p.say("  %s%s", c.Kind, p.conflict(c))
	}
	p.heading("people")
	for _, x := range m.Persons() {
		p.person(x)
	}
	p.heading("calls")
	for _, c := range m.Calls() {
		p.call(c)
	}
	return p.String()
}

// picture is a picture being written.
type picture struct {
	m     *Mill
	names bool
	strings.Builder
}

func (p *picture) say(format string, a ...any) { fmt.Fprintf(p, format+"\n", a...) }

func (p *picture) heading(word string) { p.say("%s", word) }

// site is what holds for the whole mill.
func (p *picture) site() {
	m := p.m
	p.heading("site")
	for _, name := range slices.Sorted(maps.Keys(m.sets)) {
		p.say("  %s = %s%s", name, number(m.sets[name].Number), with(" ", m.sets[name].Text))
	}
	for _, k := range slices.SortedFunc(maps.Keys(m.measures), func(a, b [2]string) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	}) {
		p.say("  measure %s%s = %s", k[0], with(" of ", k[1]), kg(m.measures[k]))
	}
	if _, version := m.Book(); version > 0 {
		p.say("  book %d", version)
	}
	for _, b := range m.blind {
		p.say("  blind %s to %s", clock(b.From), clock(b.To))
	}
	p.say("  power out %s, water out %s, rain %s", clock(m.PowerOut(forever)),
		clock(m.WaterOut(forever)), clock(m.Raining(forever)))
}

// places lists every place that was named or that anything happened at.
func (p *picture) places() []string {
	all := map[string]bool{}
	for name := range p.m.places {
		all[name] = true
	}
	for name, l := range p.m.lines {
		all[name] = all[name] || len(l.events) > 0
	}
	for _, s := range p.m.books.stays {
		all[s.Place] = true
	}
	maps.DeleteFunc(all, func(_ string, is bool) bool { return !is })
	return slices.Sorted(maps.Keys(all))
}

// place is a place with its stays, oldest first, and its line. After each event of the line stand
// the lots whose stays it belongs to.
func (p *picture) place(name string) {
	about := when(name != Floor && name != Whole, "not named")
	if x := p.m.places[name]; x != nil {
		about = fmt.Sprintf("%s, holds %s, %s m2%s%s%s%s%s%s", x.Kind, kg(x.Capacity),
			number(x.Area), with(", dial ", x.DialWhere), with(" ", x.DialUnit), with(", ", x.Cover),
			with(", thermometer ", x.Probe), when(x.Gone, ", closed"), p.by(x.Since))
	}
	p.say("place %s%s", name, with(": ", about))
	var stays []*Stay
	for _, s := range p.m.books.stays {
		if s.Place == name {
			stays = append(stays, s)
		}
	}
	slices.SortFunc(stays, func(a, b *Stay) int {
		return cmp.Or(cmp.Compare(a.From, b.From), p.order(a.ID.Lot, b.ID.Lot),
			cmp.Compare(a.ID.Opened, b.ID.Opened))
	})
	of := map[*Event][]string{}
	for _, s := range stays {
		p.say("%s", p.stay(s))
		for _, e := range p.m.During(s, forever) {
			if e.Concerns(s) {
				of[e] = append(of[e], p.lotName(s.ID.Lot))
			}
		}
	}
	for _, e := range p.m.Line(name, forever) {
		p.say("  %s%s", p.event(e), with("  in ", strings.Join(of[e], " ")))
	}
}

// stay is one stay with its loads.
func (p *picture) stay(s *Stay) string {
	var b strings.Builder
	fmt.Fprintf(&b, "  stay of %s%s: %s to %s, %s%s, from %s", p.lotName(s.ID.Lot),
		p.by(s.ID.Opened), clock(s.From), clock(s.To), kg(s.Mass),
		when(s.Partly, " or more"), s.Came)
	if s.Moist > 0 {
		fmt.Fprintf(&b, ", %s %%", number(s.Moist))
	}
	if s.Full > 0 || s.Ordered > 0 {
		fmt.Fprintf(&b, "\n    full %s, ordered %s", clock(s.Full), clock(s.Ordered))
	}
	b.WriteString(with("\n    left by ", s.Left))
	for _, l := range s.Loads {
		fmt.Fprintf(&b, "\n    load %s %s%s", clock(l.At), kg(l.Mass), p.by(l.Seq))
	}
	return b.String()
}

// lots lists the lots by number, those without one by when they came to be.
func (p *picture) lots() []*Lot {
	return slices.SortedFunc(maps.Values(p.m.books.lots),
		func(a, b *Lot) int { return p.order(a.ID, b.ID) })
}

func (p *picture) lot(l *Lot) {
	p.say("  lot %s: born %s, found %s%s", p.lotName(l.ID), clock(l.Born),
		strconv.FormatFloat(l.Found.Kg(), 'f', 3, 64), tags(l))
	for _, x := range l.Parents {
		p.say("    parent %s %s", p.lotName(x.Lot), kg(x.Mass))
	}
}

// tags lists a lot's attributes by name.
func tags(l *Lot) string {
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(l.Tags)) {
		fmt.Fprintf(&b, ", %s=%s", name, l.Tags[name])
	}
	return b.String()
}

// order puts lots by number, and those with none of their own by the move that made them.
func (p *picture) order(a, b LotID) int {
	if a < unsaid || b < unsaid {
		return cmp.Compare(a, b)
	}
	atA, i := p.made(a)
	atB, j := p.made(b)
	return cmp.Or(cmp.Compare(atA, atB), cmp.Compare(i, j), cmp.Compare(a, b))
}

// made is the instant of the move that made a lot nobody gave a number, and which of its parts;
// 0 when there is no such move.
func (p *picture) made(id LotID) (Instant, LotID) {
	s := Seq((id - unsaid) / 16)
	if s >= Seq(len(p.m.floor)) || p.m.floor[s] == nil {
		return 0, id
	}
	return p.m.floor[s].At, (id - unsaid) % 16
}

// lotName is a lot's number; for one that nobody gave, when the lot came to be.
func (p *picture) lotName(id LotID) string {
	if id < unsaid {
		return strconv.Itoa(int(id))
	}
	at, part := p.made(id)
	return fmt.Sprintf("(%s/%d)", clock(at), part)
}

// event is a floor event as it counts now.
func (p *picture) event(e *Event) string {
	text := clock(e.At) + " " + p.body(e.Body) + with(" by ", strconv.Itoa(int(e.By)))
	if p.names {
		text += fmt.Sprintf(" #%d", e.Seq) + when(e.Msg != e.Seq, fmt.Sprintf(" in line %d", e.Msg)) +
			when(e.Heard != e.At, ", heard "+clock(e.Heard))
	}
	return text
}

func (p *picture) body(b Body) string {
	switch b := b.(type) {
	case Reading:
		return fmt.Sprintf("%s %s (%d)%s%s%s%s%s", b.What, number(b.Value), b.Digits,
			with(" ", b.Method), with(" ", b.Depth), with(" said ", b.Said), when(b.Hot, " hot"),
			p.ofLot(b.Lot))
	case Note:
		return b.What + p.ofLot(b.Lot)
	case Tag:
		return fmt.Sprintf("tag %s %s=%s%s", b.Place, b.Name, b.Value, p.ofLot(b.Lot))
	case Move:
		return b.Act + p.parts(b.Out) + " to" + p.parts(b.In)
	}
	return fmt.Sprintf("%T", b)
}

func (p *picture) parts(ps []Part) string {
	var b strings.Builder
	for _, x := range ps {
		fmt.Fprintf(&b, " [%s%s %s%s%s%s", x.Place, p.ofLot(x.Lot), kg(x.Mass),
			when(x.All, " all"), when(x.Derived, " derived"), with(" class ", x.Class))
		if x.Moisture > 0 {
			fmt.Fprintf(&b, " %s %%", number(x.Moisture))
		}
		b.WriteString("]")
	}
	return b.String()
}

// sum is what a move came to.
func (p *picture) sum(of Seq) string {
	s, ok := p.m.SumOf(of)
	if !ok {
		return ""
	}
	return fmt.Sprintf("\n    taken %s + found %s = arrived %s + lost %s (water %s)",
		number(s.Taken.Kg()), number(s.Found.Kg()), number(s.Arrived.Kg()), number(s.Lost.Kg()),
		number(s.Water.Kg()))
}

func (p *picture) conflict(c Conflict) string {
	at := Instant(0)
	if e := p.m.Event(c.Of); e != nil {
		at = e.At
	}
	return fmt.Sprintf(": %s at %s%s, said %s, fits %s%s", clock(at), c.Place, p.ofLot(c.Lot),
		kg(c.Mass), kg(c.Fits), p.by(c.Of))
}

func (p *picture) person(x *Person) {
	p.say("  person %d: %v at %v%s, on since %s%s", x.ID, x.Roles, x.Posts, with(", ", x.Lang),
		clock(x.OnSince), when(!x.Reachable, ", cannot be reached")+
			when(x.Leaving != 0, ", hands over since "+clock(x.Leaving))+
			when(x.Away, ", away until "+clock(x.AwayUntil)))
}

func (p *picture) call(c *Call) {
	of := c.Of.Name
	if s := p.m.Stay(c.Of.Stay); s != nil {
		of += p.ofLot(s.ID.Lot) + " since " + clock(s.From)
	}
	p.say("  call %d: %s on %s %s%s", c.Number, c.Rule, c.Of.Kind, of, p.by(c.ID))
	p.say("    %s, priority %d, rang %s, rung %d at %s%s, told %v", c.State, c.Priority,
		clock(c.Rang), c.Rung, clock(c.RungAt),
		when(c.Until > 0, ", put aside until "+clock(c.Until)), c.Told)
}

// by is the journal number of something, where they are shown.
func (p *picture) by(s Seq) string {
	return when(p.names, fmt.Sprintf(" #%d", s))
}

func (p *picture) ofLot(id LotID) string {
	if id == 0 {
		return ""
	}
	return " lot " + p.lotName(id)
}

// with is text after a word; nothing when there is no text.
func with(word, text string) string { return when(text != "" && text != "0", word+text) }

// when is text under a condition.
func when(is bool, text string) string {
	if is {
		return text
	}
	return ""
}

// clock is an instant to the minute, or to the millisecond where it is not a whole minute.
func clock(i Instant) string {
	switch {
	case i == 0:
		return "-"
	case i%60_000 == 0:
		return i.Time().Format("2006-01-02 15:04")
	}
	return i.Time().Format("2006-01-02 15:04:05.000")
}

func kg(g Grams) string {
	if g == 0 {
		return "?"
	}
	return strconv.FormatFloat(g.Kg(), 'f', 3, 64) + " kg"
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
