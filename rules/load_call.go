package rules

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/state"
)

// call reads one call.
func (l *loader) call(i int, c callFile) {
	where := "call " + short(cmp.Or(c.Name, strconv.Itoa(i+1)))
	r := &Rule{Name: c.Name, Kind: CallKind(c.Kind), On: c.On, PerPlace: c.Per == "place" || asPlace(c.On),
		Priority: c.Priority, Asks: c.Asks, Says: c.Say, Private: c.Private, Cause: c.Cause,
		Consequence: c.Consequence, Action: c.Action}
	bad := func(k MistakeKind, key, word, hint string) {
		l.add(&Mistake{Kind: k, In: where, Line: l.lineOf("call", i, key), Word: word, Hint: hint})
	}
	switch {
	case c.Name == "":
		bad(Missing, "name", "name", `name = "drum-hot"`)
	case l.book.Rule(c.Name) != nil:
		bad(Twice, "name", "the name "+strconv.Quote(short(c.Name)), "")
	}
	if !slices.Contains([]CallKind{Alarm, Alert, Prompt}, r.Kind) {
		bad(BadValue, "kind", "kind "+strconv.Quote(c.Kind), "alarm, alert or prompt")
	}
	if !slices.Contains(onKinds(), c.On) {
		bad(BadValue, "on", "on "+strconv.Quote(c.On), strings.Join(onKinds(), ", "))
		return
	}
	if c.Per != "" && (c.Per != "stay" || asPlace(c.On)) && (c.Per != "place" || c.On == OnMill || c.On == OnPost) {
		bad(BadValue, "per", "per "+strconv.Quote(c.Per), `"stay", or "place" on a kind of place`)
	}
	if _, measured := state.QuantityOf(c.Asks); !measured &&
		!slices.Contains([]string{"", "hand", "wash"}, c.Asks) {
		bad(BadValue, "asks", "asks "+strconv.Quote(c.Asks), "hand, wash, hum_pct, air_c or mass_c")
	}
	l.conditions(i, where, r, c)
	l.times(i, where, r, c)
	l.rationale(i, where, r, c)
	l.ladder(i, where, r, c)
	l.says(i, "call", where, namesOn(c.On), r.Says)
	l.book.Calls = append(l.book.Calls, r)
	if r.PerPlace {
		l.book.perPlace[r.On] = append(l.book.perPlace[r.On], r)
	} else {
		l.book.on[r.On] = append(l.book.on[r.On], r)
	}
}

// conditions reads rings and stops, or due, only and until, which mean: rings once the instant
// has come, only under a condition, until another.
func (l *loader) conditions(i int, where string, r *Rule, c callFile) {
	bad := func(k MistakeKind, key, word, hint string) {
		l.add(&Mistake{Kind: k, In: where, Line: l.lineOf("call", i, key), Word: word, Hint: hint})
	}
	read := func(key, text string, shift int) *Cond {
		at := place{where + ", " + key, l.lineOf("call", i, key), shift}
		return l.condition(at, text, namesOn(c.On))
	}
	switch {
	case (c.Rings == "") == (c.Due == ""):
		bad(Missing, "name", "one of rings and due",
			`rings = "air > 60" or due = "ready_early - 2h"`)
	case c.Rings != "" && c.Until != "":
		bad(BadValue, "until", "until goes with due", `stops = "`+c.Until+`"`)
	case c.Due != "" && c.Stops != "":
		bad(BadValue, "stops", "stops goes with rings", `until = "`+c.Stops+`"`)
	case c.Rings != "":
		r.When = read("rings", c.Rings, 0)
	default:
		const now = "now >= "
		r.When = read("due", now+c.Due, len(now))
		if r.When != nil && r.When.root.op != opCompare {
			bad(BadValue, "due", "due is one instant, not a condition", `due = "ready_early - 2h"`)
		}
		if c.Until != "" {
			r.When = both(r.When, not(read("until", c.Until, 0)))
		}
	}
	if c.Only != "" {
		r.Only = read("only", c.Only, 0)
		r.When = both(r.When, r.Only)
	}
	if c.Stops != "" {
		r.Clear = read("stops", c.Stops, 0)
	}
	if r.When == nil {
		return
	}
	if r.Clear != nil && overlap(r.When.root, r.Clear.root) {
		bad(NeverClears, "stops", "", "a stop on the safe side of the limit")
	}
	l.alike(i, where, r, c)
}

// alike refuses a call that rings for the same as one before it.
func (l *loader) alike(i int, where string, r *Rule, c callFile) {
	key := "rings"
	if c.Due != "" {
		key = "due"
	}
	signal := fmt.Sprint(r.On, r.PerPlace, r.When.sense())
	if o, twice := l.signals[signal]; twice {
		l.add(&Mistake{Kind: SameThing, In: where, Line: l.lineOf("call", i, key),
			Word: "call " + o})
	}
	l.signals[signal] = r.Name
}

// place is where a condition stands in the book; a prefix of so many columns was put before it.
type place struct {
	in    string
	line  int
	shift int
}

// condition reads one condition; nil when it is wrong, which has been told then.
func (l *loader) condition(at place, text string, names map[string]*Fact) *Cond {
	cond, err := compile(text, l.book, names)
	var m *Mistake
	switch {
	case errors.As(err, &m):
		m.In, m.Line, m.Col = at.in, at.line, max(1, m.Col-at.shift)
		l.add(m)
		return nil
	case len(cond.facts) == 0:
		l.add(&Mistake{Kind: NotAllowed, In: at.in, Line: at.line, Text: text,
			Word: "a condition that is always the same", Hint: "air > limit.drum_air_wet"})
		return nil
	}
	return cond
}

// both joins two conditions; a nil one was a mistake already told.
func both(a, b *Cond) *Cond {
	if a == nil || b == nil {
		return nil
	}
	out := &Cond{Text: a.Text + " and " + b.Text, Limits: slices.Concat(a.Limits, b.Limits),
		facts: slices.Clone(a.facts), root: &node{op: opAnd, kids: []*node{a.root, b.root}}}
	for _, f := range b.facts {
		if !slices.Contains(out.facts, f) {
			out.facts = append(out.facts, f)
		}
	}
	return out
}

// not is the opposite of a condition.
func not(c *Cond) *Cond {
	if c == nil {
		return nil
	}
	return &Cond{Text: "not (" + c.Text + ")", Limits: c.Limits, facts: c.facts,
		root: &node{op: opNot, kids: []*node{c.root}}}
}

// overlap says whether two single comparisons of one fact with figures can hold together.
func overlap(a, b *node) bool {
	if a.op != opCompare || b.op != opCompare {
		return false
	}
	x, y := a.said(false), b.said(false)
	return x.fact != nil && x.fact == y.fact && x.x == x.x && y.x == y.x && x.meets(y)
}

// constant says whether a side reads no fact, so that its value needs no view.
func (s *side) constant() bool {
	return s.op != 'f' && s.op != 'w' && s.cond == nil && !slices.ContainsFunc(s.kids,
		func(k *side) bool { return !k.constant() })
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
				Word: x.key + " " + strconv.Quote(short(x.text)), Hint: `"20min" or "2h"`})
		}
		*x.into = time.Duration(ms) * time.Millisecond
	}
	if c.OffUntil != "" {
		at, err := time.Parse(time.RFC3339, c.OffUntil)
		if err != nil {
			l.add(&Mistake{Kind: BadValue, In: where, Line: l.lineOf("call", i, "off_until"),
				Word: "off_until " + strconv.Quote(short(c.OffUntil)),
				Hint: `"2026-01-20T06:00:00-05:00"`})
		}
		r.IdleUntil, r.IdleWhy = state.At(at), c.OffWhy
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
	l.whom(where, l.lineOf("call", i, "who"), who)
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
				Word: "then " + strconv.Quote(short(then)),
				Hint: `"deputy 20min", each later than the last`})
			continue
		}
		r.Ladder = append(r.Ladder, Rung{words, after})
		l.whom(where, l.lineOf("call", i, "then"), words)
	}
}

// whom checks the words of people.
func (l *loader) whom(where string, line int, words []string) {
	for _, w := range words {
		if !whoms()[w] {
			l.add(&Mistake{Kind: NoSuchName, In: where, Line: line, Word: short(w),
				Hint: nearest(short(w), whoms())})
		}
	}
}

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
