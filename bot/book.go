package bot

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// limits lists the limits of the book in force.
func (t *turn) limits([]string) {
	_, version := t.mill.Book()
	t.say("limits.head", "version", version)
	for _, name := range sortedKeys(t.watch.Book.Limits) {
		l := t.watch.Book.Limits[name]
		t.lines = append(t.lines, fmt.Sprintf("%s %s %s (%s-%s)", name, plainNumber(l.Value, 3),
			l.Unit, plainNumber(l.Low, 2), plainNumber(l.High, 2)))
	}
}

// limit shows a limit, or proposes another value for it: limit drum_air_wet 58 why.
func (t *turn) limit(words []string) {
	words = joined(words, "_", func(name string) bool {
		_, ok := t.watch.Book.Limits[name]
		return ok
	})
	l, ok := t.watch.Book.Limits[strings.ToLower(words[0])]
	if !ok {
		t.unknownName("limit", words[0], t.watch.Book.NearLimit(words[0]))
		return
	}
	figure := slices.DeleteFunc(slices.Clone(words[1:]), func(w string) bool { return w == "=" })
	if len(figure) == 0 {
		t.showLimit(l)
		return
	}
	digits := strings.TrimSuffix(strings.Replace(figure[0], ",", ".", 1), l.Unit)
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil || x < l.Low || x > l.High {
		t.bad("limit.range", "name", l.Name, "about", figure[0], "low", plainNumber(l.Low, 2), "high",
			plainNumber(l.High, 2), "unit", l.Unit)
		return
	}
	text, err := t.watch.Book.WithLimit(l.Name, x)
	if err != nil {
		t.mistakes(err)
		return
	}
	t.say("limit.ask", "name", l.Name, "old", plainNumber(l.Value, 3), "new", plainNumber(x, 3),
		"unit", l.Unit)
	t.propose(text, strings.Join(words, " "))
}

// joined puts a name together that was written as several words, "drum air wet".
func joined(words []string, with string, known func(name string) bool) []string {
	for n := min(len(words), 5); n > 1; n-- {
		if name := strings.ToLower(strings.Join(words[:n], with)); known(name) {
			return append([]string{name}, words[n:]...)
		}
	}
	return words
}

// unknownName says that the book has no such limit or rule: what was meant perhaps, else how all
// are listed.
func (t *turn) unknownName(what, name, near string) {
	if near == "" {
		t.bad(what+".none", "about", name)
		return
	}
	t.bad(what+".unknown", "about", name, "near", near)
}

// showLimit tells a limit's value, range, reason, what uses it, and who last changed it.
func (t *turn) showLimit(l rules.Limit) {
	t.say("limit.show", "name", l.Name, "value", plainNumber(l.Value, 3), "unit", l.Unit, "low",
		plainNumber(l.Low, 2), "high", plainNumber(l.High, 2), "why", l.Why)
	if uses := t.watch.Book.Uses(l.Name); len(uses) > 0 {
		t.say("limit.uses", "names", strings.Join(uses, ", "))
	}
	t.changed(func(b *rules.Book) string {
		return plainNumber(b.Limits[l.Name].Value, 3)
	})
}

// changed tells when what a book says last became another thing, by whom and why.
func (t *turn) changed(says func(b *rules.Book) string) {
	books := t.mill.Books()
	for i := len(books) - 1; i > 0; i-- {
		is, err1 := rules.Parse(books[i].Text)
		was, err2 := rules.Parse(books[i-1].Text)
		if err1 != nil || err2 != nil {
			return
		}
		if a, b := says(was), says(is); a != b {
			t.say("book.changed", "version", books[i].Version, "time", t.clock(books[i].At), "name",
				t.author(books[i].By), "old", cut(a, 60), "why", books[i].Why)
			return
		}
	}
}

// author is who put a book in force; the program's own is Lotbell's.
func (t *turn) author(id state.PersonID) string {
	if id == 0 {
		return "Lotbell"
	}
	return t.name(id)
}

// ruleList lists the calls of the book by what they are about.
func (t *turn) ruleList(words []string) {
	on := ""
	if len(words) > 0 {
		k, ok := t.kind(words[0])
		if on = string(k); !ok {
			on = strings.ToLower(words[0])
		}
	}
	for _, r := range t.watch.Book.Calls {
		if on != "" && r.On != on {
			continue
		}
		line := fmt.Sprintf("%s: %s (%s, %d)", r.On, r.Name, r.Kind, r.Priority)
		if r.IdleUntil > t.at {
			line += " " + t.voice.Say(t.lang(), "rule.off", "time", t.clock(r.IdleUntil), "why",
				r.IdleWhy)
		}
		t.lines = append(t.lines, line)
	}
	if len(t.lines) == 0 {
		t.bad("keeper.kind", "about", cut(strings.Join(words, " "), 30), "example", "rules drum")
	}
}

// rule shows a call, or proposes a change of it: rule drum-hot wait 10min, rule drum-hot off 3d
// why, rule drum-hot on.
func (t *turn) rule(words []string) {
	words = joined(words, "-", func(name string) bool { return t.watch.Book.Rule(name) != nil })
	r := t.watch.Book.Rule(strings.ToLower(words[0]))
	switch {
	case r == nil:
		t.unknownName("rule", words[0], t.watch.Book.NearRule(words[0]))
	case len(words) == 1:
		t.showRule(r)
	case words[1] == "off":
		t.ruleOff(r, words[2:])
	case words[1] == "on":
		t.changeRule(r.Name, [][2]string{{"off_until", ""}, {"off_why", ""}})
	case len(words) == 2:
		t.bad("keeper.short", "example", "rule "+r.Name+" wait 10min")
	default:
		value := strings.TrimPrefix(strings.TrimSpace(strings.Join(words[2:], " ")), "= ")
		t.changeRule(r.Name, [][2]string{{strings.ToLower(words[1]), value}})
	}
}

// showRule tells what a call is and what it rests on.
func (t *turn) showRule(r *rules.Rule) {
	t.say("rule.show", "name", r.Name, "kind", string(r.Kind), "on", r.On, "priority", r.Priority)
	t.say("rule.rings", "rings", r.When.Text)
	if r.Clear != nil {
		t.say("rule.stops", "stops", r.Clear.Text)
	}
	var ladder []string
	for _, rung := range r.Ladder {
		text := strings.Join(rung.Whom, " ")
		if rung.After > 0 {
			text += " +" + spanWords(rung.After)
		}
		ladder = append(ladder, text)
	}
	t.say("rule.ladder", "who", strings.Join(ladder, ", "), "wait", spanWords(r.Wait), "again",
		spanWords(r.Again), "respond", spanWords(r.Respond))
	if r.Action != "" {
		t.say("rule.why", "cause", r.Cause, "consequence", r.Consequence, "action", r.Action)
	}
	if r.IdleUntil > t.at {
		t.say("rule.off", "time", t.clock(r.IdleUntil), "why", r.IdleWhy)
	}
	t.lives(r)
	t.changed(func(b *rules.Book) string {
		if x := b.Rule(r.Name); x != nil {
			return x.When.Text + " / " + spanWords(x.Wait)
		}
		return "-"
	})
}

// lives tells where a call stands about each place: quiet, rung, taken, put aside, over and not
// taken, no coffee there, or nothing read for too long.
func (t *turn) lives(r *rules.Rule) {
	var out []string
	for _, of := range t.watch.Book.About(t.mill, r) {
		life, c, missing := t.watch.Book.LifeOf(t.mill, t.watch.Know, r, of, t.at)
		pairs := []any{"place", t.placeOf(of, t.lang())}
		if c != nil {
			pairs = append(pairs, "number", c.Number, "name", t.name(c.By), "time", t.clock(c.Until))
		}
		text := t.voice.Say(t.lang(), "life."+strings.ReplaceAll(string(life), " ", "-"), pairs...)
		for _, fact := range missing[:min(1, len(missing))] {
			text += " (" + t.untold(fact) + ")"
		}
		out = append(out, text)
	}
	if len(out) > 0 {
		t.say("rule.now", "states", strings.Join(out, ", "))
	}
}

// ruleOff proposes to switch a call off for some time, for a reason.
func (t *turn) ruleOff(r *rules.Rule, words []string) {
	if rules.Safety(r.Name) {
		t.bad("rule.safety", "name", r.Name)
		return
	}
	span, ok := time.Duration(0), false
	if len(words) > 0 {
		span, ok = spokenSpan(words[0])
	}
	if !ok || len(words) < 2 || span > 60*24*time.Hour {
		t.bad("rule.off-how", "example", "rule "+r.Name+" off 3d dial is being mended")
		return
	}
	until := t.at.Add(span).Time().In(t.mill.Zone())
	t.changeRule(r.Name, rules.Off(until, strings.Join(words[1:], " ")))
}

func (t *turn) changeRule(name string, keys [][2]string) {
	text, err := t.watch.Book.WithCall(name, keys)
	if err != nil {
		t.mistakes(err)
		return
	}
	t.propose(text, t.msg.Text)
}

// ruleLines takes a call in a few lines: rule NAME, then key: value; a new call when the book has
// none of that name.
func (t *turn) ruleLines(lines []string) {
	words := strings.Fields(lines[0])
	if len(words) != 2 {
		t.bad("keeper.short", "example", "rule drum-hot\nwait: 10min")
		return
	}
	var keys [][2]string
	for _, line := range lines[1:] {
		key, value, ok := cutKey(line)
		if !ok {
			if strings.TrimSpace(line) != "" {
				t.bad("keeper.word", "about", cut(line, 40), "example", "wait: 10min")
				return
			}
			continue
		}
		keys = append(keys, [2]string{key, value})
	}
	name := strings.ToLower(words[1])
	if t.watch.Book.Rule(name) != nil {
		t.changeRule(name, keys)
		return
	}
	text, err := t.watch.Book.WithNewCall(name, keys)
	if err != nil {
		t.mistakes(err)
		return
	}
	t.propose(text, t.msg.Text)
}

// cutKey parts a line at its first colon or equals sign.
func cutKey(line string) (key, value string, ok bool) {
	i := strings.IndexAny(line, ":=")
	if i <= 0 {
		return "", "", false
	}
	return strings.ToLower(strings.TrimSpace(line[:i])), strings.TrimSpace(line[i+1:]), true
}

// mistakesShown is how many mistakes of a book are told at once.
const mistakesShown = 4

// mistakes tells what is wrong with a book; the one in force stays.
func (t *turn) mistakes(err error) {
	t.failed = true
	var many rules.Mistakes
	var one *rules.Mistake
	switch {
	case errors.As(err, &many):
	case errors.As(err, &one):
		many = rules.Mistakes{one}
	default:
		t.lines = append(t.lines, err.Error())
		return
	}
	t.say("book.wrong", "n", len(many))
	for _, m := range many[:min(len(many), mistakesShown)] {
		t.lines = append(t.lines, "- "+t.mistake(m))
	}
}

// mistake words one thing that is wrong with a book: where, what, and what was perhaps meant.
func (t *turn) mistake(m *rules.Mistake) string {
	lang := t.lang()
	var where []string
	if m.Line > 0 {
		where = append(where, t.voice.Say(lang, "mistake.line", "line", m.Line))
	}
	if m.In != "" {
		where = append(where, m.In)
	}
	if m.Line == 0 && m.Col > 0 || m.Line > 0 && m.Col > 1 {
		where = append(where, t.voice.Say(lang, "mistake.column", "column", m.Col))
	}
	key := "mistake." + string(m.Kind)
	text := t.voice.Say(lang, key, "word", m.Word, "hint", m.Hint)
	switch {
	case m.Hint == "" || strings.Contains(text, m.Hint):
	case m.Kind == rules.NoSuchName || m.Kind == rules.UnknownKey:
		text += t.voice.Say(lang, "mistake.meant", "hint", m.Hint)
	default:
		text += t.voice.Say(lang, "mistake.try", "hint", m.Hint)
	}
	return strings.Join(append(where, text), ": ")
}

// book shows the book in force and its versions, gives it as a file, and brings an older one back.
func (t *turn) book(words []string) {
	_, version := t.mill.Book()
	switch {
	case len(words) == 2 && slices.Contains(strings.Fields(t.voice.Say(t.lang(), "word.back")+
		" back"), strings.ToLower(words[0])):
		t.bookBack(words[1])
	case len(words) > 0:
		t.bad("keeper.short", "example", "book back "+strconv.Itoa(max(1, version-1)))
	default:
		books := t.mill.Books()
		for _, b := range books[max(0, len(books)-5):] {
			t.say("book.version", "version", b.Version, "time", t.clock(b.At), "name", t.author(b.By),
				"why", cut(b.Why, 60))
		}
		t.say("book.how")
		t.attach = &File{Name: fmt.Sprintf("book-%d.toml", version), Body: t.watch.Book.Text}
	}
}

// bookBack proposes an older version once more.
func (t *turn) bookBack(word string) {
	n, err := strconv.Atoi(word)
	for _, b := range t.mill.Books() {
		if err == nil && b.Version == n {
			t.propose(b.Text, t.msg.Text)
			return
		}
	}
	t.bad("book.none", "about", word)
}

// bookText proposes a whole book, as a file like the one `lotbell check` reads.
func (t *turn) bookText(text string) {
	if _, err := rules.Parse(text); err != nil {
		t.mistakes(err)
		return
	}
	t.propose(text, "whole book")
}

// document takes a text file for a whole book.
func (t *turn) document() {
	if !t.person.Is(state.Keeper) {
		t.unreadable()
		return
	}
	if t.msg.File == "" {
		t.say("file.lost")
		return
	}
	t.bookText(t.msg.File)
}

// adopt puts a book in force. What it changes is looked at by every subject, now.
func (t *turn) adopt(text, why string) {
	b, err := rules.Parse(text)
	if err != nil {
		t.mistakes(err)
		return
	}
	if rule, word := t.safety.dangerIn(b); rule != "" {
		t.bad("book.danger", "rule", rule, "about", word)
		return
	}
	_, version := t.mill.Book()
	t.said(t.msg.At, state.Adopt{Version: version + 1, Text: text, Why: cut(strings.SplitN(why, "\n", 2)[0], 120)})
	t.say("book.adopted", "version", version+1, "old", version)
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
