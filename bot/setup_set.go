package bot

import (
	"slices"
	"strings"

	"lotbell/state"
)

// setFurther states those facts about the site that the set-up asks for besides the first ones, as
// lines of a mill's file: set route intake tank drum silo, set sack_h 0.75. It is false for a name
// it does not know.
func (t *turn) setFurther(name string, ws []string) bool {
	text := strings.ToLower(strings.Join(ws, " "))
	switch name {
	case state.SetUsualCold:
		t.setNumber(name, ws[0], 4, 96)
		return true
	case state.SetSack:
		t.setNumber(name, ws[0], 0.01, 24)
		return true
	case state.SetPulp:
		t.setNumber(name, ws[0], leastPulp, mostPulp)
		return true
	case state.SetGenerator, state.SetWater, state.SetPermit, state.SetCertified, state.SetOwners:
		kept, example := t.toldLine(name, ws)
		if kept == "" {
			t.bad("keeper.word", "about", cut(text, 30), "example", example)
			return true
		}
		text = kept
	case state.SetLang:
		if !t.voice.Speaks(text) {
			t.bad("lang.unknown", "about", text)
			return true
		}
	case state.SetRoute:
		for _, w := range ws {
			if !slices.Contains(state.Kinds(), state.Kind(w)) {
				t.bad("keeper.kind", "about", w, "example", "set route intake tank drum silo")
				return true
			}
		}
	case state.SetPrepares:
		if text != "yes" && text != "no" {
			t.bad("keeper.word", "about", text, "example", "set prepares no")
			return true
		}
	case state.SetFuel:
		if t.fuelCalled(text) == "" {
			t.bad("keeper.word", "about", text, "example", "set fuel husk")
			return true
		}
		text = t.fuelCalled(text)
	default:
		return false
	}
	t.said(t.at, state.Set{Name: name, Text: text})
	t.say("keeper.set", "name", name, "value", text)
	return true
}
