package bot

import (
	"strings"

	"lotbell/state"
)

// What is refused: wishes that end with a person hurt, and what is not kept here.
//
// The words are data ([danger] in the language files), single ones only where they can hardly mean
// anything else. A wish is refused whatever else the line says, and passed on at once; the denial
// of one ("nobody goes in") is no wish. Wrong refusals cost a smile, missed ones a life, so doubt
// goes to the refusal.

// unsafe refuses wishes to enter, climb, reach in, open what turns, or put water on a furnace. The
// fact is passed on at once, to whoever minds people.
func (r *reader) unsafe(ws []cryWord) bool {
	wish, place, goods := "", "", false
	if douses(ws) {
		wish = "douse"
	}
	for i := range r.items {
		x := &r.items[i]
		switch x.kind {
		case isDanger:
			if x.name != "pay" && x.name != "gossip" && wish == "" && !x.not && r.perilous(x) {
				wish, goods = x.name, !strings.Contains(x.text, " ") && r.entersGoods()
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
	if wish == "" || wish == "enter" && goods {
		return false
	}
	if place == "" {
		place = state.Whole
	}
	r.add(Fact{Place: place, What: SaysUnsafe, Word: wish, Urgent: true})
	r.refuse(SaysUnsafe, "", "")
	return true
}

// douses says that a line puts a fire out with water: "apago el horno con agua".
func douses(ws []cryWord) bool {
	quench, water := false, false
	for i := range ws {
		x := &ws[i]
		quench = quench || x.means("quench")
		if water = water || x.means("water"); x.means("no") && !quench {
			return false
		}
	}
	return quench && water
}

// perilous says that a word for a dangerous wish is meant so: only what turns is opened in danger.
func (r *reader) perilous(x *item) bool {
	if x.name != "open" || strings.Contains(x.text, " ") {
		return true
	}
	for i := range r.items {
		k := state.Kind("")
		switch y := &r.items[i]; y.kind {
		case isPlace:
			k = r.c.Places[y.ps[0]].Kind
		case isKind:
			k = state.Kind(y.name)
		}
		if k == state.Drum || k == state.Predryer || k == state.Pulper {
			return true
		}
	}
	return false
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

// private turns down what is not kept here: pay, talk about people. A line that says something of
// coffee too is read.
func (r *reader) private() bool {
	what := ""
	for i := range r.items {
		x := &r.items[i]
		if x.kind == isDanger && (x.name == "pay" || x.name == "gossip") {
			what = x.name
		}
		if k := x.kind; k == isPlace || k == isMark && x.near == "" || k == isReading || k == isAmount ||
			k == isAct || k == isOrder {
			return false
		}
	}
	if what == "" {
		return false
	}
	r.add(Fact{What: SaysPrivate, Word: what})
	r.refuse(SaysPrivate, "", "")
	return true
}
