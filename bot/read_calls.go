package bot

import (
	"slices"
	"strconv"

	"lotbell/bot/words"
	"lotbell/state"
)

// Calls: taken, put aside, passed on, asked why. "Done" never ends one by itself.
//
//	ok             takes the one call that stands; with two it is asked which
//	ok 14          takes call 14
//	voy, k         the same, said back: the word is less plain
//	later 14 20m   puts it aside
//	14 done        asked what was done: only a fact of the floor ends a call

// takes reads "ok 14" and "later 14 20m". A bare ok takes a call only when exactly one stands.
func (r *reader) takes(x *item) bool {
	f := Fact{What: SaysOk}
	if r.inAWhile() {
		f.What = SaysLater
	}
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
			case y.fig.minus:
				r.ask(AskCall, show(y.fig), "", r.calls()...)
				r.unknowns = 0
				return true
			case f.What == SaysLater && !r.stands(y.fig.v) && len(r.c.Calls) > 0 && !r.spans():
				r.aside(&f, y)
			case !f.Has && y.fig.whole() && y.fig.v >= 1 && y.fig.v <= 999:
				f.Value, f.Has = y.fig.v, true
			default:
				return false
			}
		case isSpan:
			r.aside(&f, y)
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

// longestAside is the longest time for which a call may be said to be put aside; more, or a time
// below nought, is asked.
const longestAside = 24 * 60

// aside notes for how long a call is put aside.
func (r *reader) aside(f *Fact, x *item) {
	if x.fig.minus || x.fig.v <= 0 || x.fig.v > longestAside {
		r.ask(AskHowLong, x.text, "")
		return
	}
	f.Said = strconv.Itoa(int(x.fig.v)) + " min"
}

// spans says that a line tells a length of time: another figure beside it is a call's number.
func (r *reader) spans() bool {
	return slices.ContainsFunc(r.items, func(x item) bool { return x.kind == isSpan })
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

// inAWhile says that a line is only a length of time and a going: "en 20 min voy".
func (r *reader) inAWhile() bool {
	span, goes := false, false
	for i := range r.items {
		switch x := &r.items[i]; {
		case x.kind == isSpan:
			span = true
		case x.says(words.Talk, SaysOk):
			goes = true
		case x.kind != isStop && !x.joins("in", "to", "and", "with"):
			return false
		}
	}
	return span && goes && len(r.c.Calls) > 0
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

// lotWhole reads "lot 4?", "lot s1?": the whole book of a lot, by its number or by where it lies.
func (r *reader) lotWhole() bool {
	f := Fact{What: SaysLot}
	for i := range r.items {
		switch x := &r.items[i]; {
		case x.says(words.Talk, "lot"), x.says(words.Talk, "book"), x.says(words.Talk, SaysWhy),
			x.kind == isStop:
		case x.kind == isFigure && x.unit == "" && x.fig.whole() && x.fig.v >= 1 && f.Lot == 0 &&
			x.fig.v < mostLots:
			f.Lot = state.LotID(x.fig.v)
		case x.kind == isPlace && f.Place == "" && f.Lot == 0:
			f.Place = r.place(x.ps[0])
		default:
			return false
		}
	}
	if f.Lot == 0 && f.Place == "" {
		return false
	}
	r.unknowns = 0
	r.add(f)
	return true
}
