package bot

import (
	"lotbell/rules"
	"lotbell/state"
)

// fewestScored is how many stays must be over before the score of their forecasts says anything.
const fewestScored = 5

// scored are the kinds of place that are forecast, with the hours before the end at which the
// forecasts are judged: half a shift, for a patio half a day.
func scored() []struct {
	kind state.Kind
	lead float64
} {
	return []struct {
		kind state.Kind
		lead float64
	}{{state.Tank, 6}, {state.Patio, 12}, {state.Predryer, 6}, {state.Drum, 6}}
}

// score tells how well the forecasts served this mill: how often the truth lay in the window, by
// how much they were off, and the two simple rivals beside it.
func (t *turn) score(_ []string) {
	told := false
	for _, x := range scored() {
		if len(t.mill.Closed(x.kind)) == 0 {
			continue
		}
		if !told {
			t.say("score.head")
			told = true
		}
		t.scoreOf(x.kind, x.lead)
	}
	if !told {
		t.say("score.none")
	}
}

// scoreOf tells the score of one kind at one lead.
func (t *turn) scoreOf(kind state.Kind, lead float64) {
	s := rules.Score(t.mill, t.watch.Book, kind, t.at)
	for _, l := range s.Leads {
		if l.Lead != lead {
			continue
		}
		if l.Answered < fewestScored {
			t.say("score.few", "kind", t.kindName(kind), "n", l.Answered, "of", fewestScored)
			return
		}
		t.say("score.kind", "kind", t.kindName(kind), "lead", plainNumber(lead, 0), "held", l.Held,
			"n", l.Answered, "error", number1(l.Error), "alone", number1(l.Alone.Error), "line",
			number1(l.Line.Error), "fixed", number1(l.Fixed.Error))
	}
}
