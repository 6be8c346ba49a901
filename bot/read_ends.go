package bot

import "lotbell/state"

// Where coffee comes from and where it goes. The act is settled by the kinds of place at both
// ends, not by the verb alone: whatever goes from a patio into a drum is a load.
//
//	tank to patio, channel to patio    spread
//	patio or silo to drum              load
//	drum to silo                       unload, or store when the silo's hand tells it
//	patio to silo                      store
//	tank to channel                    wash
//	to a tank                          add, from another tank a move
//	two of one kind                    a move

// move is coffee on its way: what was said of it, before its act is settled.
type move struct {
	act  string
	from []int
	to   []int
}

// ends sorts the places of a clause into where the coffee comes from and where it goes.
func (r *reader) ends(c *clause, act string) move {
	m := move{act: act, from: append([]int(nil), c.from...), to: append([]int(nil), c.to...)}
	arrives := act == state.ActAdd || act == state.ActSpread || act == state.ActLoad ||
		act == state.ActStore || act == state.ActIntake
	for i, p := range c.places {
		home := oneOf(r.c.Places[p].Kind, fits(act))
		switch {
		case act == state.ActMove && among(p, c.inside) && len(c.places) > 1:
			m.to = append(m.to, p)
		case act == state.ActMove && len(m.to) == 0 && len(c.inside) == 0 && (len(c.from) > 0 || i > 0 &&
			!r.alike(p, c.places[0])), act == state.ActMove && len(c.places) == 1 &&
			len(c.to) == 0 && c.into(r):
			m.to = append(m.to, p)
		case act == state.ActMove:
			m.from = append(m.from, p)
		case arrives && (home || len(c.from) > 0 && len(c.to) == 0 && len(m.to) == 0):
			m.to = append(m.to, p)
		case arrives:
			m.from = append(m.from, p)
		case i == 0 || home:
			m.from = append(m.from, p)
		default:
			m.to = append(m.to, p)
		}
	}
	if k := c.kindWord(); k != nil && len(m.to) == 0 && r.count(state.Kind(k.name)) == 1 &&
		(k.role == 't' || arrives) && !oneOf(state.Kind(k.name), r.kindsAt(m.from)) {
		m.to = append(m.to, r.firstOf(state.Kind(k.name)))
	} else if k != nil && k.role == 'f' && len(m.from) == 0 && r.count(state.Kind(k.name)) == 1 {
		m.from = append(m.from, r.firstOf(state.Kind(k.name)))
	}
	if act == state.ActMove && len(m.from) > 0 && len(m.to) > 0 && len(c.from)+len(c.to) == 0 &&
		len(c.inside) == 0 &&
		r.along(m.from[0]) > r.along(m.to[0]) {
		m.from, m.to = m.to, m.from // along the way of the coffee
	}
	return m
}

// along is how far along the way of the coffee a place is.
func (r *reader) along(p int) int {
	for i, k := range state.Kinds() {
		if k == r.c.Places[p].Kind {
			return i
		}
	}
	return -1
}

// settle chooses the act by the kinds of place at both ends. It is false when an end is missing
// that must be known.
func (r *reader) settle(m move, verb string) (move, bool) {
	kind := func(ps []int) state.Kind {
		if len(ps) == 0 {
			return ""
		}
		return r.c.Places[ps[0]].Kind
	}
	from, to := kind(m.from), kind(m.to)
	if to == "" {
		m.act = leaves(from, verb)
		return m, m.act != ""
	}
	m.act = arrives(from, to, verb)
	return m, m.act != state.ActMove || len(m.from) > 0
}

// leaves is what a verb means of coffee that leaves a kind of place for none that was said; "" when
// it must be said.
func leaves(from state.Kind, verb string) string {
	out := verb == state.ActUnload || verb == state.ActGather
	switch from {
	case state.Tank:
		if verb == state.ActWash {
			return verb
		}
	case state.Silo, state.Store:
		if verb == state.ActShip {
			return verb
		}
	case state.Drum, state.Predryer:
		if out {
			return state.ActUnload
		}
	case state.Patio:
		if out {
			return state.ActGather
		}
	}
	return ""
}

// arrives is what it is called when coffee comes from one kind of place ("": not said) to another.
func arrives(from, to state.Kind, verb string) string {
	hot := from == state.Drum || from == state.Predryer
	kept := from == state.Silo || from == state.Store
	switch to {
	case state.Tank:
		if from != state.Tank {
			return state.ActAdd
		}
	case state.Patio:
		if from != state.Patio && from != state.Drum && from != state.Silo {
			return state.ActSpread
		}
	case state.Drum, state.Predryer:
		if !hot {
			return state.ActLoad
		}
	case state.Silo, state.Store:
		switch {
		case from == state.Drum && verb != state.ActStore:
			return state.ActUnload // told by the drum hand
		case !kept:
			return state.ActStore
		}
	case state.Channel:
		if from == state.Tank {
			return state.ActWash
		}
	case state.Intake:
		return state.ActIntake
	}
	return state.ActMove
}

// askEnd asks for the end of a move that was not said.
func (r *reader) askEnd(m move, x *item) {
	var room []string
	want := fits(x.name)
	for i := range r.c.Places {
		if oneOf(r.c.Places[i].Kind, want) && len(m.to) == 0 {
			room = append(room, r.place(i))
		}
	}
	f := Fact{What: x.name, From: r.placeNames(m.from)}
	if len(m.to) > 0 {
		f.Place = r.place(m.to[0])
	}
	r.ask(AskPlace, x.text, "", room...)
	r.leave(f)
}
