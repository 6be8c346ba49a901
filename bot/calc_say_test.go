package bot

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"lotbell/bot/voice"
	"lotbell/bot/words"
	grading "lotbell/rules/grade"
)

// calcHas fails the test unless every language has a sentence of its own under a key.
func calcHas(t *testing.T, sums *Sums, key string) {
	t.Helper()
	for _, lang := range sums.voice.Langs() {
		if !sums.voice.Has(lang, key) {
			t.Errorf("%s has no sentence %s", lang, key)
		}
	}
}

// calcHasPhrase is the same for a phrase of the tables or of what rules refuse; figures need none.
func calcHasPhrase(t *testing.T, sums *Sums, text string) {
	t.Helper()
	for _, lang := range sums.voice.Langs() {
		key := calcKey(text)
		if strings.ContainsFunc(text, unicode.IsLetter) && !sums.voice.Has(lang, "sum.said."+key) &&
			!sums.voice.Has(lang, calcWordKey+key) {
			t.Errorf("%s has no phrase for %q: sum.said.%s", lang, text, key)
		}
	}
}

// TestCalcKeys: every key that the sums say is there in every language, and so is every kind of
// mark.
func TestCalcKeys(t *testing.T) {
	sums, _ := calcSums(t)
	whole := regexp.MustCompile(`"(sum\.[a-z0-9.-]*[a-z0-9])"`)
	need := regexp.MustCompile(`a\.(?:take|celsius|percent|moisture|kg|grams)\("([a-z-]+)"`)
	files, err := filepath.Glob("calc*.go")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range whole.FindAllStringSubmatch(string(text), -1) {
			seen[m[1]] = true
		}
		for _, m := range need.FindAllStringSubmatch(string(text), -1) {
			seen["sum.need."+m[1]] = true
		}
	}
	if len(seen) < 100 {
		t.Fatalf("only %d keys were found in the code", len(seen))
	}
	for _, m := range []grading.Mark{grading.Read, grading.ReadCopy, grading.Practice,
		grading.Memory} {
		seen["sum.mark."+string(m)] = true
		if said := sums.voice.Say("en", "sum.mark."+string(m)); said != m.Words() {
			t.Errorf("the mark %s is %q, in the rules %q", m, said, m.Words())
		}
	}
	for key := range seen {
		calcHas(t, sums, key)
	}
}

// TestCalcEachLanguage: in every language every sum is called something, its example works and
// gives what the English one gives, and nothing is left unsaid or too long.
func TestCalcEachLanguage(t *testing.T) {
	sums, tables := calcSums(t)
	for _, lang := range sums.voice.Langs() {
		examples, gives := sums.List(lang)
		english, _ := sums.List("en")
		for i, f := range calcForms() {
			for _, key := range []string{"", ".words", ".example", ".gives"} {
				calcHas(t, sums, "sum."+f.name+key)
			}
			got, err := sums.Calc(tables, strings.Fields(examples[i]))
			want, _ := sums.Calc(tables, strings.Fields(english[i]))
			if err != nil || !reflect.DeepEqual(calcFlat(t, sums.Tell("en", got)),
				calcFlat(t, sums.Tell("en", want))) {
				t.Errorf("%q is not %q: %v", examples[i], english[i], err)
			}
			if first := strings.Fields(examples[i])[0]; first != sums.called(lang, f.name)[0] ||
				gives[i] == "" {
				t.Errorf("%q (%s) does not begin with what %s is called", examples[i], lang, f.name)
			}
			told := sums.Tell(lang, got)
			calcOneLine(t, told)
			if strings.Contains(told.Text(), "sum.") || strings.ContainsAny(told.Text(), "{}") {
				t.Errorf("something is not said: %s", told.Text())
			}
		}
	}
}

// TestCalcTableWords: what the tables and the verdicts say is there in every language.
func TestCalcTableWords(t *testing.T) {
	sums, tables := calcSums(t)
	all := []string{"closes", "ask", "conflict", tables.Cup.Protocol, "meets", "fails on defects",
		"fails on moisture", "fails on defects and moisture", "wet", "pan", "start", "quakers",
		"moisture"}
	for _, d := range tables.Defects {
		all = append(all, d.Otherwise)
		for _, c := range d.Classes {
			all = append(all, c.Name)
		}
		if d.Table == "brazil" {
			continue // its types are numbers
		}
		for _, g := range d.Grades {
			all = append(all, g.Name)
		}
	}
	for _, c := range tables.Trade.Convert {
		all = append(all, c.From)
	}
	for _, c := range tables.Trade.Containers {
		all = append(all, c.Name)
	}
	for _, s := range tables.Export.Species {
		all = append(all, s.Name)
	}
	for _, c := range tables.Cup.Classes {
		all = append(all, c.Name)
	}
	for _, text := range all {
		calcHasPhrase(t, sums, text)
	}
}

// TestCalcOneMeaning: no word that may be typed means two things, in whatever language, and each
// may be typed as it is shown.
func TestCalcOneMeaning(t *testing.T) {
	sums, _ := calcSums(t)
	names, means := map[string]string{}, map[string]string{}
	for _, lang := range sums.voice.Langs() {
		for _, f := range calcForms() {
			for _, w := range sums.called(lang, f.name) {
				if was := names[w]; was != "" && was != f.name {
					t.Errorf("%s is both %s and %s", w, was, f.name)
				}
				names[w] = f.name
			}
		}
		for _, key := range sums.voice.Under(lang, calcWordKey) {
			for _, w := range strings.Fields(sums.voice.Say(lang, key)) {
				w = words.FoldText(w)
				if was := means[w]; was != "" && was != key {
					t.Errorf("%s is both %s and %s", w, was, key)
				}
				means[w] = key
			}
		}
	}
}

// TestCalcInSpanish: whatever stands in English may be written in Spanish, accents or none.
func TestCalcInSpanish(t *testing.T) {
	try := calcTry(t)
	for spanish, english := range map[string]string{
		"Peso 1000 kilos al 53% a 10,5%":              "weight 1000kg 53% to 10.5%",
		"pesar 1 tonelada 53%bh a 10,5% bh":           "weight 1t 53% to 10.5%",
		"base 11,7% bs":                               "basis 11.7%db",
		"aire 20C bulbo húmedo 15,5C 1500 msnm":       "air 20C wet 15.5C 1500m",
		"aire 20C mojado 15,5C":                       "air 20C wet 15.5C",
		"verde 120kg cereza seca":                     "green 120kg dried cherry",
		"verde 120kg de cereza fresca":                "green 120kg fresh cherry",
		"pantalla 17":                                 "screen 17",
		"pantallas 18=96 fondo=204 inicio=300":        "screens 18=96 pan=204 start=300",
		"secar 30% a 10,5% 20C 65%":                   "dry 30% to 10.5% 20C 65%",
		"defectos sca 2018 350g negro=1 vinagre=1":    "defects sca-2018 350g black=1 sour=1",
		"defectos sca-2018 350g materia-extraña=1":    "defects sca-2018 350g foreign-matter=1",
		"defectos iso-10470-2004 300 gramos moho=3g":  "",
		"defectos iso-10470-2004 300g manchado=3,0 g": "defects iso-10470-2004 300g blotchy=3.0g",
		"contenedor 20 toneladas a granel":            "container 20t bulk",
		"sacos 7643,4 kilos en 60kg":                  "bags 7643.4kg 60kg",
		"humedad 30% medidor a medidor":               "moisture 30% meter to meter",
		"báscula 60kg 0,05kg":                         "scale 60kg 0.05kg",
	} {
		got, err := try(spanish)
		if english == "" {
			if err == nil {
				t.Errorf("%s is understood as %s", spanish, got.Line)
			}
			continue
		}
		want, wrong := try(english)
		if err != nil || wrong != nil || got.Line != want.Line {
			t.Errorf("%s: %q (%v), want %q (%v)", spanish, got.Line, err, want.Line, wrong)
		}
	}
}

// TestCalcExampleInTheirWords: the example is in the language of the word that was typed, whatever
// the reader's is; where both have the word, in the reader's.
func TestCalcExampleInTheirWords(t *testing.T) {
	sums, tables := calcSums(t)
	for _, c := range []struct{ lang, line, word, said string }{
		{"es", "peso 1000kg", "", "a peso le falta una humedad, como 10,5%. " +
			"Por ejemplo:  calc peso 1000kg 53% a 10,5%"},
		{"es", "weight 1000kg", "", "Por ejemplo:  calc weight 1000kg 53% to 10.5%"},
		{"en", "peso 1000kg", "", "peso needs a moisture, as in 10.5%. " +
			"Try: calc peso 1000kg 53% a 10,5%"},
		{"es", "factor 250g", "", "calc factor 250g 195,5g"},
		{"en", "factor 250g", "", "calc factor 250g 195.5g"},
		{"es", "pesso 1000kg", "pesso", "no hay esa cuenta (tal vez peso). Por ejemplo:  calc peso"},
		{"es", "verde 75kg pergaminno", "verde", "no hay producto \"pergaminno\": tal vez pergamino"},
		{"es", "mallas 18=3 18=97", "mallas", "malla 18 97 g: se dio dos veces"},
		{"es", "defectos sca-2018 350g negro=1 full-black=2", "defectos", "la clase negro-entero se"},
		{"es", "humedad 36% medidor a iso-6673", "humedad", "medidor no es seguro por encima de 35 %"},
		{"es", "factor 250g 251g", "factor", "debe ser menos que el pergamino, 250 g"},
		{"es", "contenedor 20t cajas", "contenedor", "hay ensacado, granel"},
	} {
		_, err := sums.Calc(tables, strings.Fields(c.line))
		var e CalcError
		if said := strings.ReplaceAll(sums.Refuse(c.lang, err), "\n", " "); !errors.As(err, &e) ||
			e.Word != c.word || !strings.Contains(said, c.said) {
			t.Errorf("%s (%s): %q at %q, want %q at %q", c.line, c.lang, said, e.Word, c.said, c.word)
		}
	}
}

// calcSaid fails the test unless an error is said whole in every language, on lines that any phone
// shows, with an example that works there, and no phrase of the rules is left as it was.
func calcSaid(t *testing.T, sums *Sums, tables *grading.Tables, e CalcError) {
	t.Helper()
	for _, lang := range sums.voice.Langs() {
		calcHelps(t, sums, lang, e)
		said := sums.Refuse(lang, e)
		if strings.Contains(said, "sum.") || strings.ContainsAny(said, "{}") {
			t.Errorf("something is not said: %q", said)
		}
		if voice.Plain(said) != said && voice.Plain(e.Word) == e.Word {
			t.Errorf("not in GSM 7-bit: %q", said)
		}
		if _, err := sums.Calc(tables, strings.Fields(sums.example(lang, e))); err != nil {
			t.Errorf("the example of %q does not work: %v", said, err)
		}
	}
	var figure grading.RangeError
	var unknown grading.UnknownError
	switch {
	case errors.As(e.Err, &figure):
		for _, text := range []string{figure.What, figure.Unit, figure.Why, figure.Example} {
			calcHasPhrase(t, sums, text)
		}
	case errors.As(e.Err, &unknown):
		calcHasPhrase(t, sums, unknown.What)
	}
}

// TestCalcEveryPhrase: every phrase with which the rules refuse a figure stands in every language.
func TestCalcEveryPhrase(t *testing.T) {
	sums, _ := calcSums(t)
	files, err := filepath.Glob("../rules/grade/*.go")
	if err != nil {
		t.Fatal(err)
	}
	why := regexp.MustCompile(`"((?:must be|is (?:given|counted|over)|class \{|` +
		`\{of\} is|the classes)[^"]*)"`)
	seen := 0
	for _, f := range files {
		if name := filepath.Base(f); strings.HasSuffix(name, "_test.go") || name == "icomark.go" {
			continue
		}
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, call := range regexp.MustCompile(`(?s)(?:cannot\(|RangeError\{).*?[)}]\n`).
			FindAllString(string(text), -1) {
			for _, m := range why.FindAllStringSubmatch(call, -1) {
				seen++
				calcHasPhrase(t, sums, m[1])
			}
		}
	}
	if seen < 14 {
		t.Errorf("only %d phrases were found", seen)
	}
}
