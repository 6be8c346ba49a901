package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// The hand test: slippery or rough, in any words but a bare yes or no.
//
// Rough is ready to wash, slippery is not (common practice, no source). Nearly rough is slippery:
// the mistake that costs nothing. What holds for the top only, what is called "more or less"
// rough, and any yes or no alone are asked about in words.

// hand finishes a hand test. One that is nearly rough is slippery; one that holds for the top or
// the bottom only, with a "no" left over, is asked about; in a drum it means dryness.
func (r *reader) hand(c *clause, f *Fact, v *PlaceView) bool {
	if v.Kind != state.Tank {
		if c.mark(state.BiteDry) == nil {
			r.ask(AskWhat, f.What, "")
		}
		return false
	}
	if r.hedge == "almost" {
		f.What, r.hedge = state.Slippery, ""
		f.doubt("what", 0.8, AskHand)
	}
	for i := range c.parts {
		if d, ok := c.parts[i].of(words.Depth); ok {
			f.Word = d
		}
		if c.parts[i].says(words.Time, "about") && c.has(isTime) == nil { // "mas o menos aspera"
			r.ask(AskHand, v.Name, "", state.Slippery, state.Rough)
		}
	}
	if c.says(words.Join, "not") || c.says(words.Talk, SaysNo) {
		r.ask(AskHand, v.Name, "", state.Slippery, state.Rough)
	}
	return true
}

// ready reads "t1 ready": of a tank a finding, never an order to wash; "not ready" and "almost"
// are still slippery. Elsewhere it says too little.
func (r *reader) ready(c *clause) {
	denied := c.mark("ready")
	said := c.says(words.Talk, "ready")
	almost := (c.hedged("almost") || c.says(words.Join, "still")) && r.kind(c) == state.Tank
	if c.asks || c.subject() < 0 || r.alreadyTold(c) {
		return
	}
	if denied == nil && !said && !almost {
		if r.kind(c) == state.Tank && (c.says(words.Join, "not") || c.says(words.Talk, SaysNo) ||
			c.says(words.Talk, SaysYes)) { // "rub no": half the floor means the opposite
			r.ask(AskHand, r.place(c.subject()), "", state.Slippery, state.Rough)
		}
		return
	}
	if r.kind(c) != state.Tank {
		r.ask(AskWhat, r.place(c.subject()), "")
		return
	}
	for _, p := range c.places {
		f := Fact{Place: r.place(p), What: state.Rough}
		if denied != nil || almost || r.hedge == "almost" {
			f.What, r.hedge = state.Slippery, ""
		}
		f.doubt("what", 0.8, AskHand)
		r.add(f)
	}
}

// alreadyTold says that a clause tells something besides "ready".
func (r *reader) alreadyTold(c *clause) bool {
	for i := range c.parts {
		x := &c.parts[i]
		switch x.kind {
		case isMark:
			if x.name != "ready" {
				return true
			}
		case isAct, isOrder, isReading, isAmount, isFigure, isClass, isTalk:
			return true
		}
	}
	return c.says(words.Talk, SaysCap) || c.has(isKind) != nil
}
