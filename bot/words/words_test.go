package words

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"
)

// TestLoad: the embedded files load, which means that every word of the program has a floor word
// in every language, and that no word means two things in one language unless it is listed.
func TestLoad(t *testing.T) {
	w, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(w.Langs(), " "); got != "en es pt" {
		t.Errorf("languages: %s", got)
	}
	for _, m := range Program() {
		for _, lang := range w.Langs() {
			if w.Show(lang, m.In, m.Name) == "" {
				t.Errorf("%s has no word for [%s] %s", lang, m.In, m.Name)
			}
		}
	}
	if got := w.Show("xx", Mark, "rough"); got != "" {
		t.Errorf("a language nobody wrote shows %q", got)
	}
}

// TestShown: every floor word, as it stands in the files, is found and means what it stands for.
func TestShown(t *testing.T) {
	w, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for m, phrases := range w.show {
		for _, p := range phrases {
			match := w.Match
			if m.In == Cry {
				match = w.MatchCry
			}
			took, is := match(strings.Fields(p))
			found := false
			for _, x := range is {
				found = found || x.In == m.In && x.Name == m.Name && strings.Contains(x.Lang, m.Lang)
			}
			if took != len(strings.Fields(p)) || !found {
				t.Errorf("%s: %q is not found as [%s] %s", m.Lang, p, m.In, m.Name)
			}
		}
	}
}

func TestMatchTakesTheLongest(t *testing.T) {
	w, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		line string
		took int
		name string
	}{
		{"ya no resbala", 2, "no-more"},
		{"se fue la luz en d1", 4, "power-out"},
		{"se fue", 2, "gone"},
		{"no slime now", 1, "not"},
		{"clean water on t3", 3, "soak-start"},
		{"dio punto", 2, "rough"},
		{"xyz", 0, ""},
		{"veintiuno punto", 1, "21"},
		{"help", 1, "help"},
		{"not clean", 2, "not-clean"},
		{"acabou a luz de novo", 3, "power-out"},
	} {
		took, is := w.Match(strings.Fields(x.line))
		name := ""
		for _, m := range is {
			if m.Name == x.name {
				name = m.Name
			}
		}
		if took != x.took || name != x.name {
			t.Errorf("%q: %d words as %v, want %d as %q", x.line, took, is, x.took, x.name)
		}
	}
}

func TestFold(t *testing.T) {
	for in, want := range map[string]string{
		"¿Ya está ÁSPERO?":      " ya esta aspero?",
		"mañana":                "manana",
		"São João":              "sao joao",
		"it’s":                  "its",
		"d1 57°":                "d1 57°",
		"21½":                   "21½",
		"\u200ft3\u200e":        "t3",
		"t1\tx\n":               "t1 x\n",
		"a\u0301spero":          "aspero",
		"🌧 p1":                  "  p1",
		"ya – no":               "ya - no",
		"umidade é 13":          "umidade e 13",
		"TERREIRO Nº 2, 1ª":     "terreiro n° 2, 1a",
		"Ñandú, garçom, müller": "nandu, garcom, muller",
	} {
		if got := FoldText(in); got != want {
			t.Errorf("%q folds to %q, want %q", in, got, want)
		}
	}
}

func TestNear(t *testing.T) {
	w, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	for word, want := range map[string]string{
		"slipprey":                    "slippery", // swapped
		"overflw":                     "overflow", // missing
		"slipperry":                   "slippery", // added
		"slipperu":                    "slippery", // changed
		"bag":                         "",         // short
		"qqqqqqq":                     "",         // far
		strings.Repeat("slippery", 9): "",         // long
	} {
		if got := w.Near(word); got != want {
			t.Errorf("near %q: %q, want %q", word, got, want)
		}
	}
}

// TestFaults: a fault in a language file is told with its file, its place, the reason and a line
// that works.
func TestFaults(t *testing.T) {
	good, err := files.ReadFile("en.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct{ name, from, to, place, reason string }{
		{"no language", `lang = "en"`, `lang = "english"`, "lang", "two letters"},
		{"syntax", `lang = "en"`, `lang = en`, "the file", ""},
		{"unknown word", "[depth]", "[depth]\nsideways = \"aside\"", "[depth] sideways",
			"no such word"},
		{"unknown section", "[depth]", "[deepness]\na = \"b\"\n[depth]", "[deepness]",
			"no such section"},
		{"unknown setting", `lang = "en"`, "lang = \"en\"\nlanguage = \"English\"", "language",
			"no such setting"},
		{"missing word", `burnt = "`, `burnt = "" # "`, "[detail] burnt", "no word"},
		{"double meaning", `burnt = "`, `burnt = "rough, `, "[mark] rough", "also"},
		{"listed for nothing", "ambiguous = \"\"\"", "ambiguous = \"\"\"\nzebra, ", "ambiguous",
			"no two meanings"},
	} {
		text := strings.Replace(string(good), x.from, x.to, 1)
		if text == string(good) {
			t.Errorf("%s: the file has no %q", x.name, x.from)
			continue
		}
		_, err := Read(fstest.MapFS{"en.toml": {Data: []byte(text)}})
		var w *Wrong
		if !errors.As(err, &w) {
			t.Errorf("%s: not refused: %v", x.name, err)
			continue
		}
		if w.File != "en.toml" || w.Place != x.place || !strings.Contains(w.Reason, x.reason) ||
			w.Example == "" || !strings.Contains(w.Error(), x.place) {
			t.Errorf("%s: told as %v", x.name, err)
		}
	}
}

// TestNextLanguage: a further language is one file. Its words are understood beside the others.
func TestNextLanguage(t *testing.T) {
	en, err := files.ReadFile("en.toml")
	if err != nil {
		t.Fatal(err)
	}
	xx := strings.Replace(string(en), `lang = "en"`, `lang = "xx"`, 1)
	xx = strings.Replace(xx, `rough = """`, `rough = """ukakasi, `, 1)
	w, err := Read(fstest.MapFS{"en.toml": {Data: en}, "xx.toml": {Data: []byte(xx)}})
	if err != nil {
		t.Fatal(err)
	}
	if _, is := w.Match([]string{"ukakasi"}); len(is) != 1 || is[0].Name != "rough" ||
		is[0].Lang != "xx" {
		t.Errorf("the new word means %v", is)
	}
	if _, is := w.Match([]string{"slimy"}); len(is) != 1 || is[0].Lang != "en xx" {
		t.Errorf("a shared word means %v", is)
	}
	if got := w.Show("xx", Mark, "rough"); got != "ukakasi" {
		t.Errorf("shown: %q", got)
	}
}
