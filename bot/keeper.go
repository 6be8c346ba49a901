package bot

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/rules/grade"
	"lotbell/state"
	"lotbell/state/journal"
)

// verbs are the keeper's strict commands; what they are called in each language is data of the
// voice, under verb.NAME.
func verbs() map[string]func(t *turn, words []string) {
	return map[string]func(t *turn, words []string){
		"place": (*turn).place, "person": (*turn).personLine, "zone": (*turn).zone,
		"set": (*turn).set, "measure": (*turn).measure, "invite": (*turn).invite,
		"remove": (*turn).remove, "limits": (*turn).limits, "limit": (*turn).limit,
		"rules": (*turn).ruleList, "rule": (*turn).rule, "book": (*turn).book, "health": (*turn).health,
		"tag": (*turn).tag, "calc": (*turn).calc, "people": (*turn).peopleList,
		"safety": (*turn).safetyLine, "absent": (*turn).absent, "present": (*turn).present, "forget": (*turn).forgetting,
		"code": (*turn).code, "score": (*turn).score, "curve": (*turn).curve, "night": (*turn).night,
	}
}

// open are the commands that anybody may use.
func openTo(verb string) bool {
	return slices.Contains([]string{"calc", "limits", "rules", "absent", "present", "safety", "code",
		"curve", "night"}, verb)
}

// verb finds the strict command a line begins with; "" for none.
func (d *Desk) verb(word string) string {
	if d.verbs == nil {
		d.verbs = map[string]string{}
		for name := range verbs() {
			d.verbs[name] = name
			for _, lang := range d.voice.Langs() {
				for _, w := range strings.Fields(d.voice.Say(lang, "verb."+name)) {
					d.verbs[w] = name
				}
			}
		}
	}
	return d.verbs[strings.ToLower(word)]
}

// keeps does a strict command and says whether the message was one. Several lines are several.
func (t *turn) keeps() bool {
	lines := strings.Split(strings.TrimSpace(t.msg.Text), "\n")
	words := strings.Fields(lines[0])
	if len(words) < 1 || t.verb(words[0]) == "" || len(words) == 1 && !alone(t.verb(words[0])) ||
		t.verb(words[0]) == "night" && len(words) > 1 { // the floor's word of time
		return false
	}
	if verb := t.verb(words[0]); len(lines) > 1 && (verb == "rule" || verb == "book") {
		switch {
		case !t.person.Is(state.Keeper):
			t.say("keeper.only")
		case verb == "rule":
			t.ruleLines(lines)
		default:
			t.bookText(strings.Join(lines[1:], "\n"))
		}
		return true
	}
	for _, line := range lines {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		verb := t.verb(words[0])
		switch {
		case verb == "":
			t.say("keeper.unknown", "about", cut(words[0], 30))
		case (verb == "health" || verb == "score") && t.person.Is(state.Manager):
			t.do(verb, words[1:])
		case !openTo(verb) && !t.person.Is(state.Keeper):
			t.say("keeper.only")
		default:
			t.do(verb, words[1:])
		}
	}
	return true
}

// alone are the commands that need no further word.
func alone(verb string) bool {
	switch verb {
	case "calc", "limits", "rules", "people", "book", "health", "setup", "absent", "present", "code",
		"safety", "score", "curve", "night":
		return true
	}
	return false
}

// do does one strict command.
func (t *turn) do(verb string, words []string) {
	if len(words) == 0 && !alone(verb) {
		t.bad("keeper.short", "example", "place t1 tank 6000")
		return
	}
	verbs()[verb](t, words)
}

// Setup does the lines of a mill's file, as a keeper would say them, on behalf of nobody. It stops
// at the first line that is not understood.
func (d *Desk) Setup(text string, now state.Instant) error {
	t := d.turn(now)
	t.msg = &Message{At: t.at, Lang: "en"}
	t.person = &state.Person{Roles: []state.Role{state.Keeper}}
	for i, line := range strings.Split(text, "\n") {
		line, _, _ = strings.Cut(line, "#")
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		verb := t.verb(words[0])
		if verb == "" {
			return fmt.Errorf("line %d: no command %q; for example: place t1 tank 6000", i+1, words[0])
		}
		t.lines, t.line = nil, 0
		t.failed = false
		t.do(verb, words[1:])
		if t.failed {
			return fmt.Errorf("line %d: %s", i+1, strings.Join(t.lines, " "))
		}
	}
	return d.finish(t)
}

// bad says what is wrong with a command, with an example that works.
func (t *turn) bad(key string, pairs ...any) {
	t.failed = true
	t.say(key, pairs...)
}

// kind finds a kind of place by its name or by what a language calls it.
func (d *Desk) kind(word string) (state.Kind, bool) {
	word = strings.ToLower(word)
	for _, k := range append(state.Kinds(), state.Safety) {
		if word == string(k) || word == string(k)+"s" {
			return k, true
		}
		for _, lang := range d.voice.Langs() {
			if slices.Contains(strings.Fields(d.voice.Say(lang, "kinds."+string(k))), word) {
				return k, true
			}
		}
	}
	return "", false
}

// place names a place: place t3 tank 6000, place d1 drum 3500 inlet C, place p1 patio 120m2,
// place t3 gone.
func (t *turn) place(words []string) {
	const example = "place d1 drum 3500 inlet C"
	if len(words) < 2 {
		t.bad("keeper.short", "example", example)
		return
	}
	name := strings.ToLower(words[0])
	if words[1] == "gone" {
		t.said(t.at, state.SetPlace{Name: name, Gone: true})
		t.say("keeper.gone", "place", name)
		return
	}
	p := state.SetPlace{Name: name}
	if old, ok := t.mill.Place(name); ok {
		p = old.SetPlace
	}
	kind, ok := t.kind(words[1])
	if !ok {
		t.bad("keeper.kind", "about", words[1], "example", example)
		return
	}
	if !goodName(name) || t.taken(name, kind) {
		t.bad("keeper.name", "about", name, "example", example)
		return
	}
	p.Kind = kind
	for _, w := range words[2:] {
		if !placeWord(&p, w) {
			t.bad("keeper.word", "about", w, "example", example)
			return
		}
	}
	t.said(t.at, p)
	t.say("keeper.place", "place", name, "kind", t.kindName(kind),
		"kg", kg(p.Capacity))
}

// taken says whether a name already means something in a line of chat; a place may be called by
// the word for its own kind, as a yard may.
func (d *Desk) taken(name string, kind state.Kind) bool {
	_, is := d.words.Match([]string{name})
	own := len(is) == 0
	for _, m := range is {
		if m.In != words.Kind {
			return true
		}
		own = own || m.Name == string(kind)
	}
	return !own
}

// goodName says whether a word may name a place: letters, digits, a hyphen, not a number alone.
func goodName(s string) bool {
	letters := false
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z':
			letters = true
		case r >= '0' && r <= '9' || r == '-':
		default:
			return false
		}
	}
	return letters && len(s) <= 12
}

// placeWord takes one further word of a place: 6000, 6000kg, 120m2, inlet, exhaust, coffee, C, F,
// of a tank open, covered, water, thermometer, no-thermometer.
func placeWord(p *state.SetPlace, w string) bool {
	switch l := strings.ToLower(w); l {
	case "inlet", "exhaust", "coffee":
		p.DialWhere = l
		return true
	case "open", "covered", "water":
		p.Cover = l
		return p.Kind == state.Tank
	case "thermometer", "no-thermometer":
		p.Probe = map[bool]string{true: "yes", false: "no"}[l == "thermometer"]
		return p.Kind == state.Tank
	case "c", "f":
		p.DialUnit = strings.ToUpper(l)
		return true
	default:
		if digits, ok := strings.CutSuffix(l, "m2"); ok {
			x, err := strconv.ParseFloat(digits, 64)
			p.Area = x
			return err == nil && x > 0
		}
		x, err := strconv.ParseFloat(strings.TrimSuffix(l, "kg"), 64)
		p.Capacity = state.Kg(x)
		return err == nil && x > 0 && x < 1e6
	}
}

// zone sets the mill's time zone: zone America/Bogota.
func (t *turn) zone(words []string) {
	if _, err := time.LoadLocation(words[0]); err != nil || len(words) != 1 {
		t.bad("keeper.zone", "about", words[0], "example", "zone America/Bogota")
		return
	}
	t.said(t.at, state.Set{Name: state.SetZone, Text: words[0]})
	t.say("keeper.set", "name", "zone", "value", words[0])
}

// set states a fact about the site: set altitude_m 1500, set position 4.6 -75.6.
func (t *turn) set(words []string) {
	const example = "set target_pct 10.5"
	if len(words) < 2 {
		t.bad("keeper.short", "example", example+" / set position 4.6 -75.6")
		return
	}
	name := strings.ToLower(words[0])
	if name == "position" && len(words) == 3 {
		lat, north := t.numberIn(words[1], -90, 90)
		lon, east := t.numberIn(words[2], -180, 180)
		if north && east {
			t.setTo(state.SetLat, lat)
			t.setTo(state.SetLon, lon)
		}
		return
	}
	switch name {
	case state.SetDecimal, state.SetTell:
		text := strings.Join(words[1:], " ")
		if name == state.SetDecimal && text != "." && text != "," {
			t.bad("keeper.word", "about", text, "example", "set decimal ,")
			return
		}
		t.said(t.at, state.Set{Name: name, Text: text})
		t.say("keeper.set", "name", name, "value", text)
	case state.SetAltitude:
		t.setNumber(name, words[1], -400, 5000)
	case state.SetTarget:
		t.setNumber(name, words[1], 8, 14)
	case state.SetUsual:
		t.setNumber(name, words[1], 4, 96)
	case state.SetFirstLot:
		t.setNumber(name, words[1], 0, 1e6)
	default:
		if !t.setFurther(name, words[1:]) {
			t.bad("keeper.word", "about", words[0], "example", example)
		}
	}
}

func (t *turn) setNumber(name, text string, low, high float64) {
	if x, ok := t.numberIn(text, low, high); ok {
		t.setTo(name, x)
	}
}

// numberIn reads a number within bounds, or says what they are.
func (t *turn) numberIn(text string, low, high float64) (float64, bool) {
	x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || !(x >= low && x <= high) {
		t.bad("keeper.range", "about", text, "low", plainNumber(low, 0), "high",
			plainNumber(high, 0))
		return 0, false
	}
	return x, true
}

func (t *turn) setTo(name string, x float64) {
	t.said(t.at, state.Set{Name: name, Number: x})
	t.say("keeper.set", "name", name, "value", plainNumber(x, 4))
}

// measure says what a measure word weighs here: measure basin wet 38kg, measure debe 13.
func (t *turn) measure(words []string) {
	n := len(words)
	var x float64
	err := errors.New("short")
	if n >= 2 && n <= 3 {
		x, err = strconv.ParseFloat(strings.TrimSuffix(strings.ToLower(words[n-1]), "kg"), 64)
	}
	if err != nil || x <= 0 || x > 5000 {
		t.bad("keeper.short", "example", "measure basin wet 38kg")
		return
	}
	m := state.SetMeasure{Word: strings.ToLower(words[0]), Mass: state.Kg(x)}
	if n == 3 {
		m.Product = strings.ToLower(words[1])
	}
	t.said(t.at, m)
	t.say("keeper.set", "name", m.Word, "value", plainNumber(x, 2)+" kg")
}

// tag gives the coffee at a place an attribute: tag t3 process honey, tag s1 class reserved.
func (t *turn) tag(words []string) {
	names := []string{"class", "process", "owner", "claim", "hold"}
	if len(words) != 3 || !slices.Contains(names, strings.ToLower(words[1])) ||
		len(t.mill.StaysAt(words[0])) == 0 {
		t.bad("keeper.short", "example", "tag s1 class reserved")
		return
	}
	t.said(t.at, state.Tag{Place: words[0], Name: strings.ToLower(words[1]),
		Value: strings.ToLower(words[2])})
	t.say("keeper.set", "name", words[0]+" "+words[1], "value", words[2])
}

// reckon does one of the trade's sums with the tables that come with the program.
func (d *Desk) reckon(words []string) (Sum, error) {
	tables, err := grade.Shipped()
	if err != nil {
		return Sum{}, err
	}
	return d.sumsNow().Calc(tables, words)
}

// sumsNow are the sums with their words, read once.
func (d *Desk) sumsNow() *Sums {
	if d.sums == nil {
		d.sums = sumsIn(d.voice)
	}
	return d.sums
}

// calc does the trade's sums.
func (t *turn) calc(words []string) {
	sum, err := t.reckon(words)
	if err != nil {
		t.lines = append(t.lines, t.sums.Refuse(t.lang(), err))
		return
	}
	t.lines = append(t.lines, strings.TrimSpace(t.sums.Tell(t.lang(), sum).Text()))
}

// Found makes somebody the first of an empty mill: manager and keeper, reached by a transport. It
// gives the line that says so.
func (d *Desk) Found(name, via string, now state.Instant) (string, error) {
	t := d.turn(now)
	id := t.mill.NextPerson()
	t.card(journal.Card{Person: id, Name: name, At: []string{Address{via, name}.String()}})
	t.own(state.Staff{Person: id, Roles: []state.Role{state.Manager, state.Keeper}})
	return d.voice.Say("en", "keeper.found", "name", name), d.finish(t)
}

// Clock is an instant as the mill's clock shows it, with the day.
func (d *Desk) Clock(at state.Instant) string {
	return at.Time().In(d.mill.Zone()).Format("Mon 02.01. 15:04")
}
