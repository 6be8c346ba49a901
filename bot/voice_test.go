package bot

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
)

// TestEveryKeyIsSaid holds the sentences to the code: every key that the code says is there in
// every language, with the same values, and every key of a language is in the others.
func TestEveryKeyIsSaid(t *testing.T) {
	v, err := voice.Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range saidKeys(t) {
		for _, lang := range v.Langs() {
			if !v.Has(lang, key) {
				t.Errorf("%s has no sentence %s", lang, key)
			}
		}
	}
	names := regexp.MustCompile(`\{[a-z]+\}`)
	for _, key := range fileKeys(t, "en") {
		for _, lang := range v.Langs() {
			if !v.Has(lang, key) {
				t.Errorf("%s has no sentence %s", lang, key)
				continue
			}
			a, b := names.FindAllString(v.Say("en", key), -1), names.FindAllString(v.Say(lang, key), -1)
			slices.Sort(a)
			slices.Sort(b)
			if !slices.Equal(slices.Compact(a), slices.Compact(b)) {
				t.Errorf("%s in %s has the values %v, in English %v", key, lang, b, a)
			}
		}
	}
}

// saidKeys are the keys in the code and those made from the program's words.
func saidKeys(t *testing.T) []string {
	t.Helper()
	said := regexp.MustCompile(`(?:[tdu]\.say|\.bad|tellRole|tellPost|tellPrivately|warnKeepers)\((?:state\.\w+, )?"([a-z][a-z0-9.?-]+)"`)
	spoken := regexp.MustCompile(`\.Say\([\w.]+(?:\([\w.]*\))?, "([a-z][a-z0-9.?-]+)"[,)]`)
	var keys []string
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		text, err := os.ReadFile(f.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, re := range []*regexp.Regexp{said, spoken} {
			for _, m := range re.FindAllStringSubmatch(string(text), -1) {
				if !strings.HasSuffix(m[1], ".") {
					keys = append(keys, m[1])
				}
			}
		}
	}
	for _, m := range state.Marks() {
		keys = append(keys, "mark."+m)
	}
	for _, a := range state.Acts() {
		keys = append(keys, "act."+a)
	}
	for _, q := range state.Quantities() {
		keys = append(keys, "read."+q.Name)
	}
	for _, k := range append(state.Kinds(), state.Safety) {
		keys = append(keys, "kinds."+string(k))
	}
	for verb := range verbs() {
		keys = append(keys, "verb."+verb)
	}
	if len(keys) < 150 {
		t.Fatalf("only %d keys were found in the code", len(keys))
	}
	return keys
}

func fileKeys(t *testing.T, lang string) []string {
	t.Helper()
	text, err := os.ReadFile("voice/" + lang + ".toml")
	if err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, m := range regexp.MustCompile(`(?m)^"?([a-z][a-z0-9.?_-]+)"? = `).
		FindAllStringSubmatch(string(text), -1) {
		keys = append(keys, m[1])
	}
	return keys
}

// TestNobodyIsSentIntoDanger reads every sentence of the voice, every caution, every default action
// and every sentence of the default book: what nobody is ever told to do (the list in safety.toml)
// stands there only with a word that turns it round.
func TestNobodyIsSentIntoDanger(t *testing.T) {
	v, err := voice.Load()
	if err != nil {
		t.Fatal(err)
	}
	s, err := readSafety()
	if err != nil {
		t.Fatal(err)
	}
	turned := 0
	check := func(lang, where, text string) {
		if w := s.danger(lang, text); w != "" {
			t.Errorf("%s (%s) says %q: %s", where, lang, w, text)
		}
		bare := *s
		bare.Turned = nil // what a sentence without its "do not" would say
		if bare.danger(lang, text) != "" {
			turned++
		}
	}
	for _, lang := range v.Langs() {
		for _, key := range fileKeys(t, lang) {
			check(lang, key, v.Say(lang, key))
		}
		for key, text := range s.Text[lang] {
			check(lang, "caution "+key, text)
			if n := voice.Septets(text); n > 160 {
				t.Errorf("the caution %s (%s) has %d characters", key, lang, n)
			}
		}
		if len(s.Never[lang]) < 30 || len(s.Turned[lang]) < 5 {
			t.Errorf("%s has no list of what may not be told", lang)
		}
	}
	book, err := rules.Parse(rules.DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	if rule, w := s.dangerIn(book); rule != "" {
		t.Errorf("the rule %s says %q", rule, w)
	}
	if turned < 10 {
		t.Errorf("only %d cautions were found: does the list still fit the sentences?", turned)
	}
}

func TestPlainFitsGSM(t *testing.T) {
	for in, want := range map[string]string{"áéíóú ñ ¿qué?": "aéiou ñ ¿qué?", "ção": "cao", "–“x”…": "-\"x\"...",
		"✓": "?", "60 °C": "60 C"} {
		if got := voice.Plain(in); got != want {
			t.Errorf("Plain(%q) = %q, want %q", in, got, want)
		}
	}
	if n := voice.Septets("[x]"); n != 5 {
		t.Errorf("brackets cost %d, want 5", n)
	}
}
