package bot

import (
	"strings"
	"testing"

	"lotbell/bot/words"
	"lotbell/state"
)

// wordsOf are the embedded words.
func wordsOf(t testing.TB) *words.Words {
	t.Helper()
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// reads tries lines given as "lang|post|context|text" against the outcome and facts they must
// give, as heardText writes them. A want is a list of pieces that must stand in it in this order;
// a piece that begins with "no " must not.
func reads(t *testing.T, lines [][2]string) {
	t.Helper()
	w := wordsOf(t)
	for _, l := range lines {
		p := strings.SplitN(l[0], "|", 4)
		c := floorContext(floorLine{lang: p[0], post: p[1], context: p[2], raw: p[3]})
		got := heardText(Read(p[3], c, w))
		rest := got
		for _, piece := range strings.Split(l[1], "; ") {
			if not, ok := strings.CutPrefix(piece, "no "); ok {
				if strings.Contains(got, not) {
					t.Errorf("%q: %s\n  has %q", l[0], got, not)
				}
				continue
			}
			i := strings.Index(rest, piece)
			if i < 0 {
				t.Errorf("%q: %s\n  lacks %q", l[0], got, piece)
				break
			}
			rest = rest[i+len(piece):]
		}
	}
}

// TestStrictForms: the forms of the manual are understood as they stand there.
func TestStrictForms(t *testing.T) {
	reads(t, [][2]string{
		{"en|tanks|empty=t3|t3 add 4200", "taken; [t3 add=4200kg]"},
		{"en|tanks|empty=t3|t3 full 4200", "taken; [t3 add=4200kg] [t3 full]"},
		{"en|tanks|holds=t3|t3 top 21,5 mid 23 ph 4.9",
			"taken; [t3 mass_c=21.5C top] [t3 mass_c=23C middle] [t3 ph=4.9pH]"},
		{"en|tanks|holds=t3|t3 slippery", "taken; [t3 slippery]"},
		{"en|tanks|holds=t3|t3 wash?", "passed-on; [t3 wash-asked]"},
		{"en|tanks|holds=t3|t3 wash", "passed-on; [t3 wash-asked]"},
		{"en|manager|holds=t3|t3 wash", "taken; [t3 wash-ordered]"},
		{"en|tanks|holds=t3; now=06:00|t3 washed 0510", "taken; [t3 wash @12 05:10]"},
		{"en|tanks|holds=t3; now=06:00|t3 wash 0510", "taken; [t3 wash @12 05:10]"},
		{"en|tanks|holds=t3; now=06:00|t3 washed 20 min ago", "taken; [t3 wash @12 05:40]"},
		{"en|tanks|holds=t3; now=00:20|t3 washed yesterday 2350", "taken; [t3 wash @11 23:50]"},
		{"en|drums|empty=d1|d1 load p1 p3 2800kg hum 34",
			"taken; [d1 load=2800kg p1+p3] [d1 hum_pct=34%]"},
		{"en|drums|holds=d1|d1 57", "said-back; [d1 air_c=57C ?what]"},
		{"en|drums|holds=d1|d1 13,2", "said-back; [d1 hum_pct=13.2% ?what]"},
		{"en|drums|holds=d1|d1 fire out", "taken; [d1 fire-out]"},
		{"en|drums|holds=d1|d1 unload 10,6 2010kg", "taken; [d1 unload=2010kg] [d1 hum_pct=10.6%]"},
		{"en|manager|holds=d1|d1 unload", "said-back; [d1 unload-ordered"},
		{"en|patio||rain", "taken; [mill rain-start urgent]"},
		{"en|tanks||power out", "taken; [mill power-out urgent]"},
		{"en|tanks||water out", "taken; [mill water-out urgent]"},
		{"en|tanks|holds=t3|t3?", "taken; [t3 how]"},
		{"en|tanks|holds=t3|why t3", "taken; [t3 why]"},
		{"en|tanks||due", "taken; [ due]"},
		{"en|drums|call=14|later 14 20m", "taken; [ later=14 20 min]"},
		{"en|drums||undo", "asked ask=undo?; [ undo]"},
		{"en|drums||shift out", "taken; [ shift-out]"},
		{"en|drums||es", "taken; [ lang es]"},
		{"en|tanks||words", "taken; [ words]"},
	})
}

// TestTraps: lines that say something else than they seem to.
func TestTraps(t *testing.T) {
	reads(t, [][2]string{
		{"es|tanks|holds=t3|t3 ya no resbala", "taken; [t3 rough]"},
		{"es|tanks|holds=t3|t3 casi no resbala", "said-back; [t3 slippery"},
		{"es|tanks|holds=t3|t3 mas o menos aspera", "asked ask=hand?"},
		{"es|tanks|holds=t3|t3 aspera arriba babosa abajo", "asked ask=hand?"},
		{"en|tanks|holds=t3|t3 no slime now", "taken; [t3 rough]"},
		{"en|tanks|holds=t3|slime not gone t3", "[t3 slippery"},
		{"en|tanks|holds=t3|t3 rub no", "asked ask=hand?"},
		{"en|tanks|holds=t3|t3 resbala no", "asked ask=hand?"},
		{"es|tanks|holds=t2|si t2 esta aspera lavela", "asked ask=sure?"},
		{"es|tanks|holds=t2|cuando este aspera la 2 la lavo", "asked ask=sure?"},
		{"en|tanks|holds=t1|t1 should be rough by now", "asked ask=sure?"},
		{"en|tanks|holds=t1|t3 can be washed", "passed-on; [t3 wash-asked]; no [t3 wash]"},
		{"en|drums|holds=d1|d1 temp drop to 41", "taken; [d1 air_c=41C]; no unload"},
		{"es|drums|holds=d1|d1 bajo de 14 a 12,5", "[d1 hum_pct=12.5%; no unload"},
		{"es|drums|holds=d1|baje la d1 a 55", "[d1 air_c=55C; no unload"},
		{"es|drums|holds=d1|le baje al fuego de la d1", "asked; no unload"},
		{"es|drums|holds=d1|le puse leña a la d1", "asked; no load"},
		{"es|drums|holds=d1|d1 no la e bajado", "[d1 not unload ?what]"},
		{"en|patio||covered p1 p2 not p3", "[p1 covered] [p2 covered] [p3 uncovered urgent"},
		{"en|patio|holds=p1,p2,p3|turned all but p2", "[p1 turned; [p3 turned; [p2 not turned"},
		{"pt|patio||cobri p2 e p3 p4 molhou", "[p2 covered] [p3 covered] [p4 rewetted urgent]"},
		{"es|tanks|empty=t3|t3 4.200", "said-back; [t3 add=4200kg"},
		{"es|channel||c1 1a 4.200 2a 380", "[c1 class=4200kg 1; [c1 class=380kg 2"},
		{"en|drums|holds=d1; now=20:40|d1 unload 10,6 2010", "asked ask=time?; room=[kg 20:10]"},
		{"en|drums|holds=d1; now=10:00|d1 unload 10,6 2010", "said-back; [d1 unload=2010kg ?mass]"},
		{"en|drums|holds=d1|d1 40", "asked ask=what? about=\"40\"; room=[air_c hum_pct]"},
		{"en|drums|holds=d1|d1 7O", "[d1 air_c=70C urgent"},
		{"es|drums|holds=d1|d1 hum 34", "taken; [d1 hum_pct=34%]"},
		{"es|drums|holds=d1|d1 humo 34", "asked ask=what?; room=[hum_pct smoke]"},
		{"es|drums|holds=d1|d1 humo adentro", "taken; [d1 smoke urgent]"},
		{"en|channel||c1 p1 14 p2 5", "asked ask=class?"},
		{"es|tanks|holds=t4|t4 lavo mañana", "asked ask=sure?"},
		{"es|tanks|holds=t4; now=14:00|t4 lavado en la mañana", "[t4 wash @12 08:00 ?time]"},
		{"es|tanks|holds=t2|t2 veintiuno y medio", "[t2 mass_c=21.5C"},
		{"en|drums|holds=d1|d1 ten point six", "[d1 hum_pct=10.6%"},
		{"pt|drums|holds=d1|d1 sete meia", "[d1 air_c=76C urgent"},
		{"es|drums|holds=d2; now=01:30|d2 se apago a las 2", "[d2 fire-out @11 14:00 ?time]"},
		{"es|drums|holds=d2; now=14:30|d2 se apago a las 2", "[d2 fire-out @12 14:00 ?time]"},
		{"es|tanks|holds=t4|t4 lavado a las 4 en punto", "[t4 wash @12 04:00; no rough"},
		{"en|tanks|holds=t2|let the water out of t2", "no water-out"},
		{"en|tanks|holds=t2|t2 full of foam", "[t2 foam]; no full"},
		{"es|patio||no ay patio", "[ wants-room patio]"},
	})
}

// TestImpossible: a figure that cannot be true is refused with what it was likely meant for.
func TestImpossible(t *testing.T) {
	reads(t, [][2]string{
		{"en|drums|holds=d1|d1 580", "refused ask=figure? about=\"580\" near=\"58.0\"; [d1 air_c=58C"},
		{"en|drums|holds=d1; dial=C|d1 130", "refused ask=figure?; near=\"13.0\""},
		{"en|drums|holds=d1; dial=|d1 130", "asked ask=dial?; [d1 air_c=54.4C 130 F"},
		{"en|drums|holds=d1; dial=F|d1 130", "said-back; [d1 air_c=54.4C 130 F"},
		{"en|drums|holds=d1|d1 130F", "taken; [d1 air_c=54.4C 130 F]"},
		{"en|tanks|holds=t2|t2 ph 48", "refused; near=\"4.8\"; [t2 ph=4.8pH]"},
		{"en|silo|holds=s2|s2 aw 58", "refused; near=\"0.58\""},
		{"en|tanks|empty=t3|t3 42000", "refused; near=\"4200\""},
		{"en|tanks|holds=t2|t2 72", "asked ask=dial?; [t2 mass_c=22.2C 72 F"},
		{"en|drums|asked=d1.hum; holds=d1|132", "refused; near=\"13.2\"; [d1 hum_pct=13.2%]"},
	})
}

// TestNearMiss: an unknown place or a mistyped word offers the nearest.
func TestNearMiss(t *testing.T) {
	reads(t, [][2]string{
		{"en|tanks|holds=t3|t33 rough", "asked ask=near? about=\"t33\" near=\"t3\"; [t3 rough"},
		{"en|tanks|holds=t3|t3 slippary", "asked ask=near? about=\"slippary\" near=\"slippery\""},
		{"en|drums|holds=d1|d1 moisutre 13.2", "said-back ask=near?; [d1 hum_pct=13.2%"},
		{"en|drums|holds=d1|d1 is done cooking", "no help"},
		{"en|patio|holds=p2|bed 2 cracking", "asked ask=near?; near=\"p2\""},
	})
}

// TestPlaceNotSaid: a place that was not said is the only one it can be, and said back, or asked.
func TestPlaceNotSaid(t *testing.T) {
	reads(t, [][2]string{
		{"en|drums|holds=d1,d2|13,2", "asked ask=which-place; room=[d1 d2]"},
		{"en|drums|holds=d2|13,2", "said-back; [d2 hum_pct=13.2%; ?place"},
		{"en|tanks|holds=t1,t2|no slime now", "asked ask=which-place; [ rough]"},
		{"en|tanks|holds=t2|no slime now", "said-back; [t2 rough ?place]"},
		{"en|patio|holds=p2,p3|turned everything", "said-back; [p2 turned; [p3 turned"},
		{"en|tanks|holds=t1,t2|moved 400", "asked"},
		{"es|drums|holds=d1|la uno 57", "said-back; [d1 air_c=57C; ?place"},
		{"en|patio||turned 1 2 4", "[p1 turned; [p2 turned; [p4 turned"},
		{"es|drums||1 57 2 54", "[d1 air_c=57C; [d2 air_c=54C"},
		{"en|patio||p1 p2 p3 12 13 14", "[p1 hum_pct=12%; [p2 hum_pct=13%; [p3 hum_pct=14%"},
	})
}

// TestMass: capacity and what a tank holds make a doubt or a question, never a refusal.
func TestMass(t *testing.T) {
	reads(t, [][2]string{
		{"en|tanks|empty=t3|t3 add 9000", "said-back; [t3 add=9000kg ?mass]"},
		{"en|tanks|holds=t3|t3 4200", "asked ask=more?; [t3 add=4200kg"},
		{"en|tanks|holds=t3|t3 800 more", "[t3 add=800kg"},
		{"es|tanks|holds=t6|t6 entro 30 cajuelas", "said-back; [t6 add=375kg 30 cajuela ?mass]"},
		{"en|tanks|holds=t6|t6 add 12 debes", "said-back ask=measure?; [t6 add=12debe"},
		{"es|intake||r1 12 fanegas 3 cajuelas", "[r1 receipt=3037.5kg 243 cajuela"},
		{"es|intake||35 sacos bruto 2135 tara 2", "[r1 receipt=2065kg"},
		{"en|intake||r1 1850 lbs", "[r1 receipt=839.1kg 1850 lb"},
		{"en|intake||30 bags of 50 kg", "[r1 receipt=1500kg"},
		{"en|drums|empty=d1|d1 load p1 2 t", "[d1 load=2000kg; p1"},
	})
}

// TestPeopleFirst: help comes before everything, and unsafe wishes are refused at once.
func TestPeopleFirst(t *testing.T) {
	reads(t, [][2]string{
		{"en|tanks|holds=t2|t2 rough and ayuda", "taken; [mill help urgent] [t2 rough]"},
		{"en|tanks|holds=t2|the man washing t1 fell down", "[mill help urgent]; no wash"},
		{"en|tanks||" + strings.Repeat("so much to tell ", 100) + "help", "[mill help urgent]"},
		{"pt|drums||secador dois ta pegando fogo", "[mill help urgent"},
		{"en|silo|holds=s3|can i climb into s3", "refused; [s3 unsafe enter urgent]"},
		{"es|silo|holds=s3|me meto al s3 a destapar?", "refused; [s3 unsafe enter urgent]"},
		{"es|drums|holds=d1|meto la mano para ver?", "refused; unsafe reach urgent]"},
		{"es|drums|holds=d1|abro la d1 andando?", "refused; [d1 unsafe open urgent]"},
		{"en|drums|holds=d1|put water on the furnace of d1", "refused; [d1 unsafe douse urgent]"},
		{"es|silo|holds=s2|le pongo pastilla a la s2?", "refused; [s2 unsafe fumigate urgent]"},
		{"en|tanks|holds=t6|enter 30 debes t6", "no unsafe"},
		{"es|silo|holds=s4|s4 caliente meti la mano", "[s4 warm urgent]; no unsafe"},
		{"en|drums||how much am i owed", "refused ask=not-kept"},
	})
}

// TestCalls: a call is never taken by a guess.
func TestCalls(t *testing.T) {
	reads(t, [][2]string{
		{"en|drums|call=14|ok", "taken; [ ok=14]"},
		{"en|drums|call=14|on my way", "said-back; [ ok=14 ?what]"},
		{"en|drums|call=14|👍", "said-back; [ ok=14 ?what]"},
		{"en|drums|call=14|💀", "asked ask=done?"},
		{"en|drums|call=14,15|ok", "asked ask=which-call; room=[14 15]"},
		{"en|drums|call=14,15|ok 15", "taken; [ ok=15]"},
		{"en|drums|call=14,15|ok 16", "asked ask=which-call about=\"16\""},
		{"en|drums||ok", "asked ask=which-call"},
		{"en|drums|call=14|not ok", "asked; no ok=14"},
		{"en|drums|call=14|ok but later", "said-back; [ later=14"},
		{"en|drums|call=14|done", "asked ask=done?; room=[14]"},
		{"en|drums|call=14|14 done", "asked ask=done? about=\"14\""},
		{"es|drums|call=14|que vaya otro", "[ later=14 other]"},
		{"en|drums|holds=d1; call=14|ok d1 57", "[d1 air_c=57C; no ok="},
		{"en|drums|call=14|yes", "asked ask=say-again?"},
	})
}

// TestAnswers: a line that answers the last question, and one that does not.
func TestAnswers(t *testing.T) {
	reads(t, [][2]string{
		{"en|drums|asked=d1.hum; holds=d1,d2|13,2", "taken; [d1 hum_pct=13.2%]"},
		{"en|drums|asked=d1.hum; holds=d1,d2|d2 13,2", "said-back; [d2 hum_pct=13.2%"},
		{"en|drums|asked=d1.hum; holds=d1|56", "said-back; [d1 air_c=56C"},
		{"en|drums|asked=d1.hum; holds=d1|no idea", "taken; [d1 unknown]"},
		{"en|drums|asked=d1.hum; holds=d1|yes", "asked"},
		{"en|drums|asked=d1.dial; holds=d1|F", "taken; [d1 air_c=57.2; no ?"},
		{"en|drums|asked=d1.dial; holds=d1|C", "refused"},
		{"en|tanks|asked=t1.hand; holds=t1|yes", "asked ask=hand?"},
		{"en|tanks|asked=t1.hand; holds=t1|rough", "taken; [t1 rough]"},
		{"en|tanks|asked=t1.hand; holds=t1|not yet", "said-back; [t1 slippery"},
		{"en|manager|asked=t4.wash; holds=t4|go ahead", "taken; [t4 yes]"},
		{"en|intake|asked=r1.supplier|hill people", "taken; [r1 supplier hill people]"},
		{"en|tanks||no, 480", "said-back; [ correct=480"},
		{"es|tanks||era t4 no t3", "said-back; [t4 correct"},
	})
}

// answers gives a question to a line whose facts wait for it.
func TestAnswerFillsWaitingFacts(t *testing.T) {
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	wait := []Fact{{Place: "t3", What: state.ActAdd, Unit: "kg"}, {Place: "t3", What: state.Full}}
	for _, x := range []struct {
		asked Asked
		line  string
		want  string
	}{
		{Asked{Place: "t3", What: AskKg, Facts: wait}, "4.200", "[t3 add=4200kg] [t3 full]"},
		{Asked{Place: "t3", What: AskPlace, Facts: []Fact{{What: state.Rough}}}, "t5", "[t5 rough]"},
		{Asked{Place: "t3", What: AskPlace, Facts: []Fact{{What: state.Rough}}}, "5", "[t5 rough]"},
		{Asked{Place: "d1", What: AskWhat, Facts: []Fact{
			{Place: "d1", What: state.AirC, Value: 40, Has: true},
			{Place: "d1", What: state.Moisture, Value: 40, Has: true}}}, "hum", "[d1 hum_pct=40]"},
		{Asked{Place: "d1", What: Confirm, Facts: []Fact{
			{Place: "d1", What: state.AirC, Value: 58, Has: true}}}, "61", "[d1 air_c=61C]"},
		{Asked{What: AskCall}, "9", "[ ok=9]"},
	} {
		c := floorContext(floorLine{lang: "en", post: "tanks", context: "holds=t3,d1; call=3,9"})
		c.Asked = &x.asked
		if got := heardText(Read(x.line, c, w)); !strings.Contains(got, x.want) {
			t.Errorf("%q to %s: %s, want %s", x.line, x.asked.What, got, x.want)
		}
	}
}

// TestNothing: what says nothing is asked about, whatever it is made of.
func TestNothing(t *testing.T) {
	for _, line := range []string{"", " ", "....", "你好", "مرحبا كيف الحال", "asdfgh", "\x00\x01",
		strings.Repeat("la la la ", 400), strings.Repeat("t3 rough\n", 40), "?"} {
		reads(t, [][2]string{{"en|tanks|holds=t1,t3|" + line, "asked"}})
	}
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	h := Read("t3 rough 21,5 and d1 57", Context{}, w)
	for _, f := range h.Facts {
		if f.Place != "" && f.Place != state.Whole {
			t.Errorf("a mill without places: %s", heardText(h))
		}
	}
}

// TestManyLines: several lines are several facts; a line without a place goes on with the one
// before.
func TestManyLines(t *testing.T) {
	reads(t, [][2]string{
		{"en|tanks|holds=t1,t2|t1 21\nt2 rough; t2 22,5",
			"[t1 mass_c=21C; [t2 rough]; [t2 mass_c=22.5C"},
		{"en|tanks|holds=t1,t2|t1 ph 4,4\nno slime now", "[t1 ph=4.4pH] [t1 rough"},
		{"es|drums|holds=d1,d2|d1 57 d2 13,2 fuego bajo", "[d1 air_c=57C; [d2 fire-low; [d2 hum_pct=13.2%"},
	})
}
