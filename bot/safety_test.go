package bot

import (
	"strings"
	"testing"
	"time"

	"lotbell/rules"
)

func TestDanger(t *testing.T) {
	s, err := readSafety()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ lang, text, want string }{
		{"en", "Climb into the tank and look.", "climb into"},
		{"en", "Do not climb into the tank.", ""},
		{"en", "Stay out. Then go in quickly.", "go in"}, // the "do not" of another sentence
		{"en", "Take off the guard, then pull.", "take off the guard"},
		{"en", "Pour water on the furnace!", "pour water"},
		{"en", "Nobody pours water; open the drum.", "open the drum"},
		{"en", "Centre it; the fruit entered well.", ""}, // "enter" within other words
		{"es", "Métase a la pila y mire.", "metase"},
		{"es", "No se meta: nadie entra a la pila.", ""},
		{"es", "Eche agua al horno.", "eche agua"},
		{"es", "Abra la secadora con cuidado", "abra la secadora"},
		{"es", "Entró café a la pila.", ""},
	} {
		if got := s.danger(c.lang, c.text); got != c.want {
			t.Errorf("%q (%s) is %q, want %q", c.text, c.lang, got, c.want)
		}
	}
}

// safetyRig is the rig's mill with somebody at the post safety.
func safetyRig(t testing.TB) *rig {
	r := newRig(t)
	if err := r.desk.Setup("person nora worker safety en", r.now); err != nil {
		t.Fatal(err)
	}
	r.sent()
	return r
}

// TestOnlySafetyWritesCautions: not the keeper, not the manager; and it is undone as it was done.
func TestOnlySafetyWritesCautions(t *testing.T) {
	r := safetyRig(t)
	const own = "Stop it, pull the red switch, hang your tag on it. Then call Pedro."
	r.wants(r.say("marta", "safety stopped en "+own), "Only the post safety writes")
	r.wants(r.say("nora", "safety stopped en "+own), "nora< Caution stopped (en) from now on:", own,
		"It was: Stop, cut the power", "marta< nora changed the caution stopped")
	r.say("marta", "place m1 pulper")
	r.wants(r.say("ana", "m1 stopped"), own)
	r.restart()
	r.wants(r.say("luis", "safety stopped"), own)
	r.wants(r.say("nora", "safety stopped en default"), "Nobody clears it running")
	r.wants(r.say("ana", "safety"), "stay-out", "stopped-drum")
}

func TestSafetyBadInput(t *testing.T) {
	r := safetyRig(t)
	before := r.picture()
	for line, want := range map[string]string{
		"safety nonsense": "No caution is called nonsense",
		"safety stopped xx Stop and call the mechanic":                        "I do not speak xx",
		"safety stopped en":                                                   "Something is missing",
		"safety stopped en off":                                               "Something is missing",
		"safety stopped en " + strings.Repeat("stop ", 40):                    "160 fit a plain message",
		"safety stopped en Reach into it and pull the skin out by hand, fast": "reach into",
		"safety smoke en Everybody go in and look what it is, then come out":  "go in",
	} {
		r.wants(r.say("nora", line), want)
	}
	if r.picture() != before {
		t.Errorf("bad lines changed the mill:\n%s\nwas:\n%s", r.picture(), before)
	}
}

// TestNoRuleSwitchesCautionsOff: with a book that has no rule at all the cautions are said.
func TestNoRuleSwitchesCautionsOff(t *testing.T) {
	script := "mill testdata/mills/small.chat\nmill testdata/mills/badday-crew.chat\n" +
		"@ 2026-01-12 10:00\nluis> d1 smoke\nana> may i climb into t1\nluis> help\n"
	run, err := Play(script, Beside("../testdata/chats"), "language = 1\n", nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Everybody out of the smoke", "NO, do not: stay out",
		"Passed to the manager and the watchman now"} {
		if !strings.Contains(run.Text, want) {
			t.Errorf("no %q:\n%s", want, run.Text)
		}
	}
}

// TestCautionsAreSaidOnce: at the act; the everyday ones once a shift, the pressing ones each time.
func TestCautionsAreSaidOnce(t *testing.T) {
	r := newRig(t)
	const ash, lamp = "Hot ash goes into a metal bin", "Lamp and boots"
	r.wants(r.say("luis", "d1 fire lit"), "La ceniza caliente")
	r.say("luis", "en")
	r.wait(time.Hour)
	r.say("luis", "d1 fire out")
	if got := r.say("luis", "d1 fire lit"); strings.Contains(got, ash) {
		t.Errorf("said twice within a shift: %s", got)
	}
	r.wants(r.say("ana", "d1 fire lit 1 min ago"), ash) // somebody else
	r.wait(13 * time.Hour)
	r.wants(r.say("luis", "d1 fire lit"), ash)
	r.wants(r.say("luis", "d1 stopped"), "Fire first")
	r.wait(time.Hour)
	r.wants(r.say("luis", "d1 stopped"), "Fire first")
	r.wait(13 * time.Hour) // noon
	r.wants(r.say("ana", "p1 turned"), "Water and shade")
	if got := r.say("ana", "t1 add 4000"); strings.Contains(got, lamp) {
		t.Errorf("a load at day is cautioned: %s", got)
	}
}

// TestNightWalk: a hand test that is called at night carries the caution for the way, once.
func TestNightWalk(t *testing.T) {
	r := newRig(t)
	r.say("marta", "set usual_h 20")
	r.say("ana", "t1 add 4000") // 08:00: first test 15 h later, at 23:00
	got := r.wait(16 * time.Hour)
	if n := strings.Count(got, "Lamp and boots"); n != 1 {
		t.Errorf("the caution of the night is said %d times:\n%s", n, got)
	}
}

// TestDangerousBookIsNotAdopted: a rule that sends somebody into a tank does not come into force.
func TestDangerousBookIsNotAdopted(t *testing.T) {
	s, err := readSafety()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(rules.DefaultText(),
		`say.en = "{place}: wash it now, from outside, with the valve.`,
		`say.en = "{place}: climb in and wash it now.`, 1)
	b, err := rules.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if rule, w := s.dangerIn(b); rule != "wash-order" || w != "climb in" {
		t.Errorf("the rule found is %q, for %q", rule, w)
	}
	r := newRig(t)
	tr := r.desk.turn(r.now.Add(time.Second))
	tr.msg, tr.person = &Message{Lang: "en", At: tr.at}, r.desk.mill.Persons()[0]
	tr.adopt(text, "")
	_, version := r.desk.mill.Book()
	if said := strings.Join(tr.lines, " "); version != 1 || !strings.Contains(said, "climb in") {
		t.Errorf("book %d, answered %v", version, tr.lines)
	}
}
