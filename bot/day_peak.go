package bot

import (
	"math"
	"strings"
	"time"

	"lotbell/rules/mass"
	"lotbell/state"
)

// Peak weeks: fruit that is announced ("tomorrow 12 t"), what it needs of tanks, patio and drums,
// where it jams, and the hour from which fruit that still comes waits too long for the pulper.

// announces takes fruit that is said to come on another day: it is kept as what is expected, no
// coffee moves, and the managers and leads hear what it needs. False for any other line.
func (t *turn) announces(h Heard) bool {
	if h.Outcome != IsAsked || h.Ask != AskSure || len(h.Facts) != 1 {
		return false
	}
	f := h.Facts[0]
	if f.What != state.ActIntake || !f.Has || f.Unit != "kg" || f.Value <= 0 || f.At <= t.msg.At {
		return false
	}
	t.put(state.SetAnnounced, f.Value, t.day(f.At))
	lines := func(u *turn) []string { return u.peakLines(f.Value, f.At) }
	t.lines = append(t.lines, lines(t)...)
	t.dayTells(true, lines)
	return true
}

// day is the date of an instant at the mill.
func (t *turn) day(at state.Instant) string {
	return at.Time().In(t.mill.Zone()).Format(time.DateOnly)
}

// expected is the fruit that was announced for the day of an instant, in kilograms; 0 for none.
func (t *turn) expected(at state.Instant) float64 {
	if s, ok := t.mill.Setting(state.SetAnnounced); ok && s.Text == t.day(at) {
		return s.Number
	}
	return 0
}

// driesTo is the moisture, % wet basis, at which coffee of a patio goes to the drum.
func (t *turn) driesTo() float64 {
	if l, ok := t.watch.Book.Limits["patio_to_drum"]; ok {
		return l.Value
	}
	return 15
}

// peakLines tells what fruit that comes on a day needs and where it jams.
func (t *turn) peakLines(kg float64, at state.Instant) []string {
	pulped := kg * mass.PulpedOfFruit
	washed := pulped * mass.WashedOfPulped
	dried := washed * (100 - washedMoisture) / (100 - t.driesTo())
	day, _, _ := strings.Cut(t.clock(at), " ")
	if t.day(at) == t.day(t.at) {
		day = t.voice.Say(t.lang(), "day.today")
	}
	out := []string{t.voice.Say(t.lang(), "peak.first", "day", day, "t", tonnes(kg), "pulped",
		tonnes(pulped), "washed", tonnes(washed), "area", plainNumber(washed/layerKgM2, 0), "dried",
		tonnes(dried))}
	before := len(out)
	short := func(key string, s space, need float64, pairs ...any) {
		if !s.blind && need > s.kg {
			out = append(out, t.voice.Say(t.lang(), key, append(pairs, "room", tonnes(s.kg), "need",
				tonnes(need))...))
		}
	}
	tanks, first := t.tanksBy(at)
	key := "peak.tanks"
	if first == "" {
		key = "peak.tanks-now"
	}
	short(key, tanks, pulped, "t", tonnes(tanks.kg/mass.PulpedOfFruit), "names", first)
	patios, drums := t.spaceOf(state.Patio), t.spaceOf(state.Drum, state.Predryer)
	if placesKnown(state.Patio)(t) != "" {
		short("peak.patio", patios, washed, "area", plainNumber(patios.kg/layerKgM2, 0))
	} else {
		dried = washed
	}
	short("peak.drums", drums, dried)
	if len(out) == before && !tanks.blind && !patios.blind && !drums.blind {
		out = append(out, t.voice.Say(t.lang(), "peak.fits"))
	}
	if rate := t.pulps(); rate > 0 {
		key := "peak.pulper"
		if kg > rate*t.mayWait().Hours() {
			key = "peak.slow"
		}
		out = append(out, t.voice.Say(t.lang(), key, "span", spanWords(hoursOf(kg/rate)), "rate",
			tonnes(rate), "wait", spanWords(t.mayWait()), "t", tonnes(rate*t.mayWait().Hours())))
	}
	return out
}

// tanksBy is the room in tanks at the noon of a day, if those that are late before it are washed by
// then, and which those are.
func (t *turn) tanksBy(at state.Instant) (space, string) {
	room := t.spaceOf(state.Tank)
	here := at.Time().In(t.mill.Zone())
	noon := state.At(time.Date(here.Year(), here.Month(), here.Day(), 12, 0, 0, 0, here.Location()))
	var first []string
	for _, w := range t.tanksToWash() {
		p, _ := t.mill.Place(w.place)
		if w.warn == 0 || w.warn > noon || p.Capacity == 0 {
			continue
		}
		first = append(first, w.place)
		held := t.mill.StaysAt(w.place)[0]
		if held.Full == 0 && held.Mass > 0 { // what is left of it counts already
			room.kg -= max(0, p.Capacity.Kg()-held.Mass.Kg())
		}
		room.kg += p.Capacity.Kg()
	}
	return room, strings.Join(first, " ")
}

// pulps is what the mill pulps in an hour, kilograms of fruit; 0 when it has not said.
func (t *turn) pulps() float64 {
	s, _ := t.mill.Setting(state.SetPulp)
	return 1000 * s.Number
}

// mayWait is how long fruit may wait from picking, by the book.
func (t *turn) mayWait() time.Duration {
	if l, ok := t.watch.Book.Limits["fruit_wait"]; ok {
		return hoursOf(l.Value)
	}
	return 8 * time.Hour
}

func hoursOf(h float64) time.Duration {
	return time.Duration(math.Min(h, 9999) * float64(time.Hour)).Round(time.Minute)
}

// fruitWaiting is the fruit that waits at all intakes, in kilograms as far as it was weighed.
func (t *turn) fruitWaiting() float64 {
	sum := 0.0
	for _, p := range t.mill.Places() {
		if p.Kind != state.Intake {
			continue
		}
		of := state.Subject{Kind: state.OfPlace, Name: p.Name}
		v := t.watch.Book.Look(t.mill, t.watch.Know, of, t.at)
		if x, _, _ := v.Read("waiting_kg"); x.Num > 0 {
			sum += x.Num
		}
	}
	return sum
}

// slowFrom is in how many hours fruit that comes at a pace begins to wait too long for the pulper;
// infinite when it never does or nobody said what the pulper does.
func (t *turn) slowFrom(pace float64) float64 {
	rate := t.pulps()
	if rate == 0 || pace <= rate {
		return math.Inf(1)
	}
	return max(0, (rate*t.mayWait().Hours()-t.fruitWaiting())/(pace-rate))
}

// pulperStands tells, of a pulper that stands, what waits and how long that takes once it runs.
func (t *turn) pulperStands() []string {
	rate, kg := t.pulps(), t.fruitWaiting()
	if rate == 0 || kg == 0 {
		return nil
	}
	left := t.mayWait() - hoursOf(kg/rate)
	key := "peak.stands"
	if left <= 0 {
		key = "peak.stands-late"
	}
	return []string{t.voice.Say(t.lang(), key, "t", tonnes(kg), "span", spanWords(hoursOf(kg/rate)),
		"rate", tonnes(rate), "wait", spanWords(t.mayWait()))}
}
