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
	unit string // one of those of unit; empty: none was written
	word string // as typed
}

// unit gives a unit as written its own name and the number of them in one as written. Percent is
// wet basis or humidity unless db is said. Local measures (quintal, lata, arroba, libra) are a
// mill's own and not known here.
func (s *Sums) unit(text string) (unit string, scale float64, ok bool) {
	text, percent := strings.CutPrefix(text, "%")
	switch word := s.mean(text); {
	case percent && (word == "" || word == "wb" || word == "rh"), !percent && word == "pct":
		return "%", 1, true
	case percent && word == "db":
		return "%db", 1, true
	case percent:
		return "", 0, false
	default:
		unit, scale = calcUnit(word)
		return unit, scale, scale != 0
	}
}

// calcUnit is a unit that is not a percentage, and its number in one of its own; else 0.
func calcUnit(word string) (unit string, scale float64) {
	switch word {
	case "", "kg", "g", "m", "cm", "mm":
		return word, 1
	case "c", "f":
		return strings.ToUpper(word), 1
	case "t":
		return "kg", 1000
	case "lb":
		return "kg", grading.KgPerPound
	}
	return "", 0
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
	unit, scale, ok := a.sums.unit(written)
	if !ok {
		return calcQuantity{}, a.fault(word, "sum.why.unit", "unit", fmt.Sprintf("%q", written))
	}
	n, thousands, ok := calcNumber(number)
	if !ok {
		return calcQuantity{}, a.fault(word, "sum.why.no-number")
	}
	if math.Abs(n) > calcMost {
		return calcQuantity{}, a.fault(word, "sum.why.under", "most", calcMost)
	}
	mass := unit == "kg" || unit == "g" || unit == "m" || unit == ""
	if thousands > 0 && mass && !pair {
		return calcQuantity{}, a.fault(word, "sum.why.two-ways", "a", calcAny(n), "b",
			calcAny(thousands), "as", fixed(n, 2)+written, "or", calcAny(thousands)+written)
	}
	if half {
		n += 0.5
	}
	return calcQuantity{n * scale, unit, word}, nil
}

// calcNumber reads a number with decimal point or comma and thousand marks. Thousands is not 0
// where a single mark before three digits may be a thousand mark as well.
func calcNumber(text string) (n, thousands float64, ok bool) {
	last := strings.LastIndexAny(text, ".,")
	if last < 0 {
		n, err := strconv.ParseFloat(text, 64)
		return n, 0, err == nil
	}
	whole, frac, mark := text[:last], text[last+1:], text[last:last+1]
	if whole == "" {
		whole = "0"
	}
	groups := strings.FieldsFunc(whole, func(r rune) bool { return r == '.' || r == ',' })
	switch marks := strings.Count(whole, ".") + strings.Count(whole, ","); {
	case frac == "" || len(groups) != marks+1:
		return 0, 0, false
	case marks > 0 && strings.Count(whole, mark) != 0 && strings.Count(whole, mark) != marks:
		return 0, 0, false
	case marks > 0 && strings.Contains(whole, mark): // 1.000.000
		groups, frac = append(groups, frac), ""
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return 0, 0, false
		}
	}
	joined := strings.Join(groups, "")
	n, err := strconv.ParseFloat(joined+"."+frac, 64)
	if err != nil {
		return 0, 0, false
	}
	digits := strings.TrimLeft(joined, "+-")
	lead := digits != "" && digits[0] != '0'
	if len(groups) == 1 && len(frac) == 3 && len(digits) <= 3 && lead {
		thousands, _ = strconv.ParseFloat(digits+frac, 64)
	}
	return n, thousands, true
}
