package bot

import (
	"slices"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// takeFuel reads what is burnt and how long a sack of it feeds one drum, whether there is a
// generator, the hours with water and what the permit for water says: "husk, a sack lasts 45 min,
// no generator, water 6-18, permit pH 6-9".
func (t *turn) takeFuel(a answer) (string, string) {
	fuel, hours, told := "", 0.0, map[string]string{}
	for i := 0; i < len(a.words); {
		w := a.words[i]
		x, n := t.amountAt(a.words[i:])
		m := t.fuelCalled(w)
		if k, is := t.toldAt(a.words[i:], told); is {
			if k == 0 {
				return "", w
			}
			i += k
			continue
		}
		switch {
		case n > 0 && x.unit == "h":
			hours = x.x
		case n > 0 && (x.unit == "min" || x.unit == "m"):
			hours = x.x / 60
		case m != "":
			fuel, n = m, 1
		case t.idle(w, state.Drum) || t.meaning(w).In == words.Measure || t.means(w, "answer.lasts"):
			n = 1
		default:
			return "", w
		}
		i += max(n, 1)
	}
	if fuel == "" && len(told) == 0 && hours == 0 {
		return "", a.raw
	}
	if hours < 0 || hours > 24 {
		return "", plainNumber(hours, 1) + " h"
	}
	if fuel != "" {
		t.put(state.SetFuel, 0, fuel)
	}
	if hours > 0 {
		t.put(state.SetSack, hours, "")
	}
	t.putTold(told)
	return t.settings(state.SetFuel, state.SetSack, state.SetGenerator, state.SetWater,
		state.SetPermit), ""
}

// fuelCalled is husk or wood for a word that means it; "" for others.
func (t *turn) fuelCalled(word string) string {
	n, is := t.words.Match([]string{word})
	for _, m := range is {
		if n == 1 && m.In == words.Detail && (m.Name == "husk" || m.Name == "wood") {
			return m.Name
		}
	}
	return ""
}

// somebody is one person of an answer: the words of the strict command that makes them so.
type somebody struct {
	name  string
	about []string
}

// takePeople reads who works here: "rosa worker tanks, luis lead drums es, nico watchman". Several
// names before what they do share it.
func (t *turn) takePeople(a answer) (string, string) {
	var all []somebody
	var said []string
	for _, part := range a.parts() {
		some, wrong := t.readPeople(part)
		if wrong != "" {
			return "", wrong
		}
		all, said = append(all, some...), append(said, strings.Join(part, " "))
	}
	if len(all) == 0 {
		return "", a.raw
	}
	for _, s := range all {
		before := len(t.lines)
		t.failed = false
		t.personLine(append([]string{s.name}, t.merged(s)...))
		t.lines = t.lines[:before]
		if t.failed {
			return "", s.name
		}
	}
	return strings.Join(said, ", "), ""
}

// readPeople reads one stretch between commas.
func (t *turn) readPeople(ws []string) (some []somebody, wrong string) {
	var about []string
	for _, w := range ws {
		k, isKind := t.kind(w)
		switch {
		case t.means(w, "answer.me") && len(about) == 0:
			some = append(some, somebody{name: t.name(t.person.ID)})
		case t.roleCalled(w) != "":
			about = append(about, string(t.roleCalled(w)))
		case t.wakesCalled(w) != "" && len(some) > 0:
			about = append(about, t.wakesCalled(w))
		case isKind:
			about = append(about, string(k))
		case t.voice.Speaks(w):
			about = append(about, w)
		case t.idle(w):
		case len(about) == 0 && t.nameable(w):
			some = append(some, somebody{name: w})
		default:
			return nil, w
		}
	}
	if len(some) == 0 || len(about) == 0 {
		return nil, ws[0]
	}
	for i := range some {
		some[i].about = about
	}
	return some, ""
}

// wakesCalled is the keeper's word for what may wake somebody: all, urgent or never; "" for none.
func (d *Desk) wakesCalled(word string) string {
	for _, w := range [...]string{wakesAll, state.WakesUrgent, state.WakesNever} {
		if d.means(word, "answer.wakes-"+w) {
			return w
		}
	}
	return ""
}

// nameable says whether a word may be somebody's name: letters, and no word of the floor.
func (t *turn) nameable(w string) bool {
	n, _ := t.words.Match([]string{w})
	return n == 0 && len(w) > 1 && strings.Trim(w, "abcdefghijklmnopqrstuvwxyz-") == ""
}

// merged adds to what is said of somebody what they are already: a set-up takes nothing away. Who
// has no language of their own gets the mill's.
func (t *turn) merged(s somebody) []string {
	about := slices.Clone(s.about)
	old := t.mill.Person(t.personNamed(s.name))
	if old != nil {
		for _, r := range old.Roles {
			about = append(about, string(r))
		}
		for _, k := range old.Posts {
			about = append(about, string(k))
		}
	} else if lang := t.home(); lang != "en" {
		about = append([]string{lang}, about...)
	}
	var out []string
	for _, w := range about {
		if !strings.Contains(" "+strings.Join(out, " ")+" ", " "+w+" ") {
			out = append(out, w)
		}
	}
	return out
}

// roleCalled finds a role by what a language calls it; "" for none.
func (d *Desk) roleCalled(word string) state.Role {
	for _, r := range state.Roles() {
		if word == string(r) || d.means(word, "roles."+string(r)) {
			return r
		}
	}
	return ""
}

// peopleKnown tells who is of the mill.
func (t *turn) peopleKnown() string {
	var out []string
	for _, p := range t.mill.Persons() {
		text := t.name(p.ID)
		for _, r := range p.Roles {
			name, _, _ := strings.Cut(t.voice.Say(t.lang(), "roles."+string(r)), ",")
			text += " " + name
		}
		for _, k := range p.Posts {
			text += " " + t.kindName(k)
		}
		if p.Wakes != "" {
			name, _, _ := strings.Cut(t.voice.Say(t.lang(), "answer.wakes-"+p.Wakes), ",")
			text += " " + name
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ")
}

// takeHelp reads the number that is called in danger: three digits or more, and perhaps a word or
// two for whose it is.
func (t *turn) takeHelp(a answer) (string, string) {
	digits := 0
	for i, w := range a.words {
		n := len(w) - len(strings.Trim(w, "0123456789"))
		switch _, is := t.words.Match([]string{w}); {
		case n == len(w), n > 0 && strings.Trim(w, "0123456789+-./()") == "":
			digits += n
		case n > 0 || i > 2, len(is) > 0 && is[0].In != words.Filler && !t.idle(w):
			return "", w
		}
	}
	if digits < 3 || len(a.raw) > 40 {
		return "", cut(a.raw, 30)
	}
	t.put(state.SetTell, 0, a.raw)
	return a.raw, ""
}

// home is the language of who has none of their own: the mill's.
func (d *Desk) home() string {
	if s, ok := d.mill.Setting(state.SetLang); ok && d.voice.Speaks(s.Text) {
		return s.Text
	}
	return "en"
}
