package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// The names of places: exact, mistyped, and by kind. A mill names its own places; nothing here
// knows what t or d stands for except that some place begins so.
//
//	t3, T3, t-3, t 3, te tres       the place t3 (spelled: read_places.go)
//	t1o                             t10 where the mill has one, else t1
//	t33                             near t3: asked, never taken
//	tina 3, tank three              the only tank whose name ends with 3
//
// [fits] is the other half of finding a place: at what kinds of place a thing is seen or done.

// named is the index of the place with a name, folded; -1 when there is none.
func (r *reader) named(name string) int {
	for i := range r.names {
		if r.names[i] == name {
			return i
		}
	}
	return -1
}

// prefix says that letters begin the name of some place, as t begins t3.
func (r *reader) prefix(of string) bool {
	for _, n := range r.names {
		if strings.HasPrefix(n, of) && len(n) > len(of) && isDigit(n[len(of)]) {
			return true
		}
	}
	return false
}

// foldedNames are the names of the places, as words are folded.
func foldedNames(places []PlaceView) []string {
	names := make([]string, len(places))
	for i := range places {
		names[i] = words.FoldText(places[i].Name)
	}
	return names
}

// nearPlace finds the place that a name such as t33 was meant for; -1 for other words.
func (r *reader) nearPlace(text string) int {
	digit := strings.IndexAny(text, "0123456789")
	if digit < 1 || !r.prefix(text[:digit]) {
		return -1
	}
	best, far := -1, 99
	for i, n := range r.names {
		if strings.HasPrefix(n, text[:digit]) && len(n) > digit && isDigit(n[digit]) {
			if d := apart(n[digit:], text[digit:]); d < far {
				best, far = i, d
			}
		}
	}
	return best
}

// apart is a rough distance of two short figures: the characters that differ by place.
func apart(a, b string) int {
	d := len(a) - len(b)
	if d < 0 {
		d = -d
	}
	for i := 0; i < len(a) && i < len(b); i++ {
		if a[i] != b[i] {
			d += 2
		}
	}
	return d
}

// numbered is the place of a kind whose name ends with a number; -1 when none or several do.
func (r *reader) numbered(k state.Kind, number int) int {
	tail, found := strconv.Itoa(number), -1
	for i, n := range r.names {
		if r.c.Places[i].Kind != k || !strings.HasSuffix(n, tail) {
			continue
		}
		if rest := len(n) - len(tail); rest > 0 && isDigit(n[rest-1]) {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = i
	}
	return found
}

// count is how many places of a kind there are.
func (r *reader) count(k state.Kind) int {
	n := 0
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k {
			n++
		}
	}
	return n
}

// firstOf is the first place of a kind; -1 when there is none.
func (r *reader) firstOf(k state.Kind) int {
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k {
			return i
		}
	}
	return -1
}

// alike says that two places are of one kind.
func (r *reader) alike(a, b int) bool { return r.c.Places[a].Kind == r.c.Places[b].Kind }

// holding are the places of a kind that hold coffee.
func (r *reader) holding(k state.Kind) []int {
	var ps []int
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k && r.c.Places[i].Holds {
			ps = append(ps, i)
		}
	}
	return ps
}

// all are the places of a kind.
func (r *reader) all(k state.Kind) []int {
	var ps []int
	for i := range r.c.Places {
		if r.c.Places[i].Kind == k {
			ps = append(ps, i)
		}
	}
	return ps
}

// byName is the place with exactly this name; -1 when there is none.
func (r *reader) byName(name string) int {
	for i := range r.c.Places {
		if r.c.Places[i].Name == name {
			return i
		}
	}
	return -1
}

// placeNames are the names of places; nil for none.
func (r *reader) placeNames(ps []int) []string {
	var names []string
	for _, p := range ps {
		names = append(names, r.place(p))
	}
	return names
}

// kindsAt are the kinds of some places.
func (r *reader) kindsAt(ps []int) []state.Kind {
	var ks []state.Kind
	for _, p := range ps {
		ks = append(ks, r.c.Places[p].Kind)
	}
	return ks
}

func among(p int, ps []int) bool {
	for _, x := range ps {
		if x == p {
			return true
		}
	}
	return false
}

func oneOf(k state.Kind, kinds []state.Kind) bool {
	for _, x := range kinds {
		if x == k {
			return true
		}
	}
	return false
}

// fits lists the kinds of place at which something is seen, done or measured; nil for any. The
// first is the likeliest.
func fits(what string) []state.Kind {
	switch what {
	case state.SoakStart, state.Rinsed, state.Overflow:
		return []state.Kind{state.Tank, state.Channel, state.Waiting}
	case state.Full:
		return []state.Kind{state.Tank, state.Silo, state.Drum, state.Waiting, state.Channel}
	case state.ActAdd:
		return []state.Kind{state.Tank, state.Drum}
	case state.Slippery, state.Rough, state.Foam, state.ActWash, state.MassC, state.PH:
		return []state.Kind{state.Tank}
	case state.Turned, state.Covered, state.Uncovered, state.Rewetted, state.Cracked,
		state.ActSpread, state.ActGather, state.Depth:
		return []state.Kind{state.Patio}
	case state.FireOut, state.FireLow, state.FireLit, state.AirC, state.ActLoad, state.ActUnload,
		state.BiteDry:
		return []state.Kind{state.Drum, state.Predryer}
	case state.ActStore, state.Insects, state.Aw, SaysCount, state.Bags:
		return []state.Kind{state.Silo, state.Store}
	case state.ActIntake, state.Unripe, SaysPicked:
		return []state.Kind{state.Intake}
	case state.MeterCheck, state.MeterOff:
		return []state.Kind{state.Meter}
	case SaysClass, state.Mistake:
		return []state.Kind{state.Channel}
	case state.Stopped, state.Running:
		return []state.Kind{state.Drum, state.Pulper, state.Predryer, state.Intake, state.Meter}
	}
	return nil
}
