package bot

import (
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// Where a clause is about when it does not say so: the clause before, the last question, the only
// place it can be. A place that was not said is never silent, and is asked for when several may be
// meant.
//
// The order: the place that was said; the one of the clause before; the one of the last question;
// the only place of the kind that the words allow; the only one of these that holds coffee. A move
// is never placed by what holds coffee: the coffee may just have gone.

// where makes sure that a clause has a place: the one said; else the one of the clause before, of
// the last question, the only one of its kind, or the only one of the post that holds coffee. It
// is false when the line must be asked about. A place that was not said is never silent.
func (r *reader) where(c *clause) bool {
	if c.near != "" {
		r.ask(AskNear, c.about, c.near)
	}
	if len(c.places) > 0 || !r.needsPlace(c) {
		return true
	}
	if c.lot != 0 {
		if c.places = r.all(state.Lab); len(c.places) != 1 {
			c.places = nil
		}
		return true
	}
	if len(c.except) > 0 && len(c.from)+len(c.to) == 0 {
		return true
	}
	if !c.travels() { // "la temp de t3", "agua al t3": just the place
		if c.places = append(c.from, c.to...); len(c.places) > 0 {
			if c.from, c.to = nil, nil; c.mark(state.Turned) != nil { // "movi a p3"
				c.guess = append(c.guess, Doubt{What: "what", Sure: 0.8, Settle: AskSure})
			}
			return true
		}
	} else if len(c.from)+len(c.to) > 0 && c.kindWord() == nil {
		return true
	}
	if r.soaksWaiting(c) {
		return true
	}
	if r.airOfStore(c) {
		return true
	}
	kinds := r.kindsOf(c)
	if len(r.last) > 0 && (kinds == nil || oneOf(r.c.Places[r.last[0]].Kind, kinds)) {
		c.places = r.last
		return true
	}
	if a := r.c.Asked; a != nil {
		p := r.byName(a.Place)
		if p >= 0 && (kinds == nil || oneOf(r.c.Places[p].Kind, kinds)) {
			c.places = []int{p}
			return true
		}
	}
	return r.guessPlace(c, kinds)
}

// soaksWaiting places "en remojo" with the coffee that waits between two places: it has been
// washed, and what a tank holds has not. Such coffee is a place of its own in the rest of the line.
func (r *reader) soaksWaiting(c *clause) bool {
	if !r.c.Waiting || c.mark(state.SoakStart) == nil || c.kindWord() != nil {
		return false
	}
	n := len(r.c.Places)
	r.c.Places = append(r.c.Places[:n:n], PlaceView{Name: state.Floor, Kind: state.Waiting,
		Holds: true, Washed: true})
	r.names = append(r.names, "\n") // nobody can write it
	c.places = []int{n}
	c.guess = append(c.guess, Doubt{What: "place", Sure: 0.8, Settle: AskPlace})
	return true
}

// airOfStore places the heat and the humidity of the air that are told of a store, silo or patio
// without its name, "bodega 18C 70%": where the mill reads its store's air, of a patio the air
// outside.
func (r *reader) airOfStore(c *clause) bool {
	k := c.kindWord()
	if k == nil || k.name != string(state.Silo) && k.name != string(state.Store) &&
		k.name != string(state.Patio) {
		return false
	}
	outside := k.name == string(state.Patio) // "patio 21C 65%": the yard
	heat, humid := false, false
	for i := range c.parts {
		x := &c.parts[i]
		switch {
		case x.kind == isReading && (x.name == state.AirC || x.name == state.AmbientC || x.name == "temp"),
			x.kind == isFigure && (x.unit == "C" || x.unit == "F" || x.unit == "degree"):
			heat = true
		case x.kind == isReading && x.name == state.AmbientH,
			x.kind == isFigure && x.unit == "%" && x.fig.v >= 30: // less is a moisture
			humid = true
		}
	}
	for i := range r.c.Places {
		if heat && humid && r.c.Places[i].Kind == state.Air &&
			strings.Contains(r.names[i], "store") != outside {
			c.places = []int{i}
			c.guess = append(c.guess, Doubt{What: "place", Sure: 0.8, Settle: AskPlace})
			return true
		}
	}
	return false
}

// needsPlace says that some part of a clause is about a place.
func (r *reader) needsPlace(c *clause) bool {
	for i := range c.parts {
		switch x := &c.parts[i]; x.kind {
		case isMark:
			if !ofMill(x.name) {
				return true
			}
		case isWord:
			if x.says(words.Talk, "picked") && c.has(isTime) != nil {
				return true
			}
			if x.says(words.Class, "") && c.named() || x.says(words.Detail, "leak") ||
				x.says(words.Detail, "animals") {
				return true
			}
		case isAmount:
			if c.detail("wood", "husk") == "" || c.named() {
				return true
			}
		case isAct, isClass, isWeigh, isFigure:
			return true
		case isReading:
			if x.name != state.FuelH {
				return true
			}
		case isOrder:
			if !r.raining() {
				return true
			}
		}
	}
	return false
}

// raining says that the line tells of rain: covers wished in it are the answer to the rain.
func (r *reader) raining() bool {
	for i := range r.items {
		if x := &r.items[i]; x.kind == isMark && (x.name == state.RainStart ||
			x.name == state.RainComing) {
			return true
		}
	}
	return false
}

// travels says that a clause has an act with two ends.
func (c *clause) travels() bool {
	if len(c.from) > 0 && len(c.to) > 0 {
		return true
	}
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind == isAct && moves(x.name) || x.kind == isClass || x.kind == isMark &&
			x.name == state.Turned && len(c.to) > 0 && len(c.places)+len(c.from) > 0 {
			return true
		}
	}
	return false
}

// kindsOf lists the kinds of place that a clause can be about: what its words say, else nil.
func (r *reader) kindsOf(c *clause) []state.Kind {
	if k := c.kindWord(); k != nil && k.role == 0 {
		return []state.Kind{state.Kind(k.name)}
	}
	if c.says(words.Talk, "picked") && c.has(isTime) != nil || c.comes() {
		return []state.Kind{state.Intake}
	}
	for i := range c.parts {
		x := &c.parts[i]
		name := x.name
		switch x.kind {
		case isClass:
			if oneOf(state.Intake, r.c.Posts[:min(1, len(r.c.Posts))]) {
				return []state.Kind{state.Intake}
			}
			name = SaysClass
		case isOrder:
			name = map[string]string{"wash": state.ActWash, "unload": state.ActUnload,
				"load": state.ActLoad, "store": state.ActStore, "spread": state.ActSpread}[x.name]
			if name == "" {
				name = x.name
			}
		case isMark, isAct, isReading:
			if x.kind == isReading && x.word != "" && x.name == "temp" { // a depth
				return []state.Kind{state.Tank, state.Silo, state.Store}
			}
			if x.name == state.Cleared {
				name = x.word
			}
		default:
			continue
		}
		if kinds := fits(name); kinds != nil {
			return kinds
		}
	}
	return nil
}

// comes says that a clause tells of an amount that is still to come, and of nothing done with it:
// "tomorrow 12 t".
func (c *clause) comes() bool {
	at, act := c.has(isTime), c.has(isAct)
	return at != nil && at.at.ahead && c.has(isAmount) != nil && c.has(isOrder) == nil &&
		c.has(isMark) == nil && (act == nil || act.name == state.ActIntake)
}

// guessPlace takes the only place it can be, with a doubt, or asks which.
func (r *reader) guessPlace(c *clause, kinds []state.Kind) bool {
	if kinds == nil && len(r.c.Posts) > 0 {
		kinds = r.c.Posts[:1]
	}
	for _, post := range r.c.Posts { // of several kinds, the sender's own
		if len(kinds) > 1 && oneOf(post, kinds) {
			kinds = []state.Kind{post}
			break
		}
	}
	var all, holds []int
	for i := range r.c.Places {
		if p := &r.c.Places[i]; oneOf(p.Kind, kinds) {
			all = append(all, i)
			if p.Holds {
				holds = append(holds, i)
			}
		}
	}
	everywhere := c.says(words.Join, "all")
	switch {
	case everywhere && len(holds) > 0 && !c.travels():
		c.places = holds
	case len(all) == 1:
		c.places = all
	case len(holds) == 1 && !c.travels():
		c.places = holds
	default:
		if len(holds) > 0 && !c.travels() {
			all = holds
		}
		r.which(c, all)
		return false
	}
	if c.kindWord() == nil || len(all) > 1 {
		c.guess = append(c.guess, Doubt{What: "place", Sure: 0.7, Settle: AskPlace})
	}
	return true
}

// which asks for the place and keeps what was said of it.
func (r *reader) which(c *clause, among []int) {
	names := make([]string, len(among))
	for i, p := range among {
		names[i] = r.place(p)
	}
	about := ""
	if x := c.has(isFigure); x != nil {
		about = show(x.fig)
	}
	r.ask(AskPlace, about, "", names...)
	for i := range c.parts {
		x := &c.parts[i]
		switch x.kind {
		case isMark:
			if !ofMill(x.name) {
				r.leave(Fact{What: x.name, Word: x.word, Urgent: urgent(x.name)})
			}
		case isAct:
			r.leave(Fact{What: x.name})
		case isReading:
			if x.name != "temp" {
				r.leave(Fact{What: x.name, Value: x.fig.v, Has: true, Digits: x.fig.digits})
			}
		}
	}
}
