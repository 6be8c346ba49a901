package bot

import "testing"

// TestGone: what was seen wrong and is gone again is clear, in whatever order and language; a drum
// that does not get warm is no such thing.
func TestGone(t *testing.T) {
	reads(t, [][2]string{
		{"en|drums|holds=d1|d1 no smoke now", "taken; [d1 clear smoke]"},
		{"es|drums|holds=d1|d1 ya no hay humo", "taken; [d1 clear smoke]"},
		{"es|drums|holds=d1|se fue el humo en d1", "taken; [d1 clear smoke]"},
		{"en|drums|holds=d1|smoke is gone d1", "taken; [d1 clear smoke]"},
		{"es|tanks|holds=t1|t1 ya no huele", "taken; [t1 clear smell]"},
		{"es|patio|holds=p1|p1 sin moho", "taken; [p1 clear mould]"},
		{"es|silo|holds=s1|s1 ya no está caliente", "taken; [s1 clear warm]"},
		{"es|drums|holds=d1|d1 no calienta", "asked; no clear"},
		{"es|drums|holds=d1|casi no hay humo en d1", "asked"},
		{"en|drums|holds=d1|d1 smoke", "taken; [d1 smoke urgent]; no clear"},
	})
}

// TestClassOfAMove: one class beside a move is the part of the coffee that is moved; several are a
// split, with its wash when that is told in the same line.
func TestClassOfAMove(t *testing.T) {
	reads(t, [][2]string{
		{"es|patio|holds=c1|p1 tendido 2600kg primera de c1", "taken; [p1 spread=2600kg 1 c1]"},
		{"es|patio|holds=c1|p1 2600kg primera de c1", "said-back; [p1 spread=2600kg 1 c1"},
		{"en|patio|holds=c1|p2 spread second from c1", "taken; [p2 spread 2 c1]"},
		{"en|drums|holds=p1|d1 load 1st 2000 kg from p1", "[d1 load=2000kg 1 p1]"},
		{"es|tanks|holds=t1|t1 lavada primera 2600 segunda 900",
			"[t1 wash c1]; [c1 class=2600kg 1 t1; [c1 class=900kg 2 t1; no ?place"},
		{"es|tanks|holds=t1|t1 primera 2600 segunda 900", "[c1 class=2600kg 1 t1; no wash"},
	})
}

// TestWhereItIsNotSaid: a bare figure is asked for its place and read again with it; coffee put in
// water is what waits, once something waits.
func TestWhereItIsNotSaid(t *testing.T) {
	reads(t, [][2]string{
		{"en|drums|holds=d1,d2|57", "asked ask=which-place about=\"57\"; room=[d1 d2]"},
		{"en|drums|line=57|d2", "said-back; [d2 air_c=57C ?what]"},
		{"en|drums|line=13,2|2", "said-back; [d2 hum_pct=13.2% ?what]"},
		{"es|tanks|waiting=yes|en remojo", "said-back; [floor soak-start ?place]"},
		{"es|tanks|waiting=yes; holds=t2|en remojo", "said-back; [floor soak-start ?place]"},
		{"es|tanks|waiting=yes; holds=t2|t2 en remojo", "[t2 soak-start"},
		{"es|tanks|empty=t2|en remojo", "asked ask=which-place"},
	})
}

// TestStrictVerbs: the bare verbs that calls print are something done, beside what only the past
// knows: kilograms out of a drum, both ends of a store. Without those they are wishes.
func TestStrictVerbs(t *testing.T) {
	reads(t, [][2]string{
		{"es|drums|holds=d1|d1 bajar 10,5 2010kg", "taken; [d1 unload=2010kg] [d1 hum_pct=10.5%]"},
		{"es|drums|holds=d1|d1 bajar", "passed-on; [d1 unload-asked"},
		{"es|manager|holds=d1|d1 bajar", "[d1 unload-ordered]"},
		{"es|silo|holds=d1|s1 guardar d1", "[s1 store d1"},
		{"en|silo|holds=d1|s1 store d1", "[s1 store d1"},
		{"es|silo|holds=d1|guarden en s1", "passed-on; [s1 asks store]"},
		{"en|silo|holds=d1|s1 from d1", "said-back; [d1 unload s1"},
		{"es|drums|holds=d1|d1 bajar 10,5 2010kg?", "no [d1 unload="},
	})
}

// TestHoursAnswered: an hour that was asked for is given to the facts that waited for it, or to the
// last line; a figure that turned out to be the hour is no weight any more.
func TestHoursAnswered(t *testing.T) {
	c := floorContext(floorLine{lang: "en", post: "tanks", context: "holds=t3; now=20:15"})
	wash := []Fact{{Place: "t3", What: "wash"}}
	out := []Fact{{Place: "d1", What: "unload", Value: 2010, Has: true, Unit: "kg"}}
	for _, x := range []struct {
		facts []Fact
		text  string
		want  string
	}{
		{wash, "0510", "asked ask=time?"}, // 15 hours ago: of today?
		{wash, "1810", "taken ask= about=\"\" near=\"\" room=[]: [t3 wash @12 18:10]"},
		{wash, "20 min ago", "taken ask= about=\"\" near=\"\" room=[]: [t3 wash @12 19:55]"},
		{out, "2010", "taken ask= about=\"\" near=\"\" room=[]: [d1 unload @12 20:10]"},
		{out, "kg", "taken ask= about=\"\" near=\"\" room=[]: [d1 unload=2010kg]"},
		{nil, "at 7 pm", "taken ask= about=\"\" near=\"\" room=[]: [t3 correct @12 19:00]"},
	} {
		c.Asked = &Asked{Place: "t3", What: AskTime, Facts: x.facts}
		if got := heardText(Read(x.text, c, wordsOf(t))); got[:min(len(got), len(x.want))] != x.want {
			t.Errorf("%q: %s\n  want %s", x.text, got, x.want)
		}
	}
}

// TestShortWords: a language by its two letters, the mill, a reason asked for behind the place.
func TestShortWords(t *testing.T) {
	reads(t, [][2]string{
		{"es|tanks||en", "taken; [ lang en]"},
		{"en|tanks||es", "taken; [ lang es]"},
		{"es|tanks||beneficio?", "taken; [ slate]"},
		{"en|tanks||mill?", "taken; [ slate]"},
		{"en|tanks|holds=t2|t2 why", "taken; [t2 why]"},
		{"en|tanks|holds=t2|t2 why?", "taken; [t2 why]"},
		{"es|tanks|holds=t2|en t2", "no lang"},
	})
}

// TestWhoIsAbsent: the person that the line names is meant, and never the sender in their place.
func TestWhoIsAbsent(t *testing.T) {
	reads(t, [][2]string{
		{"es|tanks|people=luis|no vengo hoy", "taken; [ shift-out absent urgent]"},
		{"es|tanks|people=luis|luis está enfermo", "taken; [ shift-out absent luis urgent]"},
		{"es|tanks|people=luis|luis no viene hoy", "[ shift-out absent luis; no receipt"},
		{"en|tanks|people=luis|luis is sick", "[ shift-out absent luis"},
		{"en|tanks|people=luis|paco cant come tonight", "asked; no absent"},
		{"es|intake|people=luis|luis trae 12 latas", "[r1 receipt=150kg; no absent"},
	})
}

// TestNotNow: an order with a condition, for later, or under a "no" is asked about; so is what is
// done by half, and a sample is no unloading.
func TestNotNow(t *testing.T) {
	reads(t, [][2]string{
		{"es|manager|holds=t3|t3 lavar", "taken; [t3 wash-ordered]"},
		{"es|manager|holds=t3|t3 lavar mas tarde", "asked"},
		{"es|manager|holds=t3|t3 lavar despues de t4", "asked"},
		{"es|manager|holds=t3|t3 lavar si raspa", "asked; no rough"},
		{"es|manager|holds=t3|lavar t3 cuando raspe", "asked"},
		{"en|manager|holds=t3|wash t3 in one hour", "asked"},
		{"en|manager|holds=t3|dont let them wash t3", "asked"},
		{"es|tanks|holds=t3|t3 lavada a medias", "asked"},
		{"es|tanks|holds=t3|t3 ya no resbala", "taken; [t3 rough]"},
		{"es|tanks|holds=t3|t3 ya no resbala tanto", "said-back; [t3 slippery"},
		{"es|drums|holds=d1|d1 saque 20 kg de muestra", "said-back; [d1 sampled; no unload"},
		{"en|drums|empty=d3|loaded nothing in d3", "[d3 not load"},
		{"en|patio|holds=p1|no sign of rain", "asked"},
		{"es|manager|holds=d3|mande d3 a s1 cuando baje de 11", "asked"},
	})
}

// TestSoundsAlike: what is spelt by ear is the word it sounds like, but no short word is.
func TestSoundsAlike(t *testing.T) {
	reads(t, [][2]string{
		{"es|patio|holds=p2|ya mobi el asoleadero 2", "taken; [p2 turned]"},
		{"es|patio|holds=p2|biene el agua por el serro", "[mill rain-coming"},
		{"pt|patio|holds=p2|xuva", "[mill rain-start"},
		{"es|tanks|holds=t3|t3 tiene espuma pero huele bien", "[t3 foam; no animals"},
		{"es|tanks|holds=t3|no se fue la luz", "[mill power-back; no power-out"},
	})
}
