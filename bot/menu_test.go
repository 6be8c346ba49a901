package bot

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"lotbell/bot/voice"
	"lotbell/state"
)

// TestMenu holds the menus to what a phone takes (Bot API manual, BotCommand: names of 1 to 32
// letters a to z, digits and underscores, descriptions of 1 to 256 characters, at most 100), and
// every entry, as it is sent, must be understood.
func TestMenu(t *testing.T) {
	name := regexp.MustCompile(`^[a-z0-9_]{1,32}$`)
	for _, lang := range []string{"en", "es"} {
		for _, role := range append(state.Roles(), "") {
			menu := Menu(lang, role)
			if len(menu) == 0 || len(menu) > 100 {
				t.Fatalf("%s %s: %d commands", lang, role, len(menu))
			}
			r := newRig(t)
			if role != "" {
				r.say("marta", fmt.Sprintf("person probe %s tank %s", role, lang))
			}
			for _, c := range menu {
				if n := utf8.RuneCountInString(c.Text); !name.MatchString(c.Name) || n < 1 || n > 256 ||
					strings.HasPrefix(c.Name, "menu") {
					t.Errorf("%s %s: %+v", lang, role, c)
				}
				got := only("probe", r.say("probe", c.Name))
				for _, no := range []string{"not what they mean", "no qué quieren decir", "Only a keeper",
					"mill's own line"} {
					r.lacks(got, no)
				}
				if got == "" {
					t.Errorf("%s is not answered", c.Name)
				}
			}
		}
	}
	if got := Menu("xx", state.Worker); len(got) == 0 || got[0].Name != "due" {
		t.Errorf("a language nobody speaks: %v", got)
	}
	if got := Menu("en", ""); len(got) != 1 || got[0].Name != "help" {
		t.Errorf("a stranger's menu tells of the mill: %v", got)
	}
}

func TestChats(t *testing.T) {
	r := sharedRig(t)
	roles := map[string]Chat{}
	for _, c := range r.desk.Chats("script") {
		roles[c.ID] = c
	}
	for id, want := range map[string]Chat{"ana": {"ana", "en", state.Worker},
		"luis": {"luis", "es", state.Worker}, "marta": {"marta", "en", state.Keeper},
		"tom": {"tom", "en", state.Lead}, "box": {"box", "en", state.Worker}} {
		if roles[id] != want {
			t.Errorf("%s: %+v, want %+v", id, roles[id], want)
		}
	}
	if got := r.desk.Chats("elsewhere"); got != nil {
		t.Errorf("chats of another transport: %v", got)
	}
}

// TestUsage shows every post its own lines with places of this mill; each line shown as an example
// must be understood, and all must fit a screen.
func TestUsage(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		for _, post := range []string{"tank", "patio", "drum", "silo", "intake", "predryer", "lab", ""} {
			r := newRig(t)
			r.say("marta", "place vat7 tank 6000\nplace dock intake\nplace pre predryer 2000")
			r.say("marta", "place t1 gone\nplace t2 gone")
			r.say("marta", strings.TrimSpace("person probe worker "+post)+" "+lang)
			got := only("probe", r.say("probe", map[string]string{"en": "words", "es": "palabras"}[lang]))
			lines := strings.Split(strings.TrimPrefix(got, "probe< "), "\n")
			if len(lines) > 6 {
				t.Errorf("%s %s: %d lines: %s", lang, post, len(lines), got)
			}
			r.lacks(got, "t1", "{")
			for _, l := range lines {
				if n := voice.Septets(l); n > 160 {
					t.Errorf("%s %s: a line of %d: %s", lang, post, n, l)
				}
			}
			if post != "" && post != "lab" {
				_, examples, _ := strings.Cut(lines[0], ": ")
				understood(t, r, examples, lang)
			}
		}
	}
}

// understood sends each example of a line and fails when one is not understood.
func understood(t *testing.T, r *rig, examples, lang string) {
	t.Helper()
	for _, x := range strings.Split(examples, " / ") {
		turn := r.desk.turn(r.now)
		turn.msg = &Message{From: Address{"script", "probe"}, At: r.now, Text: strings.TrimSpace(x)}
		turn.person = turn.writer()
		h := Read(turn.msg.Text, turn.context(), r.desk.words)
		if h.Outcome == IsRefused || h.Outcome == IsAsked && h.Ask == AskAgain || len(h.Facts) == 0 {
			t.Errorf("%s: %q is %s %s", lang, x, h.Outcome, h.Ask)
		}
		r.lacks(only("probe", r.say("probe", x)), "not what they mean", "no qué quieren decir")
	}
}

// keysOf are the keys that go with what somebody was last sent.
func (r *rig) keysOf(who, text string) [][]string {
	r.t.Helper()
	r.n++
	r.now++
	r.put(Message{From: Address{"script", who}, ID: fmt.Sprint(r.n), At: r.now, Kind: Text,
		Text: text}, fmt.Sprint(r.n))
	if err := r.desk.Run(r.now); err != nil {
		r.t.Fatal(err)
	}
	rows, err := r.db.Outbox("script", 0)
	if err != nil {
		r.t.Fatal(err)
	}
	var keys [][]string
	for _, row := range rows {
		var o Outgoing
		if err := json.Unmarshal(row.Body, &o); err != nil {
			r.t.Fatal(err)
		}
		if row.To == who && o.ReplyTo != "" {
			keys = o.Keys
		}
	}
	r.sent()
	return keys
}

// TestKeyboard presses every key that is offered, in both languages, and each must be understood.
func TestKeyboard(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		for _, post := range []string{"tank", "patio", "drum", "silo"} {
			r := newRig(t)
			r.say("marta", "person probe worker "+post+" "+lang)
			r.say("tom", "t1 add 4200")
			r.say("tom", "p1 spread 2000 kg")
			r.say("tom", "d1 load 2600 kg")
			keys := r.keysOf("probe", map[string]string{"tank": "t1?", "patio": "p1?", "drum": "d1?",
				"silo": "s1?"}[post])
			if len(keys) == 0 || post != "silo" && len(keys) < 2 || len(keys) > 2+2+keyPlaces {
				t.Errorf("%s %s: keys %v", lang, post, keys)
			}
			for _, row := range keys {
				understood(t, r, strings.Join(row, " / "), lang)
			}
		}
	}
}

func TestKeyboardFollowsWhatIsDue(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	if got := fmt.Sprint(r.keysOf("ana", "undo")); !strings.Contains(got, "[yes no]") {
		t.Errorf("keys of a yes-or-no question: %v", got)
	}
	r.say("ana", "no")
	r.say("ana", "t1 full")
	r.say("ana", "t1 rough")
	r.say("marta", "t1 wash")
	if got := fmt.Sprint(r.keysOf("ana", "t1?")); !strings.Contains(got, "[[ok 2 later 2]") {
		t.Errorf("keys while a call stands: %v", got)
	}
	if got := r.keysOf("tom", "t1?"); got != nil {
		t.Errorf("keys of a lead: %v", got)
	}
	r.say("marta", "person ana worker tank patio en")
	if got := r.keysOf("ana", "t1?"); got != nil {
		t.Errorf("keys of somebody of two posts: %v", got)
	}
}

func TestPressed(t *testing.T) {
	for in, want := range map[string]string{"on_shift": "on shift", "due": "due",
		"limit drum_air_wet 57": "limit drum_air_wet 57", "": ""} {
		if got := pressed(in); got != want {
			t.Errorf("pressed(%q) = %q", in, got)
		}
	}
}
