package bot

import (
	"math"
	"strings"
	"time"

	"lotbell/rules/mass"
	"lotbell/state"
)

// layerKgM2 is how much washed, drained coffee lies on a square metre at the start, 3 cm deep:
// 60 kg on 3.3 m2 (Oliveros et al. 2006, Cenicafe Avance Tecnico 353).
const layerKgM2 = 60 / 3.3

// space is the room left at the places of a kind.
type space struct {
	kg    float64
	free  []string
	blind bool // some free place is of unknown size
}

// spaceOf adds up the room in empty places of a kind, and in tanks that are not closed yet.
func (t *turn) spaceOf(kinds ...state.Kind) space {
	var s space
	for _, k := range kinds {
		for _, p := range t.mill.Places() {
			if p.Kind != k {
				continue
			}
			size := p.Capacity.Kg()
			if size == 0 && p.Area > 0 {
				size = p.Area * layerKgM2
			}
			stays := t.mill.StaysAt(p.Name)
			switch {
			case len(stays) == 0:
				s.free = append(s.free, p.Name)
				s.blind = s.blind || size == 0
				s.kg += size
			case k == state.Tank && stays[0].Full == 0 && stays[0].Mass > 0:
				s.kg += max(0, size-stays[0].Mass.Kg())
			}
		}
	}
	return s
}

// flow is the fruit of today: what came, since when, and how much of it tanks must take.
type flow struct {
	kg    float64
	since state.Instant
	ratio float64 // kilograms in the tank for each that came
}

// today is what was received since midnight or, at a mill that weighs no fruit, what was put into
// tanks.
func (t *turn) today() flow {
	here := t.at.Time().In(t.mill.Zone())
	from := state.At(time.Date(here.Year(), here.Month(), here.Day(), 0, 0, 0, 0, here.Location()))
	fruit, pulped := flow{ratio: mass.PulpedOfFruit}, flow{ratio: 1}
	add := func(f *flow, kg float64, at state.Instant) {
		if f.since == 0 || at < f.since {
			f.since = at
		}
		f.kg += kg
	}
	for _, e := range t.mill.MovesSince(from) {
		b := e.Body.(state.Move)
		kg := 0.0
		for _, p := range b.In {
			kg += p.Mass.Kg()
		}
		switch {
		case e.At > t.at || kg == 0:
		case b.Act == state.ActIntake:
			add(&fruit, kg, e.At)
		case b.Act == state.ActAdd:
			add(&pulped, kg, e.At)
		}
	}
	if fruit.kg > 0 {
		return fruit
	}
	return pulped
}

// paceAfter is how long fruit must have come before its pace is believed.
const paceAfter = 30 * time.Minute

// roomLines answers room?: what tanks, patios and drums can take, what came today, when the tanks
// are full at this pace and at which total to stop; then what waits, by its clock.
func (t *turn) roomLines() []string {
	tanks, patios := t.spaceOf(state.Tank), t.spaceOf(state.Patio)
	drums := t.spaceOf(state.Drum, state.Predryer)
	var out []string
	first := t.voice.Say(t.lang(), "room.all", "tanks", t.roomText(tanks), "patios",
		t.roomText(patios), "drums", t.roomText(drums))
	if f := t.today(); f.kg > 0 {
		first += " " + t.voice.Say(t.lang(), "room.today", "t", tonnes(f.kg), "time",
			t.clock(f.since))
		if !tanks.blind {
			stop, now := t.stopLine(f, tanks.kg)
			if now { // what cannot wait comes first
				out, stop = []string{stop}, ""
			}
			first = strings.TrimSpace(first + " " + stop)
		}
	}
	out = append(out, first)
	if kg := t.expected(t.at); kg > 0 {
		out = append(out, t.voice.Say(t.lang(), "room.announced", "t", tonnes(kg), "came",
			tonnes(t.today().kg)))
	}
	if need := t.washedSoon(); need > 0 && !patios.blind && !drums.blind &&
		need > patios.kg+drums.kg {
		out = append(out, t.voice.Say(t.lang(), "room.jam", "t", tonnes(need), "room",
			tonnes(patios.kg+drums.kg)))
	}
	for _, s := range []space{tanks, patios, drums} {
		if len(s.free) > 0 {
			out = append(out, t.voice.Say(t.lang(), "slate.free", "names", strings.Join(s.free, " ")))
		}
	}
	return append(out, t.waitingLines()...)
}

// stopLine tells at which total of today's fruit the tanks are full and, when the pace is known, at
// which hour; or from which hour fruit waits too long for the pulper, where that is sooner, which
// cannot wait.
func (t *turn) stopLine(f flow, room float64) (text string, now bool) {
	if f.ratio != 1 { // what waits will fill tanks too
		room = max(0, room-t.fruitWaiting()*f.ratio)
	}
	total := tonnes(f.kg + room/f.ratio)
	came := t.at.Sub(f.since)
	if came < paceAfter {
		return t.voice.Say(t.lang(), "room.stop", "t", total), false
	}
	pace := f.kg / came.Hours() // as it comes: fruit, or pulped where no fruit is weighed
	hours := math.Min(room/f.ratio/pace, 48)
	if slow := t.slowFrom(pace); f.ratio != 1 && slow < hours {
		key := "room.slow-at"
		if slow == 0 {
			key = "room.slow-now"
		}
		return t.voice.Say(t.lang(), key, "time", t.clock(t.at.Add(hoursOf(slow))), "rate",
			tonnes(t.pulps()), "wait", spanWords(t.mayWait())), true
	}
	return t.voice.Say(t.lang(), "room.full-at", "time", t.clock(t.at.Add(hoursOf(hours))), "t",
		total), false
}

// roomText is the room of a kind of place in tonnes; a plus for more of unknown size.
func (t *turn) roomText(s space) string {
	switch {
	case s.blind && s.kg == 0:
		return "?"
	case s.blind:
		return tonnes(s.kg) + "+"
	}
	return tonnes(s.kg)
}

// washedSoon is what the tanks that are late within a day will ask of patios and drums, in
// kilograms of washed coffee, with what waits already.
func (t *turn) washedSoon() float64 {
	sum := 0.0
	for _, w := range t.tanksToWash() {
		if w.warn != 0 && w.warn.Sub(t.at) <= oneDay {
			for _, s := range t.mill.StaysAt(w.place) {
				sum += s.Mass.Kg() * mass.WashedOfPulped
			}
		}
	}
	for _, s := range t.mill.StaysAt(state.Floor) {
		v := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
		if wet, _, _ := v.Read("wet"); wet.Is == state.Yes {
			sum += s.Mass.Kg()
		}
	}
	return sum
}
