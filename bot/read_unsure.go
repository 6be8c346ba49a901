package bot

import "lotbell/state"

// Words that make a line unsure: unknown ones, left-over ones, and those that make a statement
// less than one.
//
// "Taken" means that every word of the line was understood. One unknown word is enough for the
// answer to say back what was made of the line; many make it a question.

// doubtWords looks at the words around the facts: those nearly known, those unknown, and those
// that make a statement less than one. What was only nearly said is asked about when it moves
// coffee, ends a call or tells a hand test; a measured value is said back.
func (r *reader) doubtWords() {
	statement := false
	for i := range r.h.Facts {
		switch what := r.h.Facts[i].What; what {
		case state.WashOrdered, state.OutOrdered:
			if r.hedge == "if" || r.hedge == "after" || r.hedge == "think" { // not now
				r.ask(AskSure, "", "")
			}
		}
		switch what := r.h.Facts[i].What; what {
		case state.Help, state.RainComing, state.WashOrdered, state.OutOrdered, state.WashRefused:
		default:
			statement = statement || tells(what)
		}
	}
	if statement && r.hedge != "" && !r.safeGuess() {
		r.ask(AskSure, "", "")
	}
	lost := r.unknowns + r.dropped
	if len(r.h.Facts) == 0 || lost == 0 {
		return
	}
	if statement && lost > 2 && lost >= r.content {
		r.ask(AskSure, "", "")
	}
	for i := range r.h.Facts {
		f := &r.h.Facts[i]
		if i == 0 || moved(f.What) || f.What == state.Rough || f.What == state.Slippery {
			f.doubt("words", 1-float64(lost)/float64(lost+r.content+1), AskSure)
		}
	}
}

// safeGuess says that a line with "I think" in it tells only that a tank is slippery still: the
// guess is the safe side, and is said back.
func (r *reader) safeGuess() bool {
	for i := range r.h.Facts {
		f := &r.h.Facts[i]
		if f.What != state.Slippery || r.hedge != "think" {
			return false
		}
		f.doubt("what", 0.6, AskHand)
	}
	return true
}

// tells says that a fact is a mark or an act: something that a "nearly" or "tomorrow" undoes.
func tells(what string) bool {
	return moved(what) || isMarkWord(what)
}

// moved says that a fact moves coffee.
func moved(what string) bool {
	switch what {
	case state.ActAdd, state.ActWash, state.ActSpread, state.ActGather, state.ActLoad,
		state.ActUnload, state.ActStore, state.ActMove, state.ActShip, state.ActIntake, SaysClass:
		return true
	}
	return false
}
