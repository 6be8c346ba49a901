package bot

import (
	"errors"
	"strings"
	"testing"

	grading "lotbell/rules/grade"
)

// TestCalcRefuses: a sum that cannot be is refused with the word, the reason, and an example that
// works.
func TestCalcRefuses(t *testing.T) {
	sums, tables := calcSums(t)
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
		_, err := sums.Calc(tables, strings.Fields(c.line))
		var e CalcError
		if !errors.As(err, &e) {
			t.Errorf("%s: %v, want a CalcError", c.line, err)
			continue
		}
		calcSaid(t, sums, tables, e)
		said := sums.Refuse("en", err)
		text := strings.ReplaceAll(said, "\n", " ")
		if e.Word != c.word || !strings.Contains(text, c.why) {
			t.Errorf("%s: %q at %q, want %q at %q", c.line, said, e.Word, c.why, c.word)
		}
		for line := range strings.SplitSeq(said, "\n") {
			if len(line) > 160 {
				t.Errorf("%s: %d characters: %q", c.line, len(line), line)
			}
		}
		example := sums.example("en", e)
		if _, err := sums.Calc(tables, strings.Fields(example)); err != nil {
			t.Errorf("%s: the example %q does not work: %v", c.line, example, err)
		}
	}
}

// TestCalcClosure: parts that do not add up are a "no", and carry what the screens said.
func TestCalcClosure(t *testing.T) {
	try := calcTry(t)
	for _, line := range []string{"screens 18=50 pan=49", "screens 18=150 pan=148 300g",
		"screens 18=50% pan=30%"} {
		_, err := try(line)
		var e CalcError
		var open grading.ClosureError
		if !errors.As(err, &e) || !e.No || !errors.As(err, &open) {
			t.Errorf("%s: %v", line, err)
		}
	}
}

// calcHelps fails the test unless an error says its reason and an example, in lines of at most 160
// characters.
func calcHelps(t *testing.T, sums *Sums, lang string, e CalcError) {
	t.Helper()
	said := sums.Refuse(lang, e)
	if example := sums.example(lang, e); e.Why.Key == "" || !strings.Contains(
		strings.ReplaceAll(said, "\n", " "), example) {
		t.Errorf("%#v does not help: %q", e, said)
	}
	for l := range strings.SplitSeq(said, "\n") {
		if len(l) > 160 {
			t.Errorf("%q: %d characters", said, len(l))
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
		n, thousands, ok := calcNumber(text)
		if ok == want.bad || !want.bad && (n != want.n || thousands != want.thousands) {
			t.Errorf("%q is %g or %g (%v), want %+v", text, n, thousands, ok, want)
		}
	}
}

// TestCalcSpellings: case, commas, blanks, degree signs and joining words change nothing.
func TestCalcSpellings(t *testing.T) {
	try := calcTry(t)
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
		want, err := try(line)
		if err != nil {
			t.Errorf("%s: %v", line, err)
		}
		for _, other := range same {
			got, err := try(other)
			if err != nil || got.Line != want.Line {
				t.Errorf("%s: %q (%v), want %q", other, got.Line, err, want.Line)
			}
		}
	}
}

// FuzzCalc: whatever is typed gives a sum or an error with an example, never a panic, and what is
// a sum is also JSON.
func FuzzCalc(f *testing.F) {
	sums, tables := calcSums(f)
	langs := sums.voice.Langs()
	for _, lang := range langs {
		examples, _ := sums.List(lang)
		for _, e := range examples {
			f.Add(e)
		}
	}
	f.Add("screens 12½ = 3 °C ½ 1/2=")
	f.Fuzz(func(t *testing.T, line string) {
		s, err := sums.Calc(tables, strings.Fields(line))
		var e CalcError
		switch {
		case errors.As(err, &e):
			for _, lang := range langs {
				calcHelps(t, sums, lang, e)
			}
			return
		case err != nil:
			t.Fatalf("%q: %v", line, err)
		}
		calcFlat(t, sums.Tell("en", s))
		calcPlain(t, sums.Tell("en", s))
		for _, lang := range langs {
			calcOneLine(t, sums.Tell(lang, s))
		}
	})
}

func BenchmarkCalc(b *testing.B) {
	words := strings.Fields("weight 1000kg 53% to 10.5%")
	sums, tables := calcSums(b)
	for b.Loop() {
		if _, err := sums.Calc(tables, words); err != nil {
			b.Fatal(err)
		}
	}
}
