package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Corrections, shifts and what a laboratory hears from a buyer.
//
//	no 480, eran 4200, sorry 480 not 4800   another figure for the last line
//	no era t3 era t4                    another place
//	entrego turno, t1 y t4 con cafe     off shift, and what stands where
//	no vengo hoy                        the sender is absent
//	luis no viene hoy                   luis is; a name nobody knows is asked back
//	pss lot 214 rejected 2 cups         a buyer's answer about a lot

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
			if y.fig.minus {
				r.ask(AskLine, show(y.fig), "")
				return true
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

// shift notes that somebody comes on or goes off; the words are used up, and what else the line
// says is read as well.
func (r *reader) shift() {
	kept := r.items[:0]
	post := len(r.c.Posts) > 0 && r.c.Posts[0] == state.Intake
	for i, x := range r.items {
		switch {
		case x.says(words.Act, "") && post && !r.stayedAway(i):
			kept = append(kept, x)
		case x.says(words.Talk, SaysOn):
			r.shifting = true
			r.add(Fact{What: SaysOn})
		case x.says(words.Talk, "absent"), r.stayedAway(i):
			r.absent(i)
		case x.says(words.Talk, SaysOff):
			r.shifting = true
			r.add(Fact{What: SaysOff})
		default:
			kept = append(kept, x)
		}
	}
	r.items = kept
}

// stayedAway says that an item is the "come" of "luis no viene hoy": said of a person, it is no
// fruit that comes.
func (r *reader) stayedAway(i int) bool {
	x := &r.items[i]
	return r.person != "" && x.kind == isAct && x.name == state.ActIntake && x.not
}

// absent notes who is not at the mill: the person that the line names (Said), else the sender. A
// name that the mill does not know is asked back, for the sender is not meant.
func (r *reader) absent(i int) {
	f := Fact{What: SaysOff, Word: "absent", Said: r.person, Urgent: true}
	if r.person == "" {
		for j := range r.items[:i] {
			if x := &r.items[j]; x.kind == isOther {
				r.ask(AskAgain, x.text, "")
				return
			}
		}
	}
	for j := range r.items { // the desk can only note who is away from now on
		if x := &r.items[j]; x.says(words.Time, "tomorrow") || x.kind == isTime && x.at.ahead {
			r.ask(AskSure, x.text, "")
		}
	}
	r.add(f)
}

// handingOver notes places that hold coffee, in the line of one who hands over: "t1 y t4 con
// cafe".
func (r *reader) handingOver(c *clause) {
	if full := c.mark(state.Full); r.shifting && full != nil { // of coffee: nobody closes it now
		full.kind = isSkipped
	}
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
			len(r.c.Posts) > 0 && r.c.Posts[0] == state.Lab && x.fig.v >= 100) && x.fig.v < mostLots:
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
