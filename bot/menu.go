package bot

import (
	"slices"
	"strings"

	"lotbell/bot/voice"
	"lotbell/bot/words"
	"lotbell/state"
)

// Command is one entry of a phone's menu. Name is what a press sends, letters, digits and _ only;
// Text says what it does.
type Command struct{ Name, Text string }

// menuFor lists what the menu of a role holds, in its order: keys of the voice, menu.NAME with the
// word and menu.NAME.text with what it does.
func menuFor(role state.Role) []string {
	worker := []string{"due", "mill", "on", "off", "undo", "usage", "help"}
	switch role {
	case "":
		return []string{"help"}
	case state.Manager, state.Deputy, state.Lead:
		return append([]string{"mill"}, slices.DeleteFunc(worker, func(s string) bool {
			return s == "mill"
		})...)
	case state.Keeper:
		return append([]string{"mill", "people", "limits"}, slices.DeleteFunc(worker,
			func(s string) bool { return s == "mill" })...)
	}
	return worker
}

// Menu is the command menu of a role in a language, for a transport that has one; the role "" is a
// stranger's. It depends on nothing else. A language without sentences gets English.
func Menu(lang string, role state.Role) []Command {
	v, err := voice.Load()
	if err != nil {
		return nil // no desk opens either
	}
	var out []Command
	for _, name := range menuFor(role) {
		out = append(out, Command{Name: v.Say(lang, "menu."+name),
			Text: v.Say(lang, "menu."+name+".text")})
	}
	return out
}

// Chat is a private chat of somebody of the mill: what a transport needs to set its menu. On a
// shared phone the menu is a worker's.
type Chat struct {
	ID   string
	Lang string
	Role state.Role
}

// Chats lists the chats of a transport, in the order of their addresses.
func (d *Desk) Chats(via string) []Chat {
	var out []Chat
	for _, a := range sortedKeys(d.people) {
		x := ParseAddress(a)
		p := d.mill.Person(d.people[a][0])
		if x.Via != via || p == nil {
			continue
		}
		c := Chat{ID: x.ID, Lang: d.langOf(p.ID), Role: state.Worker}
		for _, r := range []state.Role{state.Keeper, state.Manager, state.Deputy, state.Lead} {
			if p.Is(r) && !d.shared(a) {
				c.Role = r
				break
			}
		}
		out = append(out, c)
	}
	return out
}

// pressed makes words of what a menu sends: "on_shift" is "on shift".
func pressed(text string) string {
	if strings.ContainsAny(text, " \n") {
		return text
	}
	return strings.ReplaceAll(text, "_", " ")
}

// hello answers a greeting with how to write, and thanks with a welcome.
func (t *turn) hello(Fact) {
	for _, w := range strings.Fields(words.FoldText(t.msg.Text)) {
		if t.means(strings.Trim(w, ".,!"), "hello.thanks") {
			t.say("welcome")
			return
		}
	}
	t.usage()
}

// usagePosts is how many posts the usage is told for: it must fit a screen.
const usagePosts = 3

// usage tells how to write to the mill: one screen, for the sender's own posts, with places that
// this mill has.
func (t *turn) usage() {
	shown, place := 0, ""
	for _, p := range t.mill.Places() {
		key := "usage." + string(p.Kind)
		if shown == usagePosts || !t.person.At(p.Kind) || p.Name != t.firstOf(p.Kind) ||
			!t.voice.Has("en", key) {
			continue
		}
		shown++
		t.say(key, "place", p.Name)
		if place == "" {
			place = p.Name
		}
	}
	if place == "" {
		place = t.anyPlace()
	}
	if shown == 0 && !t.person.Is(state.Manager) {
		t.say("usage.any", "place", place)
	}
	if t.person.Is(state.Manager) || t.person.Is(state.Deputy) {
		t.say("usage.manager", "place", t.firstOf(state.Tank))
	}
	if t.person.Is(state.Keeper) {
		t.say("usage.keeper")
	}
	t.say("usage.ask", "place", place)
	t.say("usage.shift")
}

// firstOf is the first place of a kind; "t1" when the mill has none.
func (d *Desk) firstOf(k state.Kind) string {
	for _, p := range d.mill.Places() {
		if p.Kind == k {
			return p.Name
		}
	}
	return "t1"
}

// anyPlace is a place for an example: the first tank, else the first place.
func (d *Desk) anyPlace() string {
	ps := d.mill.Places()
	for _, p := range ps {
		if p.Kind == state.Tank {
			return p.Name
		}
	}
	if len(ps) > 0 {
		return ps[0].Name
	}
	return "t1"
}
