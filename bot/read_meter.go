package bot

import (
	"math"

	"lotbell/bot/words"
	"lotbell/state"
)

// A meter compared with an oven: one sample, two figures. The oven counts; what the meter read more
// is kept at the meter, and shifts no reading of the past.
//
//	m1 10.4 oven 11.1             the meter's own name stands for its figure
//	oven says 11.1 my meter 10.4  the only meter of the mill
//	s2 oven 11.2 meter 10.7       and the moisture of s2 is 11.2

// farOff is the difference in points beyond which two figures are no comparison of one sample.
const farOff = 5

// compares reads a clause that compares a meter with an oven; false when it does not.
func (r *reader) compares(c *clause) bool {
	meter := r.meterOf(c)
	if meter < 0 {
		return false
	}
	var figures []int
	oven, last := -1, -1
	for i := range c.parts {
		switch x := &c.parts[i]; {
		case x.kind == isFigure && x.unit != "F", x.kind == isReading && x.name == state.Moisture:
			figures = append(figures, i)
		case x.says(words.Method, "oven"):
			oven, last = i, i
		case x.says(words.Method, "meter"), x.kind == isKind && x.name == string(state.Meter):
			last = i
		}
	}
	own := among(meter, c.places)
	if own && len(figures) > 0 && (len(figures) != 2 || oven < 0) {
		r.ask(AskOven, c.parts[figures[0]].text, "")
		return true
	}
	if len(figures) != 2 || oven < 0 || last == oven && oven > figures[0] && !own {
		return false
	}
	a, b := &c.parts[figures[0]], &c.parts[figures[1]]
	ofOven, ofMeter := a, b
	if forward := last < figures[1]; forward == (oven > figures[0]) {
		ofOven, ofMeter = b, a
	}
	if math.Abs(ofOven.fig.v-ofMeter.fig.v) > farOff {
		r.ask(AskOven, show(ofMeter.fig)+" / "+show(ofOven.fig), "")
	}
	r.noteCompared(c, meter, ofOven, ofMeter)
	for i := range c.parts { // "same sample" is nothing that was taken
		if x := &c.parts[i]; among(i, []int{figures[0], figures[1], oven, last}) ||
			x.kind == isMark && x.name == state.Sampled {
			x.kind = isSkipped
		}
	}
	return true
}

// noteCompared notes the difference at the meter, and what the oven gave where the sample came from.
func (r *reader) noteCompared(c *clause, meter int, oven, read *item) {
	at := c.places
	if len(at) == 0 && c.lot != 0 { // "lot 240 mc 11.1 oven 10.6 meter"
		at = r.all(state.Lab)[:min(1, r.count(state.Lab))]
	}
	for _, p := range at {
		if p == meter {
			continue
		}
		f := Fact{Place: r.place(p), What: state.Moisture, Has: true, Word: "oven"}
		r.measure(f, p, oven.fig, "")
	}
	r.add(Fact{Place: r.place(meter), What: state.MeterOff, Has: true, Unit: "%", Digits: 1,
		Value: round(read.fig.v-oven.fig.v, 1), Said: show(read.fig) + " / " + show(oven.fig)})
	if len(c.places) == 0 {
		c.places = []int{meter}
	}
}

// meterOf is the meter that a clause is about: named, or the only one of the mill; -1 for none.
func (r *reader) meterOf(c *clause) int {
	for _, p := range c.places {
		if r.c.Places[p].Kind == state.Meter {
			return p
		}
	}
	if all := r.all(state.Meter); len(all) == 1 {
		return all[0]
	}
	return -1
}
