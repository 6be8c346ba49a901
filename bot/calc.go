package bot

import (
	"fmt"
	"math"
	"strconv"

	grading "lotbell/rules/grade"
)

// Sum is the answer to one sum of the trade in facts: the figures, the sentences they are told in,
// and what they rest on. [Sums.Tell] puts it into words. The zero value is no answer.
type Sum struct {
	Name   string       // "emc"
	Line   Sentence     // the answer in one line
	Short  Sentence     // instead of Line where that is too long for a message; mostly none
	Values []SumValue   // in the order in which they should be read
	Notes  []Sentence   // what a person should know before using them
	Source string       // of the number, as published
	Mark   grading.Mark // how far it was verified; empty for plain arithmetic
	No     bool         // the answer is "no": a limit is not met, an air never gets there
}

// SumValue is one figure, or one word, of a sum. Its name carries the unit: mass_kg.
type SumValue struct {
	Name   string
	Number float64 // NaN: there is none
	Text   string  // instead of a number, which is then NaN; a word of the tables
}

// Sentence is a key of the voice and what is put into it, by name: numbers, typed words, and what
// has itself to be said in a language: a Sentence, a [Phrase], or a list of them.
type Sentence struct {
	Key  string
	With []any
}

// Phrase is a word of the tables, or a phrase of a package of rules with what is put into it. A
// language that has no other for it says it as it stands.
type Phrase struct {
	Text string
	With []any
}

// CalcError is a sum that was not understood or cannot be. It carries facts, which [Sums.Refuse]
// puts into a sentence: the word at fault, the reason, and whose example would work.
type CalcError struct {
	Word   string   // as typed; may be empty
	Why    Sentence // the reason
	Near   string   // the nearest word that would be known; may be empty
	Sum    string   // whose example is shown
	Called string   // the word that it was asked by, in whose language the example is
	No     bool     // understood, but the answer is "no": parts that do not add up
	Err    error    // what a package of rules said; may be nil
}

// Error is for a program's own records: people are told by [Sums.Refuse].
func (e CalcError) Error() string {
	return fmt.Sprintf("calc %s: %q: %s %v", e.Sum, e.Word, e.Why.Key, e.Why.With)
}

// Unwrap is the error of the package of rules that refused, if one did.
func (e CalcError) Unwrap() error { return e.Err }

// Calc does one of the trade's sums, written as words: "emc 25C 60%". Case does not matter, a
// comma is as good as a point, and blanks may stand between number and unit; the words may be of
// any language of the voice. Tables are the shipped ones or a mill's own. It is a pure function and
// fails with a [CalcError].
func (s *Sums) Calc(t *grading.Tables, words []string) (Sum, error) {
	words = calcFold(words)
	names := Sentence{"sum.why.unnamed", []any{"names", s.list()}}
	if len(words) == 0 {
		return Sum{}, CalcError{Why: names, Sum: calcForms()[0].name}
	}
	called := words[0]
	f, ok := s.form(called)
	if !ok {
		return Sum{}, s.unknown(called)
	}
	a, err := s.read(f, words)
	if err != nil {
		return Sum{}, err
	}
	sum, err := f.run(a, t)
	if err != nil {
		return Sum{}, a.explain(err)
	}
	sum.Name = f.name
	return sum, nil
}

// unknown is the error for a word that is no sum: with the nearest that is one, else with them all.
func (s *Sums) unknown(word string) CalcError {
	e := CalcError{Word: word, Sum: calcForms()[0].name,
		Why: Sentence{"sum.why.unknown", []any{"names", s.list()}}}
	if e.Near = grading.Nearest(word, s.calls); e.Near != "" {
		f, _ := s.form(e.Near)
		e.Why, e.Sum, e.Called = Sentence{Key: "sum.why.no-such"}, f.name, e.Near
	}
	return e
}

// calcForm is one sum: its name and what does it. What it is called in a language, an example and
// what it gives are data of the voice, under sum.NAME.
type calcForm struct {
	name string
	run  func(*calcWords, *grading.Tables) (Sum, error)
}

// calcForms lists the sums in the order in which a lot meets them.
func calcForms() []calcForm {
	return []calcForm{
		{"emc", calcEMC}, {"aw", calcActivity}, {"air", calcAir}, {"heat", calcHeat},
		{"ferment", calcFerment}, {"patio", calcPatio}, {"dry", calcDry},
		{"weight", calcWeight}, {"blend", calcBlend}, {"loss", calcLoss}, {"basis", calcBasis},
		{"moisture", calcMethod}, {"factor", calcFactor}, {"green", calcGreen},
		{"screens", calcScreens}, {"screen", calcScreen}, {"defects", calcDefects},
		{"ico", calcICO}, {"cup", calcCup}, {"bags", calcBags}, {"container", calcContainer},
		{"scale", calcScale},
	}
}

// num adds a figure.
func (s *Sum) num(name string, v float64) {
	s.Values = append(s.Values, SumValue{Name: name, Number: v})
}

// word adds a word.
func (s *Sum) word(name, text string) {
	s.Values = append(s.Values, SumValue{name, math.NaN(), text})
}

// say sets the line and note adds a note: a key of the voice, then names and values.
func (s *Sum) say(key string, with ...any)  { s.Line = Sentence{key, with} }
func (s *Sum) note(key string, with ...any) { s.Notes = append(s.Notes, Sentence{key, with}) }

// rests sets what the sum rests on.
func (s *Sum) rests(source string, mark grading.Mark) { s.Source, s.Mark = source, mark }

// fixed is a number with so many decimals, as instruments and tables have them.
func fixed(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }

// calcShort is a number in at most nine significant figures and without an exponent. That hides
// the noise of arithmetic and nothing else: no scale has nine figures.
func calcShort(v float64) string {
	short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64)
	return strconv.FormatFloat(short, 'f', -1, 64)
}
