package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// unsafe refuses wishes to enter, climb, reach in, open what turns, or put water on a furnace. The
// fact is passed on at once, to whoever minds people.
func (r *reader) unsafe() bool {
	wish, place := "", ""
	for i := range r.items {
		x := &r.items[i]
		switch x.kind {
		case isDanger:
			if x.name != "pay" && wish == "" && !x.not {
				wish = x.name
			}
		case isPlace:
			if k := r.c.Places[x.ps[0]].Kind; place == "" && k != state.Patio {
				place = r.place(x.ps[0])
			}
		case isMark:
			if x.name == state.Help {
				r.add(Fact{Place: state.Whole, What: state.Help, Urgent: true})
			}
		}
	}
	if wish == "" || wish == "enter" && r.entersGoods() {
		return false
	}
	if place == "" {
		place = state.Whole
	}
	r.add(Fact{Place: place, What: SaysUnsafe, Word: wish, Urgent: true})
	r.refuse(SaysUnsafe, "", "")
	return true
}

// entersGoods says that what enters is fruit, not a person: "enter 30 cajuelas".
func (r *reader) entersGoods() bool {
	for i := range r.items {
		if k := r.items[i].kind; k == isAmount {
			return true
		}
	}
	return false
}

// private turns down what is not kept here: pay. A line that says something of coffee too is read.
func (r *reader) private() bool {
	pay := false
	for i := range r.items {
		x := &r.items[i]
		if x.kind == isDanger && x.name == "pay" {
			pay = true
		}
		if k := x.kind; k == isPlace || k == isMark || k == isReading || k == isAmount ||
			k == isAct || k == isOrder {
			return false
		}
	}
	if !pay {
		return false
	}
	r.add(Fact{What: SaysPrivate, Word: "pay"})
	r.refuse(SaysPrivate, "", "")
	return true
}

// help is heard anywhere in a line; the clauses note it like any mark of the mill.
func (r *reader) help() bool { return r.says(words.Mark, state.Help) }
