package bot

import "lotbell/state"

// Doubts, questions and what becomes of the line.
//
// Refused comes before asked, asked before passed on, passed on before said back. One thing turns
// the order round: what cannot wait (rain, power, smoke) is taken, and the question goes with it.

// The keys of Heard.Ask and Doubt.Settle: the question that would settle a doubt. About is the
// word or figure asked about, Near the likeliest meaning, Room the choices where there are some.
const (
	AskAgain   = "say-again?"  // nothing was understood: show an example of the post
	AskLong    = "too-long?"   // more than a line
	AskPlace   = "which-place" // Room: the places it may be
	AskDial    = "dial?"       // Celsius or Fahrenheit, once for the place
	AskWhat    = "what?"       // which quantity; the facts are the choices, Room their names
	AskKg      = "kg?"         // how much
	AskSplit   = "split?"      // About: one figure with a blank in it, or two figures
	AskHowLong = "how-long?"   // About: for how long a call is put aside
	AskMeasure = "measure?"    // About: the measure word that the mill has not weighed
	AskMore    = "more?"       // a further load, or a correction
	AskFigure  = "figure?"     // cannot be true; Near: the figure it was meant for
	AskTime    = "time?"       // which time of day, or which day
	AskCall    = "which-call"  // Room: the numbers of the calls
	AskHelp    = "help-with"   // helped with what at a place, or is it a cry
	AskDone    = "done?"       // is the work of this call done; Room: the numbers
	AskHand    = "hand?"       // slippery or rough, in a word
	AskNear    = "near?"       // About was typed, Near is known
	AskUndo    = "undo?"       // withdraw the last line
	AskSure    = "sure?"       // has it happened, or is it wished, doubted or still to come
	AskWashed  = "washed?"     // has the coffee in soak been washed
	AskEmpty   = "empty?"      // a tank that holds coffee was called clean
	AskFire    = "fire-out?"   // a drum stands: is its fire out
	AskClass   = "class?"      // a class, or a patio of the same name
	AskKind    = "supplier?"   // who brought the fruit
	AskOven    = "oven?"       // what the oven gave for the sample that a meter read
	AskLine    = "which-line"  // a correction that names no figure
)

// ask notes a question that must be answered before the line is taken. The first one stands.
func (r *reader) ask(key, about, near string, room ...string) {
	if r.h.Ask != "" && r.must {
		return
	}
	r.must = true
	r.h.Ask, r.h.About, r.h.Near, r.h.Room = key, about, near, room
}

// wonder notes a question that may be answered later: the line is taken all the same.
func (r *reader) wonder(f *Fact, key, about string, sure float64) {
	what := map[string]string{AskKg: "mass", AskMeasure: "mass", AskTime: "time", AskDial: "unit",
		AskPlace: "place", AskMore: "what", AskFire: "what"}[key]
	if what == "" {
		what = "what"
	}
	if f != nil {
		f.doubt(what, sure, key)
	}
	if r.h.Ask == "" {
		r.h.Ask, r.h.About = key, about
	}
}

// doubt adds a guess to a fact.
func (f *Fact) doubt(what string, sure float64, settle string) {
	f.Doubt = append(f.Doubt, Doubt{What: what, Sure: sure, Settle: settle})
}

// refuse turns the line down: what it says cannot be true, is unsafe, or is not kept here.
func (r *reader) refuse(key, about, near string) {
	if !r.no {
		r.h.Ask, r.h.About, r.h.Near = key, about, near
	}
	r.no, r.must = true, true
}

// leave keeps a fact that must not be taken before the question is answered.
func (r *reader) leave(f Fact) {
	if f.At == 0 {
		f.At = r.c.At
	}
	r.open = append(r.open, f)
}

// decide chooses what becomes of the line: refused before asked before passed on before said back
// before taken. Something urgent is never held up by a question about something else: the sure
// facts are taken, and the question goes with them.
func (r *reader) decide() {
	if len(r.h.Facts) > 0 && r.h.Facts[0].What == state.Help { // people first: no coffee is moved
		kept := r.h.Facts[:0]
		for _, f := range r.h.Facts {
			if !moved(f.What) && f.What != state.WashAsked && f.What != state.OutAsked {
				kept = append(kept, f)
			}
		}
		r.h.Facts = kept
	}
	r.h.Spanish = r.foreign > 0 && !r.english
	r.h.Facts, r.open = r.tooHeavy(r.h.Facts), r.tooHeavy(r.open)
	r.doubtWords()
	urgent, asks, guess := false, false, false
	for i := range r.h.Facts {
		f := &r.h.Facts[i]
		urgent = urgent || f.Urgent && (ofMill(f.What) || f.What == state.Smoke) &&
			(r.hedge == "" || f.What == state.Help || f.What == state.RainComing)
		guess = guess || len(f.Doubt) > 0
		switch f.What {
		case state.WashAsked, state.OutAsked, SaysAsks, SaysCap:
			asks = true
		}
	}
	if rest := r.restIsSure(); rest {
		r.h.Left, r.must, guess = r.open, false, true
	} else if !urgent || r.no || len(r.h.Facts) == 0 {
		r.h.Facts = append(r.h.Facts, r.open...)
	}
	switch {
	case r.no:
		r.h.Outcome = IsRefused
	case r.must && !urgent:
		r.h.Outcome = IsAsked
	case len(r.h.Facts) == 0:
		r.ask(AskAgain, "", "")
		r.h.Outcome = IsAsked
	case asks:
		r.h.Outcome = IsPassedOn
	case guess || r.must:
		r.h.Outcome = IsSaidBack
	default:
		r.h.Outcome = IsTaken
	}
}

// restIsSure says that only one figure of a line is open and that all else in it are readings of
// the same place: those are kept, and only that figure is asked for ("d1 59 27": 59 can only be
// air).
func (r *reader) restIsSure() bool {
	if !r.oneOpen || r.h.Ask != AskWhat || r.no || len(r.open) == 0 || len(r.h.Facts) == 0 ||
		r.hedge != "" || r.unknowns > 0 {
		return false
	}
	for _, f := range r.h.Facts {
		if _, ok := state.QuantityOf(f.What); !ok || !f.Has || f.Place != r.open[0].Place {
			return false
		}
	}
	for _, f := range r.open {
		if f.Place != r.open[0].Place || f.Value != r.open[0].Value {
			return false
		}
	}
	return true
}
