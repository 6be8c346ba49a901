package bot

import (
	_ "embed" // the cautions
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"lotbell/bot/voice"
	"lotbell/bot/words"
	"lotbell/rules"
	"lotbell/state"

	"github.com/pelletier/go-toml/v2"
)

//go:embed safety.toml
var safetyFile string

// safety is the cautions, by language and key, and the words that nobody is told without a word
// that turns them round. It is made by readSafety and never changes.
type safety struct {
	Text   map[string]map[string]string
	Never  map[string][]string
	Turned map[string][]string
}

// readSafety reads the embedded file. It fails on one that leaves a caution out in a language.
func readSafety() (*safety, error) {
	s := &safety{}
	if err := toml.Unmarshal([]byte(safetyFile), s); err != nil {
		return nil, fmt.Errorf("read the cautions: %w", err)
	}
	for lang, text := range s.Text {
		for key := range s.Text["en"] {
			if text[key] == "" {
				return nil, fmt.Errorf("read the cautions: %s has none for %s", lang, key)
			}
		}
	}
	return s, nil
}

// danger is what a text would send somebody into: the first word of the list that stands in a
// sentence without one that turns it round; "" for a text that is safe.
func (s *safety) danger(lang, text string) string {
	sentences := strings.FieldsFunc(words.FoldText(text), func(r rune) bool {
		return strings.ContainsRune(".;:!?\n", r)
	})
	for _, sentence := range sentences {
		sentence = " " + strings.Join(strings.FieldsFunc(sentence, func(r rune) bool {
			return r != '\'' && (r < '0' || r > '9') && (r < 'a' || r > 'z') && r < 0x80
		}), " ") + " "
		has := func(w string) bool { return strings.Contains(sentence, " "+words.FoldText(w)+" ") }
		for _, w := range s.Never[lang] {
			if has(w) && !slices.ContainsFunc(s.Turned[lang], has) {
				return w
			}
		}
	}
	return ""
}

// dangerIn looks through a rule book for a sentence or an action that sends somebody into danger:
// the name of the rule and the word, "" for none.
func (s *safety) dangerIn(b *rules.Book) (rule, word string) {
	for _, r := range b.Calls {
		if w := s.danger("en", r.Action); w != "" {
			return r.Name, w
		}
		for _, lang := range slices.Sorted(maps.Keys(r.Says)) {
			if w := s.danger(lang, r.Says[lang]); w != "" {
				return r.Name, w
			}
		}
	}
	for _, g := range b.Guards {
		for _, lang := range slices.Sorted(maps.Keys(g.Says)) {
			if w := s.danger(lang, g.Says[lang]); w != "" {
				return g.Name, w
			}
		}
	}
	return "", ""
}

// cautionIn is a caution in a language: the mill's own, else the one of the program; "" for a key
// that is none.
func (d *Desk) cautionIn(lang, key string) string {
	if s, ok := d.mill.Setting(state.SetSafety + lang + "." + key); ok && s.Text != "" {
		return s.Text
	}
	if text := d.safety.Text[lang][key]; text != "" {
		return text
	}
	return d.safety.Text["en"][key]
}

// caution says one to whoever wrote.
func (t *turn) caution(key string) { t.lines = append(t.lines, t.cautionIn(t.lang(), key)) }

// cautionEvery is how long a caution is not said again to who has just had it at the same act.
const cautionEvery = 12 * time.Hour

// cautions says the caution of an act, once, at the act: of a line only the first, and what is said
// at everyday acts no more than once a shift.
func (t *turn) cautions(fs []Fact) {
	for _, f := range fs {
		key := t.cautionOf(f.What, f.Place)
		if key == "" || !pressingCaution(key) && t.cautioned(key) {
			continue
		}
		t.caution(key)
		return
	}
}

// cautionOf is the key of what is said at an act or a mark; "" for nothing.
func (t *turn) cautionOf(what, place string) string {
	kind := t.mill.KindOf(place)
	switch {
	case what == state.Stopped && (kind == state.Drum || kind == state.Predryer):
		return "stopped-drum"
	case what == state.ActStore || what == state.ActShip:
		return "lift"
	case what == state.Turned:
		if h := t.at.Time().In(t.mill.Zone()).Hour(); h >= 10 && h < 15 {
			return "sun"
		}
		return ""
	case what == state.Sampled && kind != state.Silo && kind != state.Store:
		return ""
	case what == state.Help || what == state.PowerBack: // said where they are passed on
		return ""
	case t.safety.Text["en"][what] != "":
		return what
	}
	return ""
}

// pressingCaution says whether a caution is said every time.
func pressingCaution(key string) bool {
	switch key {
	case "smoke", "stopped", "stopped-drum", "power-out", "power-back", "overflow":
		return true
	}
	return false
}

// cautioned says whether the sender has done the like before, not long ago, and so was cautioned.
func (t *turn) cautioned(key string) bool {
	return t.mill.LastAlike(t.person.ID, func(e *state.Event) bool {
		if e.Msg == t.line || t.at.Sub(e.Heard) > cautionEvery {
			return false
		}
		switch b := e.Body.(type) {
		case state.Note:
			return t.cautionOf(b.What, b.Place) == key
		case state.Move:
			return t.cautionOf(b.Act, "") == key
		}
		return false
	}, t.at.Add(-cautionEvery)) != nil
}

// callCaution is what a call that sends somebody out at night carries; "" for others. It is said
// when it first rings, not each time again.
func (t *turn) callCaution(r *rules.Rule, s state.CallStep) string {
	v, _ := t.look(state.Whole, t.at)
	night, _, _ := v.Read("night")
	if r == nil || r.Asks != "hand" || s.What != state.Rang || night.Is != state.Yes {
		return ""
	}
	return t.cautionIn(t.lang(), "night-walk")
}

// safetyLine lists the cautions, shows one, or puts the mill's own text in the place of one:
// safety, safety stopped, safety stopped en TEXT, safety stopped en default. Everybody may read
// them; only the post safety writes.
func (t *turn) safetyLine(ws []string) {
	const example = "safety stopped en Stop. Cut the power and lock it off, then call the mechanic."
	keys := slices.Sorted(maps.Keys(t.safety.Text["en"]))
	if len(ws) == 0 {
		t.say("safety.list", "names", strings.Join(keys, ", "))
		return
	}
	key := strings.ToLower(ws[0])
	if !slices.Contains(keys, key) {
		t.bad("safety.unknown", "about", cut(ws[0], 30), "names", strings.Join(keys, ", "))
		return
	}
	if len(ws) == 1 {
		for _, lang := range slices.Sorted(maps.Keys(t.safety.Text)) {
			t.lines = append(t.lines, lang+": "+t.cautionIn(lang, key))
		}
		return
	}
	lang := strings.ToLower(ws[1])
	text := strings.Join(ws[2:], " ")
	switch {
	case !t.person.At(state.Safety):
		t.bad("safety.only")
	case t.safety.Text[lang] == nil:
		t.bad("lang.unknown", "about", cut(ws[1], 30))
	case len([]rune(text)) < 20 && text != "default":
		t.bad("keeper.short", "example", example)
	case voice.Septets(text) > shortest:
		t.bad("safety.long", "n", voice.Septets(text), "most", shortest)
	case t.safety.danger(lang, text) != "":
		t.bad("safety.danger", "about", t.safety.danger(lang, text))
	default:
		t.putCaution(lang, key, text)
	}
}

// putCaution keeps the mill's own text of a caution, and tells the managers.
func (t *turn) putCaution(lang, key, text string) {
	was := t.cautionIn(lang, key)
	if text == "default" {
		text = ""
	}
	t.said(t.at, state.Set{Name: state.SetSafety + lang + "." + key, Text: text})
	t.say("safety.set", "key", key, "lang", lang)
	t.lines = append(t.lines, t.cautionIn(lang, key))
	t.say("safety.was", "text", was)
	t.tellRole(state.Manager, "safety.changed", "name", t.name(t.person.ID), "key", key)
}
