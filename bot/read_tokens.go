package bot

import (
	"strings"
	"unicode/utf8"

	"lotbell/bot/words"
)

// form is what a token is made of.
type form uint8

const (
	inLetters form = iota
	inDigits
	inStop // one character that parts words
)

// token is a piece of a line: a word, a figure, or a separator, folded. Tied says that no blank
// stands before it.
type token struct {
	text string
	form form
	tied bool
}

// scan cuts a folded line into tokens. "ph4.4" and "2010kg" become two tokens each, a place name
// stays one, and a letter O or l among digits becomes the digit it was meant for.
func (r *reader) scan(line string) {
	tied := false
	for len(line) > 0 {
		c, size := utf8.DecodeRuneInString(line)
		switch {
		case c == ' ':
			tied = false
			line = line[size:]
			continue
		case wordy(c) || (c == '.' || c == ',') && len(line) > 1 && isDigit(line[1]):
			n := runEnd(line)
			r.cut(line[:n], tied)
			line = line[n:]
		default:
			r.put(line[:size], inStop, tied)
			line = line[size:]
		}
		tied = true
	}
}

// put adds a token.
func (r *reader) put(text string, f form, tied bool) {
	r.tokens = append(r.tokens, token{text, f, tied})
	r.texts = append(r.texts, text)
}

// wordy says that a character belongs to a word or a figure.
func wordy(c rune) bool {
	return 'a' <= c && c <= 'z' || '0' <= c && c <= '9' || c >= 0x80 && c != '°' && c != '½'
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// runEnd is the length of the run of letters and digits at the front of a line. Marks between
// digits belong to it, and so does a hyphen in a name such as t-3 and the dots of "p.m.".
func runEnd(line string) int {
	i := 0
	for i < len(line) {
		c, size := utf8.DecodeRuneInString(line[i:])
		if !wordy(c) {
			if c != '.' && c != ',' && c != ':' || i+1 >= len(line) || !isDigit(line[i+1]) {
				break
			}
			if i > 0 && !isDigit(line[i-1]) && line[i-1] != 'o' && (line[i-1] != 'l' || i < 2 ||
				!isDigit(line[i-2])) {
				break
			}
		}
		i += size
	}
	return i
}

// cut takes a run of letters and digits apart.
func (r *reader) cut(run string, tied bool) {
	switch {
	case !strings.ContainsAny(run, "0123456789"):
		r.put(run, inLetters, tied)
		return
	case r.named(run) >= 0 || r.w.Has(run):
		r.put(run, inLetters, tied)
		return
	}
	if clock, ok := clockShape(run); ok {
		r.put(clock, inDigits, tied)
		return
	}
	if whole := mend(run); whole != "" {
		r.figures(whole, tied)
		return
	}
	for i := 0; i < len(run); {
		if isDigit(run[i]) || strings.IndexByte(".,:", run[i]) >= 0 {
			n := figureEnd(run[i:])
			if text := mend(run[i : i+n]); strings.Trim(text, ".,:") != "" {
				r.figures(text, tied)
			}
			i += n
		} else {
			i += r.lettersOf(run[i:], tied)
		}
		tied = true
	}
}

// lettersOf puts the letters at the front of a run, with the digits after them where both are a
// place's name or look like one.
func (r *reader) lettersOf(run string, tied bool) int {
	n := strings.IndexAny(run, "0123456789.,:")
	if n < 0 {
		r.put(run, inLetters, tied)
		return len(run)
	}
	end := n
	for end < len(run) && (isDigit(run[end]) || run[end] == 'o') {
		end++
	}
	for e := end; e > n; e-- { // t1o is t10, or else t1 and an o; t33 is not t3
		if e < end && isDigit(run[e]) {
			break
		}
		if name := run[:n] + mend(run[n:e]); r.named(name) >= 0 {
			r.put(name, inLetters, tied)
			return e
		}
	}
	if end > n && end-n <= 3 && r.prefix(run[:n]) && (end == len(run) || wordy(rune(run[end]))) {
		r.put(run[:end], inLetters, tied) // looks like a place, but is none
		return end
	}
	r.put(run[:n], inLetters, tied)
	return n
}

// figureEnd is the length of the figure at the front of a run, which may hold letters O and l.
func figureEnd(run string) int {
	i := 0
	for i < len(run) {
		switch c := run[i]; {
		case isDigit(c), c == '.', c == ',', c == ':':
		case c == 'o' && (i+1 == len(run) || strings.IndexByte("0123456789o.,kcf%", run[i+1]) >= 0):
		case c == 'l' && i+1 < len(run) && (isDigit(run[i+1]) || run[i+1] == '.' || run[i+1] == ','):
		default:
			return i
		}
		i++
	}
	return i
}

// mend writes the digits that letters O and l stand for among digits; "" when there are others.
func mend(run string) string {
	if strings.Trim(run, "0123456789.,:") == "" {
		return run
	}
	if strings.Trim(run, "0123456789ol.,") != "" || strings.HasSuffix(run, "l") {
		return ""
	}
	return strings.NewReplacer("o", "0", "l", "1").Replace(run)
}

// clockShape reads 5y10, 5h10 and 05h10 as a clock time, 5:10.
func clockShape(run string) (string, bool) {
	i := strings.IndexAny(run, "yh")
	if i < 1 || i > 2 || len(run) != i+3 || strings.Trim(run[:i]+run[i+1:], "0123456789") != "" {
		return "", false
	}
	return run[:i] + ":" + run[i+1:], true
}

// figures puts a figure, or several that commas alone keep apart ("20,23,25").
func (r *reader) figures(text string, tied bool) {
	if strings.Count(text, ":") > 1 || strings.HasPrefix(text, ":") ||
		strings.Contains(text, ":") && strings.ContainsAny(text, ".,") {
		for _, p := range strings.Split(text, ":") {
			if strings.Trim(p, ".,") != "" {
				r.put(p, inDigits, tied)
			}
		}
		return
	}
	for _, mark := range [2]string{",", "."} {
		parts := strings.Split(text, mark)
		if len(parts) < 3 || strings.Trim(text, "0123456789"+mark) != "" || inThousands(parts) {
			continue
		}
		for _, p := range parts {
			r.put(p, inDigits, tied)
			tied = false
		}
		return
	}
	r.put(text, inDigits, tied)
}

// inThousands says that all groups after the first have three digits.
func inThousands(parts []string) bool {
	for _, p := range parts[1:] {
		if len(p) != 3 {
			return false
		}
	}
	return true
}

// named is the index of the place with a name, folded; -1 when there is none.
func (r *reader) named(name string) int {
	for i := range r.names {
		if r.names[i] == name {
			return i
		}
	}
	return -1
}

// prefix says that letters begin the name of some place, as t begins t3.
func (r *reader) prefix(of string) bool {
	for _, n := range r.names {
		if strings.HasPrefix(n, of) && len(n) > len(of) && isDigit(n[len(of)]) {
			return true
		}
	}
	return false
}

// foldedNames are the names of the places, as words are folded.
func foldedNames(places []PlaceView) []string {
	names := make([]string, len(places))
	for i := range places {
		names[i] = words.FoldText(places[i].Name)
	}
	return names
}
