package bot

import (
	"slices"
	"strings"

	"lotbell/bot/words"
	"lotbell/rules"
	"lotbell/state"
)

// Bad days: water or power gone, rain, fuel short, more fruit than room, a machine that stands,
// nobody who answers. Each has a short question (water?, rain?, room?) whose answer is worked out
// from the mill as it is; the calls of such a day carry the same lines.

// dayTopics are the questions, each with what answers it. What people call them is data of the
// voice, under day.NAME.
func dayTopics() map[string]func(t *turn) []string {
	return map[string]func(t *turn) []string{
		"water": (*turn).waterLines, "power": (*turn).powerLines, "rain": (*turn).rainLines,
		"fuel": (*turn).fuelLines, "room": (*turn).roomLines, "broken": (*turn).brokenLines,
		"unanswered": (*turn).unansweredLines, "season": (*turn).seasonLines,
		"losses": (*turn).lossLines, "airing": (*turn).airingLines,
	}
}

// asksDay answers one of those questions, and says whether the line was one: its word and a
// question mark. Words that ask by themselves, "cuanto perdimos", need none.
func (t *turn) asksDay() bool {
	text := words.FoldText(strings.TrimSpace(t.msg.Text))
	text, asks := strings.CutSuffix(text, "?")
	text = strings.Trim(text, " ¿?")
	if t.means(text, "day.asks.hand") {
		t.say("hand.what")
		return true
	}
	if t.means(text, "day.asks.wash") {
		text = words.FoldText(t.voice.Say("en", "day.water"))
	} else if !asks && !t.means(text, "day.losses") {
		return false
	}
	if place, rest := t.placeAside(text); place != "" && t.means(rest, "day.airing") {
		t.lines = append(t.lines, t.airingAt(place)...)
		return true
	}
	for _, name := range sortedKeys(dayTopics()) {
		if t.means(text, "day."+name) {
			t.lines = append(t.lines, dayTopics()[name](t)...)
			return true
		}
	}
	return false
}

// underCall is what a call of the whole mill carries below its sentence, for somebody of the
// language of this turn: the lines of the bad day that its rule is about.
func (t *turn) underCall(r *rules.Rule) []string {
	if r == nil || r.On != rules.OnMill {
		return nil
	}
	for _, fact := range r.When.Names() {
		switch fact {
		case "power_out":
			return t.drumLines()
		case "water_out":
			return t.tankLines()
		case "raining":
			return t.rainLines()
		}
	}
	return nil
}

// dayFollows says what the facts of a line mean for the whole mill: to who wrote it, and where it
// matters to the managers and the shift leads.
func (t *turn) dayFollows(fs []Fact) {
	covered := false
	for _, f := range fs {
		switch f.What {
		case state.PowerBack:
			since := t.mill.PowerOut(t.when(f) - 1)
			t.dayTells(true, func(u *turn) []string { return u.powerBackLines(since) })
			t.lines = append(t.lines, t.powerBackLines(since)...)
		case state.Stopped:
			t.dayTells(true, func(u *turn) []string { return u.standLines(f.Place) })
		case state.Covered:
			covered = true
		case state.FuelH, SaysFuel, state.FuelOut:
			t.lines = append(t.lines, t.fuelLines()...)
			if t.fuel().short() {
				t.dayTells(false, (*turn).fuelLines)
			}
		}
	}
	if covered && t.mill.Raining(t.at) != 0 {
		t.lines = append(t.lines, t.rainLines()[:1]...)
	}
}

// dayTells sends lines to the managers and the shift leads, other than whoever wrote, each in their
// own language; below the words that were written, when those are to be passed on.
func (t *turn) dayTells(withWords bool, lines func(u *turn) []string) {
	var told []state.PersonID
	for _, role := range [...]state.Role{state.Manager, state.Lead} {
		for _, id := range t.whom(string(role), state.Subject{}) {
			if slices.Contains(told, id) || id == t.person.ID {
				continue
			}
			told = append(told, id)
			u := t.to(id)
			if withWords {
				u.say("manager.words", "name", t.name(t.person.ID), "words", cut(t.msg.Text, 110))
			}
			if text := append(u.lines, lines(u)...); len(text) > 0 {
				t.tell(id, outRow(2, t.line), Outgoing{Text: strings.Join(text, "\n")})
			}
		}
	}
}
