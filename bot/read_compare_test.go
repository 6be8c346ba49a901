package bot

import (
	"regexp"
	"strconv"
	"strings"

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
		"act=received": SaysOn, "act=rain-stop": state.RainOver,
		"mark=foam": state.Foam, "mark=overflow": state.Overflow, "mark=mould": state.Mould,
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
		"act=check":        state.MeterOff,
		"request=fumigate": SaysUnsafe, "request=move": SaysAsks, "request=free": SaysAsks,
		"mark=guard-off": "", "mark=jammed": "", "mark=fire": state.Help, "request=fuel": "", "value=yes": SaysYes,
		"request=state": SaysHow, "request=store": SaysAsks, "request=uncover": SaysAsks,
		"covered=yes": state.Covered, "=uncovered": state.Uncovered, "mark=blocked": SaysTrouble,
		"mark=dizzy": "", "mark=drained": "", "mark=belt-slipping": "", "mark=motor-broken": "",
		"mark=pump-broken": "", "mark=cut": "", "mark=burn": "", "mark=person-inside": "",
		"mark=belt-off": "", "mark=oil": "", "mark=sweating": "", "mark=spilled": "",
		"request=info": SaysHow, "act=heap": state.ActGather, "act=join": state.ActMove,
		"=empty": "", "=fire-out": state.FireOut, "act=fire-down": "", "act=fire-lower": "",
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
		"dial", "meter", "oven", "meter_reads", "ref", "reads", "weight", "until_hum", "not", "delay", "tare", "total",
		"order", "due":
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
	for i, p := range pairs {
		at := places
		if p[0] != "" {
			at = []string{p[0]}
		}
		for _, place := range at {
			key := func(k string) string {
				if v, told := floorNear(pairs, i, k); told {
					return v
				}
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

// floorNear is the value of a key at one of several acts that a table tells of one place: it belongs
// to the act before it. It is false where the place has but one act or one value, or no hour.
func floorNear(pairs [][3]string, i int, key string) (value string, told bool) {
	acts, values, passed := 0, 0, false
	for j, p := range pairs {
		if p[0] != pairs[i][0] {
			continue
		}
		switch p[1] {
		case "act", "hand", "then":
			acts++
			passed = passed || j > i
		case key:
			if values++; j > i && !passed && value == "" {
				value = p[2]
			}
		}
	}
	return value, acts > 1 && (values > 1 || values > 0 && key == "at")
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
		if v == "wash-order" {
			return one(floorWant{place: place, what: state.WashRefused})
		}
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
		wish, at, ok := strings.Cut(v, " ")
		if ok && (wish == "cover" || wish == "uncover") {
			var all []floorWant
			for _, place := range floorList(at) {
				all = append(all, floorWant{place: place, what: SaysAsks, word: wish + "ed"})
			}
			return all, true
		}
	case "sample":
		return nil, key("verdict") != ""
	case "covered":
		if key("answer") != "" && v == "yes" {
			return one(floorWant{place: place, what: SaysYes})
		}
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
	case strings.HasSuffix(left, "sack"), strings.HasSuffix(left, "bag"),
		strings.HasSuffix(left, "barrow"):
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
		if v := key("call"); floorNumber(v) > 0 {
			w.value, w.has = floorNumber(v), true
		}
	case SaysCorrect:
		for _, name := range []string{"kg", "hum_pct", "mass_c", "amount"} {
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
	case state.MeterOff:
		w.place = ""
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
