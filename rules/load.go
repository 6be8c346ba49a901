package rules

import (
	"bytes"
	_ "embed" // the default book
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"
	"lotbell/state"
)

//go:embed default.toml
var defaultText string

// DefaultText is the embedded book, good enough for a mill's first day.
func DefaultText() string { return defaultText }

// maxBook is the most bytes a book may have.
const maxBook = 256 << 10

// bookFile is a book as it is written.
type bookFile struct {
	Language int
	Limit    map[string]limitFile
	Call     []callFile
	Guard    []guardFile
	Summary  []summaryFile
}

type limitFile struct {
	Value, Low, High float64
	Unit, Why        string
}

type callFile struct {
	Name, Kind, On, Per            string
	Rings, Stops, Due, Until, Only string
	Wait, Off, Again, Respond      string
	Priority                       int
	Who, Then                      []string
	Asks                           string
	Private                        bool
	Cause, Consequence, Action     string
	Why                            string
	Say                            map[string]string
}

type guardFile struct {
	Name, From, Stop, When, Why string
	On                          []string
	Say                         map[string]string
}

// Mistakes is everything wrong with a book.
type Mistakes []*Mistake

// Error lists the mistakes, a line each.
func (ms Mistakes) Error() string {
	var out []string
	for _, m := range ms {
		out = append(out, m.Error())
	}
	return strings.Join(out, "\n")
}

// Parse reads a book from its text. The error is a Mistakes: everything wrong with it, each with
// its place; then there is no book and the one in force stays.
func Parse(text string) (*Book, error) {
	if len(text) > maxBook {
		return nil, Mistakes{{Kind: TooBig, Word: strconv.Itoa(len(text)),
			Hint: strconv.Itoa(maxBook)}}
	}
	var f bookFile
	dec := toml.NewDecoder(bytes.NewReader([]byte(text))).DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return nil, tomlMistakes(err)
	}
	l := &loader{text: text, book: &Book{Text: text, Limits: map[string]Limit{},
		on: map[string][]*Rule{}, perPlace: map[string][]*Rule{}}}
	if f.Language > Language {
		l.add(&Mistake{Kind: BadValue, In: "language", Word: fmt.Sprintf(
			"the book's language is %d, this program speaks %d", f.Language, Language)})
	}
	l.limits(f.Limit)
	for i, c := range f.Call {
		l.call(i, c)
	}
	for i, g := range f.Guard {
		l.guard(i, g)
	}
	for i, s := range f.Summary {
		l.summary(i, s)
	}
	if len(l.wrong) > 0 {
		return nil, l.wrong
	}
	return l.book, nil
}

// tomlMistakes words what the TOML reader found.
func tomlMistakes(err error) Mistakes {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var out Mistakes
		for _, e := range strict.Errors {
			row, col := e.Position()
			key := e.Key()
			m := &Mistake{Kind: UnknownKey, Line: row, Col: col, Word: strings.Join(key, ".")}
			m.Hint = nearest(key[len(key)-1], knownKeys())
			out = append(out, m)
		}
		return out
	}
	var d *toml.DecodeError
	if errors.As(err, &d) {
		row, col := d.Position()
		return Mistakes{{Kind: BadSyntax, Line: row, Col: col, Word: d.Error()}}
	}
	return Mistakes{{Kind: BadSyntax, Word: err.Error()}}
}

// knownKeys are the keys a book may have.
func knownKeys() map[string]bool {
	out := map[string]bool{}
	for _, k := range strings.Fields(`language limit call guard summary value low high unit why
		name kind on per rings stops due until only wait off again respond priority who then asks
		private cause consequence action say from stop when at to shows`) {
		out[k] = true
	}
	return out
}

// loader collects a book and what is wrong with it.
type loader struct {
	text  string
	book  *Book
	wrong Mistakes
}

func (l *loader) add(m *Mistake) { l.wrong = append(l.wrong, m) }

// lineOf finds the line of the n-th table of a name and, within it, of a key; 0 when not found.
func (l *loader) lineOf(table string, n int, key string) int {
	seen, at := -1, 0
	for i, line := range strings.Split(l.text, "\n") {
		s := strings.TrimSpace(line)
		if strings.HasPrefix(s, "[") && !strings.HasPrefix(s, "[["+table+".") {
			if at > 0 && seen == n {
				break
			}
			if s == "[["+table+"]]" || s == "["+table+"]" {
				if seen++; seen == n || strings.HasPrefix(s, "[[") == false {
					at, seen = i+1, n
				}
			}
		}
		if name, _, ok := strings.Cut(s, "="); at > 0 && ok && strings.TrimSpace(name) == key {
			return i + 1
		}
	}
	return at
}

func (l *loader) limits(in map[string]limitFile) {
	for name, x := range in {
		lim := Limit{name, x.Value, x.Unit, x.Low, x.High, x.Why}
		where := "limit " + name
		line := l.lineOf("limit."+name, 0, "value")
		if !slices.Contains([]string{"C", "%", "h", "min", "d", "kg", "pH", ""}, x.Unit) {
			l.add(&Mistake{Kind: BadValue, In: where, Line: line, Word: "unit " + x.Unit,
				Hint: "C, %, h, min, d, kg, pH"})
		}
		if x.Low >= x.High || x.Value < x.Low || x.Value > x.High {
			l.add(&Mistake{Kind: OutOfRange, In: where, Line: line,
				Word: plain(x.Value), Hint: plain(x.Low) + " to " + plain(x.High) + " " + x.Unit})
		}
		l.book.Limits[name] = lim
	}
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// call reads one call.
func (l *loader) call(i int, c callFile) {
	where := "call " + c.Name
	at := func(key string) int { return l.lineOf("call", i, key) }
	r := &Rule{Name: c.Name, Kind: CallKind(c.Kind), On: c.On, PerPlace: c.Per == "place",
		Priority: c.Priority, Asks: c.Asks, Says: c.Say, Private: c.Private, Cause: c.Cause,
		Consequence: c.Consequence, Action: c.Action}
	bad := func(k MistakeKind, key, word, hint string) {
		l.add(&Mistake{Kind: k, In: where, Line: at(key), Word: word, Hint: hint})
	}
	if c.Name == "" || l.book.Rule(c.Name) != nil {
		bad(Twice, "name", "the name "+strconv.Quote(c.Name), "")
	}
	if !slices.Contains([]CallKind{Alarm, Alert, Prompt}, r.Kind) {
		bad(BadValue, "kind", "kind "+strconv.Quote(c.Kind), "alarm, alert or prompt")
	}
	if !slices.Contains(onKinds(), c.On) {
		bad(BadValue, "on", "on "+strconv.Quote(c.On), strings.Join(onKinds(), ", "))
		return
	}
	l.conditions(i, where, r, c)
	l.times(i, where, r, c)
	l.rationale(i, where, r, c)
	l.ladder(i, where, r, c)
	l.says(i, "call", where, c.On, r.Says)
	l.book.Calls = append(l.book.Calls, r)
	switch {
	case r.PerPlace:
		l.book.perPlace[r.On] = append(l.book.perPlace[r.On], r)
	default:
		l.book.on[r.On] = append(l.book.on[r.On], r)
	}
}

// conditions reads rings and stops, or due, only and until, which mean: rings once the instant
// has come, only under a condition, until another.
func (l *loader) conditions(i int, where string, r *Rule, c callFile) {
	names := namesOn(c.On)
	read := func(key, text string, shift int) *Cond {
		cond, err := compile(text, l.book, names)
		var m *Mistake
		if errors.As(err, &m) {
			m.In, m.Line, m.Col = where+", "+key, l.lineOf("call", i, key), m.Col-shift
			l.add(m)
			return nil
		}
		return cond
	}
	switch {
	case c.Rings != "" && c.Due == "" && c.Until == "":
		r.When = read("rings", c.Rings, 0)
	case c.Due != "" && c.Rings == "" && c.Stops == "":
		r.When = read("due", "now >= "+c.Due, len("now >= "))
		if c.Until != "" {
			if until := read("until", c.Until, 0); until != nil {
				r.When = both(r.When, &Cond{Text: "not (" + until.Text + ")", Limits: until.Limits,
					facts: until.facts, root: &node{op: opNot, kids: []*node{until.root}}})
			}
		}
	default:
		l.add(&Mistake{Kind: Missing, In: where, Line: l.lineOf("call", i, "name"),
			Word: "one of rings and due", Hint: `rings = "air > 60" or due = "ready_early - 2h"`})
	}
	if c.Only != "" {
		r.When = both(r.When, read("only", c.Only, 0))
	}
	if c.Stops != "" {
		r.Clear = read("stops", c.Stops, 0)
		if r.When != nil && r.Clear != nil && overlap(r.When.root, r.Clear.root) {
			l.add(&Mistake{Kind: NeverClears, In: where, Line: l.lineOf("call", i, "stops"),
				Hint: "a stop on the safe side of the limit"})
		}
	}
}

// both joins two conditions; a nil one was a mistake already told.
func both(a, b *Cond) *Cond {
	if a == nil || b == nil {
		return nil
	}
	out := &Cond{Text: a.Text + " and " + b.Text, Limits: append(a.Limits, b.Limits...),
		root: &node{op: opAnd, kids: []*node{a.root, b.root}}}
	for _, f := range append(slices.Clone(a.facts), b.facts...) {
		if !slices.Contains(out.facts, f) {
			out.facts = append(out.facts, f)
		}
	}
	return out
}

// overlap says whether two single comparisons of one fact with constants can hold together.
func overlap(a, b *node) bool {
	if a.op != opCompare || b.op != opCompare || a.l.op != 'f' || b.l.op != 'f' ||
		a.l.fact != b.l.fact || a.r.op != 'n' || b.r.op != 'n' {
		return false
	}
	for _, x := range []float64{a.r.num, b.r.num, (a.r.num + b.r.num) / 2, a.r.num - 1e-6,
		a.r.num + 1e-6, b.r.num - 1e-6, b.r.num + 1e-6} {
		if compared(x, a.cmp, a.r.num) == state.Yes && compared(x, b.cmp, b.r.num) == state.Yes {
			return true
		}
	}
	return false
}

// times reads the delays.
func (l *loader) times(i int, where string, r *Rule, c callFile) {
	for _, x := range []struct {
		key, text string
		into      *time.Duration
	}{{"wait", c.Wait, &r.Wait}, {"off", c.Off, &r.Off}, {"again", c.Again, &r.Again},
		{"respond", c.Respond, &r.Respond}} {
		if x.text == "" {
			continue
		}
		ms, ok := span(x.text)
		if !ok {
			l.add(&Mistake{Kind: BadValue, In: where, Line: l.lineOf("call", i, x.key),
				Word: x.key + " " + strconv.Quote(x.text), Hint: `"20min" or "2h"`})
		}
		*x.into = time.Duration(ms) * time.Millisecond
	}
	if r.Again == 0 && r.Kind == Alarm {
		r.Again = 15 * time.Minute // at the end of the ladder, until somebody takes it
	}
}

// rationale holds an alarm to what the standards ask of one.
func (l *loader) rationale(i int, where string, r *Rule, c callFile) {
	if r.Priority == 0 {
		r.Priority = map[CallKind]int{Alarm: 2, Alert: 3, Prompt: 4}[r.Kind]
	}
	if r.Priority < 1 || r.Priority > 4 {
		l.add(&Mistake{Kind: OutOfRange, In: where, Line: l.lineOf("call", i, "priority"),
			Word: "priority " + strconv.Itoa(r.Priority), Hint: "1 to 4"})
	}
	if r.Kind != Alarm {
		return
	}
	var missing []string
	for _, x := range [][2]string{{"cause", c.Cause}, {"consequence", c.Consequence},
		{"action", c.Action}, {"respond", c.Respond}} {
		if x[1] == "" {
			missing = append(missing, x[0])
		}
	}
	if len(missing) > 0 {
		l.add(&Mistake{Kind: NotAnAlarm, In: where, Line: l.lineOf("call", i, "kind"),
			Word: strings.Join(missing, ", ")})
	}
}

// ladder reads whom to call first and whom then: "manager 40min".
func (l *loader) ladder(i int, where string, r *Rule, c callFile) {
	who := c.Who
	if len(who) == 0 {
		who = []string{"post"}
	}
	r.Ladder = []Rung{{Whom: who}}
	for _, then := range c.Then {
		words := strings.Fields(then)
		ms, ok := 0.0, false
		if n := len(words) - 1; n >= 1 {
			ms, ok = span(words[n])
			words = words[:n]
		}
		after := time.Duration(ms) * time.Millisecond
		if !ok || after <= r.Ladder[len(r.Ladder)-1].After {
			l.add(&Mistake{Kind: BadValue, In: where, Line: l.lineOf("call", i, "then"),
				Word: "then " + strconv.Quote(then), Hint: `"deputy 20min", each later than the last`})
			continue
		}
		r.Ladder = append(r.Ladder, Rung{words, after})
	}
	for _, rung := range r.Ladder {
		for _, w := range rung.Whom {
			if !known(w) {
				l.add(&Mistake{Kind: NoSuchName, In: where, Line: l.lineOf("call", i, "who"),
					Word: w, Hint: nearest(w, whoms())})
			}
		}
	}
}

func known(whom string) bool { return whoms()[whom] }

// whoms are the words a ladder may use.
func whoms() map[string]bool {
	out := map[string]bool{"post": true, "everyone": true, string(state.Safety): true}
	for _, r := range state.Roles() {
		out[string(r)] = true
	}
	for _, k := range state.Kinds() {
		out[string(k)] = true
	}
	return out
}

// says checks the sentences: every name there, and no first line longer than a plain SMS.
func (l *loader) says(i int, table, where, kind string, says map[string]string) {
	names := namesOn(kind)
	if len(says) == 0 || says["en"] == "" && says["es"] == "" {
		l.add(&Mistake{Kind: Missing, In: where, Line: l.lineOf(table, i, "name"),
			Word: "sentence", Hint: `say.en = "{place}: …"`})
	}
	for lang, text := range says {
		long := 0
		rest := text
		for {
			before, after, ok := strings.Cut(rest, "{")
			long += len([]rune(before))
			if !ok {
				break
			}
			name, tail, closed := strings.Cut(after, "}")
			f := names[name]
			if !closed || f == nil && name != "place" {
				l.add(&Mistake{Kind: NoSuchName, In: where + ", say." + lang,
					Line: l.lineOf(table, i, "say."+lang), Word: "{" + name + "}",
					Hint: nearest(name, names)})
				break
			}
			long, rest = long+widest(f), tail
		}
		if long > 160 {
			l.add(&Mistake{Kind: LongText, In: where + ", say." + lang,
				Line: l.lineOf(table, i, "say."+lang), Word: strconv.Itoa(long)})
		}
	}
}

// widest is the most characters that a fact takes in a sentence.
func widest(f *Fact) int {
	if f == nil {
		return 6 // a place
	}
	switch f.Unit {
	case Moment:
		return 9 // "Mon 05:40"
	case Word, YesNo:
		return 10
	}
	return 6
}

// guard reads one guard.
func (l *loader) guard(i int, g guardFile) {
	where := "guard " + g.Name
	acts := append(append(state.Acts(), state.WashOrdered, state.OutOrdered), "prepare")
	for _, a := range g.On {
		if !slices.Contains(acts, a) {
			l.add(&Mistake{Kind: BadValue, In: where, Line: l.lineOf("guard", i, "on"),
				Word: "on " + strconv.Quote(a), Hint: strings.Join(acts, ", ")})
		}
	}
	if !slices.Contains([]string{StopAsk, StopPassOn, StopForbid}, g.Stop) {
		l.add(&Mistake{Kind: BadValue, In: where, Line: l.lineOf("guard", i, "stop"),
			Word: "stop " + strconv.Quote(g.Stop), Hint: "ask, pass-on or forbid"})
	}
	names := namesOn(OnGuard)
	for _, k := range stayKinds() {
		if g.From == "" || g.From == k {
			for n, f := range namesOn(k) {
				names[n] = f
			}
		}
	}
	cond, err := compile(g.When, l.book, names)
	var m *Mistake
	if errors.As(err, &m) {
		m.In, m.Line = where+", when", l.lineOf("guard", i, "when")
		l.add(m)
		return
	}
	l.book.Guards = append(l.book.Guards, &Guard{g.Name, g.On, g.From, g.Stop, cond, g.Say})
}

// String writes a condition's tree in the one way, for comparing books.
func (c *Cond) String() string { return c.root.String() }

// String is the part of a condition as a book would write it.
func (n *node) String() string {
	switch n.op {
	case opAnd, opOr:
		word := map[nodeOp]string{opAnd: " and ", opOr: " or "}[n.op]
		return "(" + n.kids[0].String() + word + n.kids[1].String() + ")"
	case opNot:
		return "not " + n.kids[0].String()
	case opConst:
		return strconv.FormatBool(n.is)
	}
	return n.text
}
