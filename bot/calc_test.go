package bot

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	grading "lotbell/rules/grade"

	"pgregory.net/rapid"
)

// calcIs is what a sum gives, by the names of its figures.
type calcIs map[string]float64

// calcTry does a sum given as one line.
func calcTry(line string) (Sum, error) { return Calc(strings.Fields(line)) }

// TestCalcFigures is every sum against a published or worked figure; the source stands beside it.
func TestCalcFigures(t *testing.T) {
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
		s, err := calcTry(c.line)
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
func calcFlat(t *testing.T, s Sum) map[string]any {
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
		s, err := calcTry(c.line)
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
		s, err := calcTry(line)
		if err != nil || !strings.Contains(s.Text(), want) {
			t.Errorf("%s: %q (%v) does not say %q", line, s.Text(), err, want)
		}
	}
}

// TestCalcRefuses: a sum that cannot be is refused with the word, the reason, and an example that
// works.
func TestCalcRefuses(t *testing.T) {
	for _, c := range []struct{ line, word, why string }{
		{"", "", "no sum is named"},
		{"emk 25C 60%", "emk", "perhaps emc"},
		{"dfects sca-2018 350g", "dfects", "perhaps defects"},
		{"horoscope", "horoscope", "there are emc, aw"},
		{strings.Repeat("long", 60), strings.Repeat("long", 60), "there are emc, aw"},
		{"emc 25C", "", "needs an air humidity, as in 60%"},
		{"emc 60%", "", "needs a temperature, as in 25C"},
		{"emc 25C 160%", "160%", "0 to 100 %"},
		{"emc 25C -1%", "-1%", "0 to 100 %"},
		{"emc 25C 60% 70%", "70%", "one too many"},
		{"emc 25 60%", "", "as in 25C"},
		{"emc 25C 60% tomorrow", "tomorrow", "not part of emc"},
		{"emc 25C 60% x=1", "x=1", "not part of emc"},
		{"emc 25X 60%", "25x", `no unit "x"`},
		{"emc 2,5,1C 60%", "2,5,1c", "is no number"},
		{"emc 25.C 60%", "25.c", "is no number"},
		{"emc --5C 60%", "--5c", "is no number"},
		{"emc 300C 60%", "300c", "0 to 80 C"},
		{"aw 100% 25C", "100%", "water alone"},
		{"aw 53% 25C", "53%", "all its water is free"},
		{"aw -3% 25C", "-3%", "negative"},
		{"air 20C 65% 9000m", "9000m", "-400 to 6000 m"},
		{"weight 0kg 53% to 10.5%", "0kg", "more than 0"},
		{"weight -5kg 53% to 10.5%", "-5kg", "more than 0"},
		{"weight 1000kg", "", "needs a moisture"},
		{"weight 1.500kg 53% to 10.5%", "1.500kg", "may be 1.5 or 1500: write 1.50kg or 1500kg"},
		{"bags 7,643kg 60kg", "7,643kg", "may be 7.643 or 7643"},
		{"bags 1000kg 0kg", "0kg", "more than 0"},
		{"bags -1kg 60kg", "-1kg", "negative"},
		{"bags 1000kg 60kg 60kg", "60kg", "one too many"},
		{"bags 1000kg 0.0004kg", "bags", "more than 0"},
		{"bags 10000000000000kg 60kg", "", "under 1000000000000 kg"},
		{"bags 99999999999999999999kg 60kg", "99999999999999999999kg", "under 1000000000000000"},
		{"ferment 60C", "60c", "1 to 45 C"},
		{"dry 10% to 12% 55C 20C 70%", "", "as dry as"},
		{"dry 53% to 10% 20C 55C 70%", "", "drum air"},
		{"factor 250g 250g", "factor", "less than the parchment"},
		{"factor 0g 195.5g", "0g", "more than 0"},
		{"factor 250g", "", "needs its excelso"},
		{"factor 60", "factor", "over 70"},
		{"factor", "", "needs a sample"},
		{"green 75kg", "", "needs a product"},
		{"green 75kg cherry", "cherry", "dried or fresh"},
		{"green 75kg parchmnt", "green", "perhaps parchment"},
		{"container 20t crates", "container", "bagged, bulk"},
		{"patio 60kg 90cm", "90cm", "0.5 to 30 cm"},
		{"patio 60kg", "", "needs a depth"},
		{"patio 60kg 3cm 95%", "95%", "wetter than coffee gets"},
		{"screens", "screens", "held on all screens"},
		{"screens big=3 pan=97", "big=3", "is no screen"},
		{"screens 18=3 18=97", "screens", "given twice"},
		{"screens 18=3C pan=97", "18=3c", "grams or percent"},
		{"screens 18=x pan=97", "18=x", "needs a number"},
		{"screens 18=-3 pan=103", "screens", "0 or more"},
		{"screen 21", "screen", "it has 20, 19"},
		{"screen 3mm", "screen", "8.00, 7.50"},
		{"defects sca-2018 300g broken=9", "defects", "350 g, not 300 g"},
		{"defects sca-2018 0g broken=9", "0g", "more than 0"},
		{"defects sca-2018 broken=9", "", "needs a sample mass"},
		{"defects 350g broken=9", "", "needs a table"},
		{"defects brazil 300g", "defects", "brazil-2003, brazil-ny"},
		{"defects sca-2018 350g brokn=9", "defects", "perhaps broken"},
		{"defects sca-2018 350g broken=9.5", "defects", "whole beans"},
		{"defects sca-2018 350g broken=9kg", "broken=9kg", "number of beans"},
		{"defects sca-2018 350g quakers=1.5", "quakers=1.5", "whole beans"},
		{"moisture 11%", "", "needs two methods"},
		{"moisture 11% meter iso-6673", "moisture", "both ways"},
		{"ico 86.5 11%", "86.5", "whole"},
		{"ico 86 11% 350g", "ico", "300 g, not 350 g"},
		{"ico 86 11% liberica", "ico", "robusta"},
		{"cup 101", "cup", "0 to 100"},
		{"scale 60kg 0.03kg", "scale", "1, 2 or 5"},
	} {
		_, err := calcTry(c.line)
		var e CalcError
		if !errors.As(err, &e) {
			t.Errorf("%s: %v, want a CalcError", c.line, err)
			continue
		}
		text := strings.ReplaceAll(err.Error(), "\n", " ")
		if e.Word != c.word || !strings.Contains(text, c.why) {
			t.Errorf("%s: %q at %q, want %q at %q", c.line, err, e.Word, c.why, c.word)
		}
		for line := range strings.SplitSeq(err.Error(), "\n") {
			if len(line) > 160 {
				t.Errorf("%s: %d characters: %q", c.line, len(line), line)
			}
		}
		if _, err := calcTry(e.Example); err != nil {
			t.Errorf("%s: the example %q does not work: %v", c.line, e.Example, err)
		}
	}
}

// TestCalcClosure: parts that do not add up are a "no", and carry what the screens said.
func TestCalcClosure(t *testing.T) {
	for _, line := range []string{"screens 18=50 pan=49", "screens 18=150 pan=148 300g",
		"screens 18=50% pan=30%"} {
		_, err := calcTry(line)
		var e CalcError
		var open grading.ClosureError
		if !errors.As(err, &e) || !e.No || !errors.As(err, &open) {
			t.Errorf("%s: %v", line, err)
		}
	}
}

// calcPlain fails the test unless the line is one that any phone can show.
func calcPlain(t *testing.T, s Sum) {
	t.Helper()
	if s.Line == "" || len(s.Line) > 160 || strings.TrimSpace(s.Line) != s.Line ||
		strings.ContainsRune(s.Line, '\n') {
		t.Errorf("%s: %d characters: %q", s.Name, len(s.Line), s.Line)
	}
	for _, r := range s.Text() {
		if r != '\n' && (r < ' ' || r > 'z' || strings.ContainsRune("[\\]^`", r)) {
			t.Errorf("%s: %q is not in GSM 7-bit: %s", s.Name, r, s.Text())
		}
	}
}

// TestCalcLines: every example works, its line is one line of at most 160 characters that any
// phone can show, it ends without a blank, and it names source and mark where there is one.
func TestCalcLines(t *testing.T) {
	examples, gives := CalcForms()
	lines := append(examples, "screens 20=1 19=1 18=30 17=30 16=10 15=8 14=7 13=6 12.5=3 12=1 "+
		"11=1 10=1 9=0.5 8=0.25 7=0.25", "bags 123456789.5kg 0.001kg",
		"dry 53% to 10.5% 35C 20C 70%")
	for i, line := range lines {
		s, err := calcTry(line)
		if err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		if i < len(gives) && gives[i] == "" || s.Source == "" {
			t.Errorf("%s: no source, or not said what it gives", line)
		}
		calcPlain(t, s)
		if strings.Contains(s.Line, "e+") {
			t.Errorf("%s: an exponent in %q", line, s.Line)
		}
	}
}

// TestCalcSpellings: case, commas, blanks, degree signs and joining words change nothing.
func TestCalcSpellings(t *testing.T) {
	for line, same := range map[string][]string{
		"emc 25C 60%": {"EMC 25 °C 60 % RH", "emc 60% 25c", "emc 25,0C 60,0%",
			"emc 77F 60%"},
		"weight 1000kg 53% to 10.5%": {"Weight 1000 KG from 53% -> 10,5 %",
			"weight 1t 53%wb to 10.5%wb"},
		"screen 12.5":           {"screen 12 1/2", "screen 12½", "screen 12,5"},
		"patio 60kg 3cm":        {"patio 3 cm 60 kilos", "patio 60000g 3cm"},
		"bags 1234567.8kg 60kg": {"bags 1.234.567,8kg 60kg", "bags 1,234,567.8 kg 60 kg"},
		"bags 1234567kg 60kg":   {"bags 1.234.567kg 60kg"},
		"bags 0.5kg 0.125kg":    {"bags .5kg 0,125kg"},
	} {
		want, err := calcTry(line)
		if err != nil {
			t.Errorf("%s: %v", line, err)
		}
		for _, other := range same {
			got, err := calcTry(other)
			if err != nil || got.Line != want.Line {
				t.Errorf("%s: %q (%v), want %q", other, got.Line, err, want.Line)
			}
		}
	}
}

// TestCalcMassConserved: drying and wetting again gives the mass back, through the words.
func TestCalcMassConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kg := rapid.IntRange(1, 1e6).Draw(t, "kg")
		from := float64(rapid.IntRange(0, 90).Draw(t, "from"))
		to := float64(rapid.IntRange(0, 90).Draw(t, "to"))
		there, err := CalcWith(nil, []string{"weight", calcShort(float64(kg)) + "kg",
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

// FuzzCalc: whatever is typed gives a sum or an error with an example, never a panic, and what is
// a sum is also JSON.
func FuzzCalc(f *testing.F) {
	examples, _ := CalcForms()
	for _, e := range examples {
		f.Add(e)
	}
	f.Add("screens 12½ = 3 °C ½ 1/2=")
	tables, err := grading.Shipped()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, line string) {
		s, err := CalcWith(tables, strings.Fields(line))
		var e CalcError
		if errors.As(err, &e) {
			if e.Example == "" || e.Why == "" {
				t.Errorf("%q: %#v does not help", line, e)
			}
			for l := range strings.SplitSeq(e.Error(), "\n") {
				if len(l) > 160 {
					t.Errorf("%q: %d characters", line, len(l))
				}
			}
			return
		}
		if err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		calcFlat(t, s)
		calcPlain(t, s)
	})
}

func BenchmarkCalc(b *testing.B) {
	words := strings.Fields("weight 1000kg 53% to 10.5%")
	tables, err := grading.Shipped()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := CalcWith(tables, words); err != nil {
			b.Fatal(err)
		}
	}
}

// TestCalcNumber: a comma is as good as a point; a single mark before exactly three digits may be
// a thousand mark as well, unless a leading 0 or a fourth digit says otherwise.
func TestCalcNumber(t *testing.T) {
	for text, want := range map[string]struct {
		n, thousands float64
		bad          bool
	}{
		"12": {n: 12}, "12.5": {n: 12.5}, "12,5": {n: 12.5}, "-3,25": {n: -3.25}, ".5": {n: .5},
		"1.500": {n: 1.5, thousands: 1500}, "1,500": {n: 1.5, thousands: 1500},
		"0.500": {n: .5}, "-.300": {n: -.3}, "1500.500": {n: 1500.5}, "7.643,4": {n: 7643.4},
		"7,643.4":   {n: 7643.4},
		"1.234.567": {n: 1234567}, "1,234,567.8": {n: 1234567.8}, "12,3456": {n: 12.3456},
		"": {bad: true}, "1.": {bad: true}, "1..5": {bad: true}, "1,2.3,4": {bad: true},
		"12.34.567": {bad: true}, "1.2345,6": {bad: true}, "+-1": {bad: true}, "1-1": {bad: true},
		"1.5-": {bad: true}, ",": {bad: true},
	} {
		n, thousands, err := calcNumber(text)
		if (err != nil) != want.bad || !want.bad && (n != want.n || thousands != want.thousands) {
			t.Errorf("%q is %g or %g (%v), want %+v", text, n, thousands, err, want)
		}
	}
}

// TestCalcJSON: what is not there is null, what is not UTF-8 is mended, noise of arithmetic goes.
func TestCalcJSON(t *testing.T) {
	s := Sum{Name: "x", Source: "a & b", Notes: []string{"one", "two"}}
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
