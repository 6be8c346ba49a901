package bot

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"lotbell/state"
)

// floorWant is one fact that a table expects. Any says that another of the listed words will do.
type floorWant struct {
	place, what string
	value       float64
	has         bool
	word        string
	from, to    string
	at          string
	denied      bool // not so: the word of denial, or the mark's opposite
	seen        bool
}

// floorWords turn the tables' words into the program's.
func floorWords() map[string]string {
	return map[string]string{
		"hand=gritty": state.Rough, "hand=slippery": state.Slippery,
		"act=turn": state.Turned, "act=cover": state.Covered, "act=uncover": state.Uncovered,
		"act=rain-start": state.RainStart, "act=rain": state.RainStart,
		"act=rain-coming": state.RainComing, "act=rain-over": state.RainOver,
		"act=power-out": state.PowerOut, "act=power-back": state.PowerBack,
		"act=water-out": state.WaterOut, "act=water-back": state.WaterBack,
		"act=fire-out": state.FireOut, "act=fire-lit": state.FireLit, "act=stopped": state.Stopped,
		"act=started": state.Running, "act=cleaned": state.Cleaned, "act=rinse": state.Rinsed,
		"act=soak-start": state.SoakStart, "act=full": state.Full, "act=help": state.Help,
		"act=sample": state.Sampled,
		"act=fill":   state.ActAdd, "act=add": state.ActAdd, "act=wash-done": state.ActWash,
		"act=spread": state.ActSpread, "act=load": state.ActLoad, "act=unload": state.ActUnload,
		"act=gather": state.ActGather, "act=store": state.ActStore, "act=move": state.ActMove,
		"act=receipt": state.ActIntake, "act=wash-order": state.WashOrdered,
		"act=ack": SaysOk, "act=later": SaysLater, "act=undo": SaysUndo,
		"act=correct": SaysCorrect, "act=hand-over": SaysOff, "act=absent": SaysOff,
		"act=hold": SaysHold, "act=language": SaysLang, "act=count": SaysCount,
		"act=received": SaysOn,
		"mark=foam":    state.Foam, "mark=overflow": state.Overflow, "mark=mould": state.Mould,
		"mark=smoke": state.Smoke, "mark=insects": state.Insects, "mark=warm": state.Warm,
		"mark=warm-by-hand": state.Warm, "mark=cracking": state.Cracked,
		"mark=mistake": state.Mistake, "mark=fire-low": state.FireLow, "bite=dry": state.BiteDry,
		"mark=rewetted": state.Rewetted, "mark=not-clean": state.NotClean, "mark=smell": state.Smell,
		"mark=smell-vinegar": state.Smell, "mark=smell-burnt": state.Smell,
		"mark=smell-sour": state.Smell, "mark=water-short": state.WaterShort,
		"covered=no": state.Uncovered, "mark=jam": "", "mark=belt-broken": "", "act=blend": "",
		"request=wash": state.WashAsked, "request=unload": state.OutAsked,
		"request=no-wash": state.WashRefused, "request=drum": SaysCap, "request=patio": SaysCap,
		"request=room": SaysCap, "request=cover": SaysAsks, "request=load": SaysAsks,
		"request=status": SaysHow, "request=when": SaysHow, "request=due": SaysDue,
		"request=why": SaysWhy, "request=enter": SaysUnsafe, "request=water-on-fire": SaysUnsafe,
		"request=open-turning": SaysUnsafe, "request=reach-in": SaysUnsafe,
		"request=turn-by-hand": SaysUnsafe, "request=open": SaysUnsafe,
		"request=run-unguarded": SaysUnsafe, "=occupied": SaysHolds, "=fire-lit": state.FireLit,
		"=covered": state.Covered, "mark=leak": SaysTrouble, "mark=animals": SaysTrouble,
		"act=wash-start": state.ActWash, "act=decline": SaysLater, "act=checked": SaysNot,
		"request=fumigate": SaysUnsafe, "request=move": SaysAsks, "request=free": SaysAsks,
		"mark=guard-off": "", "mark=fire": "", "request=fuel": "", "value=yes": SaysYes,
		"value=no": SaysNo, "value=later": SaysLater, "value=unknown": SaysUnknown,
	}
}

// floorQuiet are the keys that ask nothing of a reader: who is told, means, units, notes of the
// table.
func floorQuiet(key string) bool {
	switch key {
	case "tell", "mean", "unit", "scope", "approx", "product", "answer", "value", "was", "which",
		"air_f", "mass_f", "depth", "place", "kg", "amount", "from", "to", "at", "count", "gross",
		"tare_each", "net", "supplier", "with", "layer", "doubt", "reason", "for", "call", "lang",
		"who", "class", "book", "as", "share", "method", "before", "lost", "lot", "cups", "hot",
		"dial", "until_hum", "not":
		return true
	}
	return false
}

var floorPlaced = regexp.MustCompile(`^([tpdscrl]\d)\.(.+)$`)

// floorExpected reads the facts column. Odd are the keys that no word of the program holds.
func floorExpected(l floorLine, c Context) (all []floorWant, odd []string) {
	var places []string
	global := map[string]string{}
	perPlace := map[string]map[string]string{}
	order := []string{}
	var pairs [][3]string // place, key, value
	for _, kv := range strings.Split(l.facts, ";") {
		k, v, ok := strings.Cut(strings.TrimSpace(kv), "=")
		if !ok {
			continue
		}
		if k == "place" {
			places = floorPlaces(v)
			continue
		}
		if m := floorPlaced.FindStringSubmatch(k); m != nil {
			pairs = append(pairs, [3]string{m[1], m[2], v})
			if perPlace[m[1]] == nil {
				perPlace[m[1]] = map[string]string{}
				order = append(order, m[1])
			}
			perPlace[m[1]][m[2]] = v
			continue
		}
		if regexp.MustCompile(`^[tpd]\d$`).MatchString(k) {
			pairs = append(pairs, [3]string{k, "", v})
			continue
		}
		global[k] = v
		pairs = append(pairs, [3]string{"", k, v})
	}
	if len(places) == 0 {
		places = []string{""}
	}
	for _, p := range pairs {
		at := places
		if p[0] != "" {
			at = []string{p[0]}
		}
		for _, place := range at {
			key := func(k string) string {
				if p[0] != "" {
					if v := perPlace[p[0]][k]; v != "" {
						return v
					}
				}
				return global[k]
			}
			ws, ok := floorWants(place, p[1], p[2], key, l, c)
			if !ok {
				odd = append(odd, p[1]+"="+p[2])
			}
			all = append(all, ws...)
		}
	}
	return all, odd
}

// floorPlaces reads "p1,p2", "p1..p4 with coffee" and "p2?".
func floorPlaces(v string) []string {
	if strings.HasPrefix(v, "p1..p4") {
		return []string{"p1", "p2", "p3", "p4"}
	}
	return floorList(strings.TrimSuffix(v, "?"))
}

// floorWants are the facts that one pair of the column expects.
func floorWants(place, k, v string, key func(string) string, l floorLine,
	c Context) ([]floorWant, bool) {
	one := func(w floorWant) ([]floorWant, bool) {
		w.at = key("at")
		return []floorWant{w}, true
	}
	switch k {
	case "mass_c", "air_c", "hum_pct", "ph", "aw", "float_pct", "unripe_pct":
		return floorReadings(place, k, v, key), true
	case "fuel":
		return floorFuel(key("left"))
	case "left":
		return nil, true
	case "not":
		return []floorWant{{place: place, what: SaysNot, word: v, denied: true}}, true
	case "value":
		if key("act") != "" {
			return nil, true // told by the act
		}
	case "answer":
		switch {
		case strings.HasSuffix(v, ".supplier"):
			return one(floorWant{place: place, what: SaysBy})
		case strings.HasSuffix(v, ".count"):
			return one(floorWant{place: place, what: state.ActIntake,
				value: floorNumber(key("count")), has: true})
		case strings.HasSuffix(v, ".unloaded"):
			return one(floorWant{what: SaysYes})
		}
		return nil, true
	case "picked":
		return []floorWant{{place: place, what: SaysPicked, at: v}}, true
	case "rejected":
		return one(floorWant{place: place, what: SaysReject, value: floorNumber(v), has: true})
	case "verdict":
		return one(floorWant{what: SaysSample, word: v})
	case "request":
		if p, ok := strings.CutPrefix(v, "cover "); ok {
			var all []floorWant
			for _, place := range floorList(p) {
				all = append(all, floorWant{place: place, what: SaysAsks, word: "covered"})
			}
			return all, true
		}
	case "sample":
		return nil, key("verdict") != ""
	case "class.1", "class.2", "class.3", "class.floats":
		return one(floorWant{place: place, what: SaysClass, value: floorNumber(v), has: true,
			word: k[len("class."):], from: key("from")})
	}
	what, known := floorWords()[k+"="+v]
	if k == "then" {
		what, known = floorWords()["act="+v]
	}
	if !known {
		return nil, floorQuiet(k)
	}
	if what == "" {
		return nil, true
	}
	w := floorWant{place: place, what: what}
	if ofMill(what) {
		w.place = state.Whole
	}
	if k == "request" && c.Decides && what == state.OutAsked {
		w.what = state.OutOrdered
	}
	return one(floorFill(w, place, k, key, c))
}

// floorReadings are the values of one quantity, with their depths. What stands beside a bite, or in
// a correction, is told by those.
func floorReadings(place, k, v string, key func(string) string) (all []floorWant) {
	if key("act") == "correct" || key("bite") != "" {
		return nil
	}
	for i, x := range floorList(strings.TrimSuffix(v, "+-2")) {
		w := floorWant{place: place, what: k, value: floorNumber(x), has: true, at: key("at")}
		if d := floorList(key("depth")); i < len(d) {
			w.word = d[i]
		}
		if k == "mass_c" && strings.HasPrefix(place, "s") {
			w.what = state.BeanC
		}
		all = append(all, w)
	}
	return all
}

// floorFuel is what is left of a fuel: none, hours, or sacks.
func floorFuel(left string) ([]floorWant, bool) {
	w := floorWant{place: state.Whole, value: floorNumber(left), has: true}
	switch {
	case strings.HasSuffix(left, "sack") || strings.HasSuffix(left, "bag"):
		w.what = SaysFuel
	case left == "0":
		w.what, w.has = state.FuelOut, false
	case strings.HasSuffix(left, "h"):
		w.what = state.FuelH
	default:
		return nil, left == ""
	}
	return []floorWant{w}, true
}

// floorFill adds the amounts and ends that an act of a table carries.
func floorFill(w floorWant, place, k string, key func(string) string, c Context) floorWant {
	if moved(w.what) && k != "request" {
		w.from, w.to = key("from"), key("to")
		for _, name := range []string{"kg", "net", "amount"} {
			if v := key(name); v != "" && v != "?" {
				w.value, w.has = floorNumber(v), true
				break
			}
		}
		if w.what == state.ActMove {
			w.place = w.from
			if w.to == "" {
				w.to = place
			}
		}
	}
	switch w.what {
	case SaysOk, SaysLater:
		w.place = ""
		if v := key("call"); v != "" {
			w.value, w.has = floorNumber(v), true
		}
	case SaysCorrect:
		for _, name := range []string{"kg", "hum_pct"} {
			if v := key(name); v != "" {
				w.value, w.has = floorNumber(v), true
			}
		}
		if w.has {
			w.place = ""
		}
	case SaysCount:
		if v := key("count"); v != "" {
			w.value, w.has = floorNumber(v), true
		}
	case SaysYes, SaysNo, SaysUnknown, SaysCap, SaysDue, SaysUnsafe, SaysWhy, SaysLang,
		SaysOff, SaysOn, SaysHold:
		w.place = ""
	}
	return w
}

// floorNumber reads the leading figure of a value.
func floorNumber(v string) float64 {
	m := regexp.MustCompile(`^[\d.]+`).FindString(strings.TrimPrefix(v, "about "))
	n, _ := strconv.ParseFloat(m, 64)
	return n
}

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
	case at == "" || at == "now" || f.What == state.RainComing:
		return now.Sub(got) < 31*time.Minute
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
		if h.Ask == "" || len(misses) > 0 {
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

// floorOptional says that a wanted fact may be missing: a status that was answered by what room
// there is, an unloading that a yes brings.
func floorOptional(w *floorWant, h Heard) bool {
	for _, f := range h.Facts {
		if w.what == SaysHow && f.What == SaysCap || w.what == state.ActUnload && f.What == SaysYes ||
			w.what == state.WashOrdered && f.What == SaysYes {
			return true
		}
	}
	return false
}

func floorUrgent(h Heard) bool {
	for _, f := range h.Facts {
		if f.Urgent || f.What == SaysPicked || f.What == state.BeanC || f.What == state.MassC {
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
	case SaysCap:
		return strings.Contains(l.facts, "request=when")
	case SaysAsks:
		return strings.Contains(l.facts, "request=")
	}
	return false
}
