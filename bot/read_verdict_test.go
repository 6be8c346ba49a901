package bot

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"

	"lotbell/state"
)

// matches says whether a fact is the wanted one.
func (w *floorWant) matches(f Fact, c Context) bool {
	if w.denied {
		return floorDenied(w, f)
	}
	if w.what == state.WashOrdered && !c.Decides && f.What == state.WashAsked {
		f.What = state.WashOrdered
	}
	if w.what == state.ActMove && f.What == state.ActWash && f.To == w.to && f.Place == w.from {
		return true
	}
	if floorMove(w.what, f) {
		return w.ends(f) && w.sameValue(f)
	}
	if f.What != w.what || w.place != "" && f.Place != w.place {
		return false
	}
	if w.word != "" && f.Word != w.word || !w.sameValue(f) {
		return false
	}
	if w.what == SaysClass && w.from != "" && strings.Join(f.From, ",") != w.from {
		return false
	}
	return floorTime(w.at, f, c)
}

// floorDenied says whether a fact tells that the wanted word is not so: the denial itself, or the
// opposite of the mark.
func floorDenied(w *floorWant, f Fact) bool {
	words := map[string]string{"turn": state.Turned, "wash-done": state.ActWash,
		"unload": state.ActUnload, "rain-start": state.RainStart, "power-out": state.PowerOut}
	name := w.word
	if n := words[name]; n != "" {
		name = n
	}
	return f.What == SaysNot && f.Word == name || f.What == opposites()[name] && f.What != ""
}

// floorMove says that a fact and a wanted act may be one move told from its two ends.
func floorMove(what string, f Fact) bool {
	two := func(s string) bool {
		return s == state.ActLoad || s == state.ActUnload || s == state.ActStore ||
			s == state.ActSpread || s == state.ActMove || s == state.ActGather || s == state.ActAdd
	}
	return two(what) && two(f.What) && (len(f.From) > 0 || f.To != "")
}

// ends compares where a move begins and ends. From is compared where the table names it.
func (w *floorWant) ends(f Fact) bool {
	from, to := strings.Join(f.From, ","), f.To
	if to == "" {
		to = f.Place
	} else if from == "" {
		from = f.Place
	}
	wantFrom, wantTo := w.from, w.to
	switch {
	case w.what == state.ActUnload || w.what == state.ActGather:
		wantFrom = w.place
	case wantTo == "":
		wantTo = w.place
	}
	return (wantFrom == "" || wantFrom == from) && (wantTo == "" || wantTo == to)
}

// sameValue compares figures: the value itself, or the figure as it was said.
func (w *floorWant) sameValue(f Fact) bool {
	if !w.has {
		return true
	}
	if !f.Has {
		return false
	}
	said := floorNumber(strings.NewReplacer(",", ".").Replace(f.Said))
	return math.Abs(f.Value-w.value) < 0.06+w.value/2000 || f.Said != "" && math.Abs(said-w.value) < 0.06
}

// floorTime compares the instant of a fact with the table's words for it.
func floorTime(at string, f Fact, c Context) bool {
	now := c.At.Time().In(c.Zone)
	got := f.At.Time().In(c.Zone)
	clock := regexp.MustCompile(`\d\d:\d\d`).FindString(at)
	switch {
	case at == "" || at == "now" || at == "?" || f.What == state.RainComing:
		return now.Sub(got) < 31*time.Minute
	case at == "today":
		return got.Day() == now.Day() && !got.After(now)
	case strings.HasPrefix(at, "now-"):
		d, err := time.ParseDuration(strings.NewReplacer("min", "m").Replace(at[4:]))
		return err == nil && (now.Sub(got)-d).Abs() < time.Minute
	case strings.HasPrefix(at, "tomorrow"):
		return got.After(now)
	case strings.HasPrefix(at, "yesterday"):
		return got.Day() == now.Day()-1 && (clock == "" || got.Format("15:04") == clock)
	case clock != "":
		return got.Format("15:04") == clock && !got.After(now)
	}
	return f.Told && !got.After(now)
}

// floorCompare judges one line: "right", "asked" (asked about though the table takes it), "said"
// or "taken" (wrong, with or without a guess said). An exclamation mark in the reason says that it
// is about coffee that moves, a call, or a person.
func floorCompare(l floorLine, c Context, h Heard) (verdict, why string) {
	all, odd := floorExpected(l, c)
	asks := h.Outcome == IsAsked
	var misses []string
	for _, f := range h.Facts {
		found := false
		for i := range all {
			if all[i].matches(f, c) {
				all[i].seen, found = true, true
			}
		}
		if !found && !floorHarmless(f, l) {
			misses = append(misses, "extra "+floorGrave(f.What)+f.Place+" "+f.What)
		}
	}
	for i := range all {
		if !all[i].seen && !(all[i].denied && len(all) > 1) && !floorOptional(&all[i], h) {
			misses = append(misses, fmt.Sprintf("missing %s %s %v@%s", all[i].place, all[i].what,
				all[i].value, all[i].at))
		}
	}
	wrong := h.Outcome == IsTaken || h.Outcome == IsSaidBack || h.Outcome == IsPassedOn
	verdict = "right"
	switch note := l.note; {
	case strings.HasPrefix(note, "REFUSE"):
		if h.Outcome != IsRefused {
			verdict = "asked"
			misses = append(misses, "not refused")
		} else {
			misses = nil
		}
	case strings.HasPrefix(note, "ASK"):
		if asks || h.Outcome == IsRefused || len(h.Facts) > 0 && h.Facts[0].What == SaysHello {
			return "right", ""
		}
		if h.Ask == "" && !floorOver(h, c) || len(misses) > 0 {
			misses = append(misses, "not asked")
		}
	case strings.Contains(l.facts, "act=done") && h.Ask == AskDone:
		return "right", ""
	case asks || h.Outcome == IsRefused:
		return "asked", strings.Join(misses, "; ")
	case strings.HasPrefix(note, "URGENT") && !floorUrgent(h):
		misses = append(misses, "not urgent")
	}
	if len(odd) > 0 {
		misses = append(misses, "no word for "+strings.Join(odd, ", "))
	}
	why = strings.Join(misses, "; ")
	switch {
	case len(misses) == 0:
		return verdict, ""
	case !wrong:
		return "asked", why
	case h.Outcome == IsTaken:
		return "taken", why
	}
	return "said", why
}

// floorOver says that a place would hold more than it can: the desk asks whether the weight is right.
func floorOver(h Heard, c Context) bool {
	for _, f := range h.Facts {
		if p := floorPlace(c.Places, f.Place); moved(f.What) && p.Capacity > 0 && f.Value > p.Capacity {
			return true
		}
	}
	return false
}

// floorOptional says that a wanted fact may be missing: a status that was answered by what room
// there is, an unloading that a yes brings.
func floorOptional(w *floorWant, h Heard) bool {
	for _, f := range h.Facts {
		if w.what == SaysAsks && w.place == "" && (f.What == state.RainStart ||
			f.What == state.RainComing) || w.what == SaysClass && w.has && w.value == 0 {
			return true // rain is passed on to all, who then cover; nothing came of a class
		}
		if w.what == SaysHow && f.What == SaysCap || w.what == state.ActUnload && f.What == SaysYes ||
			w.what == state.WashOrdered && f.What == SaysYes {
			return true
		}
	}
	return false
}

// floorUrgent says that a line is passed on at once, or that the desk or the book passes on what it
// tells.
func floorUrgent(h Heard) bool {
	for _, f := range h.Facts {
		switch f.What {
		case SaysPicked, state.BeanC, state.MassC, state.PowerBack, state.FuelH:
			return true
		}
		if f.Urgent || f.What == SaysLater && f.Word == "other" {
			return true
		}
	}
	return false
}

// floorGrave flags facts that may never be guessed silently.
func floorGrave(what string) string {
	switch what {
	case SaysOk, SaysLater, SaysOff, SaysOn, SaysUndo, state.WashOrdered, state.WashAsked,
		state.OutOrdered, state.OutAsked, state.Rough:
		return "! "
	}
	if moved(what) {
		return "! "
	}
	return ""
}

// floorHarmless are facts that a table leaves to the reader: what the words plainly say beside.
func floorHarmless(f Fact, l floorLine) bool {
	switch f.What {
	case SaysHello, SaysPrivate, SaysUnsafe:
		return true
	case SaysYes:
		return strings.Contains(l.facts, "value=yes")
	case state.AirC:
		return strings.Contains(l.facts, "dial=") // the dial's unit brings the waiting reading
	case state.MeterOff:
		return strings.Contains(l.facts, "meter")
	case state.Moisture: // of the oven that the meter is compared with
		return strings.Contains(l.facts, "oven=") && f.Word == "oven"
	case SaysCap:
		return strings.Contains(l.facts, "request=when")
	case SaysAsks:
		return strings.Contains(l.facts, "request=")
	}
	return false
}
