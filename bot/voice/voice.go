// Package voice holds every sentence Lotbell says, in every language, as data (one TOML file a
// language), and the few rules by which numbers and hours are put into them.
//
// The rules of the voice: it speaks to one person, plainly and briefly. The first line of any
// answer or call fits 160 characters of the GSM 7-bit alphabet and needs no picture, button or
// colour. The figure comes with its unit. It repeats what was understood. It blames nobody, never
// says "invalid", and where the work can hurt somebody it says what not to do. Sentences are
// written properly, with every accent; [Plain] is for phones and tests that have only GSM 7-bit.
//
// The package imports nothing of ours, asks no clock, and decides nothing.
package voice

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"github.com/nicksnyder/go-i18n/v2/i18n/template"
	"github.com/pelletier/go-toml/v2"
	"golang.org/x/text/language"
)

//go:embed *.toml
var files embed.FS

// Voice says sentences. It is made by [Load] and never changes.
type Voice struct {
	speakers map[string]*i18n.Localizer
	langs    []string
	keys     map[string]map[string]bool // by language: the keys it has
}

// Load reads the embedded languages. It fails on a file that cannot be read.
func Load() (*Voice, error) {
	names, err := fs.Glob(files, "*.toml")
	if err != nil {
		return nil, fmt.Errorf("list sentences: %w", err)
	}
	bundle := i18n.NewBundle(language.English)
	bundle.RegisterUnmarshalFunc("toml", toml.Unmarshal)
	v := &Voice{speakers: map[string]*i18n.Localizer{}, keys: map[string]map[string]bool{}}
	for _, name := range names {
		f, err := bundle.LoadMessageFileFS(files, name)
		if err != nil {
			return nil, fmt.Errorf("read sentences %s: %w", name, err)
		}
		lang := strings.TrimSuffix(name, ".toml")
		v.langs = append(v.langs, lang)
		v.keys[lang] = map[string]bool{}
		for _, m := range f.Messages {
			v.keys[lang][m.ID] = true
		}
	}
	for _, lang := range v.langs {
		v.speakers[lang] = i18n.NewLocalizer(bundle, lang)
	}
	return v, nil
}

// Langs lists the languages.
func (v *Voice) Langs() []string { return v.langs }

// Speaks says whether there are sentences in a language.
func (v *Voice) Speaks(lang string) bool { return v.speakers[lang] != nil }

// Has says whether a language has a sentence of its own under a key.
func (v *Voice) Has(lang, key string) bool { return v.keys[lang][key] }

// Under lists the keys of a language that begin with a prefix, in order.
func (v *Voice) Under(lang, prefix string) (keys []string) {
	for key := range v.keys[lang] {
		if strings.HasPrefix(key, prefix) {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	return keys
}

// Say is a sentence in a language (English where it has none), with named values put in:
// Say("en", "took.load", "kg", "4200"). A value named n chooses the plural form. An unknown key
// says itself, which tests catch.
func (v *Voice) Say(lang, key string, pairs ...any) string {
	s := v.speakers[lang]
	if s == nil {
		s = v.speakers["en"]
	}
	values := make(map[string]string, len(pairs)/2)
	config := i18n.LocalizeConfig{MessageID: key, TemplateData: values, TemplateParser: braces{}}
	for i := 0; i+1 < len(pairs); i += 2 {
		name, _ := pairs[i].(string)
		values[name] = fmt.Sprint(pairs[i+1])
		if n, ok := pairs[i+1].(int); ok && name == "n" {
			config.PluralCount = n
		}
	}
	text, _ := s.Localize(&config) // the text is right even when it falls back with an error
	if text == "" {
		return key
	}
	return text
}

// braces parses sentences with {name} in them.
type braces struct{}

// Cacheable says that a parsed sentence may be kept.
func (braces) Cacheable() bool { return true }

// Parse keeps the sentence as it is: filling it is one pass.
func (braces) Parse(src, _, _ string) (template.ParsedTemplate, error) { return sentence(src), nil }

type sentence string

// Execute puts the values in.
func (s sentence) Execute(data any) (string, error) {
	values, _ := data.(map[string]string)
	return Fill(string(s), func(name string) (string, bool) {
		x, ok := values[name]
		return x, ok
	}), nil
}

// Fill puts values into a text with {name} in it. A name that is not known stays as it is.
func Fill(text string, value func(name string) (string, bool)) string {
	var b strings.Builder
	for {
		before, after, ok := strings.Cut(text, "{")
		b.WriteString(before)
		if !ok {
			return b.String()
		}
		name, rest, closed := strings.Cut(after, "}")
		if !closed {
			b.WriteString("{" + after)
			return b.String()
		}
		if x, known := value(name); known {
			b.WriteString(x)
		} else {
			b.WriteString("{" + name + "}")
		}
		text = rest
	}
}
