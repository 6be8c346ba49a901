package rules

import (
	"strconv"
	"strings"
	"unicode"
)

// source is a condition's text made ready for the parser: phone keyboards' characters put right
// and times (2h, 40min, 30d) replaced by names of the same width, so that columns stay true.
type source struct {
	written []rune
	runes   []rune
	cols    []int           // rune in runes -> rune in written
	spans   map[int]float64 // where a time stands -> milliseconds
	width   map[int]int     // and how wide it is
}

// column is where a rune of the prepared text stands in the text as written, from 1.
func (s source) column(at int) int {
	if at < 0 || len(s.cols) == 0 {
		return 1
	}
	return s.cols[min(at, len(s.cols)-1)] + 1
}

// tokenise prepares a text, or says why it cannot be a condition.
func tokenise(text string) (source, error) {
	s := source{written: []rune(text), spans: map[int]float64{}, width: map[int]int{}}
	if len(s.written) > maxCondition {
		return s, &Mistake{Kind: TooLong, Col: maxCondition, Text: string(s.written[:60]) + "…",
			Word: strconv.Itoa(len(s.written)), Hint: strconv.Itoa(maxCondition)}
	}
	depth := 0
	for i, r := range s.written {
		switch r {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			depth--
		}
		if depth > maxNesting {
			return s, &Mistake{Kind: TooDeep, Col: i + 1, Text: text,
				Hint: strconv.Itoa(maxNesting)}
		}
		s.put(i, r)
	}
	if at := s.decimalComma(); at >= 0 {
		return s, &Mistake{Kind: DecimalComma, Col: s.column(at), Text: text,
			Word: s.around(at), Hint: strings.Replace(s.around(at), ",", ".", 1)}
	}
	s.lower()
	s.takeTimes()
	return s, nil
}

// put adds one rune, put right where a phone changed it.
func (s *source) put(col int, r rune) {
	text := string(r)
	switch r {
	case '“', '”', '„', '«', '»', '‘', '’', '‚', '`', '´':
		text = "'"
	case '≥':
		text = ">="
	case '≤':
		text = "<="
	case '≠':
		text = "!="
	case '–', '—', '−':
		text = "-"
	case '×':
		text = "*"
	case '\u00a0', '\n', '\t':
		text = " "
	}
	for _, x := range text {
		s.runes = append(s.runes, x)
		s.cols = append(s.cols, col)
	}
}

// bare calls f with every rune that is not within quotes.
func (s *source) bare(f func(i int, r rune)) {
	quote, escaped := rune(0), false
	for i, r := range s.runes {
		switch {
		case escaped:
			escaped = false
		case quote != 0:
			escaped = r == '\\'
			if r == quote {
				quote = 0
			}
		case r == '\'' || r == '"':
			quote = r
		default:
			f(i, r)
		}
	}
}

// decimalComma finds a comma between two digits that parts no arguments of a function; -1 when
// there is none.
func (s *source) decimalComma() int {
	found, call, before := -1, []bool{false}, ' '
	s.bare(func(i int, r rune) {
		switch {
		case r == '(':
			call = append(call, unicode.IsLetter(before))
		case r == ')' && len(call) > 1:
			call = call[:len(call)-1]
		case r == ',' && !call[len(call)-1] && found < 0 && i > 0 && i+1 < len(s.runes) &&
			unicode.IsDigit(s.runes[i-1]) && unicode.IsDigit(s.runes[i+1]):
			found = i
		}
		before = r
	})
	return found
}

// around is the number that stands around a rune.
func (s *source) around(at int) string {
	i, j := at, at+1
	for i > 0 && unicode.IsDigit(s.runes[i-1]) {
		i--
	}
	for j < len(s.runes) && unicode.IsDigit(s.runes[j]) {
		j++
	}
	return string(s.runes[i:j])
}

// lower writes AND, OR and NOT small.
func (s *source) lower() {
	s.words(func(i, j int) {
		switch w := strings.ToLower(string(s.runes[i:j])); w {
		case "and", "or", "not":
			copy(s.runes[i:j], []rune(w))
		}
	})
}

// words calls f with every run of letters, digits, points and underscores outside quotes.
func (s *source) words(f func(i, j int)) {
	i, j := 0, 0
	s.bare(func(at int, r rune) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '_' && r != '.' {
			return
		}
		if at != j {
			if j > i {
				f(i, j)
			}
			i = at
		}
		j = at + 1
	})
	if j > i {
		f(i, j)
	}
}

// firstName is the letter of the name that stands for the first time of a text; the next time
// gets the next letter. They are syllables of a script that no name is written in.
const firstName = '가'

// takeTimes replaces 2h, 40min and 30d by names that no fact has.
func (s *source) takeTimes() {
	s.words(func(i, j int) {
		ms, ok := span(string(s.runes[i:j]))
		if !ok {
			return
		}
		for k := i; k < j; k++ {
			s.runes[k] = firstName + rune(len(s.spans))
		}
		s.spans[i], s.width[i] = ms, j-i
	})
}

// asWritten puts the times back into a text that was made from the prepared one.
func (s source) asWritten(text string) string {
	for at := range s.spans {
		name := string(s.runes[at : at+s.width[at]])
		text = strings.ReplaceAll(text, name, spanText(s.spans[at]))
	}
	return text
}

// timeUnits are the units a time may be written in; the first that divides it is how it is
// printed.
var timeUnits = [...]struct {
	name string
	ms   float64
}{{"d", 24 * 3600e3}, {"h", 3600e3}, {"min", 60e3}, {"s", 1e3}, {"m", 60e3}}

// span reads a time such as 2h, 1.5h, 40min, 20m, 30s or 30d, in milliseconds.
func span(w string) (float64, bool) {
	for _, u := range timeUnits {
		if digits, ok := strings.CutSuffix(w, u.name); ok && digits != "" {
			n, err := strconv.ParseFloat(digits, 64)
			if err == nil && unicode.IsDigit(rune(digits[0])) && n < 1e6 {
				return n * u.ms, true
			}
		}
	}
	return 0, false
}

// spanText writes a time as a book would.
func spanText(ms float64) string {
	for _, u := range timeUnits {
		if n := ms / u.ms; n >= 1 && n == float64(int(n)) {
			return strconv.Itoa(int(n)) + u.name
		}
	}
	return strconv.FormatFloat(ms/1e3, 'f', -1, 64) + "s"
}
