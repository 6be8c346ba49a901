package bot

import (
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
		"unanswered": (*turn).unansweredLines,
	}
}

// asksDay answers one of those questions, and says whether the line was one: its word and a
// question mark.
func (t *turn) asksDay() bool {
	text := words.FoldText(strings.TrimSpace(t.msg.Text))
	text, asks := strings.CutSuffix(text, "?")
	if !asks {
		return false
	}
	text = strings.Trim(text, " ¿?")
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
			return t.rainLines()[1:]
		}
	}
	return nil
}

// dayFollows says at once what a fact of a bad day means for the mill: to who wrote it, and where
// it matters to the shift lead and the manager.
func (t *turn) dayFollows(f Fact) {
	switch f.What {
	case state.PowerBack:
		t.dayTells(func(u *turn) []string { return u.powerBackLines(t.when(f)) })
	case state.Covered, state.RainOver:
		if _, raining := t.rainSince(); raining != 0 || f.What == state.RainOver {
			t.say2(t.coverLine())
		}
	case state.FuelH, SaysFuel, state.FuelOut:
		lines := t.fuelLines()
		t.lines2 = append(t.lines2, lines...)
		if t.fuel().short() {
			t.dayTells((*turn).fuelLines)
		}
	case state.Stopped:
		t.dayTells(func(u *turn) []string { return u.standLines(f.Place) })
	}
}

// dayTells sends lines to the managers and the shift leads on shift, each in their own language.
func (t *turn) dayTells(lines func(u *turn) []string) {
	told := map[state.PersonID]bool{}
	for _, role := range [...]state.Role{state.Manager, state.Lead} {
		for _, id := range t.whom(string(role), state.Subject{}) {
			if told[id] || t.person != nil && id == t.person.ID {
				continue
			}
			told[id] = true
			if text := lines(t.to(id)); len(text) > 0 {
				t.tell(id, outRow(2, t.line), Outgoing{Text: strings.Join(text, "\n")})
			}
		}
	}
}
