package bot

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lotbell/bot/voice"
	"lotbell/bot/words"
	"lotbell/rules"
	"lotbell/state"
)

// example is a line that a sentence prints for people to send: where it stands, its language, the
// kind of place it is about, and the line.
type example struct{ from, lang, kind, text string }

// printed lists every such line of the voice and of the default book: what stands between double
// blanks, the keys of keyboards, the examples and the usage of each post.
func printed(t *testing.T) []example {
	t.Helper()
	v, err := voice.Load()
	if err != nil {
		t.Fatal(err)
	}
	book, err := rules.Parse(rules.DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	var all []example
	for _, lang := range v.Langs() {
		for _, key := range fileKeys(t, lang) {
			text := v.Say(lang, key)
			if strings.HasPrefix(key, "key.") || strings.HasPrefix(key, "example.") {
				text = "  " + text + "  "
			}
			kind := ""
			for _, k := range state.Kinds() {
				if strings.HasSuffix(key, "."+string(k)) {
					kind = string(k)
				}
			}
			all = append(all, examplesOf(example{from: key, lang: lang, kind: kind}, text)...)
		}
		for _, r := range book.Calls {
			e := example{from: r.Name, lang: lang, kind: r.On}
			all = append(all, examplesOf(e, r.Says[lang])...)
		}
	}
	return all
}

// examplesOf lists the lines of one sentence, with a place put in: what follows two blanks, up to
// the next two or to a separator with a blank before it, parted by " / ".
func examplesOf(e example, text string) []example {
	place := map[string]string{"tank": "t3", "patio": "p2", "drum": "d1", "silo": "s1",
		"intake": "r1", "predryer": "d2", "meter": "m1"}[e.kind]
	switch {
	case place == "" && strings.HasPrefix(e.from, "unload."), e.from == "ask.fire-out?",
		strings.HasPrefix(e.from, "tell.") && !strings.HasPrefix(e.from, "tell.spoil"),
		e.from == "key.fire-low", e.from == "key.stopped", e.from == "ask.what?":
		place = "d1"
	case place == "" && (e.from == "key.turned" || e.from == "key.covered"):
		place = "p2"
	case place == "":
		place = "t3"
	}
	fill := strings.NewReplacer("{place}", place, "{number}", "14", "{about}", "11.2", "{room}", "")
	ends := regexp.MustCompile(`(?s) [.;:,](\s.*)?$`)
	var all []example
	printed := false
	for _, piece := range strings.Split(text, "  ") {
		if !printed {
			printed = true
			continue
		}
		line := ends.ReplaceAllString(fill.Replace(piece), "")
		printed = line != fill.Replace(piece) // else this piece is ended by the next two blanks
		for _, one := range strings.Split(line, " / ") {
			e.text = strings.TrimSuffix(strings.TrimSpace(one), ".")
			all = append(all, e)
		}
	}
	return all
}

// elsewhere are printed lines that the desk takes before anything is read: answers of the set-up,
// the keeper's commands, the questions of a bad day, codes and names. They are tested where they are done.
var elsewhere = regexp.MustCompile(`^(\{.*|setup.*|ajuste inicial.*|join .*|entrar .*|place .*|` +
	`lugar .*|measure .*|medida .*|book .*|libro .*|invite .*|invitar .*|person .*|persona .*|` +
	`limits?( .*)?|limites?( .*)?|people|gente|remove .*|quitar .*|forget .*|olvidar .*|group .*|` +
	`grupo .*|code .*|clave .*|I am .*|soy .*|present .*|presente .*|received|recibido|menu|` +
	`rules?( .*)?|reglas?( .*)?|on = .*|back|water\?|agua\?|safety .*|seguridad .*|.*\{(example|name|code)\}.*)$`)

// meanings are what the printed lines must be read as: the first fact, as [heardText] writes it.
var meanings = map[string]string{
	"help": "mill help", "ayuda": "mill help", "all safe": "mill help-over",
	"ya pasó": "mill help-over", "mill?": " slate", "beneficio?": " slate", "board": " slate",
	"pizarra": " slate", "t3?": "t3 how", "why t3": "t3 why", "por qué t3": "t3 why",
	"due": " due", "pendiente": " due", "ok": " ok=14", "later": " later=14", "luego": " later=14",
	"ok 14": " ok=14", "later 14 20m": " later=14 20 min", "luego 14 20m": " later=14 20 min",
	"later 14": " later=14", "luego 14": " later=14", "undo": " undo", "deshacer": " undo",
	"yes": "t3 yes", "no": "t3 no", "sí": "t3 yes", "words": " words", "palabras": " words",
	"on shift": " shift-in", "entro de turno": " shift-in", "shift in": " shift-in",
	"off shift": " shift-out", "salgo de turno": " shift-out", "dont know": "t3 unknown",
	"no se": "t3 unknown", "F": "d1 air_c=57.2", "C": "d1 air_c=135", "0510": "t3 wash @12 05:10",
	"20 min ago": "t3 wash @12 09:40", "hace 20 min": "t3 wash @12 09:40",
	"t3 add 4200": "t3 add=4200kg", "es": " lang es", "t3 entró 4200": "t3 add=4200kg", "t3 rough": "t3 rough",
	"t3 áspero": "t3 rough", "t3 slippery": "t3 slippery", "t3 resbala": "t3 slippery",
	"t3 full": "t3 full", "t3 llena": "t3 full", "t3 washed": "t3 wash", "t3 lavada": "t3 wash",
	"t3 wash": "t3 wash-ordered", "t3 lavar": "t3 wash-ordered",
	"t3 washed 0600": "t3 wash @12 06:00", "t3 lavada 0600": "t3 wash @12 06:00",
	"p2 covered": "p2 covered", "p2 tapado": "p2 covered", "p2 turned": "p2 turned",
	"p2 volteado": "p2 turned", "p2 spread 2400kg": "p2 spread=2400kg",
	"p2 tendido 2400kg": "p2 spread=2400kg", "p2 gathered": "p2 gather", "p2 recogido": "p2 gather",
	"p2 hum 24": "p2 hum_pct=24%",
	"d1 57":     "d1 air_c=57C", "d1 13.2": "d1 hum_pct=13.2%", "d1 13,2": "d1 hum_pct=13.2%",
	"d1 hum 24.5": "d1 hum_pct=24.5%", "d1 hum 24,5": "d1 hum_pct=24.5%",
	"d1 load 2800kg":    "d1 load=2800kg",
	"d1 cargada 2800kg": "d1 load=2800kg", "d1 fire low": "d1 fire-low",
	"d1 fuego bajo": "d1 fire-low", "d1 fire out": "d1 fire-out", "d1 fuego apagado": "d1 fire-out",
	"d1 stopped": "d1 stopped", "d1 parada": "d1 stopped",
	"d1 unload": "d1 unload-ordered", "d1 bajar": "d1 unload-ordered",
	"d1 unload 10.6 2010kg": "d1 unload=2010kg", "d1 bajada 10,6 2010kg": "d1 unload=2010kg",
	"d1 unload 10.5 2010kg": "d1 unload=2010kg", "d1 bajar 10,5 2010kg": "d1 unload=2010kg",
	"d1 unload 10.8 2010kg": "d1 unload=2010kg", "d1 bajada 10,8 2010kg": "d1 unload=2010kg",
	"d2 load 2800kg": "d2 load=2800kg", "d2 cargada 2800kg": "d2 load=2800kg",
	"d2 57": "d2 air_c=57C", "d2 hum 38": "d2 hum_pct=38%", "d2 unload 2400kg": "d2 unload=2400kg",
	"d2 bajada 2400kg": "d2 unload=2400kg", "s1 store d1": "s1 store d1", "s1 guardar d1": "s1 store d1",
	"s1 stored 2000kg": "s1 store=2000kg", "s1 guardado 2000kg": "s1 store=2000kg",
	"s1 hum 11.2": "s1 hum_pct=11.2%", "s1 hum 11,2": "s1 hum_pct=11.2%", "s1 27 C": "s1 bean_c=27C",
	"lot 4?": " whole-lot", "lote 4?": " whole-lot",
	"s1 air 19C 70%": "s1 ambient_c=19C", "s1 aire 19C 70%": "s1 ambient_c=19C",
	"s1 from d1": "d1 unload s1", "s1 de d1": "d1 unload s1", "r1 1850 kg": "r1 receipt=1850kg",
	"r1 float 4 %": "r1 float_pct=4%", "r1 flote 4 %": "r1 float_pct=4%",
	"d1 hum 13.2": "d1 hum_pct=13.2%", "d1 hum 13,2": "d1 hum_pct=13.2%",
	"t3 temp 21": "t3 mass_c=21C",
	"r1 clean":   "r1 cleaned", "r1 limpio": "r1 cleaned",
	"m1 10.4 oven 11.1": "m1 meter_off=-0.7", "m1 10,4 horno 11,1": "m1 meter_off=-0.7",
	"husk 40 sacks left": "mill fuel=40sack", "quedan 40 sacos de cascarilla": "mill fuel=40sack",
	"fuel 9 h": "mill fuel_h=9h", "leña para 9 h": "mill fuel_h=9h",
}

// askedBy is the question to which a printed line is the answer; nil for a line by itself.
func askedBy(text string) *Asked {
	wash := []Fact{{Place: "t3", What: state.ActWash}}
	switch text {
	case "yes", "no", "sí":
		return &Asked{Place: "t3", What: Confirm, Facts: wash}
	case "0510", "20 min ago", "hace 20 min":
		return &Asked{Place: "t3", What: AskTime, Facts: wash}
	case "F", "C":
		return floorAsked("d1.dial")
	case "dont know", "no se":
		return &Asked{Place: "t3", What: AskTime}
	}
	return nil
}

// TestExamplesAreUnderstood: every line that the program prints for people to send is read as what
// the sentence says it does, without a guess about its words, in its language.
func TestExamplesAreUnderstood(t *testing.T) {
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	unused := maps.Clone(meanings)
	found := 0
	for _, e := range printed(t) {
		if elsewhere.MatchString(e.text) {
			continue
		}
		want, ok := meanings[e.text]
		if !ok {
			t.Errorf("%s prints %q, of which this test does not say what it means", e.from, e.text)
			continue
		}
		delete(unused, e.text)
		found++
		c := floorContext(floorLine{lang: e.lang, post: "manager", context: "call=14; holds=t3,d1,p1,p2"})
		c.Asked = askedBy(e.text)
		h := Read(e.text, c, w)
		got := heardText(h)
		wrong := h.Outcome == IsAsked && h.Facts == nil || !strings.Contains(got, "["+want)
		if h.Outcome == IsAsked && h.Ask != AskUndo && h.Ask != AskSure || strings.Contains(got, "?words") {
			wrong = true
		}
		if e.text == "C" { // in °C such a figure cannot be: kindly refused
			wrong = h.Outcome != IsRefused
		}
		if wrong {
			t.Errorf("%s (%s) prints %q, which is read as\n  %s\n  not as %s", e.from, e.lang, e.text,
				got, want)
		}
	}
	if found < 150 {
		t.Errorf("only %d printed lines were found", found)
	}
	for _, text := range slices.Sorted(maps.Keys(unused)) {
		t.Logf("nothing prints %q any more", text)
	}
}
