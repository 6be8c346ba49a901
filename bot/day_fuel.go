package bot

import (
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lotbell/bot/words"
	"lotbell/state"
)

const oneDay = 24 * time.Hour

// fuelBack is how far back counts of sacks are looked at to learn what a drum burns; learnAfter is
// how many drum-hours they must cover (common practice, no source: two hours are a third of a sack
// to three, beyond what a miscounted sack spoils).
const (
	fuelBack   = 14 * oneDay
	learnAfter = 4.0
)

// stock is the fuel, in hours that it would feed one drum, and what the drums still need. NaN is
// not known.
type stock struct {
	have   float64   // drum-hours left
	sacks  float64   // as far as they are counted
	burn   float64   // sacks a drum-hour
	needs  []float64 // hours to the end of each lit drum, the soonest first
	blind  []string  // lit drums whose end is not foreseen
	lit    int
	source string // of burn: "learned", "told" or ""
}

// fuel works out the stock from the last word about it: sacks counted, or hours told, which are
// meant for the drums that were lit then.
func (t *turn) fuel() stock {
	s := stock{have: math.NaN(), sacks: math.NaN(), burn: math.NaN()}
	for _, d := range t.drumsByHeat() {
		if !d.lit {
			continue
		}
		s.lit++
		if late := state.At(d.view.Dry().Late); late == 0 {
			s.blind = append(s.blind, d.stay.Place)
		} else {
			s.needs = append(s.needs, max(0, late.Sub(t.at).Hours()))
		}
	}
	slices.Sort(s.needs)
	counts, last := t.fuelWords()
	s.burn, s.source = t.burn(counts)
	if last == nil {
		return s
	}
	burnt := t.drumHours(last.At, t.at)
	switch b := last.Body.(type) {
	case state.Note: // no fuel
		s.have, s.sacks = 0, 0
	case state.Reading:
		if b.What == state.FuelH {
			s.have = max(0, b.Value*float64(max(1, t.litAt(last.At)))-burnt)
			break
		}
		s.sacks = b.Value
		if s.burn == s.burn {
			s.sacks = max(0, b.Value-burnt*s.burn)
			s.have = s.sacks / s.burn
		}
	}
	return s
}

// fuelWords lists the counts of sacks of the last days, and the last word about fuel of any kind.
func (t *turn) fuelWords() (counts []*state.Event, last *state.Event) {
	for _, e := range t.mill.Line(state.Whole, t.at) {
		switch b := e.Body.(type) {
		case state.Reading:
			if b.What == state.FuelSacks || b.What == state.FuelH {
				last = e
			}
			if b.What == state.FuelSacks && t.at.Sub(e.At) <= fuelBack {
				counts = append(counts, e)
			}
		case state.Note:
			if b.What == state.FuelOut {
				last = e
			}
		}
	}
	return counts, last
}

// burn is what a drum burns in an hour, in sacks: learned from counts between which no fuel came,
// else as told at the set-up, else NaN.
func (t *turn) burn(counts []*state.Event) (float64, string) {
	sacks, hours := 0.0, 0.0
	for i := 1; i < len(counts); i++ {
		before, after := counts[i-1], counts[i]
		used := before.Body.(state.Reading).Value - after.Body.(state.Reading).Value
		if used < 0 {
			continue // fuel came in between
		}
		sacks, hours = sacks+used, hours+t.drumHours(before.At, after.At)
	}
	if hours >= learnAfter && sacks > 0 {
		return sacks / hours, "learned"
	}
	if x, ok := t.mill.Setting(state.SetSack); ok && x.Number > 0 {
		return 1 / x.Number, "told"
	}
	return math.NaN(), ""
}

// drumHours is how many hours drums burnt between two instants, all together.
func (t *turn) drumHours(from, to state.Instant) float64 {
	sum := 0.0
	for _, s := range t.burningStays() {
		begin, lit := max(s.From, from), true
		for _, e := range t.mill.During(s, to) {
			n, ok := e.Body.(state.Note)
			switch {
			case !ok:
			case n.What == state.FireOut && lit:
				sum, lit = sum+hoursBetween(begin, min(e.At, to)), false
			case n.What == state.FireLit && !lit:
				begin, lit = max(e.At, from), true
			}
		}
		end := to
		if s.To != 0 {
			end = min(end, s.To)
		}
		if lit {
			sum += hoursBetween(begin, end)
		}
	}
	return sum
}

// litAt counts the drums that burnt at an instant.
func (t *turn) litAt(at state.Instant) int {
	n := 0
	for _, s := range t.burningStays() {
		e := t.mill.LastNote(s.Place, at, state.FireOut, state.FireLit)
		out := e != nil && e.At >= s.From && e.Body.(state.Note).What == state.FireOut
		if s.From <= at && (s.To == 0 || at < s.To) && !out {
			n++
		}
	}
	return n
}

// burningStays lists the stays in drums and pre-dryers, those that are over too.
func (t *turn) burningStays() []*state.Stay {
	out := slices.Concat(t.mill.Closed(state.Drum), t.mill.Closed(state.Predryer))
	for _, d := range t.drumsByHeat() {
		out = append(out, d.stay)
	}
	return out
}

func hoursBetween(from, to state.Instant) float64 { return max(0, to.Sub(from).Hours()) }

// need is how many hours the last of the lit drums still burns; 0 when none does.
func (s stock) need() float64 {
	if len(s.needs) == 0 {
		return 0
	}
	return s.needs[len(s.needs)-1]
}

// lasts is for how many hours the fuel lasts, as the drums end one after another; beyond the last
// end it would feed them all. NaN when the stock is not known or no drum burns.
func (s stock) lasts() float64 {
	left, at := s.have, 0.0
	n := len(s.needs) + len(s.blind)
	if left != left || n == 0 {
		return math.NaN()
	}
	for _, end := range s.needs {
		if use := float64(n) * (end - at); use >= left {
			return at + left/float64(n)
		} else if n > 1 {
			left, at, n = left-use, end, n-1
		} else {
			left, at = left-use, end
		}
	}
	return at + left/float64(n)
}

// short says that the fuel is known not to last until the last drum is done.
func (s stock) short() bool { return s.lasts() < s.need() }

// tenth is what a figure of fuel may want of the next whole one: no sack is counted finer.
const tenth = 0.1

// fuelLines answers fuel?: how long it lasts, how long it must, and what that rests on.
func (t *turn) fuelLines() []string {
	s := t.fuel()
	name := t.voice.Say(t.lang(), "fuel.any")
	if x, ok := t.mill.Setting(state.SetFuel); ok {
		name = t.shown(words.Detail, x.Text)
	}
	first, size := utf8.DecodeRuneInString(name)
	name = string(unicode.ToUpper(first)) + name[size:]
	var out []string
	switch {
	case s.lit > 0 && s.have == s.have:
		have := plainNumber(math.Floor(s.lasts()+tenth), 0)
		need := plainNumber(math.Ceil(s.need()-tenth), 0)
		key := "fuel.enough"
		if s.short() {
			key = "fuel.short"
		}
		if len(s.needs) == 0 {
			key = "fuel.no-end"
		}
		out = append(out, t.voice.Say(t.lang(), key, "fuel", name, "have", have, "need", need))
	case s.lit == 0 && s.have == s.have:
		out = append(out, t.voice.Say(t.lang(), "fuel.no-drum", "fuel", name, "have",
			plainNumber(math.Floor(s.have+tenth), 0)))
	case s.sacks == s.sacks:
		out = append(out, t.voice.Say(t.lang(), "fuel.sacks", "fuel", name, "n",
			int(math.Floor(s.sacks+tenth))))
	default:
		return []string{t.voice.Say(t.lang(), "fuel.unknown", "fuel", strings.ToLower(name))}
	}
	if len(s.blind) > 0 {
		out = append(out, t.voice.Say(t.lang(), "fuel.blind", "names", strings.Join(s.blind, " ")))
	}
	if s.source != "" {
		out = append(out, t.voice.Say(t.lang(), "fuel."+s.source, "burn", plainNumber(s.burn, 2)))
	}
	return out
}

// fuelPart is the stock in a summary; "" when nothing is known or nothing burns.
func (t *turn) fuelPart() string {
	if s := t.fuel(); s.lit == 0 || s.have != s.have {
		return ""
	}
	return t.fuelLines()[0]
}

// fuelBody is the event of a count of fuel; nil for what is no count of sacks.
func (t *turn) fuelBody(f Fact) state.Body {
	if f.What != SaysFuel || !f.Has || f.Unit != "sack" {
		return nil
	}
	return state.Reading{Place: state.Whole, What: state.FuelSacks, Value: f.Value,
		Digits: f.Digits, Method: f.Word}
}
