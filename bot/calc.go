package bot

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	grading "lotbell/rules/grade"
)

// Sum is the answer to one sum of the trade: what was understood, the figures, and what they rest
// on. The zero value is no answer.
type Sum struct {
	Name   string       // "emc"
	Line   string       // in one line of at most 160 characters of plain GSM 7-bit text
	Values []SumValue   // in the order in which they should be read
	Notes  []string     // what a person should know before using them
	Source string       // of the number, as published
	Mark   grading.Mark // how far it was verified; empty for plain arithmetic
	No     bool         // the answer is "no": a limit is not met, an air never gets there
}

// SumValue is one figure, or one word, of a sum. Its name carries the unit: mass_kg.
type SumValue struct {
	Name   string
	Number float64 // NaN: there is none
	Text   string  // instead of a number, which is then NaN
}

// CalcError is a sum that was not understood or cannot be. It carries facts for a sentence: the
// word at fault, the reason, and an example that works.
type CalcError struct {
	Word    string // as typed; may be empty
	Why     string
	Near    string // the nearest word that would be known; may be empty
	Example string // a whole sum that works
	No      bool   // understood, but the answer is "no": parts that do not add up
	Err     error  // what a package of rules said; may be nil
}

// Error is one sentence and the example, in lines of at most 160 characters.
func (e CalcError) Error() string {
	var b strings.Builder
	if e.Word != "" {
		fmt.Fprintf(&b, "%q: ", e.Word[:min(len(e.Word), 40)])
	}
	b.WriteString(e.Why)
	if e.Near != "" {
		fmt.Fprintf(&b, " (perhaps %s)", e.Near)
	}
	fmt.Fprintf(&b, ". Try: calc %s", e.Example)
	return calcWrap(b.String(), 160)
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

// Unwrap is the error of the package of rules that refused, if one did.
func (e CalcError) Unwrap() error { return e.Err }

// Calc does one of the trade's sums, written as words: "emc 25C 60%". Case does not matter, a
// comma is as good as a point, and blanks may stand between number and unit. It is a pure function
// and uses the tables that come with the program. It fails with a [CalcError].
func Calc(words []string) (Sum, error) {
	t, err := grading.Shipped()
	if err != nil {
		return Sum{}, err
	}
	return CalcWith(t, words)
}

// CalcWith is [Calc] with a mill's own tables of grading.
func CalcWith(t *grading.Tables, words []string) (Sum, error) {
	words = calcFold(words)
	forms := calcForms()
	names := make([]string, len(forms))
	for i, f := range forms {
		names[i] = f.name
	}
	known := "there are " + strings.Join(names, ", ")
	if len(words) == 0 {
		return Sum{}, CalcError{Why: "no sum is named: " + known, Example: forms[0].example}
	}
	for _, f := range forms {
		if f.name != words[0] {
			continue
		}
		a, err := calcRead(f, words[1:])
		if err != nil {
			return Sum{}, err
		}
		s, err := f.run(a, t)
		if err != nil {
			return Sum{}, a.explain(err)
		}
		s.Name = f.name
		return s, nil
	}
	e := CalcError{Word: words[0], Why: "no such sum: " + known, Example: forms[0].example}
	e.Near = grading.Nearest(words[0], names)
	for _, f := range forms {
		if f.name == e.Near {
			e.Why, e.Example = "no such sum", f.example
		}
	}
	return Sum{}, e
}

// calcForm is one sum: its name, an example that works, and what does it.
type calcForm struct {
	name    string
	example string
	gives   string
	run     func(*calcWords, *grading.Tables) (Sum, error)
}

// calcForms lists the sums in the order in which a lot meets them.
func calcForms() []calcForm {
	return []calcForm{
		{"emc", "emc 25C 60%", "moisture at rest in this air", calcEMC},
		{"aw", "aw 10.5% 25C", "water activity at this moisture", calcActivity},
		{"air", "air 20C 65% 1500m", "what this air holds", calcAir},
		{"heat", "heat 20C 65% to 50C", "the same air, heated", calcHeat},
		{"ferment", "ferment 20.5C", "hours in the tank at this mass temperature", calcFerment},
		{"patio", "patio 60kg 3cm", "ground for washed coffee", calcPatio},
		{"dry", "dry 35% to 10.5% 55C 20C 70%", "hours in drum air from outside air", calcDry},
		{"weight", "weight 1000kg 53% to 10.5%", "mass at another moisture", calcWeight},
		{"blend", "blend 1000kg 12% 500kg 10%", "several weighings as one", calcBlend},
		{"loss", "loss 1000kg 53% 520kg 11%", "what water does not explain", calcLoss},
		{"basis", "basis 10.5%", "wet basis and dry basis", calcBasis},
		{"moisture", "moisture 12.5% iso-1446 to iso-6673", "one method as another", calcMethod},
		{"factor", "factor 250g 195.5g", "yield factor and outturn", calcFactor},
		{"green", "green 75kg parchment", "green bean equivalent", calcGreen},
		{"screens", "screens 18=32 17=41 16=14 15=8 14=3.5 pan=1.5", "sizes in percent",
			calcScreens},
		{"screen", "screen 17", "a screen in mm, or a hole as screen", calcScreen},
		{"defects", "defects sca-2018 350g partial-black=4 broken=9", "full defects and grade",
			calcDefects},
		{"ico", "ico 86 12.5% arabica 300g", "ICO 420 export targets", calcICO},
		{"cup", "cup 84.75", "class of a cup score", calcCup},
		{"bags", "bags 7643.4kg 60kg", "full bags and the rest", calcBags},
		{"container", "container 40000kg bulk", "20 ft containers and the rest", calcContainer},
		{"scale", "scale 60kg 0.05kg", "error allowed to a class III scale", calcScale},
	}
}

// CalcForms lists an example of every sum with what it gives, for help texts.
func CalcForms() (examples, gives []string) {
	for _, f := range calcForms() {
		examples, gives = append(examples, f.example), append(gives, f.gives)
	}
	return examples, gives
}

// num adds a figure.
func (s *Sum) num(name string, v float64) {
	s.Values = append(s.Values, SumValue{Name: name, Number: v})
}

// word adds a word.
func (s *Sum) word(name, text string) {
	s.Values = append(s.Values, SumValue{name, math.NaN(), text})
}

// say sets the line, more adds to it, note adds a note: all as fmt does, except for %g.
func (s *Sum) say(format string, args ...any)  { s.Line = calcSay(format, args) }
func (s *Sum) more(format string, args ...any) { s.Line += calcSay(format, args) }
func (s *Sum) note(format string, args ...any) { s.Notes = append(s.Notes, calcSay(format, args)) }

// calcSay is fmt.Sprintf with %g as people write numbers.
func calcSay(format string, args []any) string {
	for i, a := range args {
		if v, ok := a.(float64); ok {
			args[i] = calcFigure(v)
		}
	}
	return fmt.Sprintf(format, args...)
}

// calcFigure is a number that prints under %g without an exponent and without the noise of
// arithmetic: nine figures at most.
type calcFigure float64

// Format prints the figure.
func (f calcFigure) Format(to fmt.State, verb rune) {
	if verb != 'g' {
		fmt.Fprintf(to, fmt.FormatString(to, verb), float64(f))
		return
	}
	fmt.Fprint(to, calcShort(float64(f)))
}

// calcQuote is a text as JSON; what is not UTF-8 in it is mended.
func calcQuote(text string) string {
	var b strings.Builder
	quote := json.NewEncoder(&b)
	quote.SetEscapeHTML(false) // an & in a source stays readable
	_ = quote.Encode(text)     // a string into a builder cannot fail
	return strings.TrimSuffix(b.String(), "\n")
}

// calcShort is a number in at most nine significant figures and without an exponent. That hides
// the noise of arithmetic and nothing else: no scale has nine figures.
func calcShort(v float64) string {
	short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64)
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// Text is the sum for a person: the line first, then the notes, then the source and how far it
// was verified.
func (s Sum) Text() string {
	var b strings.Builder
	b.WriteString(s.Line + "\n")
	for _, n := range s.Notes {
		b.WriteString(n + "\n")
	}
	if b.WriteString("Source: " + s.Source); s.Mark != "" {
		b.WriteString(" (" + s.Mark.Words() + ")")
	}
	return b.String() + "\n"
}

// MarshalJSON is one flat object: the figures under their names, then source, mark and notes. A
// figure that is not there is null.
func (s Sum) MarshalJSON() ([]byte, error) {
	values := append([]SumValue{{Name: "sum", Text: s.Name}}, s.Values...)
	values = append(values, SumValue{Name: "source", Text: s.Source},
		SumValue{Name: "mark", Text: string(s.Mark)})
	if len(s.Notes) > 0 {
		values = append(values, SumValue{Name: "note", Text: strings.Join(s.Notes, " ")})
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
