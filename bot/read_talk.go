package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// The conversation's own words, where nothing of the floor is said.
//
// The same short words mean much in a line of their own and little inside one: "ok, t3 rough" is a
// hand test. So a word of the conversation counts only where the rest of the line is small words,
// or what belongs to it: the number of a call, a time to be left alone, a place for "why".
//
//	ok, ok 14, later 14 20m     calls: see read_calls.go
//	yes, no                     only to a question that takes them; else asked
//	no 480, no t4, sorry 4200   corrections: see read_shift.go
//	done, a thumb               asked what is done: nothing ends by that word alone
//	es, en                      the language, alone in a line

// talk reads the conversation's own words. It is true when nothing else is in the line.
func (r *reader) talk() bool {
	r.shift()
	if len(r.items) == 0 {
		return len(r.h.Facts) > 0
	}
	x := &r.items[0]
	switch {
	case r.lone(), r.language():
		return true
	case r.passesOn(), r.says(words.Talk, "lot") && r.lotWhole():
		return true
	case r.inAWhile():
		return r.takes(x)
	case r.hasPlaces():
		return r.aboutPlace(x)
	case x.says(words.Talk, SaysOk) || x.says(words.Talk, SaysLater),
		x.kind == isFigure && r.stands(x.fig.v) && (r.says(words.Talk, SaysOk) ||
			r.says(words.Talk, SaysLater)):
		return r.takes(x)
	case x.says(words.Talk, SaysUndo):
		r.add(Fact{What: SaysUndo})
		r.ask(AskUndo, "", "")
		r.unknowns = 0
		return true
	case x.says(words.Talk, SaysCorrect), x.says(words.Talk, SaysNo):
		return r.corrects()
	case x.says(words.Talk, SaysWhy):
		return r.whyCall()
	case r.doneWith():
		return true
	case r.sample():
		return true
	}
	return false
}

// hasPlaces says that a line names a place.
func (r *reader) hasPlaces() bool {
	for i := range r.items {
		if r.items[i].kind == isPlace {
			return true
		}
	}
	return false
}

// aboutPlace reads "why t3", "no t4" (the place was wrong) and "no t3 480".
func (r *reader) aboutPlace(x *item) bool {
	switch {
	case x.says(words.Talk, SaysWhy), r.lastSays(words.Talk, SaysWhy):
		for i := range r.items {
			if p := &r.items[i]; p.kind == isPlace {
				r.add(Fact{Place: r.place(p.ps[0]), What: SaysWhy})
			}
		}
		return true
	case x.says(words.Talk, SaysUndo) && !x.says(words.Mark, "") && len(r.items) <= 3:
		r.add(Fact{What: SaysUndo})
		r.ask(AskUndo, "", "")
		return true
	case r.insteadOf():
		return r.corrects()
	case x.says(words.Talk, SaysCorrect) && len(r.items) <= 6 && r.meantOther(),
		x.says(words.Talk, SaysNo) && len(r.items) <= 5 && r.meantOther():
		return r.corrects()
	}
	return false
}

// insteadOf says that a line is nothing but a place, a figure and the one it is not: "d2 12,8 no 13,8".
func (r *reader) insteadOf() bool {
	figures, instead := 0, false
	for i := range r.items {
		x := &r.items[i]
		switch {
		case x.kind == isFigure, x.kind == isReading, x.kind == isAmount:
			figures++
			instead = instead || figures == 2 && (r.items[i-1].says(words.Join, "not") ||
				r.items[i-1].says(words.Talk, SaysNo))
		case x.kind != isPlace && x.kind != isStop && !x.says(words.Join, "") &&
			!x.says(words.Talk, SaysCorrect) && !x.says(words.Talk, SaysNo):
			return false
		}
	}
	return figures == 2 && instead
}

// lastSays says that a line ends with a program word: "t3 why".
func (r *reader) lastSays(in words.Section, name string) bool {
	n := len(r.items) - 1
	for n > 0 && r.items[n].kind == isStop {
		n--
	}
	return r.items[n].says(in, name)
}

// language reads a line of nothing but a language's two letters, which mean other things besides:
// "en" is a small word of Spanish.
func (r *reader) language() bool {
	if len(r.tokens) != 1 {
		return false
	}
	for _, lang := range r.w.Langs() {
		if r.tokens[0].text == lang {
			r.add(Fact{What: SaysLang, Word: lang})
			return true
		}
	}
	return false
}

// lone reads a line that is one conversation word, whatever small words stand beside it.
func (r *reader) lone() bool {
	var word string
	for i := range r.items {
		x := &r.items[i]
		name, ok := x.of(words.Talk)
		switch {
		case ok && (word == "" || word == name):
			word = name
		case ok && word == SaysYes && name == SaysOk && r.c.Asked == nil:
			word = SaysOk // "yes going now"
		case ok && (word == SaysOk || word == SaysYes || word == SaysHello || word == "done"):
			if name != SaysOk && name != SaysYes && name != "done" && name != SaysHello {
				word = name
			}
		case x.says(words.Join, "not") && !ok && len(r.items) > 1:
			return false
		case ok, x.kind != isStop && !x.says(words.Join, "") && !x.says(words.Time, "now"):
			return false
		}
	}
	return word != "" && r.say(word)
}

// say answers one conversation word that stands alone.
func (r *reader) say(word string) bool {
	switch word {
	case SaysOk:
		return r.takes(&r.items[0])
	case SaysYes, SaysNo:
		return r.yesNo(word)
	case SaysUnknown:
		if r.c.Asked == nil {
			return false
		}
		r.add(Fact{Place: r.c.Asked.Place, What: word})
	case SaysWhy, SaysDue, SaysMill, SaysHelpMe, SaysAgain, SaysHello:
		r.add(Fact{What: word})
	case SaysUndo:
		r.add(Fact{What: word})
		r.ask(AskUndo, "", "")
	case SaysLater:
		return r.takes(&r.items[0])
	case "lang-es", "lang-en", "lang-pt":
		r.add(Fact{What: SaysLang, Word: word[len("lang-"):]})
	case "done", "thumb", "received", "ready":
		r.ask(AskDone, r.items[0].text, "", r.calls()...)
	case SaysHow:
		r.add(Fact{What: SaysMill})
	case SaysCorrect:
		r.ask(AskLine, r.items[0].text, "")
	case SaysCap:
		r.add(Fact{What: SaysCap})
	default:
		return false
	}
	return true
}

// yesNo takes a bare yes or no where the last question can be answered so; else it is asked what
// is meant, never guessed.
func (r *reader) yesNo(word string) bool {
	a := r.c.Asked
	if a == nil {
		r.ask(AskAgain, word, "")
		return true
	}
	switch a.What {
	case AskHand:
		r.ask(AskHand, a.Place, "", state.Slippery, state.Rough)
	case AskWhat, AskPlace, AskKg, AskCall, AskKind, "kg", SaysPicked, AskSplit, AskHowLong:
		r.ask(a.What, word, "")
	default:
		if _, quantity := state.QuantityOf(a.What); quantity {
			r.ask(AskAgain, word, "")
			return true
		}
		r.add(Fact{Place: a.Place, What: word})
	}
	return true
}

// thumb answers a line of nothing but pictures or marks.
func (r *reader) thumb(text, folded string) bool {
	if strings.Trim(folded, " .!-_'\"") != "" || strings.TrimSpace(text) == "" {
		return false
	}
	if strings.ContainsAny(text, "?") {
		return false
	}
	about := strings.TrimSpace(text)
	if strings.ContainsAny(text, "👍👌") && len(r.c.Calls) == 1 && r.c.Asked == nil {
		f := Fact{What: SaysOk, Value: float64(r.c.Calls[0]), Has: true}
		f.doubt("what", 0.7, AskCall)
		r.add(f)
		r.decide()
		return true
	}
	if len(about) > 16 {
		about = ""
	}
	r.ask(AskDone, about, "", r.calls()...)
	r.decide()
	return true
}

// calls are the numbers of the calls that stand, as words.
func (r *reader) calls() []string {
	var all []string
	for _, n := range r.c.Calls {
		all = append(all, strconv.Itoa(n))
	}
	return all
}
