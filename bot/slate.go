package bot

import (
	"slices"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

func (d *Desk) whom(w string, of state.Subject) []state.PersonID {
	return rules.Whom(d.mill, w, of, d.mill.Heard())
}

// how tells how it is at a place, what is next and when; of the mill when no place is named.
func (t *turn) how(f Fact) {
	if f.Place == "" || f.Place == state.Whole {
		if f.Word != "" && f.Word != state.Whole {
			t.room(state.Kind(f.Word))
			return
		}
		t.slate()
		return
	}
	if f.What == SaysCap {
		t.room(state.Drum)
	}
	t.lines = append(t.lines, t.statusLine(f.Place))
	t.lines = append(t.lines, t.asleepLines([]string{f.Place})...)
	for _, s := range t.mill.StaysAt(f.Place) {
		for _, c := range t.readable(t.mill.CallsOf(s.Subject())) {
			t.lines = append(t.lines, t.numbered(c, t.lang()))
		}
	}
}

// room tells which places of a kind are free.
func (t *turn) room(k state.Kind) {
	var free []string
	for _, p := range t.mill.Places() {
		if p.Kind == k && len(t.mill.StaysAt(p.Name)) == 0 {
			free = append(free, p.Name)
		}
	}
	if len(free) == 0 {
		t.say("room.none", "kind", t.kindName(k))
		return
	}
	t.say("room.free", "kind", t.kindName(k), "names",
		strings.Join(free, " "))
}

// statusLine is a place in one line: what it holds, since when, what is next.
func (t *turn) statusLine(place string) string {
	name := t.placeOf(state.Subject{Name: place}, t.lang())
	stays := t.mill.StaysAt(place)
	switch p, _ := t.mill.Place(place); p.Kind {
	case state.Intake:
		return name + ": " + t.intakeStatus(p) + "."
	case state.Meter:
		return name + ": " + t.meterStatus(p) + "."
	}
	if len(stays) == 0 {
		return name + ": " + t.voice.Say(t.lang(), "status.empty")
	}
	var parts []string
	for _, s := range stays {
		mass := t.voice.Say(t.lang(), "not-weighed")
		if s.Mass > 0 {
			mass = kg(s.Mass) + " kg"
		}
		text := t.voice.Say(t.lang(), "status.holds", "lot", int(s.ID.Lot), "kg", mass, "since",
			t.clock(s.From))
		v := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
		for _, x := range []string{"temp", "air", "hum", "aw"} {
			if value, u, ok := v.Read(x); ok && value.Num == value.Num {
				text += ", " + t.voice.Say(t.lang(), "last."+x, "value",
					t.value(value, u, t.lang(), t.at))
			}
		}
		parts = append(parts, text)
	}
	line := name + ": " + strings.Join(parts, "; ") + "."
	if next := t.next(place); next != "" {
		line += " " + next
	}
	return line
}

// intakeStatus is the fruit that waits.
func (t *turn) intakeStatus(p state.Place) string {
	mass, since := t.fruitAt(p)
	if since == 0 {
		return t.voice.Say(t.lang(), "waits.none")
	}
	return t.voice.Say(t.lang(), "waits.fruit", "kg", mass, "time", t.clock(since), "span",
		spanWords(t.at.Sub(since)))
}

// meterStatus is when a meter was last compared, and by how much it was off.
func (t *turn) meterStatus(p state.Place) string {
	v, _ := t.look(p.Name, t.at)
	at, _, _ := v.Read("last_check")
	if at.Num <= float64(p.Named) {
		return t.voice.Say(t.lang(), "status.meter-new", "time", t.clock(p.Named))
	}
	text := t.voice.Say(t.lang(), "status.meter", "time", t.clock(state.Instant(at.Num)))
	if off, _, _ := v.Read("meter_off"); off.Num == off.Num {
		text += ", " + t.voice.Say(t.lang(), "read."+state.MeterOff, "value", plainNumber(off.Num, 1))
	}
	return text
}

// unwatched is what some places share: the alarms that cannot be told there, for want of one thing.
type unwatched struct {
	fact          string
	places, calls []string
}

// asleepLines tells which alarms of some places cannot be told, what is not known for that, and who
// can say it, how: once for all the places that want the same.
func (t *turn) asleepLines(places []string) []string {
	var all []unwatched
	for _, place := range places {
		if len(t.mill.StaysAt(place)) > 0 {
			all = t.asleep(place, all)
		}
	}
	var out []string
	for _, u := range all {
		out = append(out, t.voice.Say(t.lang(), "status.asleep", "names", strings.Join(u.places, " "),
			"calls", strings.Join(u.calls, ", "), "what", t.untold(u.fact)))
		if key := "tell." + u.fact; t.voice.Has("en", key) {
			out[len(out)-1] += " " + t.voice.Say(t.lang(), key, "place", u.places[0])
		}
	}
	return out
}

// asleep adds the alarms of a place that cannot be told to those of others.
func (t *turn) asleep(place string, all []unwatched) []unwatched {
	of := state.Subject{Kind: state.OfPlace, Name: place}
	for _, x := range []state.Subject{t.mill.StaysAt(place)[0].Subject(), of} {
		for _, f := range t.watch.Book.Evaluate(t.mill, t.watch.Know, x, t.at) {
			if f.Is != state.CannotTell || f.Rule.Kind != rules.Alarm || len(f.Missing) == 0 {
				continue
			}
			name := t.callName(f.Rule.Name, t.lang())
			i := slices.IndexFunc(all, func(u unwatched) bool {
				return t.untold(u.fact) == t.untold(f.Missing[0]) &&
					t.mill.KindOf(u.places[0]) == t.mill.KindOf(place)
			})
			if i < 0 {
				all, i = append(all, unwatched{fact: f.Missing[0]}), len(all)
			}
			u := &all[i]
			if !slices.Contains(u.places, place) {
				u.places = append(u.places, place)
			}
			if !slices.Contains(u.calls, name) {
				u.calls = append(u.calls, name)
			}
		}
	}
	return all
}

// slate tells the whole mill, a line a place that holds something, and what is free.
func (t *turn) slate() {
	t.slateLines()
}

// Slate is the whole mill in lines: every place that holds something, what is next there, what
// is free, what stands.
func (d *Desk) Slate(lang string, at state.Instant) []string {
	t := d.turn(at)
	t.at = at
	t.msg = &Message{Lang: lang, At: at}
	t.slateLines()
	return t.lines
}

// slateLines adds the mill to an answer.
func (t *turn) slateLines() {
	var free, held []string
	for _, p := range t.mill.Places() {
		switch p.Kind {
		case state.Intake:
			if _, since := t.fruitAt(p); since != 0 {
				t.lines = append(t.lines, t.statusLine(p.Name))
			}
			continue
		case state.Air, state.Lab, state.Meter, state.Pulper:
			if len(t.mill.StaysAt(p.Name)) == 0 {
				continue
			}
		}
		if len(t.mill.StaysAt(p.Name)) == 0 {
			free = append(free, p.Name)
			continue
		}
		held = append(held, p.Name)
		t.lines = append(t.lines, t.statusLine(p.Name))
	}
	if len(t.mill.StaysAt(state.Floor)) > 0 {
		t.lines = append(t.lines, t.statusLine(state.Floor))
	}
	if len(free) > 0 {
		t.say("slate.free", "names", strings.Join(free, " "))
	}
	if len(t.mill.Places()) == 0 {
		t.say("slate.none")
	}
	for _, c := range t.readable(t.mill.Calls()) {
		t.lines = append(t.lines, t.numbered(c, t.lang())+" "+t.voice.Say(t.lang(),
			"state."+string(c.State), "name", t.name(c.By)))
	}
	t.lines = append(t.lines, t.asleepLines(held)...)
}

// due lists what is the sender's to do: the calls that stand for them, then what comes next at
// their posts.
func (t *turn) due(f Fact) {
	if n := t.dueLines(); n == 0 {
		t.say("due.nothing")
	}
}

// returnedFor is how long an urgent call that nobody took is still spoken of after it was over.
const returnedFor = 24 * time.Hour

// dueLines says what is due and gives the number of lines.
func (t *turn) dueLines() int {
	before := len(t.lines)
	for _, c := range t.readable(t.callsFor(t.person.ID)) {
		t.lines = append(t.lines, t.numbered(c, t.lang()))
	}
	for _, c := range t.readable(t.mill.Returned()) {
		if c.Priority <= 2 && slices.Contains(c.Told, t.person.ID) && t.at.Sub(c.Last) < returnedFor {
			t.say("due.over", "number", c.Number, "place", t.placeOf(c.Of, t.lang()), "call",
				t.callName(c.Rule, t.lang()), "time", t.clock(c.Last))
		}
	}
	for _, p := range t.mill.Places() {
		if t.person.At(p.Kind) || t.person.Is(state.Manager) || t.person.Is(state.Lead) {
			if next := t.next(p.Name); next != "" {
				t.lines = append(t.lines, p.Name+": "+next)
			}
		}
	}
	return len(t.lines) - before
}
