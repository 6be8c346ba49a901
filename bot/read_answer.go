package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// Answers to the last question asked of the sender.
//
// The question waits a quarter of an hour and is kept by the desk. An answer must be nothing but
// the answer: a line that says something of its own is read as any other.
//
//	moisture of d1?     13,2         a reading; 56 is the air, whatever was asked
//	rough or slippery?  todavia no   slippery; a bare yes or no is asked again
//	which place?        t5, 5        the facts that waited get it, or the line is read again
//	C or F?             F            the figure that waited, in °C
//	when?               0510         the facts that waited, or the last line, get the hour
//	who brought it?     grp 7        any words but a place or a mark
//	any                 no se        not known: the question is closed

// answer reads a line that answers the last question asked of this person: a bare figure, a yes, a
// place, a unit. It is false when the line says something of its own.
func (r *reader) answer() bool {
	a := r.c.Asked
	if a == nil {
		return false
	}
	if r.answerOpen(a) {
		return true
	}
	var only *item
	for i := range r.items {
		x := &r.items[i]
		switch {
		case x.kind == isStop || x.says(words.Join, "") && len(r.items) > 1 ||
			x.says(words.Time, "about"):
		case only == nil:
			only = x
		default:
			return false
		}
	}
	if only == nil {
		return false
	}
	if a.What == AskPlace {
		return r.answerPlace(a, only)
	}
	if a.What == AskTime && r.answerTime(a, only) {
		return true
	}
	switch only.kind {
	case isFigure, isAmount:
		return r.answerFigure(a, only)
	case isReading:
		return false
	}
	return r.answerWord(a, only)
}

// answerOpen reads answers in free words: when fruit was picked, who brought it, a hand-over that
// was received, a hand test that is "not yet".
func (r *reader) answerOpen(a *Asked) bool {
	if r.onlyWord(words.Talk, SaysUnknown) || r.knowsNot() {
		r.add(Fact{Place: a.Place, What: SaysUnknown})
		return true
	}
	switch a.What {
	case SaysPicked:
		for i := range r.items {
			if x := &r.items[i]; x.kind == isTime {
				f := Fact{Place: a.Place, What: SaysPicked, At: x.at.at, Told: true}
				if x.at.vague {
					f.doubt("time", 0.7, AskTime)
				}
				r.add(f)
				return true
			}
		}
	case AskKind:
		if len(r.items) > 0 && !r.hasPlaces() && !r.says(words.Mark, "") {
			r.add(Fact{Place: a.Place, What: SaysBy, Word: strings.Join(r.texts, " ")})
			r.unknowns = 0
			return true
		}
	case "hand-over":
		for _, word := range [...]string{"received", SaysOk, SaysYes} {
			if r.onlyWord(words.Talk, word) {
				r.add(Fact{What: SaysOn})
				return true
			}
		}
	case AskHand:
		p := r.byName(a.Place)
		if p >= 0 && r.notYet(p) {
			f := Fact{Place: a.Place, What: state.Slippery}
			f.doubt("what", 0.8, AskHand)
			r.add(f)
			return true
		}
	}
	return false
}

// knowsNot says that a line begins with "I do not know" and tells nothing of the floor.
func (r *reader) knowsNot() bool {
	if len(r.items) == 0 || !r.items[0].says(words.Talk, SaysUnknown) {
		return false
	}
	for i := range r.items {
		if x := &r.items[i]; x.kind != isWord && x.kind != isOther && x.kind != isStop ||
			x.says(words.Quantity, "") || x.says(words.Thing, "") {
			return false
		}
	}
	r.unknowns = 0
	return true
}

// onlyWord says that a line is one word of a section, with small words at most.
func (r *reader) onlyWord(in words.Section, name string) bool {
	found := false
	for i := range r.items {
		x := &r.items[i]
		switch {
		case x.says(in, name):
			found = true
		case x.kind != isStop && x.kind != isKind && !x.says(words.Join, ""):
			return false
		}
	}
	return found
}

// notYet says that a line is "not yet" or "still not", perhaps with the place asked about.
func (r *reader) notYet(p int) bool {
	still, not := false, false
	for i := range r.items {
		x := &r.items[i]
		switch {
		case x.kind == isPlace && len(x.ps) == 1 && x.ps[0] == p, x.kind == isStop:
		case x.says(words.Join, "still"):
			still = true
		case x.says(words.Join, "not") || x.says(words.Talk, SaysNo):
			not = true
			still = still || len(x.text) > 4
		default:
			return false
		}
	}
	return still && not
}

// answerPlace gives the facts that waited for a place the one that was named, by name or number.
func (r *reader) answerPlace(a *Asked, x *item) bool {
	p := -1
	switch {
	case x.kind == isPlace && len(x.ps) == 1:
		p = x.ps[0]
	case x.kind == isFigure && x.fig.whole() && len(r.c.Posts) > 0:
		p = r.numbered(r.c.Posts[0], int(x.fig.v))
	}
	if p < 0 || len(a.Facts) == 0 && a.Line == "" {
		return false
	}
	if len(a.Facts) == 0 { // a bare figure: what it is depends on the place
		c := r.c
		c.Asked = nil
		r.h, r.decided = Read(r.place(p)+" "+a.Line, c, r.w), true
		return true
	}
	for _, f := range a.Facts {
		f.Place = r.place(p)
		r.add(f)
	}
	return true
}

// answerTime gives an hour to the facts that waited for one, or to the last line. To "2010: kg or
// 20:10?" the answer may be kg.
func (r *reader) answerTime(a *Asked, x *item) bool {
	if x.says(words.Unit, "kg") && len(a.Facts) > 0 {
		for _, f := range a.Facts {
			f.Doubt = nil
			r.add(f)
		}
		return true
	}
	m := x.at
	if x.kind == isFigure {
		s := said{hour: -1}
		if hourOf(&s, []item{*x}, "") == 0 {
			return false
		}
		m = r.moment(s)
	} else if x.kind != isTime {
		return false
	}
	if m.ask || m.ahead {
		r.ask(AskTime, x.text, "")
		r.open = append(r.open, a.Facts...)
		return true
	}
	for _, f := range a.Facts {
		if f.Has && moved(f.What) && x.kind == isFigure && f.Value == x.fig.v {
			f.Has, f.Value, f.Unit = false, 0, "" // the figure was the hour, no weight
		}
		f.At, f.Told, f.Doubt = m.at, true, nil
		r.add(f)
	}
	if len(a.Facts) == 0 {
		r.add(Fact{Place: a.Place, What: SaysCorrect, At: m.at, Told: true})
	}
	return true
}

// answerWord gives a word to the question that asked for it.
func (r *reader) answerWord(a *Asked, x *item) bool {
	unit, isUnit := x.of(words.Unit)
	switch {
	case a.What == AskDial && isUnit && (unit == "C" || unit == "F"):
		return r.answerDial(a, unit)
	case a.What == AskWhat:
		what, ok := x.of(words.Quantity)
		for _, f := range a.Facts {
			if p := r.byName(f.Place); ok && p >= 0 && f.What == r.quantity(what, p) {
				f.Doubt = nil
				r.add(f)
				return true
			}
		}
	}
	return false
}

// answerDial settles a temperature whose unit was asked for. In °C such a figure cannot be true.
func (r *reader) answerDial(a *Asked, unit string) bool {
	for _, f := range a.Facts {
		if unit == "C" && f.Said != "" {
			f.Value = round(f.Value*1.8+32, 0)
			r.refuse(AskFigure, strconv.FormatFloat(f.Value, 'f', -1, 64), "")
			return true
		}
		f.Doubt = nil
		r.add(f)
	}
	return len(a.Facts) > 0
}
