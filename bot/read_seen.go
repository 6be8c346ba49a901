package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// The facts of what was seen or done.
//
// Most marks are noted as they stand, at every place of the clause. What makes one more, less or
// something else stands beside it:
//
//	p1 tapado con plastico      covered, with its cloth as a further word
//	t3 huele a vinagre          a bad smell, of vinegar
//	t3 huele bien               no smell: clear
//	d1 smoke from the chimney   asked: of the fire, not among the beans
//	d1 caliente                 asked: a drum is warm anyway
//	fire in d1 weak             a thing and its state, a place between them
//	turned all but p2           the others that hold coffee
//	s2 leak                     no mark: trouble, for the manager
//	s4 fine                     no trouble there

// marks notes what was seen or done, at every place of the clause or at the mill.
func (r *reader) marks(c *clause) {
	r.exceptions(c)
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isMark {
			continue
		}
		if x.near != "" {
			r.ask(AskNear, x.text, x.near)
		}
		switch {
		case x.name == state.Turned && c.travels(): // "movi p1 a p2": told as a move
		case x.name == state.Sampled && (c.has(isReading) != nil || c.has(isFigure) != nil),
			r.kind(c) == state.Lab && !ofMill(x.name): // the reading is of the sample
		case x.name == state.Mistake && !r.mixes(c): // "se me paso avisar": an apology
			r.dropped++
		case x.both:
			r.ask(handOr(x.name), x.text, "")
		case ofMill(x.name):
			r.ofMill(c, x)
		case x.not && x.name != "ready":
			for _, p := range c.places {
				r.deny(x.name, p)
			}
		default:
			for _, p := range c.places {
				r.mark1(c, x, p)
			}
			for _, p := range c.except {
				r.deny(x.name, p)
			}
		}
	}
	if c.mark(state.Rough) != nil && c.mark(state.Slippery) != nil { // rough above, slippery below
		r.ask(AskHand, "", "", state.Slippery, state.Rough)
	}
	r.farApart(c)
	r.ready(c)
	r.trouble(c)
}

// mixes says that a clause with a word of error tells what ran together: classes, several places,
// or the channel itself.
func (r *reader) mixes(c *clause) bool {
	return r.classes > 0 || len(c.places)+len(c.from)+len(c.to) > 1 ||
		len(c.guess) == 0 && r.kind(c) == state.Channel
}

// farApart joins a thing and its state where a place stands between: "fire in d1 weak".
func (r *reader) farApart(c *clause) {
	var thing, how string
	for i := range c.parts {
		if t, ok := thingOf(&c.parts[i]); ok && !c.parts[i].says(words.Class, "") {
			thing = t
		}
		if s, ok := c.parts[i].of(words.State); ok {
			how = s
		}
	}
	name := thingMark(thing, how)
	if name == "" || name == SaysCap || c.says(words.Join, "not") || c.asks {
		return
	}
	x := item{kind: isMark, name: name}
	if ofMill(name) {
		r.ofMill(c, &x)
		return
	}
	for _, p := range c.places {
		r.mark1(c, &x, p)
	}
}

// exceptions fills in the places of "turned all but p2".
func (r *reader) exceptions(c *clause) {
	if len(c.except) == 0 || len(c.places) > 0 || !c.says(words.Join, "all") && !c.but {
		return
	}
	for _, p := range r.holding(r.c.Places[c.except[0]].Kind) {
		out := false
		for _, e := range c.except {
			out = out || e == p
		}
		if !out {
			c.places = append(c.places, p)
		}
	}
}

// millMarks notes what holds for the whole mill in a clause whose place must be asked for: rain waits
// for no answer.
func (r *reader) millMarks(c *clause) {
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isMark && ofMill(x.name) && !x.both && x.near == "" {
			r.ofMill(c, x)
		}
	}
}

// ofMill notes a mark of the whole mill. A denied one without an opposite tells nothing.
func (r *reader) ofMill(c *clause, x *item) {
	if x.not {
		r.ask(AskSure, x.text, "")
		return
	}
	f := Fact{Place: state.Whole, What: x.name, Urgent: urgent(x.name)}
	if x.name == state.FuelOut {
		if f.Word = x.word; f.Word == "" {
			f.Word = c.detail("wood", "husk")
		}
	}
	for i := range r.h.Facts {
		if g := &r.h.Facts[i]; g.What == f.What && g.Place == f.Place {
			return
		}
	}
	r.add(f)
}

// handOr is the question about a mark with a bare "no" behind it.
func handOr(mark string) string {
	switch mark {
	case state.Slippery, state.Rough:
		return AskHand
	case state.Full:
		return AskKg
	}
	return AskSure
}

// mark1 notes a mark at one place, with what the words beside it add.
func (r *reader) mark1(c *clause, x *item, p int) {
	v := &r.c.Places[p]
	f := Fact{Place: v.Name, What: x.name, Urgent: urgent(x.name)}
	switch x.name {
	case "ready":
		return
	case state.Smell:
		if f.Word = c.detail("vinegar", "burnt"); f.Word == "" && (c.says(words.State, "good") ||
			c.says(words.Talk, SaysOk)) {
			r.deny(x.name, p)
			return
		}
	case state.FireOut:
		if v.Kind == state.Pulper || v.Kind == state.Meter { // it has no fire: it was switched off
			f.What = state.Stopped
		}
	case state.Smoke:
		if c.detail("chimney") != "" { // of the fire, not among the beans
			r.ask(AskWhat, x.text, "")
			return
		}
	case state.Cleared:
		f.Word = x.word
		if x.word == state.Warm && (v.Kind == state.Drum || v.Kind == state.Predryer) {
			r.ask(AskWhat, x.text, "") // "no calienta": the drum does not heat
			return
		}
	case state.Covered:
		f.Word = c.detail("plastic", "cloth")
	case state.Stopped:
		f.Word = c.detail("belt", "motor")
	case state.Warm:
		if v.Kind == state.Drum || v.Kind == state.Predryer {
			if c.has(isReading) == nil && c.has(isFigure) == nil {
				r.ask(AskWhat, x.text, "")
			}
			return
		}
	case state.Rough, state.Slippery:
		if !r.hand(c, &f, v) {
			return
		}
	}
	if kinds := fits(f.What); kinds != nil && !oneOf(v.Kind, kinds) && strange(f.What, v.Kind) {
		r.ask(AskWhat, x.text, "")
		r.leave(f)
		return
	}
	r.add(f)
	r.settling(c, len(r.h.Facts)-1, v)
}

// settling adds the question that a mark leaves open.
func (r *reader) settling(c *clause, i int, v *PlaceView) {
	f := &r.h.Facts[i]
	switch {
	case f.What == state.Mistake && v.Kind == state.Channel:
		r.wonder(f, AskKg, v.Name, 0.5)
	case f.What == state.SoakStart && !v.Washed:
		r.wonder(f, AskWashed, v.Name, 0.7)
	case f.What == state.Cleaned && v.Kind == state.Tank && v.Holds &&
		!r.toldOf(state.ActWash, r.byName(v.Name)):
		r.ask(AskEmpty, v.Name, "")
	case f.What == state.Stopped && v.Kind == state.Drum:
		r.wonder(f, AskFire, v.Name, 0.9)
	case f.What == state.Rewetted && c.says(words.Depth, ""):
		r.ask(AskSure, v.Name, "")
	}
}

// hotSample notes that the moisture of a drum's clause was measured on a hot sample.
func (r *reader) hotSample(c *clause, from int) {
	if k := r.kind(c); c.mark(state.Warm) == nil || k != state.Drum && k != state.Predryer {
		return
	}
	for i := from; i < len(r.h.Facts); i++ {
		if f := &r.h.Facts[i]; f.What == state.Moisture && f.Word == "" {
			f.Word = "hot"
			f.doubt("what", 0.6, AskFigure)
		}
	}
}

// strange says that a mark at another kind of place than its own is doubtful. A channel or a
// machine that "se tapo" is blocked.
func strange(mark string, at state.Kind) bool {
	switch mark {
	case state.Covered, state.Uncovered:
		return at == state.Channel || at == state.Drum || at == state.Predryer ||
			at == state.Pulper || at == state.Intake
	case state.Full, state.Turned, state.FireOut, state.FireLow, state.FireLit, state.BiteDry,
		state.SoakStart, state.Stopped, state.Running, state.Rinsed:
		return true
	}
	return false
}

// trouble notes what the book has no mark for and the manager must hear of: a leak, animals.
func (r *reader) trouble(c *clause) {
	if c.subject() < 0 {
		return
	}
	if w := c.detail("leak", "animals"); w != "" {
		r.add(Fact{Place: r.place(c.subject()), What: SaysTrouble, Word: w, Urgent: true})
	} else if c.says(words.State, "good") && !r.alreadyTold(c) && !c.asks && !c.says(words.Talk, "") {
		r.deny(SaysTrouble, c.subject()) // "s4 fine"
	}
}

// isMarkWord says that a fact's word is a mark.
func isMarkWord(what string) bool {
	for _, m := range state.Marks() {
		if m == what {
			return what != state.WashAsked && what != state.OutAsked
		}
	}
	return false
}
