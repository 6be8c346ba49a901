package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Things and their states: "se fue la luz", "no more wood", "water is back". The vocabulary names
// the things and the states; the marks they make together stand in one table here.
//
//	luz, power, luz elétrica    with gone, off, low: a power cut; with back, on: over
//	agua, water                 gone, low or back
//	fuego, fire                 out, low or lit, of the drum named beside it
//	leña, husk                  gone
//	baba, slime                 there: slippery; gone or denied: rough
//	lona, sheet                 put or on: covered; taken or off: uncovered

// thing joins a thing and its state, in either order: "luz se fue", "se fue la luz", "no water".
func (r *reader) thing(at []item, not bool) (item, int) {
	name, isThing := thingOf(&at[0])
	how, isState := at[0].of(words.State)
	if !isThing && !isState || at[0].says(words.Mark, "") ||
		at[0].says(words.Class, "") && r.classes > 1 {
		return item{}, 0
	}
	n := 1
	for n < len(at) && n < 4 && (at[n].joins("is", "the", "all", "in", "from", "to", "still") ||
		isThing && at[n].joins("not") && n+1 < len(at) &&
			at[n+1].says(words.State, "")) {
		not = not != at[n].says(words.Join, "not")
		n++
	}
	if n < len(at) {
		if h, ok := at[n].of(words.State); ok && isThing {
			how, isState = h, true
			n++
		} else if t, ok := thingOf(&at[n]); ok && isState && !isThing {
			name, isThing = t, true
			n++
		}
	}
	if !isThing || name == "water" && n < len(at) && at[n].kind == isPlace && at[n].role == 'f' {
		return item{}, 0 // "let the water out of t2"
	}
	if !isState {
		n = 1
		if how = "here"; name == "slime" {
			if m := deniedAfter(at, n); m > 0 {
				how, n = "gone", n+m
			}
		}
	}
	if not && name == "cover" && how == "here" {
		return item{}, 0 // "no sheets": none are to be had
	}
	if not {
		how = map[string]string{"here": "gone", "gone": "here", "back": "gone", "on": "gone"}[how]
	}
	to := item{kind: isMark, text: textOf(at[:n]), name: thingMark(name, how), word: "",
		both: name == "slime" && how == "here" && r.unknowing()}
	if w, ok := at[0].of(words.Detail); ok {
		to.word = w
	}
	if to.name == SaysCap {
		to.kind = isTalk
	}
	if to.name == "" {
		return item{}, 0
	}
	return to, n
}

// unknowing says that a word of the line is not known: it may have taken the slime away.
func (r *reader) unknowing() bool {
	for i := range r.items {
		if r.items[i].kind == isOther {
			return true
		}
	}
	return false
}

// thingOf is the thing a word names; wood and husk are fuel, cloth and plastic a cover.
func thingOf(x *item) (string, bool) {
	if x.says(words.Detail, "cloth") || x.says(words.Detail, "plastic") {
		return "cover", true
	}
	if x.says(words.Detail, "wood") || x.says(words.Detail, "husk") {
		return "fuel", true
	}
	return x.of(words.Thing)
}

// thingMark is the mark that a thing in a state makes; "" for none.
func thingMark(thing, how string) string {
	switch thing + " " + how {
	case "power gone", "power off", "power low":
		return state.PowerOut
	case "power back", "power on":
		return state.PowerBack
	case "water gone", "water off", "water empty":
		return state.WaterOut
	case "water back", "water on":
		return state.WaterBack
	case "water low":
		return state.WaterShort
	case "fire gone", "fire off":
		return state.FireOut
	case "fire low":
		return state.FireLow
	case "fire on", "fire back":
		return state.FireLit
	case "fuel gone", "fuel empty":
		return state.FuelOut
	case "slime here", "slime on":
		return state.Slippery
	case "slime gone":
		return state.Rough
	case "room gone", "room empty":
		return SaysCap
	case "cover on", "cover back", "cover put":
		return state.Covered
	case "cover off", "cover gone", "cover taken":
		return state.Uncovered
	}
	return ""
}

// says tells whether any word of the line may mean a program word of a section.
func (r *reader) says(in words.Section, name string) bool {
	for i := range r.items {
		if r.items[i].says(in, name) || r.items[i].kind == isKind && in == words.Kind &&
			r.items[i].name == name {
			return true
		}
	}
	return false
}

// roomy says that coffee waits for room at a kind of place.
func roomy(kind string) bool {
	switch state.Kind(kind) {
	case state.Tank, state.Patio, state.Drum, state.Predryer, state.Silo, state.Store:
		return true
	}
	return false
}

// urgent says that a mark is passed on at once (trade: sections 2 and 6; common practice).
func urgent(mark string) bool {
	switch mark {
	case state.Help, state.Smell, state.Mould, state.Smoke, state.Overflow, state.Insects,
		state.Warm, state.Stopped, state.NotClean, state.Mistake, state.FireLow, state.RainStart,
		state.RainComing, state.PowerOut, state.WaterOut, state.FuelOut, state.Rewetted,
		state.Uncovered, state.Cracked:
		return true
	}
	return false
}

// ofMill says that a mark is of the whole mill, whatever place stands beside it.
func ofMill(mark string) bool {
	switch mark {
	case state.RainStart, state.RainComing, state.RainOver, state.PowerOut, state.PowerBack,
		state.WaterOut, state.WaterBack, state.WaterShort, state.FuelOut, state.Help,
		state.HelpOver:
		return true
	}
	return false
}
