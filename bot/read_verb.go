package bot

import (
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// Coffee that moves: which word of a clause tells it. English "drop", Spanish "baje" and many
// others are an order, a report or something else altogether by what stands beside them; a move is
// never guessed without being said back.
//
//	d1 unload 10,6 2010kg      happened: figures stand beside it
//	d1 unload                  wished, or ordered by who may
//	d1 10.6 la bajo?           wished: a question
//	baje la d1 a 55            less heat
//	le puse lena a la d1       wood, no coffee
//	d1 temp drop to 41         swallowed by the temperature before it comes here
//	p2 to d3 40 sacks          no verb: a load, said back

// act notes what has moved in a clause, with its kilograms.
func (r *reader) act(c *clause) {
	x := r.verb(c)
	if x == nil {
		return
	}
	if x.near != "" {
		r.ask(AskNear, x.text, x.near)
	}
	switch {
	case x.not:
		for _, p := range c.places {
			r.deny(x.name, p)
		}
		return
	case x.name == state.ActWash && (c.detail("broom") != "" || c.says(words.State, "empty")):
		for _, p := range c.places { // the tank itself was washed
			r.mark1(c, &item{name: state.Cleaned}, p)
		}
		return
	}
	if x.name == state.ActWash { // "washed 2150": rather a time than a weight
		for i := range c.parts {
			if y := &c.parts[i]; y.kind == isFigure {
				r.bareClock(c, y)
			}
		}
	}
	c.ungrade()
	for i := range c.parts { // "saque d1 peso 1985 kg": what was moved weighs so much
		if y := &c.parts[i]; y.kind == isReading && y.name == state.WeightKg && c.mass(r) == nil {
			y.kind, y.name = isAmount, "kg"
		}
	}
	m := r.ends(c, x.name)
	settled, ok := r.settle(m, x.name)
	if !ok {
		r.askEnd(m, x)
		return
	}
	for i := range c.parts {
		if y := &c.parts[i]; y.kind == isAct && y.name != x.name && r.meant(c, y) {
			c.guess = append(c.guess, Doubt{What: "what", Sure: 0.7, Settle: AskSure})
		}
	}
	r.note(c, settled, x)
}

// verb is the act of a clause: the first that is no order and can be meant; nil when there is
// none. "full" with kilograms is a load too, and so is a bare weight in a tank; a place "to"
// another, or an amount of one "from" another, needs no verb.
func (r *reader) verb(c *clause) *item {
	if c.detail("wood", "husk") != "" && len(c.from) == 0 { // wood was put into the drum
		return nil
	}
	for i := range c.parts {
		x := &c.parts[i]
		switch {
		case x.kind == isOrder && (x.both && r.happened(c, x) || r.strict(c, x)):
			x.kind = isAct
			return x
		case x.kind == isMark && x.name == state.Turned && c.travels() && len(c.to) > 0:
			return &item{kind: isAct, name: state.ActMove, text: x.text}
		case x.kind == isMark && x.name == state.Full && r.kind(c) == state.Tank && c.mass(r) != nil:
			return &item{kind: isAct, name: state.ActAdd, text: x.text}
		case x.kind == isAct && c.mark(state.Sampled) != nil && x.name != state.ActIntake:
			x.kind = isSkipped // what was taken out is the sample
		case x.kind == isAct && r.meant(c, x):
			return x
		}
	}
	guess := &item{kind: isAct, name: state.ActMove, unit: "guess"}
	if r.unknowing() {
		guess.unit = "asked"
	}
	ends := len(c.from) > 0 && len(c.to) > 0 || len(c.places) == 1 && len(c.from) > 0 &&
		len(c.parts) == 0 || len(c.places) > 0 &&
		(len(c.to) > 0 || c.kindTo() && !c.says(words.Talk, "ready") ||
			len(c.from) > 0 && c.has(isAmount) != nil)
	graded := c.has(isClass) != nil && r.classes == 1 && len(c.from) > 0 && len(c.places) > 0
	switch m := c.has(isAmount); {
	case c.has(isMark) != nil || c.has(isOrder) != nil || c.asks ||
		c.has(isClass) != nil && !graded:
		return nil
	case ends, graded:
		return guess
	case r.kind(c) == state.Patio && c.says(words.Class, "") && c.has(isReading) == nil &&
		m == nil && r.count(state.Channel) == 1:
		c.from = append(c.from, r.firstOf(state.Channel))
		guess.name = state.ActSpread
		return guess
	case m != nil && r.kind(c) == state.Tank && len(c.parts) == 1:
		guess.name = state.ActAdd
		return guess
	case m != nil && len(c.parts) == 1 && r.kind(c) == state.Drum && !r.c.Places[c.subject()].Holds:
		guess.name = state.ActLoad
		return guess
	}
	return nil
}

// meant says that a word for an act tells of coffee that moved, at such a place and with such
// words beside it.
func (r *reader) meant(c *clause, x *item) bool {
	switch x.name {
	case state.ActIntake:
		return r.kind(c) == state.Intake
	case state.ActMove:
		return len(c.from)+len(c.to) > 0 || c.manyKinds(r) || c.kindTo() || c.into(r)
	case state.ActAdd:
		return c.mass(r) != nil || len(c.from) > 0 || r.kind(c) == state.Tank && (len(c.parts) == 1 ||
			c.dubiousLoad())
	case state.ActUnload: // "baje la d2 a 55": less heat; "d1 is out": the coffee, or the fire?
		if x.meant(words.State, "gone") && c.bare() {
			r.ask(AskWhat, x.text, "")
			return false
		}
		return x.not || c.has(isAmount) != nil || c.has(isReading) != nil || !r.onlyAir(c)
	}
	return true
}

// dubiousLoad says that a load is told with a bare figure that is neither kilograms nor a
// temperature: "t1 add 77".
func (c *clause) dubiousLoad() bool {
	x := c.has(isFigure)
	return x != nil && len(c.parts) == 2 && x.unit == "" && x.fig.whole() &&
		(x.fig.v > 45 && x.fig.v < 100 || x.fig.v < 10)
}

// bare says that a clause has no figure and no other end of a move.
func (c *clause) bare() bool {
	return c.has(isAmount) == nil && c.has(isReading) == nil && c.has(isFigure) == nil &&
		len(c.from)+len(c.to) == 0
}

// into says that something was put into the clause's tank: "put 3500 in t3", "t6 i put 3100 kilo
// in".
func (c *clause) into(r *reader) bool {
	return r.kind(c) == state.Tank && (len(c.inside) > 0 || c.says(words.Join, "in") &&
		c.has(isAmount) != nil)
}

// onlyAir says that the one bare figure of a clause is the air of a drum.
func (r *reader) onlyAir(c *clause) bool {
	x := c.has(isFigure)
	if x == nil || c.subject() < 0 {
		return false
	}
	what, _ := bareAt(&r.c.Places[c.subject()], x.fig)
	return what == state.AirC
}

// happened says that a word which may be an order or an act is the act: figures, another end or a
// past time stand beside it; or, for words that are rather the past, the speaker does not decide.
func (r *reader) happened(c *clause, x *item) bool {
	if x.not || c.asks {
		return false
	}
	figures := c.has(isAmount) != nil || c.has(isReading) != nil || c.has(isFigure) != nil
	switch {
	case x.name == "move":
		return !r.c.Decides || c.past() || c.has(isAmount) != nil
	case r.c.Decides:
		return c.has(isAmount) != nil || c.past()
	case x.name == "wash" && x.once(words.Act):
		return true
	case x.name == "unload" && r.onlyAir(c) && c.has(isAmount) == nil && c.has(isReading) == nil:
		return false
	}
	return figures || c.past() || len(c.to) > 0
}

// strict says that a bare verb is the keeper's form of something done, as the calls print it: "d1
// bajar 10,5 2010kg", "s1 guardar d1". The kilograms of an unloading are known only after it; what
// was measured of a load, a spread or a store has happened too, where somebody of that post says
// it, or both the kilograms and the moisture stand there.
func (r *reader) strict(c *clause, x *item) bool {
	if x.not || c.asks {
		return false
	}
	weighed, moist := c.mass(r) != nil, c.measured(state.Moisture)
	done := false
	switch x.name {
	case "unload":
		if c.has(isAmount) != nil && c.has(isReading) == nil {
			return true
		}
		done = weighed
	case "store":
		if len(c.places) > 1 && c.manyKinds(r) && r.kind(c) == state.Silo {
			return true
		}
		fallthrough
	case "load", "spread":
		done = weighed && moist || (weighed || moist) && oneOf(r.kind(c), r.c.Posts)
	}
	if done = done && r.infinitive(x); done {
		c.guess = append(c.guess, Doubt{What: "what", Sure: 0.8, Settle: AskSure})
	}
	return done
}

// measured says that a clause has a reading of a quantity.
func (c *clause) measured(what string) bool {
	for i := range c.parts {
		if c.parts[i].kind == isReading && c.parts[i].name == what {
			return true
		}
	}
	return false
}

// infinitive says that a wish is only the name of the work, "cargar", "unload": neither a command
// nor "has to be loaded".
func (r *reader) infinitive(x *item) bool {
	if strings.Contains(x.text, " ") {
		return false
	}
	return strings.HasSuffix(x.text, "r") || x.text == r.w.Show("en", words.Order, x.name)
}

// kindTo says that a clause names a kind of place to go to, without a number.
func (c *clause) kindTo() bool {
	k := c.kindWord()
	return k != nil && k.role != 0
}
