package bot

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	grading "lotbell/rules/grade"
)

// calcMost is the largest number a sum takes: more than the world's coffee in grams.
const calcMost = 1e15

// calcQuantity is a number with its unit as read.
type calcQuantity struct {
	n    float64
	unit string // one of the units of calcUnit; empty: none was written
	word string // as typed
}

// calcPair is a name and its amount: broken=9.
type calcPair struct {
	key string
	calcQuantity
}

// calcWords is a sum taken apart. Each accessor takes what it finds, so that what is left over was
// not understood; the first thing missing is kept in err and the accessors after it give zeros.
type calcWords struct {
	form  calcForm
	qs    []calcQuantity
	pairs []calcPair
	words []string
	err   error
}

// calcUnit gives a unit as written its own name and the number of them in one as written. Percent
// is wet basis or humidity unless db is said. Local measures (quintal, lata, arroba) are a mill's
// own and not known here.
func calcUnit(text string) (unit string, scale float64, ok bool) {
	switch text {
	case "":
		return "", 1, true
	case "c", "celsius":
		return "C", 1, true
	case "f", "fahrenheit":
		return "F", 1, true
	case "%", "%wb", "%rh", "%hr", "pct":
		return "%", 1, true
	case "%db":
		return "%db", 1, true
	case "kg", "kgs", "kilo", "kilos":
		return "kg", 1, true
	case "t", "ton", "tons", "tonne", "tonnes":
		return "kg", 1000, true
	case "lb", "lbs":
		return "kg", grading.KgPerPound, true
	case "g", "gr", "gram", "grams":
		return "g", 1, true
	case "m", "masl", "msnm":
		return "m", 1, true
	case "cm", "mm":
		return text, 1, true
	}
	return "", 0, false
}

// calcFold brings words to one spelling: lower case, one blank, no degree sign, pairs closed up.
func calcFold(words []string) []string {
	line := strings.ToLower(strings.Join(words, " "))
	line = strings.NewReplacer("°", "", "º", "", "℃", "c", "½", " 1/2",
		"→", " to ", "->", " to ", "=", " = ").Replace(line)
	line = strings.Join(strings.Fields(line), " ")
	line = strings.ReplaceAll(strings.ReplaceAll(line, " 1/2 =", ".5 ="), " = ", "=")
	return strings.Fields(line)
}

// calcFiller says whether a word only joins: 53% to 10.5%.
func calcFiller(word string) bool {
	switch word {
	case "to", "at", "of", "in", "from", "and", "with", "rh", "hr", "wb", "a", "de", "en", "con":
		return true
	}
	return false
}

// calcRead takes the folded words after the name of the sum apart.
func calcRead(f calcForm, words []string) (*calcWords, error) {
	a := &calcWords{form: f}
	for i := 0; i < len(words); i++ {
		w := words[i]
		key, amount, pair := strings.Cut(w, "=")
		if !pair {
			key, amount = "", w
		}
		if !strings.ContainsAny(amount[:min(1, len(amount))], "+-.0123456789") {
			if pair {
				return nil, a.fault(w, key+" needs a number after the equals sign")
			}
			if !calcFiller(w) {
				a.words = append(a.words, w)
			}
			continue
		}
		for i+1 < len(words) && calcJoins(amount, words[i+1]) {
			i++
			amount, w = amount+words[i], w+" "+words[i]
		}
		q, err := a.quantity(amount, w, pair)
		if err != nil {
			return nil, err
		}
		if pair {
			a.pairs = append(a.pairs, calcPair{key, q})
		} else {
			a.qs = append(a.qs, q)
		}
	}
	return a, nil
}

// calcJoins says whether the next word is the unit of a number that has none yet ("25 C"), the
// basis of a percentage ("10.5% db"), or the half of a screen ("12 1/2").
func calcJoins(amount, next string) bool {
	number, unit := calcCut(amount)
	switch {
	case unit == "" && next == "1/2":
		return !strings.ContainsAny(number, ".,")
	case unit == "":
		_, _, ok := calcUnit(next)
		return ok
	}
	return unit == "%" && (next == "db" || next == "wb" || next == "rh" || next == "hr")
}

// calcCut cuts a number from the unit written on to it.
func calcCut(text string) (number, unit string) {
	i := 0
	for i < len(text) && strings.IndexByte("+-0123456789.,", text[i]) >= 0 {
		i++
	}
	return text[:i], text[i:]
}

// quantity reads a number with its unit. Where one mark stands before exactly three digits the
// number may be meant either way; it is taken as decimals where thousands cannot be, and asked
// back where they can.
func (a *calcWords) quantity(text, word string, pair bool) (calcQuantity, error) {
	text, half := strings.CutSuffix(text, "1/2")
	number, written := calcCut(text)
	unit, scale, ok := calcUnit(written)
	if !ok {
		return calcQuantity{}, a.fault(word,
			fmt.Sprintf("no unit %q: there are C, F, %%, %%db, g, kg, t, lb, m, cm, mm", written))
	}
	n, thousands, err := calcNumber(number)
	if err != nil {
		return calcQuantity{}, a.fault(word, err.Error())
	}
	if math.Abs(n) > calcMost {
		return calcQuantity{}, a.fault(word, fmt.Sprintf("must be under %s", calcShort(calcMost)))
	}
	mass := unit == "kg" || unit == "g" || unit == "m" || unit == ""
	if thousands > 0 && mass && !pair {
		return calcQuantity{}, a.fault(word, fmt.Sprintf("may be %g or %g: write %.2f%s or %g%s",
			n, thousands, n, written, thousands, written))
	}
	if half {
		n += 0.5
	}
	return calcQuantity{n * scale, unit, word}, nil
}

// calcNumber reads a number with decimal point or comma and thousand marks. Thousands is not 0
// where a single mark before three digits may be a thousand mark as well.
func calcNumber(text string) (n, thousands float64, err error) {
	bad := fmt.Errorf("is no number")
	last := strings.LastIndexAny(text, ".,")
	if last < 0 {
		n, err = strconv.ParseFloat(text, 64)
		if err != nil {
			err = bad
		}
		return n, 0, err
	}
	whole, frac, mark := text[:last], text[last+1:], text[last:last+1]
	if whole == "" {
		whole = "0"
	}
	groups := strings.FieldsFunc(whole, func(r rune) bool { return r == '.' || r == ',' })
	switch marks := strings.Count(whole, ".") + strings.Count(whole, ","); {
	case frac == "" || len(groups) != marks+1:
		return 0, 0, bad
	case marks > 0 && strings.Count(whole, mark) != 0 && strings.Count(whole, mark) != marks:
		return 0, 0, bad
	case marks > 0 && strings.Contains(whole, mark): // 1.000.000
		groups, frac = append(groups, frac), ""
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return 0, 0, bad
		}
	}
	joined := strings.Join(groups, "")
	if n, err = strconv.ParseFloat(joined+"."+frac, 64); err != nil {
		return 0, 0, bad
	}
	digits := strings.TrimLeft(joined, "+-")
	lead := digits != "" && digits[0] != '0'
	if len(groups) == 1 && len(frac) == 3 && len(digits) <= 3 && lead {
		thousands, _ = strconv.ParseFloat(digits+frac, 64)
	}
	return n, thousands, nil
}

// fault is an error at a word, with this sum's example.
func (a *calcWords) fault(word, why string) CalcError {
	return CalcError{Word: word, Why: why, Example: a.form.example}
}

// explain makes an error of a package of rules into one with this sum's example.
func (a *calcWords) explain(err error) error {
	if e, ok := err.(CalcError); ok {
		return e
	}
	return CalcError{Word: a.form.name, Why: err.Error(), Example: a.form.example, Err: err}
}

// has says whether a quantity in one of these units is left.
func (a *calcWords) has(units ...string) bool {
	for _, q := range a.qs {
		for _, u := range units {
			if q.unit == u {
				return true
			}
		}
	}
	return false
}

// take takes the first quantity left in one of these units; what names it for the error.
func (a *calcWords) take(what string, units ...string) calcQuantity {
	for i, q := range a.qs {
		for _, u := range units {
			if q.unit == u {
				a.qs = append(a.qs[:i:i], a.qs[i+1:]...)
				return q
			}
		}
	}
	if a.err == nil {
		a.err = a.fault("", a.form.name+" needs "+what)
	}
	return calcQuantity{}
}

// celsius takes a temperature in °C, between low and high.
func (a *calcWords) celsius(what string, low, high float64) float64 {
	q := a.take(what+", as in 25C", "C", "F")
	if q.unit == "F" {
		q.n = (q.n - 32) / 1.8
	}
	return a.within(q, low, high, "C")
}

// percent takes a percentage between low and high; above says what 100 % and more would be.
func (a *calcWords) percent(what string, low, high float64) float64 {
	return a.within(a.take(what+", as in 60%", "%"), low, high, "%")
}

// moisture takes a moisture in percent wet basis, 0 to under 100.
func (a *calcWords) moisture(what string) float64 {
	q := a.take(what+", as in 10.5%", "%", "%db")
	switch {
	case q.unit == "%db" && q.n >= 0:
		q.n = 100 * q.n / (100 + q.n)
	case q.n >= 100 && a.err == nil:
		a.err = a.fault(q.word, "a moisture of 100 % would be water alone")
	case q.n < 0 && a.err == nil:
		a.err = a.fault(q.word, "a moisture cannot be negative")
	}
	return q.n
}

// kg takes a mass above 0 in kg, and grams one in g.
func (a *calcWords) kg(what string) float64 {
	q := a.take(what+", as in 1000kg", "kg", "g")
	if q.unit == "g" {
		q.n /= 1000
	}
	return a.positive(q, "mass")
}

func (a *calcWords) grams(what string) float64 {
	q := a.take(what+", as in 250g", "g", "kg")
	if q.unit == "kg" {
		q.n *= 1000
	}
	return a.positive(q, "mass")
}

// positive keeps an error for a quantity that is not above 0.
func (a *calcWords) positive(q calcQuantity, what string) float64 {
	if q.n <= 0 && a.err == nil {
		a.err = a.fault(q.word, "a "+what+" must be more than 0")
	}
	return q.n
}

// within keeps an error for a quantity outside low to high.
func (a *calcWords) within(q calcQuantity, low, high float64, unit string) float64 {
	if !(q.n >= low && q.n <= high) && a.err == nil {
		a.err = a.fault(q.word, fmt.Sprintf("must be %g to %g %s", low, high, unit))
	}
	return q.n
}

// names takes the words that are left, joined by hyphens: "dried cherry" is dried-cherry.
func (a *calcWords) names() string {
	name := strings.Join(a.words, "-")
	a.words = nil
	return name
}

// done gives the first error, or one for the first word that this sum has no use for.
func (a *calcWords) done() error {
	switch {
	case a.err != nil:
		return a.err
	case len(a.qs) > 0:
		return a.fault(a.qs[0].word, "is one too many for "+a.form.name+", or its unit is missing")
	case len(a.pairs) > 0:
		return a.fault(a.pairs[0].word, "is not part of "+a.form.name)
	case len(a.words) > 0:
		return a.fault(a.words[0], "is not part of "+a.form.name)
	}
	return nil
}
