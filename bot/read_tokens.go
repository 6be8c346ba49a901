package bot

import "unicode/utf8"

// From letters to tokens. A line comes in folded (small letters, no accents) and leaves as words,
// figures and single marks. The floor writes without blanks ("ph4.4", "d1:13,2", "2010kg"), with
// letters for digits ("7O", "l0,6") and with hyphens in names ("t-3"): all of that ends here, so
// that the passes after this one never look at letters again.
//
//	"ph4.4 temp18.5"   ph, 4.4, temp, 18.5
//	"d1:13,2"          d1, 13,2
//	"2010kg"           2010, kg
//	"7O grados"        70, grados
//	"t-3 t1o"          t3 stays t and 3; t10 where the mill has one
//	"20,23,25"         20, 23, 25
//	"5y10"             5:10
//	"-500", "3-500"    below nought; 3, 500
//	"ayudaaa"          ayuda

// form is what a token is made of.
type form uint8

const (
	inLetters form = iota
	inDigits
	inStop // one character that parts words
)

// token is a piece of a line: a word, a figure, or a separator, folded.
type token struct {
	text  string
	form  form
	minus bool // a figure below nought: "-500" after a blank
}

// scan cuts a folded line into tokens. "ph4.4" and "2010kg" become two tokens each, a place name
// stays one, and a letter O or l among digits becomes the digit it was meant for.
func (r *reader) scan(line string) {
	apart, minus := true, false // a blank stands before; a minus
	for len(line) > 0 {
		c, size := utf8.DecodeRuneInString(line)
		switch {
		case c == ' ':
			apart, minus, line = true, false, line[size:]
			continue
		case wordy(c) || (c == '.' || c == ',') && len(line) > 1 && isDigit(line[1]):
			n, first := runEnd(line), len(r.tokens)
			r.cut(line[:n])
			if minus && first < len(r.tokens) && r.tokens[first].form == inDigits {
				r.tokens[first].minus = true
			}
			line = line[n:]
		default:
			r.put(line[:size], inStop)
			line = line[size:]
		}
		minus, apart = apart && c == '-', false
	}
}

// put adds a token.
func (r *reader) put(text string, f form) {
	if f == inLetters {
		text = drawn(text)
	}
	r.tokens = append(r.tokens, token{text: text, form: f})
	r.texts = append(r.texts, text)
}

// drawn is a word without the letters that are drawn out: "ayudaaa" is ayuda.
func drawn(word string) string {
	for i := 2; i < len(word); i++ {
		if word[i] != word[i-1] || word[i] != word[i-2] || word[i] >= 0x80 {
			continue
		}
		end := i + 1
		for end < len(word) && word[end] == word[i] {
			end++
		}
		word, i = word[:i-1]+word[end:], i-1
	}
	return word
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
