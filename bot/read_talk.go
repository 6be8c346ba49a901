package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

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

// talk reads the conversation's own words. It is true when nothing else is in the line.
func (r *reader) talk() bool {
	r.shift()
	if len(r.items) == 0 {
		return len(r.h.Facts) > 0
	}
	x := &r.items[0]
	switch {
	case r.lone():
		return true
	case r.passesOn():
		return true
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

// passesOn reads "que vaya otro": the call goes to the next at once.
func (r *reader) passesOn() bool {
	if len(r.c.Calls) == 0 || !r.says(words.Talk, "other") {
		return false
	}
	f := Fact{What: SaysLater, Word: "other"}
	r.unknowns = 0
	r.whichCall(&f)
	r.add(f)
	return true
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
	case x.says(words.Talk, SaysWhy):
		for i := range r.items {
			if p := &r.items[i]; p.kind == isPlace {
				r.add(Fact{Place: r.place(p.ps[0]), What: SaysWhy})
			}
		}
		return true
	case x.says(words.Talk, SaysUndo) && len(r.items) <= 3:
		r.add(Fact{What: SaysUndo})
		r.ask(AskUndo, "", "")
		return true
	case x.says(words.Talk, SaysCorrect) && len(r.items) <= 6 && r.meantOther(),
		x.says(words.Talk, SaysNo) && len(r.items) <= 5 && r.meantOther():
		return r.corrects()
	}
	return false
}

// meantOther says that a word of correction is followed by what is right: a figure or a place,
// not by a statement of its own.
func (r *reader) meantOther() bool {
	for i := 1; i < len(r.items); i++ {
		x := &r.items[i]
		switch {
		case x.kind == isFigure, x.kind == isPlace, x.kind == isReading, x.kind == isAmount:
			return !r.items[len(r.items)-1].stops("?")
		case x.stops("?"),
			x.kind != isStop && !x.says(words.Join, "") && !x.says(words.Talk, SaysCorrect):
			return false
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
	case AskWhat, AskPlace, AskKg, AskCall, AskKind, "kg", SaysPicked:
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

// takes reads "ok 14" and "later 14 20m". A bare ok takes a call only when exactly one stands.
func (r *reader) takes(x *item) bool {
	f := Fact{What: SaysOk}
	for i := range r.items {
		if y := &r.items[i]; y.says(words.Talk, SaysLater) && !y.says(words.Talk, SaysOk) {
			f.What = SaysLater
			if i > 0 {
				f.doubt("what", 0.7, AskCall) // "ok but later"
			}
		}
	}
	for i := range r.items {
		switch y := &r.items[i]; y.kind {
		case isFigure:
			switch {
			case f.What == SaysLater && !r.stands(y.fig.v) && len(r.c.Calls) > 0:
				f.Said = strconv.Itoa(int(y.fig.v)) + " min"
			case !f.Has && y.fig.whole() && y.fig.v >= 1 && y.fig.v <= 999:
				f.Value, f.Has = y.fig.v, true
			default:
				return false
			}
		case isSpan:
			f.Said = strconv.Itoa(int(y.fig.v)) + " min"
		case isWord:
			if y.says(words.Talk, SaysNo) || y.says(words.Join, "not") {
				return false
			}
		case isStop, isOther, isTime:
		default:
			return false // "ok, t3 rough": the rest is what is said
		}
	}
	r.unknowns = 0
	if !f.Has && f.Said == "" && x.text != r.w.Show(r.c.Lang, words.Talk, f.What) {
		f.doubt("what", 0.8, AskCall) // "voy", "k"; a bare "later" tells no time
	}
	if r.c.Asked != nil && r.c.Asked.What == Confirm && len(r.c.Calls) == 0 && !f.Has &&
		f.What == SaysOk {
		f.What = SaysYes
	} else if f.What != SaysLater || r.c.Asked == nil || len(r.c.Calls) > 0 {
		r.whichCall(&f)
	}
	r.add(f)
	return true
}

// stands says that a call of this number stands for the sender.
func (r *reader) stands(number float64) bool {
	for _, n := range r.c.Calls {
		if float64(n) == number {
			return true
		}
	}
	return false
}

// whichCall finds the call that an ok or a later is about, or asks.
func (r *reader) whichCall(f *Fact) {
	n := len(r.c.Calls)
	switch {
	case !f.Has && n == 1:
		f.Value, f.Has = float64(r.c.Calls[0]), true
	case !f.Has && n > 1:
		r.ask(AskCall, "", "", r.calls()...)
	case !f.Has:
		r.ask(AskCall, "", "")
	case n > 0 && !r.stands(f.Value):
		r.ask(AskCall, strconv.Itoa(int(f.Value)), "", r.calls()...)
	}
}

// corrects reads "no 480", "perdon eran 4200", "no t4": the last line's figure or place was wrong.
func (r *reader) corrects() bool {
	f := Fact{What: SaysCorrect}
	for i := range r.items {
		denied := i > 1 && (r.items[i-1].says(words.Join, "not") || r.items[i-1].says(words.Talk, SaysNo))
		switch y := &r.items[i]; y.kind {
		case isFigure, isAmount, isReading:
			if denied {
				continue // "480 not 4800"
			}
			if f.Has {
				return false
			}
			f.Value, f.Has, f.Digits, f.Unit = y.fig.v, true, y.fig.digits, y.unit
			if y.kind == isReading {
				f.Word = y.name
			}
		case isPlace:
			if y.role != 'n' || f.Place == "" && i < 2 { // "no era t3 era t4", "era t4 no t3"
				f.Place = r.place(y.ps[len(y.ps)-1])
			}
		case isMark, isAct, isOrder, isDanger, isClass:
			return false
		}
	}
	if !f.Has && f.Place == "" {
		return false
	}
	r.unknowns = 0
	f.doubt("what", 0.9, AskLine)
	r.add(f)
	return true
}

// doneWith reads "31 done": done is never taken for the end of a call, it is asked what was done.
func (r *reader) doneWith() bool {
	if !r.says(words.Talk, "done") {
		return false
	}
	for i := range r.items {
		if x := &r.items[i]; x.kind == isFigure && r.stands(x.fig.v) {
			r.ask(AskDone, show(x.fig), "", r.calls()...)
			return true
		}
	}
	return false
}

// whyCall reads "why 14".
func (r *reader) whyCall() bool {
	f := Fact{What: SaysWhy}
	for i := range r.items {
		if y := &r.items[i]; y.kind == isFigure {
			f.Value, f.Has = y.fig.v, true
		}
	}
	r.add(f)
	return true
}

// shift notes that somebody comes on or goes off; the words are used up, and what else the line
// says is read as well.
func (r *reader) shift() {
	kept := r.items[:0]
	post := len(r.c.Posts) > 0 && r.c.Posts[0] == state.Intake
	for _, x := range r.items {
		switch {
		case x.says(words.Act, "") && post:
			kept = append(kept, x)
		case x.says(words.Talk, SaysOn):
			r.shifting = true
			r.add(Fact{What: SaysOn})
		case x.says(words.Talk, "absent"):
			r.add(Fact{What: SaysOff, Word: "absent", Urgent: true})
		case x.says(words.Talk, SaysOff):
			r.shifting = true
			r.add(Fact{What: SaysOff})
		default:
			kept = append(kept, x)
		}
	}
	r.items = kept
}

// handingOver notes places that hold coffee, in the line of one who hands over: "t1 y t4 con cafe".
func (r *reader) handingOver(c *clause) {
	if !r.shifting || c.has(isMark) != nil || c.has(isReading) != nil || c.has(isAct) != nil {
		return
	}
	for _, p := range c.places {
		if k := r.c.Places[p].Kind; k == state.Tank || k == state.Drum || k == state.Patio {
			r.add(Fact{Place: r.place(p), What: SaysHolds})
		}
	}
}

// sample reads a buyer's answer: "pss lot 214 rejected 2 cups fermented".
func (r *reader) sample() bool {
	f := Fact{What: SaysSample, Place: state.Whole}
	for i := range r.items {
		x := &r.items[i]
		switch {
		case x.says(words.Talk, "approved"):
			f.Word = "approved"
		case x.says(words.Talk, "rejected"):
			f.Word = "rejected"
		case x.kind == isFigure && (i > 0 && r.items[i-1].says(words.Talk, "lot") || f.Lot == 0 &&
			len(r.c.Posts) > 0 && r.c.Posts[0] == state.Lab && x.fig.v >= 100):
			f.Lot = state.LotID(x.fig.v)
		case x.kind == isWord && x.says(words.Detail, ""):
			f.Said = x.text
		case x.says(words.Talk, "cups") && i > 0 && r.items[i-1].kind == isFigure:
			f.Value, f.Has, f.Unit = r.items[i-1].fig.v, true, "cups"
		}
	}
	if f.Word == "" || !r.says(words.Talk, "preship") && f.Lot == 0 {
		return false
	}
	r.unknowns = 0
	r.add(f)
	return true
}
