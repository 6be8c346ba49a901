package bot

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"lotbell/bot/voice"
	grading "lotbell/rules/grade"

	"pgregory.net/rapid"
)

// calcIs is what a sum gives, by the names of its figures.
type calcIs map[string]float64

// calcSums are the sums and the shipped tables.
func calcSums(t testing.TB) (*Sums, *grading.Tables) {
	t.Helper()
	sums, err := NewSums()
	if err != nil {
		t.Fatal(err)
	}
	tables, err := grading.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return sums, tables
}

// calcTry gives what does a sum written as one line and tells it in English.
func calcTry(t testing.TB) func(line string) (SumTold, error) {
	sums, tables := calcSums(t)
	return func(line string) (SumTold, error) {
		s, err := sums.Calc(tables, strings.Fields(line))
		return sums.Tell("en", s), err
	}
}

// TestCalcFigures is every sum against a published or worked figure; the source stands beside it.
func TestCalcFigures(t *testing.T) {
	try := calcTry(t)
	for _, c := range []struct {
		line, source string
		want         calcIs
		tol          float64
	}{
		{"emc 25C 60%", "Trejos et al. 1989, computed grid",
			calcIs{"moisture_db_pct": 12.2055, "moisture_wb_pct": 10.8778}, 1e-3},
		{"emc 20C 65%", "the same; ANACAFE: holds 10 to 12 %",
			calcIs{"moisture_db_pct": 13.1986, "moisture_wb_pct": 11.6597}, 1e-3},
		{"aw 10.5% 25C", "inverse of the same", calcIs{"water_activity": .5604}, 5e-4},
		{"aw 12,5 % 25 °C", "the same", calcIs{"water_activity": .7208}, 5e-4},
		{"aw 13.6364% db 77F", "the same at 12 % wet basis",
			calcIs{"water_activity": .6898}, 5e-4},
		{"air 20C 65% 1500m", "PsychroLib 2.5.0", calcIs{"pressure_pa": 84555.9},
			.05},
		{"air 20C 65% 1500m", "the same", calcIs{"humidity_ratio": .011387}, 1e-6},
		{"air 20C 65% 1500m", "the same", calcIs{"wet_bulb_c": 15.525,
			"dew_point_c": 13.227, "enthalpy_kj_kg": 49.021, "volume_m3_kg": 1.0134}, .005},
		{"air 20C wet 15.525C 1500m", "the same, the other way round", calcIs{"rh_pct": 65,
			"dew_point_c": 13.227}, .01},
		{"air 20C 65% 1500m", "65 % of 2338.8 Pa, Saturation at 20 C of the same [calc]",
			calcIs{"deficit_pa": 818.6}, .5},
		{"heat 20C 70% to 55C", "the same air as of the drum below", calcIs{"rh_pct": 10.388}, .005},
		{"blend 1000kg 12% 500kg 10%", "880 and 450 kg dry in 1500 kg [calc]",
			calcIs{"mass_kg": 1500, "moisture_wb_pct": 11.3333}, 1e-3},
		{"air 25C 50%", "the same, at the sea", calcIs{"wet_bulb_c": 17.889,
			"enthalpy_kj_kg": 50.322}, .005},
		{"weight 1000kg 53% to 10.5%", "dry-matter balance [calc]",
			calcIs{"mass_kg": 525.14, "loss_pct": 47.486}, .005},
		{"weight 1000 kg 12 % 9 %", "FAO/ICO: 967", calcIs{"mass_kg": 967.03}, .005},
		{"weight 1t 53% 11%", "Oliveros et al. 2010: 47.3 %", calcIs{"loss_pct": 47.3}, .15},
		{"weight 1000kg 53%", "definition",
			calcIs{"dry_matter_kg": 470, "water_kg": 530}, 1e-9},
		{"loss 1000kg 25.5% 876.7kg 15.5%", "agronomy page: 0.5 % handling",
			calcIs{"water_kg": 118.34, "unexplained_kg": 4.96, "unexplained_pct": .56}, .005},
		{"basis 53%", "definition", calcIs{"moisture_db_pct": 112.766}, 1e-3},
		{"basis 11.7318%db", "definition", calcIs{"moisture_wb_pct": 10.5}, 1e-3},
		{"ferment 20.5C", "Puerta 2013: 22 h", calcIs{"hours": 22}, .1},
		{"ferment 15c", "the law of the handbook", calcIs{"hours": 41.1}, .1},
		{"dry 53% to 10.5% 55C 20C 70%", "Parra-Coronado et al. 2008: 15.42 h thin layer",
			calcIs{"thin_layer_hours": 15.42, "air_rh_pct": 10.388}, .02},
		{"dry 53% 10.5% 55C 10.388%", "the same, by the drum's own air",
			calcIs{"thin_layer_hours": 15.42}, .02},
		{"patio 60kg 3cm", "Cenicafe Avance Tecnico 353: 3.3 m2", calcIs{"area_m2": 3.3},
			.05},
		{"patio 60kg 3cm 11%", "a roaster's page: 399 kg/m3", calcIs{"area_m2": 5.01}, .01},
		{"factor 250g 195.5g", "explainer: prints 89.5",
			calcIs{"factor": 89.51, "outturn_pct": 78.20}, .01},
		{"factor 94", "FNC scheme", calcIs{"outturn_pct": 74.47}, .01},
		{"factor 75.92%", "explainer: 92.2", calcIs{"factor": 92.2}, .01},
		{"green 75kg parchment", "ICO factors", calcIs{"green_kg": 60}, 1e-9},
		{"green 120kg dried cherry", "ICO factors", calcIs{"green_kg": 60}, 1e-9},
		{"GREEN 50,4 KG ROASTED", "ICO factors", calcIs{"green_kg": 59.976}, 1e-9},
		{"bags 7643.4kg 60kg", "arithmetic", calcIs{"bags": 127, "remainder_kg": 23.4}, 0},
		{"bags 7.643,4kg 60kg", "arithmetic", calcIs{"bags": 127, "remainder_kg": 23.4}, 0},
		{"bags 37500lb 69kg", "ICE: 246.5 bags", calcIs{"bags": 246, "remainder_kg": 35.714}, 0},
		{"bags 0kg 60kg", "arithmetic", calcIs{"bags": 0, "remainder_kg": 0}, 0},
		{"container 40000kg bulk", "ITC: 21.0 t", calcIs{"containers": 1,
			"remainder_kg": 19000}, 0},
		{"screens 18=32 17=41 16=14 15=8 14=3.5 pan=1.5", "parts of 100 [calc]", calcIs{
			"on_18_pct": 32, "on_17_pct": 41, "on_16_pct": 14, "on_15_pct": 8, "on_14_pct": 3.5,
			"on_pan_pct": 1.5, "on_17_up_pct": 73, "below_17_pct": 27, "below_14_pct": 1.5,
			"closure_pct": 0, "recovered_pct": 100}, 1e-9},
		{"screens 18 = 96g 17=123 12½=81 start=300,9g", "the same", calcIs{"on_18_pct": 32,
			"on_12_5_pct": 27, "closure_pct": -.2991}, 1e-4},
		{"screen 17", "TCVN 4807:2013", calcIs{"hole_mm": 6.7, "exact_mm": 6.747}, .001},
		{"screen 12 1/2", "the same", calcIs{"hole_mm": 5, "exact_mm": 4.961}, .001},
		{"screen 5,00mm", "the same", calcIs{"screen": 12.5}, 0},
		{"defects sca-2018 350g partial-black=4 broken=9", "SCA poster 2018, floor per class",
			calcIs{"full_defects": 2, "primary": 0, "secondary": 2, "raw": 3.1333}, 1e-4},
		{"defects SCA 2018 350 g partial-black = 4 broken=9 slight-insect=12 parchment=5",
			"the same",
			calcIs{"full_defects": 4, "primary": 0, "raw": 5.3333}, 1e-4},
		{"defects iso 10470 2004 300g blotchy=3.0g", "IS 16032:2012",
			calcIs{"defects_pct": 1, "mass_loss_pct": 0, "sensory_pct": .5}, 1e-9},
		{"defects brazil-2003 300g black=26", "IN 8/2003", calcIs{"points": 0}, 0},
		{"moisture 12.5% iso-1446 to iso-6673", "BS ISO 6673:2003: about 1.0 lower",
			calcIs{"moisture_wb_pct": 11.5}, 1e-9},
		{"ico 86 13.4% iso-1446", "ICO 420", calcIs{"moisture_wb_pct": 12.4}, 1e-9},
		{"cup 84.75", "100-point form", calcIs{"score": 84.75}, 0},
		{"scale 60kg 0.05kg", "UK SI 1995/1907",
			calcIs{"error_new_kg": .05, "error_in_service_kg": .1}, 1e-9},
	} {
		s, err := try(c.line)
		if err != nil {
			t.Errorf("%s: %v", c.line, err)
			continue
		}
		flat := calcFlat(t, s)
		for name, want := range c.want {
			got, ok := flat[name].(float64)
			if !ok || math.Abs(got-want) > c.tol+1e-12 {
				t.Errorf("%s (%s): %s = %v, want %v", c.line, c.source, name, flat[name], want)
			}
		}
	}
}

// calcFlat is a sum as a program reads it: one flat object, every value a number, a word or null.
func calcFlat(t *testing.T, s SumTold) map[string]any {
	t.Helper()
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var flat map[string]any
	if err := json.Unmarshal(text, &flat); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	for name, v := range flat {
		switch v.(type) {
		case string, float64, nil:
		default:
			t.Errorf("%s is not flat", name)
		}
	}
	return flat
}

// TestCalcVerdicts: the words of an answer, and when it is "no".
func TestCalcVerdicts(t *testing.T) {
	try := calcTry(t)
	for _, c := range []struct {
		line, key, want string
		no              bool
	}{
		{"defects sca-2018 350g partial-black=4 broken=9", "verdict", "speciality", false},
		{"defects sca-2018 350g severe-insect=5", "verdict", "not speciality", true},
		{"defects sca-2018 350g broken=1 quakers=1", "verdict", "not speciality", true},
		{"defects sca-2018 350g 12.1%", "verdict", "not speciality", true},
		{"defects scaa-300 300g broken=45", "verdict", "3 exchange", false},
		{"ico 86 12.5%", "code", "S", false},
		{"ico 87 12.5%", "verdict", "fails on defects", true},
		{"ico 86 12.6%", "verdict", "fails on moisture", true},
		{"ico 151 7.9% robusta 300g", "verdict", "fails on defects and moisture", true},
		{"cup 79.75", "class", "not speciality", false},
		{"loss 1000kg 11% 1051kg 11%", "verdict", "conflict", true},
		{"loss 1000kg 11% 985kg 11%", "verdict", "ask", false},
		{"dry 30% to 10.5% 20C 65%", "sum", "dry", true}, // comes to rest at 11.66 %
	} {
		s, err := try(c.line)
		if err != nil {
			t.Errorf("%s: %v", c.line, err)
			continue
		}
		if got := calcFlat(t, s)[c.key]; got != c.want || s.No != c.no {
			t.Errorf("%s: %s is %v (no: %v), want %v (%v)", c.line, c.key, got, s.No, c.want, c.no)
		}
	}
}

// TestCalcNotes: what a person must know stands beside the number.
func TestCalcNotes(t *testing.T) {
	try := calcTry(t)
	for line, want := range map[string]string{
		"emc 60C 60%":                          "stretched",
		"emc 25C 95%":                          "no ground for decisions",
		"aw 10.5% 25C":                         "measured water activity overrides",
		"ferment 12C":                          "no window outside 14 to 32 C",
		"dry 30% to 10.5% 20C 65%":             "never in air",
		"green 75kg parchment":                 "not a yield",
		"green 75kg fresh cherry":              "own ratio goes before",
		"factor 94":                            "lower factor is better",
		"screens 18=96 pan=204":                "add start=300",
		"screen 13":                            "Sold as screen 13 with a hole of 5.00 mm",
		"screen 5mm":                           "Sold as screen 13",
		"screen 5.5mm":                         "no ISO screen has it",
		"defects sca-2018 350g broken=29":      "before it the grade was not speciality",
		"defects sca-2018 350g":                "Not measured, and limited by this grade: quakers",
		"defects iso-10470-2004 300g stone=1g": "from memory: verify",
		"container 20t bulk":                   "24000 kg of small",
		"patio 60kg 5cm":                       "2 to 3 cm",
		"bags 100kg 60kg":                      "common practice",
		"weight 500kg 10.5% to 53%":            "more",
	} {
		s, err := try(line)
		if err != nil || !strings.Contains(s.Text(), want) {
			t.Errorf("%s: %q (%v) does not say %q", line, s.Text(), err, want)
		}
	}
}

// calcPlain fails the test unless the line is one that any phone can show.
func calcPlain(t *testing.T, s SumTold) {
	t.Helper()
	calcOneLine(t, s)
	for _, r := range s.Text() {
		if r != '\n' && (r < ' ' || r > 'z' || strings.ContainsRune("[\\]^`", r)) {
			t.Errorf("%s: %q is not in GSM 7-bit: %s", s.Name, r, s.Text())
		}
	}
}

// calcOneLine fails the test unless the line of a sum, in any language, is one that any phone can
// show.
func calcOneLine(t *testing.T, s SumTold) {
	t.Helper()
	if s.Line == "" || len(s.Line) > 160 || strings.TrimSpace(s.Line) != s.Line ||
		strings.ContainsRune(s.Line, '\n') {
		t.Errorf("%s: %d characters: %q", s.Name, len(s.Line), s.Line)
	}
	if voice.Plain(s.Line) != s.Line || voice.Septets(s.Line) > 160 {
		t.Errorf("%s: not in GSM 7-bit: %q", s.Name, s.Line)
	}
}

// TestCalcLines: every example works, its line is one line of at most 160 characters that any
// phone can show, it ends without a blank, and it names source and mark where there is one.
func TestCalcLines(t *testing.T) {
	try := calcTry(t)
	sums, _ := calcSums(t)
	examples, gives := sums.List("en")
	lines := append(examples, "screens 20=1 19=1 18=30 17=30 16=10 15=8 14=7 13=6 12.5=3 12=1 "+
		"11=1 10=1 9=0.5 8=0.25 7=0.25", "bags 123456789.5kg 0.001kg",
		"dry 53% to 10.5% 35C 20C 70%")
	for i, line := range lines {
		s, err := try(line)
		if err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		if i < len(gives) && gives[i] == "" || s.Sum.Source == "" {
			t.Errorf("%s: no source, or not said what it gives", line)
		}
		calcPlain(t, s)
		if strings.Contains(s.Line, "e+") {
			t.Errorf("%s: an exponent in %q", line, s.Line)
		}
	}
}

// TestCalcMassConserved: drying and wetting again gives the mass back, through the words.
func TestCalcMassConserved(t *testing.T) {
	sums, tables := calcSums(t)
	rapid.Check(t, func(t *rapid.T) {
		kg := rapid.IntRange(1, 1e6).Draw(t, "kg")
		from := float64(rapid.IntRange(0, 90).Draw(t, "from"))
		to := float64(rapid.IntRange(0, 90).Draw(t, "to"))
		there, err := sums.Calc(tables, []string{"weight", calcShort(float64(kg)) + "kg",
			calcShort(from) + "%", calcShort(to) + "%"})
		if err != nil {
			t.Fatal(err)
		}
		mass, loss := there.Values[0].Number, there.Values[1].Number
		if back := mass * (100 - to) / (100 - from); math.Abs(back-float64(kg)) > 1e-6*float64(kg) {
			t.Fatalf("%d kg came back as %g", kg, back)
		}
		if math.Abs(mass/float64(kg)-(1-loss/100)) > 1e-9 {
			t.Fatalf("%g kg is not %g %% less than %d", mass, loss, kg)
		}
	})
}

// TestCalcJSON: what is not there is null, what is not UTF-8 is mended, noise of arithmetic goes.
func TestCalcJSON(t *testing.T) {
	s := SumTold{Sum: Sum{Name: "x", Source: "a & b"}, Notes: []string{"one", "two"}}
	s.num("none", math.NaN())
	s.num("far", math.Inf(1))
	s.num("noise", 0.1+0.2)
	s.num("large", 123456789)
	s.word("empty", "")
	s.word("bad", "a\xff\"")
	got, err := s.MarshalJSON()
	want := `{"sum":"x","none":null,"far":null,"noise":0.3,"large":123456789,"empty":null,` +
		`"bad":"a` + "\ufffd" + `\"","source":"a & b","mark":"","note":"one two"}`
	// The replacement character may be written out or as an escape: both are JSON.
	if text := strings.ReplaceAll(string(got), `\ufffd`, "\ufffd"); err != nil || text != want {
		t.Errorf("%s (%v), want %s", text, err, want)
	}
}
