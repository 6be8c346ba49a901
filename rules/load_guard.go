package rules

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"lotbell/state"
)

// guard reads one guard.
func (l *loader) guard(i int, g guardFile) {
	where := "guard " + short(cmp.Or(g.Name, strconv.Itoa(i+1)))
	bad := func(k MistakeKind, key, word, hint string) {
		l.add(&Mistake{Kind: k, In: where, Line: l.lineOf("guard", i, key), Word: word, Hint: hint})
	}
	switch {
	case g.Name == "":
		bad(Missing, "name", "name", `name = "unload-far"`)
	case slices.ContainsFunc(l.book.Guards, func(o *Guard) bool { return o.Name == g.Name }):
		bad(Twice, "name", "the name "+strconv.Quote(short(g.Name)), "")
	}
	acts := append(state.Acts(), state.WashOrdered, state.OutOrdered, "prepare")
	if len(g.On) == 0 {
		bad(Missing, "on", "on", `on = ["unload"]`)
	}
	for _, a := range g.On {
		if !slices.Contains(acts, a) {
			bad(BadValue, "on", "on "+strconv.Quote(short(a)), strings.Join(acts, ", "))
		}
	}
	if !slices.Contains([]string{StopAsk, StopPassOn, StopForbid}, g.Stop) {
		bad(BadValue, "stop", "stop "+strconv.Quote(short(g.Stop)), "ask, pass-on or forbid")
	}
	if g.From != "" && !slices.Contains(stayKinds(), g.From) {
		bad(BadValue, "from", "from "+strconv.Quote(short(g.From)), strings.Join(stayKinds(), ", "))
		g.From = ""
	}
	if g.When == "" {
		bad(Missing, "name", "when", `when = "abs(hum - target) > 1"`)
		return
	}
	names := guardNames(g.From)
	l.says(i, "guard", where, names, g.Say)
	at := place{in: where + ", when", line: l.lineOf("guard", i, "when")}
	if cond := l.condition(at, g.When, names); cond != nil {
		l.book.Guards = append(l.book.Guards, &Guard{g.Name, g.On, g.From, g.Stop, cond, g.Say})
	}
}

// guardNames is the vocabulary of a guard on coffee that is in a kind of place, "" for any.
func guardNames(from string) map[string]*Fact {
	out := maps.Clone(namesOn(OnGuard))
	for _, k := range stayKinds() {
		if from == "" || from == k {
			maps.Copy(out, namesOn(k))
		}
	}
	return out
}

// A first line fits a plain SMS together with what is put before a call that rings again.
const (
	plainSMS  = 160
	callsHead = len("STILL OPEN (999) ")
)

// says checks the sentences: every name there, and no first line longer than a plain SMS.
func (l *loader) says(i int, table, where string, names map[string]*Fact,
	says map[string]string) {
	if says["en"] == "" && says["es"] == "" {
		l.add(&Mistake{Kind: Missing, In: where, Line: l.lineOf(table, i, "name"),
			Word: "sentence", Hint: `say.en = "{place}: …"`})
	}
	for _, lang := range slices.Sorted(maps.Keys(says)) {
		m := &Mistake{In: where + ", say." + short(lang), Line: l.lineOf(table, i, "say."+lang)}
		long, bad := widthOf(says[lang], names)
		switch {
		case bad != "":
			m.Kind, m.Word = NoSuchName, "{"+short(bad)+"}"
			m.Hint = nearest(short(bad), withPlace(names))
			l.add(m)
		case long > plainSMS-callsHead:
			m.Kind, m.Word = LongText, strconv.Itoa(long+callsHead)
			l.add(m)
		}
	}
}

// withPlace is a vocabulary with the one name that sentences have besides.
func withPlace(names map[string]*Fact) map[string]*Fact {
	out := maps.Clone(names)
	out["place"] = nil
	return out
}

// widthOf is the most characters that the first line of a sentence takes, and the first name in
// it that is none.
func widthOf(text string, names map[string]*Fact) (int, string) {
	first, rest, more := strings.Cut(text, "\n")
	long := 0
	for {
		before, after, ok := strings.Cut(first, "{")
		long += len([]rune(before))
		if !ok {
			break
		}
		name, tail, closed := strings.Cut(after, "}")
		f := names[name]
		if !closed || f == nil && name != "place" {
			return 0, name
		}
		long, first = long+widest(f), tail
	}
	if more {
		if _, bad := widthOf(rest, names); bad != "" {
			return 0, bad
		}
	}
	return long, ""
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
