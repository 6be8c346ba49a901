package bot

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// bareRig is a mill of which nothing is known but its keeper.
func bareRig(t testing.TB) *rig {
	r := newRig(t)
	for _, p := range r.desk.mill.Places() {
		if err := r.desk.Setup("place "+p.Name+" gone", r.now); err != nil {
			t.Fatal(err)
		}
	}
	r.sent()
	return r
}

// ask asks one question of the set-up and answers it.
func (r *rig) ask(number, answer string) string {
	r.t.Helper()
	r.say("marta", "setup "+number)
	return r.say("marta", answer)
}

func TestSetupPlaces(t *testing.T) {
	for _, c := range []struct{ number, answer, want string }{
		{"4", "4 tanks t1-t4 6000 kg", "t1 t2 t3 t4 6000 kg."},
		{"4", "4 tanks", "t1 t2 t3 t4."},
		{"4", "t1 t2 t3 6000 t4 4000", "t1 t2 t3 6000 kg, t4 4000 kg."},
		{"4", "6 t each: t1 to t3", "t1 t2 t3 6000 kg."},
		{"4", "t1..t3 13000 lb", "t1 t2 t3 5897 kg."}, // 13 000 x 0.45359237
		{"4", "t1, t2 and t3: 6.000", "t1 t2 t3 6000 kg."},
		{"4", "pila1 pila2 4,5 t", "pila1 pila2 4500 kg."},
		{"4", "none", "none."},
		{"6", "p1a p1b 80m2; p2 120 m2", "p1a p1b 80 m2, p2 120 m2."},
		{"7", "d1 d2 3500 inlet C, d3 3000 exhaust F", "d1 d2 3500 kg inlet C, d3 3000 kg exhaust F."},
		{"7", "d1 3500 in the coffee", "d1 3500 kg in the coffee."},
		{"7", "pd1 predryer 3000", "pd1 3000 kg."},
		{"8", "s1 s2 20000 kg store st1", "s1 s2 20000 kg, st1."},
		{"9", "yard and store", "yard store-air."},
		{"5", "intake r2 pulper tank channel soak patio",
			"intake pulper tank channel waiting patio (r2 pulper c1 w1)."},
		{"4", "t1 t2 6000 kg under water thermometer, t3 4000 covered no thermometer",
			"t1 t2 6000 kg under water thermometer, t3 4000 kg covered no thermometer."},
		{"4", "2 tanks open", "t1 t2 open."},
		{"4", "pila1 bajo el agua con termometro", "pila1 under water thermometer."},
		{"5", "intake pulper 2,5 t/h tank", "intake pulper tank (r1 pulper) 2.5 t of fruit an hour."},
		{"5", "2000 kg per hour", "2 t of fruit an hour."},
		{"8", "s1 20000, meter m1", "s1 20000 kg, m1."},
		{"10", "basin wet 38kg, debe 13", "basin wet parchment 38 kg, debe 13 kg."},
	} {
		r := bareRig(t)
		r.wants(r.ask(c.number, c.answer), "Understood: "+c.want)
	}
}

func TestSetupSite(t *testing.T) {
	r := bareRig(t) // the clock shows 08:00 in UTC
	for _, c := range []struct{ number, answer, want string }{
		{"1", "en 03:00 0.5", "en, Etc/GMT+5 (03:00), 0.5"},
		{"1", "en 11:02", "en, Etc/GMT-3"},
		{"1", "Addis Ababa", "Africa/Addis_Ababa (11:00)"},
		{"1", "UTC", "UTC (08:00)"},
		{"2", "1.500 m", "1500 m high"},
		{"2", "5000 ft 1.5 N 77 W", "1524 m high, latitude 1.5, longitude -77"}, // 5 000 x 0.3048
		{"3", "18 h", "18 h in warm weeks"},
		{"3", "16-24", "16 h in warm weeks, 24 h in cold weeks"},
		{"11", "10,5 % rest 45 days, sent away", "unload at 10.5 %, prepared here: no, rest_normal 45 d"},
		{"12", "45", "drum_air_wet 45 C, drum_air_dry 45 C"}, // dry never over wet
		{"12", "140 F 122 F", "drum_air_wet 60 C, drum_air_dry 50 C"},
		{"13", "wood, a sack lasts 1.5 h", "burnt: wood, a sack feeds a drum 1.5 h"},
		{"13", "no generator, water 6 to 18",
			"burnt: wood, a sack feeds a drum 1.5 h, generator: no, water 6-18 h"},
		{"13", "husk, water always, permit pH 6-9 and 10 l/kg",
			"burnt: husk, a sack feeds a drum 1.5 h, generator: no, water 0-24 h, " +
				"permit: ph 6-9 and 10 l/kg"},
		{"11", "certified organic fairtrade, owners none",
			"unload at 10.5 %, prepared here: no, certified: organic fairtrade, other owners: none"},
		{"14", "nora worker tanks urgent, luis lead never", "nora worker tanks urgent, luis lead never"},
		{"15", "ambulance 555-0147", "ambulance 555-0147"},
	} {
		r.wants(r.ask(c.number, c.answer), "Understood: "+c.want)
	}
}

// TestSetupBadAnswers: an answer that cannot be right changes nothing, is told with the word that
// was not understood, and gets an example that works.
func TestSetupBadAnswers(t *testing.T) {
	r := bareRig(t)
	before := r.desk.mill.Picture(false)
	for number, answers := range map[string][]string{
		"1": {"Atlantis", "25:61", "klingon"},
		"2": {"9000 m", "4.6", "95 200", "up the hill"},
		"3": {"3 h", "200", "a long time", "24-3"},
		"4": {"t1-t999", "t9-t2", "6000 kg", "t1 99999999", "6 tanks of doom", "1 2 3",
			"t1 6000 bananas", "t1 under", "t1 no"},
		"5":  {"hopscotch", "intake 2", "intake 900 t/h", "0 t/h"},
		"6":  {"p1 5 m2", "many"},
		"7":  {"d1 sideways", "d1 3500 nails"},
		"9":  {"t3x!", "rough"},
		"10": {"basin", "basin 38 hours", "basin 99999 kg", "38 kg", "suelto 219"},
		"11": {"45 %", "rest 900 days", "certified", "owners , here"},
		"12": {"95", "20", "wet dry", "60 50 40"},
		"13": {"bananas", "husk 45 bananas", "water", "water 6", "water 6-30", "permit"},
		"14": {"rosa", "tanks", "ro5a worker", ",,,", "urgent"},
		"15": {"12", strings.Repeat("1", 60)},
	} {
		for _, text := range answers {
			got := r.ask(number, text)
			if strings.Contains(got, "Understood") || !strings.Contains(got, "An answer that works") {
				t.Errorf("setup %s takes %q: %s", number, text, got)
			}
		}
	}
	if after := r.desk.mill.Picture(false); after != before {
		t.Errorf("bad answers changed the mill:\n%s\nwas:\n%s", after, before)
	}
}

// TestSetupExamplesWork: what is shown as an example is understood, in every language.
func TestSetupExamplesWork(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		r := bareRig(t)
		r.say("marta", lang)
		for n, q := range questions() {
			got := r.ask(plainNumber(float64(n+1), 0), r.desk.voice.Say(lang, "setup."+q.name+".eg"))
			if lang == "es" {
				r.wants(got, "Entendido: ")
			} else {
				r.wants(got, "Understood: ")
			}
			if q.name == "clock" {
				r.say("marta", lang)
			}
		}
	}
}

// TestSetupIsOffered: the first keeper of an empty mill is told how to begin.
func TestSetupIsOffered(t *testing.T) {
	r := &rig{t: t, path: filepath.Join(t.TempDir(), "mill.db"), now: rigStart}
	r.open()
	t.Cleanup(func() { r.db.Close() })
	if err := r.desk.Start(r.now); err != nil {
		t.Fatal(err)
	}
	code, err := r.desk.FirstCode(r.now)
	if err != nil {
		t.Fatal(err)
	}
	r.wants(r.say("phone", "join "+code), "A keeper writes:  setup")
	r.wants(r.say("phone", "setup"), "1/15")
	r.wants(r.say("phone", "en Nairobi 0.5"), "2/15")
}

func TestSetupIsTheKeepers(t *testing.T) {
	r := bareRig(t)
	r.wants(r.say("ana", "setup"), "Only a keeper")
	r.say("marta", "setup 4")
	if got := r.say("ana", "t1 t2 6000"); strings.Contains(got, "Understood") {
		t.Errorf("somebody else answered the keeper's set-up: %s", got)
	}
	r.wants(r.say("marta", "t1 t2 6000"), "Understood: t1 t2 6000 kg")
}

// TestSetupIsResumed: a half-finished set-up survives a restart and a long pause.
func TestSetupIsResumed(t *testing.T) {
	r := bareRig(t)
	r.say("marta", "setup")
	r.say("marta", "en")
	r.wants(r.say("marta", "1500 m"), "3/15")
	r.db.Close()
	r.open()
	r.now = r.now.Add(time.Minute)
	if err := r.desk.Start(r.now); err != nil {
		t.Fatal(err)
	}
	r.wants(r.say("marta", "18 h"), "Understood: 18 h", "4/15")
	r.now = r.now.Add(26 * time.Hour)
	r.run()
	if got := r.say("marta", "t1 t2 6000"); strings.Contains(got, "Understood") {
		t.Errorf("a day later a line is still an answer: %s", got)
	}
	r.wants(r.say("marta", "setup"), "4/15")
}

// TestSetupLetsTheFloorThrough: what cannot wait is not taken for an answer.
func TestSetupLetsTheFloorThrough(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.wants(r.say("ana", "t1 rough"), "marta< (1)")
	r.say("marta", "setup 14")
	r.wants(r.say("marta", "ok 1"), "Yours: (1)")
	r.wants(r.say("marta", "d1 smoke"), "d1: SMOKE")
	r.wants(r.say("marta", "t1?"), "t1: lot 1")
	r.wants(r.say("marta", "help"), "Passed to the shift lead now")
	r.wants(r.say("marta", "nora worker tanks"), "Understood: nora worker tanks")
}

// TestSetupShowsLimitsFirst: with coffee in the mill a limit is not changed before anybody has seen
// what it would have rung.
func TestSetupShowsLimitsFirst(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.wants(r.ask("12", "55 45"), "not changed", "limit drum_air_wet 55 / limit drum_air_dry 45")
	if x := r.desk.watch.Book.Limits["drum_air_wet"].Value; x != 60 {
		t.Errorf("the limit is %v", x)
	}
}

// TestSleepersAreAsleep holds the list of sleeping calls to what the rules say of a mill that knows
// nothing and has coffee everywhere: what waits for a setting is listed, what is told is not.
func TestSleepersAreAsleep(t *testing.T) {
	r := bareRig(t)
	for n := range questions() {
		r.ask(plainNumber(float64(n+1), 0), "dont know")
	}
	tr := r.desk.turn(r.now)
	tr.msg, tr.person = &Message{Lang: "en"}, r.desk.mill.Persons()[0]
	listed := map[string]bool{}
	for _, s := range tr.sleepers() {
		for _, c := range s.calls {
			listed[c] = s.why != nobody
		}
	}
	r.say("ana", "t1 add 4200")
	r.say("ana", "d1 load 2800 kg hum 30")
	r.say("ana", "d1 63")
	r.now = r.now.Add(time.Minute)
	settings := map[string]bool{"dial_known": true, "ready_early": true, "spoil_warn": true}
	found := 0
	for _, s := range r.desk.mill.OpenStays() {
		for _, of := range []state.Subject{s.Subject(), {Kind: state.OfPlace, Name: s.Place}} {
			for _, f := range r.desk.watch.Book.Evaluate(r.desk.mill, r.desk.watch.Know, of, r.now) {
				name := tr.callName(f.Rule.Name, "en")
				for _, m := range f.Missing {
					if settings[m] && s.Kind == state.Tank || m == "dial_known" {
						found++
						if !listed[name] {
							t.Errorf("%s waits for %s and is not listed", name, m)
						}
					}
				}
				if f.Is == state.Yes && listed[name] {
					t.Errorf("%s is listed as asleep and rings", name)
				}
			}
		}
	}
	if found < 2 {
		t.Errorf("only %d calls wait for a setting", found)
	}
	if r.desk.watch.Book.Rule("drum-70") == nil || listed[tr.callName("drum-70", "en")] {
		t.Error("70 C is asleep")
	}
}

// TestSetupFileIsTheSame: the keeper's lines of a file make the mill that the conversation makes.
func TestSetupFileIsTheSame(t *testing.T) {
	var made [2]*rig
	for i, name := range []string{"setup-keeper", "setup-full"} {
		text, err := os.ReadFile("../testdata/mills/" + name + ".chat")
		if err != nil {
			t.Fatal(err)
		}
		r := &rig{t: t, path: filepath.Join(t.TempDir(), "mill.db"), now: rigStart}
		r.open()
		t.Cleanup(func() { r.db.Close() })
		if err := r.desk.Start(r.now); err != nil {
			t.Fatal(err)
		}
		if err := r.desk.Setup(string(text), r.now); err != nil {
			t.Fatal(err)
		}
		made[i] = r
	}
	for _, line := range []string{"setup", "Bogota 0,5 es", "1500 m 4.6 -75.6",
		"frio 24 caliente 16", "t1-t3 6.000 kg abiertas con termometro t4 4500 bajo agua",
		"recibo despulpadora 2 t/h pila canal patio secadora silo", "p1-p3 120 m2",
		"d1 d2 3500 entrada C, d3 3000 salida F", "s1 s2 20000 kg, medidor m1", "afuera bodega",
		"canasto humedo 38 kg, lata cereza 13", "10,5 % aqui, certificado organico, duenos ninguno",
		"60 50", "cascarilla 45 min, sin planta, agua 6-18, permiso ph 6-9",
		"rosa obrera pilas urgente, luis jefe secadoras, nico velador", "ambulancia 123"} {
		made[0].say("marta", line)
	}
	made[1].say("marta", "es")
	a, b := made[0].desk.mill.Picture(false), made[1].desk.mill.Picture(false)
	if a != b {
		t.Errorf("by conversation:\n%s\nby file:\n%s", a, b)
	}
	if n := len(made[0].desk.mill.Places()); n != 18 {
		t.Errorf("%d places", n)
	}
}

// rigStart is when the mills of these tests begin.
var rigStart = state.At(time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC))

func TestFigures(t *testing.T) {
	for text, want := range map[string]float64{"6.000": 6000, "6,000": 6000, "18,5": 18.5,
		"0,5": 0.5, "0.500": 0.5, "4200": 4200, "-75.6": -75.6, "12.5": 12.5} {
		if got, ok := figureOf(text); !ok || got != want {
			t.Errorf("%s is read as %v %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "t1", "1-4", "1.2.3", "-", "1e9", "٣"} {
		if got, ok := figureOf(text); ok {
			t.Errorf("%q is read as %v", text, got)
		}
	}
}

// TestSetupTakesNoFloorLines feeds every line of the floor tables to every question: nothing
// panics, each is either understood or has a word that was not, and hardly any is mistaken for an
// answer. (The first column that holds the line is the third, or the second in the yardstick.)
func TestSetupTakesNoFloorLines(t *testing.T) {
	files, err := filepath.Glob("../testdata/floor/*.tsv")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d tables, %v", len(files), err)
	}
	var lines []string
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range strings.Split(string(text), "\n") {
			if c := strings.Split(row, "\t"); len(c) > 5 && c[0] != "lang" {
				lines = append(lines, c[3])
			} else if len(c) == 5 {
				lines = append(lines, c[1])
			}
		}
	}
	r := newRig(t)
	if err := r.desk.Setup(strings.TrimSuffix(tryMill, "person boss manager keeper en\n"),
		r.now); err != nil {
		t.Fatal(err)
	}
	taken := 0
	for _, line := range lines {
		for _, q := range questions() {
			tr := r.desk.turn(r.now.Add(time.Second))
			tr.msg, tr.person = &Message{Lang: "en", At: tr.at, Text: line}, r.desk.mill.Persons()[0]
			said, wrong := q.take(tr, tr.answerOf(line))
			if (said == "") == (wrong == "") {
				t.Fatalf("%s: %q gives %q and %q", q.name, line, said, wrong)
			}
			if wrong == "" {
				taken++
			}
		}
	}
	t.Logf("%d of %d lines are taken by one of %d questions", taken, len(lines), len(questions()))
	if most := len(lines) * len(questions()) / 100; taken > most/2 || len(lines) < 800 {
		t.Errorf("%d of %d lines are taken for answers, more than %d", taken, len(lines), most/2)
	}
}
