package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// MistakeKind is what is wrong with a rule book.
type MistakeKind string

// The kinds of mistake.
const (
	BadSyntax    MistakeKind = "syntax"
	TooLong      MistakeKind = "too-long"
	TooDeep      MistakeKind = "too-deep"
	DecimalComma MistakeKind = "decimal-comma"
	NoSuchName   MistakeKind = "no-such-name"
	NotAllowed   MistakeKind = "not-allowed"
	NotATruth    MistakeKind = "not-a-truth"
	MixedUnits   MistakeKind = "mixed-units"
	MovesTwice   MistakeKind = "moves-twice"
	MovesInside  MistakeKind = "moves-inside"
	EqualMoves   MistakeKind = "equal-moves"
	OutOfRange   MistakeKind = "out-of-range"
	Missing      MistakeKind = "missing"
	Twice        MistakeKind = "twice"
	SameThing    MistakeKind = "same-thing"
	NeverClears  MistakeKind = "never-clears"
	NeverHolds   MistakeKind = "never-holds"
	AlwaysHolds  MistakeKind = "always-holds"
	LongText     MistakeKind = "long-text"
	NotAnAlarm   MistakeKind = "not-an-alarm"
	UnknownKey   MistakeKind = "unknown-key"
	BadValue     MistakeKind = "bad-value"
	TooBig       MistakeKind = "too-big"
)

// Mistake is one thing wrong with a book: where, what, and what was perhaps meant. It carries
// facts; the sentence for a keeper is worded elsewhere, and Error is for the terminal.
type Mistake struct {
	Kind      MistakeKind
	In        string // "call hot-drum, rings"
	Line, Col int    // in the file when Line > 0, else Col within Text
	Text      string
	Word      string // the word at fault
	Hint      string // what was perhaps meant, or an example that works
}

// Error is the mistake in English with the place, the reason and the next thing to try.
func (m *Mistake) Error() string {
	var b strings.Builder
	if m.Line > 0 {
		fmt.Fprintf(&b, "line %d: ", m.Line)
	}
	if m.In != "" {
		fmt.Fprintf(&b, "%s: ", m.In)
	}
	if m.Line == 0 && m.Col > 0 || m.Line > 0 && m.Col > 1 {
		fmt.Fprintf(&b, "column %d: ", m.Col)
	}
	b.WriteString(m.reason())
	return b.String()
}

func (m *Mistake) reason() string {
	hint := ""
	if m.Hint != "" {
		hint = "; try: " + m.Hint
	}
	switch m.Kind {
	case BadSyntax:
		return "cannot be read (" + m.Word + ")" + hint
	case TooLong:
		return "a condition of " + m.Word + " characters; the most is " + m.Hint
	case TooDeep:
		return "brackets nest deeper than " + m.Hint
	case DecimalComma:
		return "a dot, not a comma, in " + m.Word + hint
	case NoSuchName:
		if m.Hint != "" {
			return "no value " + m.Word + "; did you mean " + m.Hint + "?"
		}
		return "no value " + m.Word + " here; `lotbell check -names` lists them"
	case NotAllowed:
		return m.Word + " cannot stand in a condition" + hint
	case NotATruth:
		return m.Word + " is not a yes or no; compare it" + hint
	case MixedUnits:
		return "the two sides do not have one unit (" + m.Word + ")" + hint
	case MovesTwice:
		return "both sides of " + m.Word + " move with time; one may" + hint
	case MovesInside:
		return m.Word + " moves with time and must stand alone on its side" + hint
	case EqualMoves:
		return m.Word + " holds for an instant only, since one side moves with time" + hint
	case OutOfRange:
		return m.Word + " is outside its allowed range " + m.Hint
	case Missing:
		return "has no " + m.Word + hint
	case Twice:
		return m.Word + " stands twice"
	case SameThing:
		return "rings for the same as " + m.Word
	case NeverClears:
		return "rings and stops can both be true, so it would ring for ever" + hint
	case NeverHolds:
		return "can never be true: " + m.Word + hint
	case AlwaysHolds:
		return "is always true, whatever is read: " + m.Word + hint
	case LongText:
		return "its message is longer than 160 characters of plain SMS: " + m.Word
	case NotAnAlarm:
		return "an alarm needs cause, consequence, action and respond; without them it is an alert" +
			" (to be known) or a prompt (an act of normal work); missing: " + m.Word
	case UnknownKey:
		return "no key " + m.Word + hint
	case TooBig:
		return "the book has " + m.Word + " bytes; the most is " + m.Hint
	}
	return m.Word + hint
}

// nearest is the key that a mistyped word most likely meant: at most a third of it away.
func nearest[V any](word string, among map[string]V) string {
	best, far := "", len(word)/3+1
	for _, k := range slices.SortedFunc(maps.Keys(among), cmp.Compare[string]) {
		d := distance(word, k)
		if d < far || d == far && (best == "" || off(word, k) < off(word, best)) {
			best, far = k, d
		}
	}
	return best
}

// off is the difference in length of two words.
func off(a, b string) int { return max(len(a), len(b)) - min(len(a), len(b)) }

// distance is the number of single changes between two words (Levenshtein 1966).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			diagonal, row[j] = row[j], min(row[j]+1, row[j-1]+1, diagonal+cost)
		}
	}
	return row[len(b)]
}
