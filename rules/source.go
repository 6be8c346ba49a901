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

// decimalComma finds a comma between two digits outside quotes and brackets; -1 when there is none.
func (s *source) decimalComma() int {
	quoted, depth := false, 0
	for i, r := range s.runes {
		switch {
		case r == '\'' || r == '"':
			quoted = !quoted
		case r == '(':
			depth++
		case r == ')':
			depth--
		case r == ',' && !quoted && depth == 0 && i > 0 && i+1 < len(s.runes) &&
			unicode.IsDigit(s.runes[i-1]) && unicode.IsDigit(s.runes[i+1]):
			return i
		}
	}
	return -1
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
	quoted := false
	for i := 0; i < len(s.runes); {
		r := s.runes[i]
		if r == '\'' || r == '"' {
			quoted = !quoted
		}
		j := i
		for j < len(s.runes) && (unicode.IsLetter(s.runes[j]) || unicode.IsDigit(s.runes[j]) ||
			s.runes[j] == '_' || s.runes[j] == '.') {
			j++
		}
		if j > i && !quoted {
			f(i, j)
		}
		i = max(j, i+1)
	}
}

// takeTimes replaces 2h, 40min and 30d by names that no fact has.
func (s *source) takeTimes() {
	s.words(func(i, j int) {
		ms, ok := span(string(s.runes[i:j]))
		if !ok {
			return
		}
		for k := i; k < j; k++ {
			s.runes[k] = 'ð'
		}
		s.spans[i], s.width[i] = ms, j-i
	})
}

// span reads a time such as 2h, 1.5h, 40min, 20m, 30s or 30d, in milliseconds.
func span(w string) (float64, bool) {
	units := []struct {
		name string
		ms   float64
	}{{"min", 60e3}, {"h", 3600e3}, {"m", 60e3}, {"d", 24 * 3600e3}, {"s", 1e3}}
	for _, u := range units {
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
	for _, u := range []struct {
		name string
		ms   float64
	}{{"d", 24 * 3600e3}, {"h", 3600e3}, {"min", 60e3}} {
		if n := ms / u.ms; n >= 1 && n == float64(int(n)) {
			return strconv.Itoa(int(n)) + u.name
		}
	}
	return strconv.FormatFloat(ms/60e3, 'f', -1, 64) + "min"
}
