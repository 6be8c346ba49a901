package bot

import (
	"slices"
	"strings"

	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

func outRow(priority int, cause state.Seq) journal.Out {
	return journal.Out{Priority: priority, Cause: cause}
}

// enter keeps the floor's facts of one line as events, and says what was understood. What
// happened is never refused; what is doubted is asked about after it is kept.
func (t *turn) enter(fs []Fact) {
	fs = ordered(split(fs))
	if since, ok := t.twice(fs); ok {
		t.askTwice(fs, since)
		return
	}
	t.answered()
	var es []state.Event
	var asks []string
	var on []hearers
	for _, f := range fs {
		switch f.What {
		case state.WashAsked, state.WashOrdered, state.OutAsked, state.OutOrdered:
			t.order(f)
			continue
		}
		if who, ok := t.hearersOf(f); ok {
			if who != nil {
				on = append(on, who)
			}
			continue
		}
		if t.clears(f) {
			continue
		}
		b := t.body(f, fs)
		if b == nil {
			on = append(on, t.unkept(f)...)
			continue
		}
		asks = append(asks, t.guards(f, b)...)
		es = append(es, t.said(t.when(f), b))
		es = append(es, t.tags(f)...)
		t.follow(f)
		if who := keptHearers(f); who != nil {
			on = append(on, who)
		}
	}
	t.echo(es, fs, "")
	t.takeUp(es)
	t.lines = append(t.lines, asks...)
	t.sendOn(on)
	for _, e := range es {
		t.doubts(e)
	}
	t.cautions(fs)
	t.dayFollows(fs)
}

// tags keeps what a move tells of its coffee besides.
func (t *turn) tags(f Fact) []state.Event {
	if !slices.Contains(state.Acts(), f.What) {
		return nil
	}
	var es []state.Event
	for _, tag := range t.brought(f) {
		es = append(es, t.said(t.when(f), tag))
	}
	return es
}

// unkept says who is to hear of a fact that has no event: a class is part of its move; what is said
// of a lot that the book does not have, or of fuel in a measure that nobody can reckon with, is the
// manager's.
func (t *turn) unkept(f Fact) []hearers {
	if f.What == SaysClass {
		return nil
	}
	return []hearers{func(p *state.Person) bool { return p.Is(state.Manager) }}
}

// split gives the classes that a line names a move to be part of, when it names none.
func split(fs []Fact) []Fact {
	i := slices.IndexFunc(fs, func(f Fact) bool { return f.What == SaysClass })
	if i < 0 || slices.ContainsFunc(fs, func(f Fact) bool {
		return slices.Contains(state.Acts(), f.What)
	}) {
		return fs
	}
	move := fs[i]
	move.What, move.Has, move.Word, move.Said = state.ActMove, false, "", ""
	if len(move.From) == 0 {
		move.From = []string{state.Floor}
	}
	return append([]Fact{move}, fs...)
}

// ordered puts the facts of a line in the order in which they are true: what is read of a drum
// that is unloaded was read before, what is read of one that is loaded was read after.
func ordered(fs []Fact) []Fact {
	rank := func(f Fact) int {
		switch f.What {
		case state.ActUnload, state.ActWash, state.ActGather, state.ActShip, state.ActStore:
			return 2
		case state.ActAdd, state.ActLoad, state.ActSpread, state.ActIntake, state.ActMove:
			return 0
		case SaysClass:
			return 3
		}
		return 1
	}
	out := slices.Clone(fs)
	slices.SortStableFunc(out, func(a, b Fact) int {
		if a.Place != b.Place && rank(a) != 3 && rank(b) != 3 {
			return 0
		}
		return rank(a) - rank(b)
	})
	return out
}

// when is the instant a fact happened.
func (t *turn) when(f Fact) state.Instant {
	if f.At == 0 || f.What == SaysPicked { // when it was picked is said of fruit that is here
		return t.msg.At
	}
	return min(f.At, t.at)
}

func depth(f Fact) string {
	if f.Word == "top" || f.Word == "middle" || f.Word == "bottom" {
		return f.Word
	}
	return ""
}

// wholeMarks are noted at the mill, whatever place was named with them.
func wholeMark(what string) bool {
	switch what {
	case state.RainStart, state.RainComing, state.RainOver, state.PowerOut, state.PowerBack,
		state.WaterOut, state.WaterBack, state.WaterShort, state.FuelOut, state.Help,
		state.HelpOver:
		return true
	}
	return false
}

// body makes an event's body of a fact; nil when there is nothing to keep.
func (t *turn) body(f Fact, line []Fact) state.Body {
	if q, ok := state.QuantityOf(f.What); ok {
		place, lot := t.placed(f)
		if q.Name == state.FuelH || place == "" {
			place = state.Whole
		}
		r := state.Reading{Place: place, Lot: lot, What: f.What, Value: f.Value, Digits: f.Digits,
			Said: f.Said, Depth: depth(f)}
		switch f.Word {
		case "hot":
			r.Hot = true
		case "oven", "bite", "hand", "meter", "cylinder", "stage":
			r.Method = f.Word
		}
		return r
	}
	if slices.Contains(state.Marks(), f.What) {
		if wholeMark(f.What) || f.Place == "" {
			return state.Note{Place: state.Whole, What: f.What}
		}
		place, lot := t.placed(f)
		return state.Note{Place: place, Lot: lot, What: f.What}
	}
	if slices.Contains(state.Acts(), f.What) {
		return t.move(f, line)
	}
	if b := t.tagBody(f); b != nil {
		return b
	}
	if b := t.fuelBody(f); b != nil {
		return b
	}
	if f.What == SaysCount {
		return state.Reading{Place: f.Place, What: state.Bags, Value: f.Value}
	}
	return nil
}

// guards asks about a fact that the book's guards stand against. It is kept all the same.
func (t *turn) guards(f Fact, b state.Body) []string {
	m, ok := b.(state.Move)
	if !ok || len(m.Out) == 0 {
		return nil
	}
	place := m.Out[0].Place
	if place == state.Outside {
		place = f.Place
	}
	_, of := t.look(t.stillAt(place), t.at)
	a := rules.Act{By: t.person, What: f.What, To: m.In[0].Place, Move: &m, Told: t.measureTold(f)}
	var out []string
	for _, x := range t.watch.Book.Guard(t.mill, t.watch.Know, of, a, t.at) {
		out = append(out, t.fill(x.Seen, of, x.Guard.Says, t.lang(), t.at))
		if x.Stop != rules.StopAsk {
			t.tellRole(state.Manager, "manager.guard", "name", t.name(t.person.ID), "words",
				cut(t.msg.Text, 60), "guard", x.Guard.Name)
		}
	}
	return out
}

// measureTold is what the mill says that the measure weighs in which a fact was counted; 0 when it
// says nothing.
func (t *turn) measureTold(f Fact) state.Grams {
	_, measure, _ := strings.Cut(f.Said, " ")
	by := t.context().Measures[measure]
	if kg := by[f.Product]; kg > 0 {
		return state.Kg(kg)
	}
	return state.Kg(by[""])
}

// stillAt is where coffee named by a place lies: on the floor, once it has left the place.
func (t *turn) stillAt(place string) string {
	if len(t.mill.StaysAt(place)) > 0 {
		return place
	}
	for _, s := range t.mill.StaysAt(state.Floor) {
		if s.Came == place {
			return state.Floor
		}
	}
	return place
}

// follow passes on what cannot wait for a rule.
func (t *turn) follow(f Fact) {
	switch f.What {
	case SaysCount:
		key, book := t.bookOf(f.Place)
		t.tellPrivately(state.Manager, key, "place", f.Place, "n", int(f.Value), "name",
			t.name(t.person.ID), "book", book)
	case state.ActWash:
		at := t.when(f)
		t.tellEach(func(p *state.Person) bool { return p.Is(state.Manager) }, func(lang string) string {
			return t.voice.Say(lang, "manager.washed", "place", f.Place, "time",
				t.clockAt(at, t.at, lang), "name", t.name(t.person.ID))
		})
	case state.WashRefused:
		t.tellPost(state.Tank, "wash.refused", "place", f.Place, "name", t.name(t.person.ID))
	case state.RainComing, state.RainOver, state.PowerOut, state.WaterOut,
		state.WaterBack, state.HelpOver, state.FuelOut, state.WaterShort,
		state.Cracked, state.Insects, state.Overflow, state.Mistake, state.NotClean, state.FireLow:
		t.tellRole(state.Manager, "manager.words", "name", t.name(t.person.ID), "words",
			cut(t.msg.Text, 110))
	}
}

// bookOf is what the book has at a place, to be compared with a count of sacks: in sacks where the
// mill has said what one of dry coffee weighs, else in kilograms; and the sentence for it.
func (t *turn) bookOf(place string) (key, book string) {
	held := state.Grams(0)
	for _, s := range t.mill.StaysAt(place) {
		held += s.Mass
	}
	by := t.context().Measures["sack"]
	each := by["dry"]
	if each == 0 {
		each = by[""]
	}
	switch {
	case held == 0:
		return "manager.count", ""
	case each > 0:
		return "manager.count-sacks", plainNumber(held.Kg()/each, 0)
	}
	return "manager.count-kg", kg(held)
}

// doubts asks what settles the conflicts of an event, and tells the manager where it matters.
func (t *turn) doubts(e state.Event) {
	for _, c := range t.mill.ConflictsOf(e.Seq) {
		if c.Kind == state.NotOrdered && t.person.Is(state.Manager) {
			continue
		}
		pairs := []any{"place", c.Place, "kg", kg(c.Mass), "fits", kg(c.Fits)}
		t.say(doubtKey(c), pairs...)
		switch c.Kind {
		case state.NothingThere, state.Heavier, state.Blend, state.MixedTags, state.AfterFull:
			t.tellEach(func(p *state.Person) bool { return p.Is(state.Manager) },
				func(lang string) string {
					return t.voice.Say(lang, "manager.doubt", "name", t.name(t.person.ID), "words",
						cut(t.quote(), 60), "doubt", t.voice.Say(lang, doubtKey(c), pairs...))
				})
		case state.NotOrdered:
			t.tellRole(state.Manager, "manager.not-ordered", "place", c.Place, "name",
				t.name(t.person.ID))
		}
	}
}

// doubtKey is the sentence that asks about a conflict.
func doubtKey(c state.Conflict) string {
	if c.Kind == state.NothingThere && c.Place == state.Floor {
		return "doubt.from-nowhere"
	}
	return "doubt." + string(c.Kind)
}
