package bot

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lotbell/bot/voice"
	"lotbell/bot/words"
)

// Sums does the trade's sums and puts them into words: what they are called, the words that may be
// typed and all they say are data of the voice, under "sum.". It never changes once made.
type Sums struct {
	voice *voice.Voice
	calls []string          // what sums are called, English first
	names map[string]string // what a sum is called, in any language → its name
	means map[string]string // a word, folded, in any language → the tables' word for it
}

// NewSums is the sums in every language there is.
func NewSums() (*Sums, error) {
	v, err := voice.Load()
	if err != nil {
		return nil, err
	}
	return sumsIn(v), nil
}

// sumsIn is the sums in the languages of a voice: under sum.NAME.words stands what a sum is called,
// under sum.word.WORD what may be typed for a word of the tables; in both the first is the one that
// Lotbell says.
func sumsIn(v *voice.Voice) *Sums {
	s := &Sums{voice: v, names: map[string]string{}, means: map[string]string{}}
	for _, lang := range v.Langs() {
		for _, f := range calcForms() {
			for _, w := range s.called(lang, f.name) {
				s.names[words.FoldText(w)] = f.name
				s.calls = append(s.calls, w)
			}
		}
		for _, key := range v.Under(lang, calcWordKey) {
			for _, w := range strings.Fields(v.Say(lang, key)) {
				s.means[words.FoldText(w)] = strings.TrimPrefix(key, calcWordKey)
			}
		}
	}
	return s
}

const calcWordKey = "sum.word."

// called is what a sum is called in a language, the most usual first.
func (s *Sums) called(lang, name string) []string {
	return strings.Fields(s.voice.Say(lang, "sum."+name+".words"))
}

// form finds a sum by what it is called in any language.
func (s *Sums) form(called string) (calcForm, bool) {
	name := s.names[words.FoldText(called)]
	i := slices.IndexFunc(calcForms(), func(f calcForm) bool { return f.name == name })
	if i < 0 {
		return calcForm{}, false
	}
	return calcForms()[i], true
}

// mean is the tables' word for a word typed, or the word itself.
func (s *Sums) mean(word string) string {
	if w, ok := s.means[words.FoldText(word)]; ok {
		return w
	}
	return word
}

// list is all sums, to be said by what they are called.
func (s *Sums) list() (all []any) {
	for _, f := range calcForms() {
		all = append(all, Sentence{Key: "sum." + f.name + ".words"})
	}
	return all
}

// List is an example of every sum and what it gives, in a language.
func (s *Sums) List(lang string) (examples, gives []string) {
	for _, f := range calcForms() {
		examples = append(examples, s.voice.Say(lang, "sum."+f.name+".example"))
		gives = append(gives, s.voice.Say(lang, "sum."+f.name+".gives"))
	}
	return examples, gives
}

// SumTold is a sum in the words of one language.
type SumTold struct {
	Sum
	Line   string // at most 160 characters of plain GSM 7-bit text
	Notes  []string
	Source string // as published, and how far it was verified
}

// Tell puts a sum into words.
func (s *Sums) Tell(lang string, sum Sum) SumTold {
	told := SumTold{Sum: sum, Line: s.say(lang, sum.Line)}
	if sum.Short.Key != "" && len(told.Line) > calcLine {
		told.Line = s.say(lang, sum.Short)
	}
	for _, n := range sum.Notes {
		told.Notes = append(told.Notes, s.say(lang, n))
	}
	source := Sentence{"sum.source", []any{"source", Phrase{Text: sum.Source}}}
	if sum.Mark != "" {
		mark := Sentence{Key: "sum.mark." + string(sum.Mark)}
		source = Sentence{"sum.source.marked", append(source.With, "mark", mark)}
	}
	told.Source = s.say(lang, source)
	return told
}

// Text is the sum for a person: the line first, then the notes, then the source.
func (t SumTold) Text() string {
	return strings.Join(append(append([]string{t.Line}, t.Notes...), t.Source), "\n") + "\n"
}

// calcLine is the most characters of a line: one plain message of a phone.
const calcLine = 160

// Refuse puts the error of a sum into a sentence with an example that works, in lines of at most
// 160 characters. Any other error says itself.
func (s *Sums) Refuse(lang string, err error) string {
	var e CalcError
	if !errors.As(err, &e) {
		return err.Error()
	}
	text := s.say(lang, e.Why)
	if e.Near != "" {
		text = s.voice.Say(lang, "sum.near", "why", text, "near", e.Near)
	}
	if e.Word != "" {
		text = fmt.Sprintf("%q: %s", e.Word[:min(len(e.Word), 40)], text)
	}
	return calcWrap(s.voice.Say(lang, "sum.try", "why", text, "example", s.example(lang, e)), calcLine)
}

// example is a sum that works, in the language of the word that the sum was asked by; the reader's
// where that has it too.
func (s *Sums) example(lang string, e CalcError) string {
	of := lang
	if e.Called != "" && !slices.Contains(s.called(lang, e.Sum), e.Called) {
		for _, l := range s.voice.Langs() {
			if slices.Contains(s.called(l, e.Sum), e.Called) {
				of = l
			}
		}
	}
	return s.voice.Say(of, "sum."+e.Sum+".example")
}

// say puts anything that stands in a [Sentence] into words: a list has commas.
func (s *Sums) say(lang string, x any) string {
	switch x := x.(type) {
	case Sentence:
		text := s.voice.Say(lang, x.Key, s.saying(lang, x.With)...)
		if strings.HasSuffix(x.Key, ".words") {
			text = calcFirst(text)
		}
		return text
	case Phrase:
		return s.phrase(lang, x)
	case []any:
		all := make([]string, len(x))
		for i, one := range x {
			all[i] = s.say(lang, one)
		}
		return strings.Join(all, ", ")
	case float64:
		return calcShort(x)
	}
	return fmt.Sprint(x)
}

// saying puts the values among names and values into words.
func (s *Sums) saying(lang string, with []any) []any {
	said := slices.Clone(with)
	for i := 1; i < len(said); i += 2 {
		said[i] = s.say(lang, said[i])
	}
	return said
}

// phrase is a word of the tables as one would type it in a language, or a phrase of the rules as it
// is said there, under sum.said.PHRASE.
func (s *Sums) phrase(lang string, p Phrase) string {
	key := calcKey(p.Text)
	if s.voice.Has(lang, calcWordKey+key) {
		word := calcFirst(s.voice.Say(lang, calcWordKey+key))
		if strings.Contains(p.Text, " ") {
			word = strings.ReplaceAll(word, "-", " ")
		}
		return word
	}
	with := s.saying(lang, p.With)
	if s.voice.Has(lang, "sum.said."+key) {
		return s.voice.Say(lang, "sum.said."+key, with...)
	}
	return voice.Fill(p.Text, func(name string) (string, bool) {
		i := slices.Index(with, any(name))
		if i < 0 {
			return "", false
		}
		return fmt.Sprint(with[i+1]), true
	})
}

// calcKey is a phrase as part of a key: small letters, digits, and hyphens for all else.
func calcKey(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	}), "-")
}

// calcFirst is the first of several words.
func calcFirst(text string) string {
	first, _, _ := strings.Cut(text, " ")
	return first
}

// calcWrap breaks a text at blanks so that no line is longer than most, if its words allow it.
func calcWrap(text string, most int) string {
	var lines []string
	for len(text) > most {
		i := strings.LastIndexByte(text[:most+1], ' ')
		if i <= 0 {
			i = most
		}
		lines = append(lines, text[:i])
		text = strings.TrimLeft(text[i:], " ")
	}
	return strings.Join(append(lines, text), "\n")
}

// MarshalJSON is one flat object: the figures under their names, then source, mark and notes. A
// figure that is not there is null.
func (t SumTold) MarshalJSON() ([]byte, error) {
	values := append([]SumValue{{Name: "sum", Text: t.Name}}, t.Values...)
	values = append(values, SumValue{Name: "source", Text: t.Sum.Source},
		SumValue{Name: "mark", Text: string(t.Mark)})
	if len(t.Notes) > 0 {
		values = append(values, SumValue{Name: "note", Text: strings.Join(t.Notes, " ")})
	}
	var b strings.Builder
	for i, v := range values {
		b.WriteByte("{,"[min(i, 1)])
		b.WriteString(strconv.Quote(v.Name) + ":")
		switch {
		case v.Text != "" || v.Name == "mark":
			b.WriteString(calcQuote(v.Text))
		case math.IsNaN(v.Number) || math.IsInf(v.Number, 0):
			b.WriteString("null")
		default:
			b.WriteString(calcShort(v.Number))
		}
	}
	return []byte(b.String() + "}"), nil
}

// calcQuote is a text as JSON; what is not UTF-8 in it is mended.
func calcQuote(text string) string {
	var b strings.Builder
	quote := json.NewEncoder(&b)
	quote.SetEscapeHTML(false) // an & in a source stays readable
	_ = quote.Encode(text)     // a string into a builder cannot fail
	return strings.TrimSuffix(b.String(), "\n")
}
