package bot

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// waitingTank is a tank in the order of washing.
type waitingTank struct {
	place       string
	came        state.Instant
	rough       bool
	early, warn state.Instant // 0: not foreseen
}

// tanksToWash lists the tanks that hold washed coffee, the one whose oldest fruit is late first at
// the head. Those of which nothing is foreseen come after, the longest filled first.
func (t *turn) tanksToWash() []waitingTank {
	var out []waitingTank
	for _, s := range t.mill.OpenStays() {
		process := s.Tag("process")
		if s.Kind != state.Tank || process != "" && process != "washed" {
			continue
		}
		f := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at).Tank()
		w := waitingTank{place: s.Place, came: s.From, rough: !f.Reason.Rough.IsZero(),
			early: state.At(f.Early), warn: state.At(f.SpoilWarn)}
		out = append(out, w)
	}
	slices.SortStableFunc(out, func(a, b waitingTank) int {
		if (a.warn == 0) != (b.warn == 0) {
			return cmp.Compare(b.warn, a.warn)
		}
		return cmp.Or(cmp.Compare(a.warn, b.warn), cmp.Compare(a.came, b.came))
	})
	return out
}

// tankLines tells each tank in the order of washing, with the hours it has left.
func (t *turn) tankLines() []string {
	var out []string
	for _, w := range t.tanksToWash() {
		line := w.place + ": "
		switch left := w.warn.Sub(t.at); {
		case w.warn == 0:
			line += t.voice.Say(t.lang(), "water.unknown", "since", t.clock(w.came))
		case left <= 0:
			line += t.voice.Say(t.lang(), "water.late", "time", t.clock(w.warn))
		default:
			line += t.voice.Say(t.lang(), "water.left", "time", t.clock(w.warn), "span", spanWords(left))
		}
		switch {
		case w.rough:
			line += " " + t.voice.Say(t.lang(), "next.rough")
		case w.early > t.at:
			line += " " + t.voice.Say(t.lang(), "water.early", "time", t.clock(w.early))
		}
		out = append(out, line)
	}
	if len(out) > 0 && t.mill.WaterOut(t.at) != 0 {
		out = append(out, t.voice.Say(t.lang(), "water.choices"))
	}
	return out
}

// waterLines answers water?: whether it runs, the order of washing, each tank with its hours left,
// and what the manager may choose.
func (t *turn) waterLines() []string {
	var order []string
	for _, w := range t.tanksToWash() {
		order = append(order, w.place)
	}
	key := "water.runs"
	since := t.mill.WaterOut(t.at)
	if since != 0 {
		key = "water.out"
	}
	first := t.voice.Say(t.lang(), key, "since", t.clock(since))
	var told []string // at the set-up
	if text := t.settings(state.SetWater, state.SetPermit); text != "" {
		told = []string{text + "."}
	}
	if len(order) == 0 {
		return append([]string{first + " " + t.voice.Say(t.lang(), "water.no-tanks")}, told...)
	}
	first += " " + t.voice.Say(t.lang(), "water.order", "names", strings.Join(order, " "))
	return append(append([]string{first}, t.tankLines()...), told...)
}

// hotDrum is a drum that holds coffee, in the order in which it is seen to when the power is gone.
type hotDrum struct {
	stay *state.Stay
	air  float64 // NaN: not read
	lit  bool
	view *rules.View
}

// drumsByHeat lists the drums that hold coffee: lit ones before others, the hottest first.
func (t *turn) drumsByHeat() []hotDrum {
	var out []hotDrum
	for _, s := range t.mill.OpenStays() {
		if s.Kind != state.Drum && s.Kind != state.Predryer {
			continue
		}
		v := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
		air, _, _ := v.Read("air")
		fire, _, _ := v.Read("fire_out")
		out = append(out, hotDrum{s, air.Num, fire.Is != state.Yes, v})
	}
	slices.SortStableFunc(out, func(a, b hotDrum) int {
		if a.lit != b.lit {
			return map[bool]int{true: -1, false: 1}[a.lit]
		}
		return cmp.Compare(b.air, a.air) // a NaN is less than any number: last
	})
	return out
}

// drumLines tells each drum that holds coffee: heat, fire, how much, how dry.
func (t *turn) drumLines() []string {
	var out []string
	for _, d := range t.drumsByHeat() {
		parts := []string{t.voice.Say(t.lang(), map[bool]string{true: "power.lit",
			false: "power.unlit"}[d.lit])}
		if d.air == d.air {
			parts = append(parts, t.voice.Say(t.lang(), "last.air", "value", plainNumber(d.air, 0)))
		}
		if d.stay.Mass > 0 {
			parts = append(parts, kg(d.stay.Mass)+" kg")
		}
		if x, _, ok := d.view.Read("hum"); ok && x.Num == x.Num {
			parts = append(parts, plainNumber(x.Num, 1)+" %")
		}
		out = append(out, d.stay.Place+": "+strings.Join(parts, ", "))
	}
	return out
}

// powerLines answers power?: since when it is out, drums first, then what waits.
func (t *turn) powerLines() []string {
	since := t.mill.PowerOut(t.at)
	if since == 0 {
		return append([]string{t.voice.Say(t.lang(), "power.there")}, t.drumLines()...)
	}
	out := []string{t.voice.Say(t.lang(), "power.out", "since", t.clock(since), "span",
		spanWords(t.at.Sub(since)))}
	if s, ok := t.mill.Setting(state.SetGenerator); ok && s.Text == "yes" {
		out = append(out, t.voice.Say(t.lang(), "power.generator"))
	}
	return append(append(out, t.drumLines()...), t.waitingLines()...)
}

// powerBackLines tells, when the power has come back, how long it was out, whose drying clock
// stood, and what is seen to in which order.
func (t *turn) powerBackLines(since state.Instant) []string {
	var drums []string
	for _, d := range t.drumsByHeat() {
		drums = append(drums, d.stay.Place)
	}
	out := []string{t.cautionIn(t.lang(), "power-back")}
	if since != 0 && t.at.Sub(since) >= time.Minute {
		out = append(out, t.voice.Say(t.lang(), "power.back", "span", spanWords(t.at.Sub(since))))
	}
	if len(drums) > 0 {
		out = append(out, t.voice.Say(t.lang(), "power.back-drums", "names",
			strings.Join(drums, " ")))
	}
	return append(out, t.waitingLines()...)
}

// waitingLines tells what waits between two places, and fruit that was received, each with its
// hour, the oldest first.
func (t *turn) waitingLines() []string {
	var out []string
	for _, p := range t.mill.Places() {
		if mass, since := t.fruitAt(p); since != 0 {
			out = append(out, t.voice.Say(t.lang(), "waits", "place", p.Name, "kg", mass, "time",
				t.clock(since), "span", spanWords(t.at.Sub(since))))
		}
	}
	for _, s := range t.mill.OpenStays() {
		switch s.Kind {
		case state.Waiting, state.Channel, state.Pulper:
			mass := t.voice.Say(t.lang(), "not-weighed")
			if s.Mass > 0 {
				mass = kg(s.Mass) + " kg"
			}
			out = append(out, t.voice.Say(t.lang(), "waits", "place",
				t.placeOf(state.Subject{Name: s.Place}, t.lang()), "kg", mass, "time", t.clock(s.From),
				"span", spanWords(t.at.Sub(s.From))))
		}
	}
	return out
}

// fruitAt is the fruit that waits at an intake, by the sum of the rules, and since when the oldest
// was picked; 0 when none waits.
func (t *turn) fruitAt(p state.Place) (mass string, since state.Instant) {
	if p.Kind != state.Intake {
		return "", 0
	}
	v := t.watch.Book.Look(t.mill, t.watch.Know, state.Subject{Kind: state.OfPlace, Name: p.Name},
		t.at)
	age, _, _ := v.Read("oldest_age")
	if !(age.Num > 0) {
		return "", 0
	}
	mass = t.voice.Say(t.lang(), "not-weighed")
	if x, _, _ := v.Read("waiting_kg"); x.Num > 0 {
		mass = plainNumber(x.Num, 0) + " kg"
	}
	return mass, t.at - state.Instant(age.Num)
}
