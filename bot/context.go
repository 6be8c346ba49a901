package bot

import (
	"lotbell/bot/words"
	"lotbell/rules"
	"lotbell/state"
)

// context is what is known when the message in hand is read. What it says of the mill is kept
// until an event changes the mill.
func (t *turn) context() Context {
	if t.known == nil {
		t.known = t.millContext()
	}
	c := *t.known
	c.At, c.Lang = t.msg.At, t.lang()
	if t.person == nil {
		return c
	}
	c.Posts = t.person.Posts
	c.Decides = t.person.Is(state.Manager) || t.person.Is(state.Deputy) || t.person.Is(state.Lead)
	c.Asked = t.pendingAt(t.msg.From).Asked
	for _, call := range t.readable(t.callsFor(t.person.ID)) {
		c.Calls = append(c.Calls, call.Number)
	}
	return c
}

// millContext is the part of a context that is the same for everybody.
func (t *turn) millContext() *Context {
	places := t.mill.Places()
	c := &Context{Zone: t.mill.Zone(), Measures: map[string]map[string]float64{},
		Places: make([]PlaceView, 0, len(places)), People: make([]string, 0, len(t.cards))}
	for _, p := range places {
		c.Places = append(c.Places, t.placeView(p))
	}
	c.names = foldedNames(c.Places)
	if s, ok := t.mill.Setting(state.SetDecimal); ok && s.Text != "" {
		c.Decimal = s.Text[0]
	}
	c.Waiting = len(t.mill.StaysAt(state.Floor)) > 0
	for k, g := range t.mill.Measures() {
		for _, word := range [...]string{k[0], t.meant(words.Measure, k[0])} {
			if c.Measures[word] == nil {
				c.Measures[word] = map[string]float64{}
			}
			c.Measures[word][t.meant(words.Product, k[1])] = g.Kg()
		}
	}
	for _, card := range t.cards {
		c.People = append(c.People, card.Name)
	}
	return c
}

// meant is the program's word for a word that a keeper wrote, or that word itself.
func (d *Desk) meant(in words.Section, word string) string {
	_, is := d.words.Match([]string{words.FoldText(word)})
	for _, m := range is {
		if m.In == in {
			return m.Name
		}
	}
	return word
}

// placeView is what a reader must know of a place.
func (t *turn) placeView(p state.Place) PlaceView {
	v := PlaceView{Name: p.Name, Kind: p.Kind, Capacity: p.Capacity.Kg(), Dial: p.DialUnit}
	stays := t.mill.StaysAt(p.Name)
	if len(stays) == 0 {
		return v
	}
	s := stays[0]
	v.Holds, v.Closed, v.Since = true, s.Full != 0, s.From
	v.Washed = s.Kind != state.Tank && s.Kind != state.Intake
	look := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
	if x, _, ok := look.Read("hum"); ok && x.Num == x.Num {
		v.Moisture = x.Num
	}
	if s.Kind == state.Drum || s.Kind == state.Predryer {
		out, _, _ := look.Read("fire_out")
		v.Lit = out.Is != state.Yes
	}
	soak, _, _ := look.Read("soak_start")
	v.Soaking = soak.Is == state.Yes
	look.Done()
	return v
}

// callsFor lists the standing calls that were rung to somebody, the most urgent first.
func (d *Desk) callsFor(id state.PersonID) []*state.Call {
	var out []*state.Call
	for _, c := range d.mill.Calls() {
		for _, p := range c.Told {
			if p == id {
				out = append(out, c)
				break
			}
		}
	}
	return out
}

// look opens a view of what is at a place: its first stay, else the place itself.
func (d *Desk) look(place string, at state.Instant) (*rules.View, state.Subject) {
	of := state.Subject{Kind: state.OfPlace, Name: place}
	if s := d.mill.StaysAt(place); len(s) > 0 {
		of = s[0].Subject()
	}
	if place == state.Whole {
		of = state.Subject{Kind: state.OfMill, Name: state.Whole}
	}
	return d.watch.Book.Look(d.mill, d.watch.Know, of, at), of
}
