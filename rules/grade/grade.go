// Package grade is the end of the line: defects by table and edition, screens, moisture by method,
// the yield factor, conversions, bags and containers, export limits, cup classes, scale errors.
//
// Read [Tables] first, which [Shipped] and [Load] make; then [DefectTable], [Screen] and the rest
// in any order. What the trade prints in many editions is data, in the TOML files under tables/,
// which a mill may overlay with its own; what is arithmetic or law is code.
//
// Units are in the names: G grams, Kg kilograms, Mm millimetres, Pct percent (by mass for screens
// and for ISO 10470, wet basis for moisture). Ranges of validity stand at each function; outside
// them it refuses with a small typed error.
//
// Every table and every row carries its source and a [Mark] that says how far it was verified; a
// result carries the worst mark of what it rests on. A defect table is keyed by table, edition and
// sample mass, and counts no sample of another mass: the editions have different numbers, and a
// table of 350 g beside a sample of 300 g is the usual error. It was checked against the published
// cases named beside each row of its tests.
//
// It decides nothing about a lot, keeps nothing and reads no clock.
package grade

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Mark says how far a number was verified. The zero value is no mark and is refused on load.
type Mark string

// The marks, from the surest to the least sure.
const (
	Read     Mark = "read"     // read in the text of the named source
	ReadCopy Mark = "read-c"   // read in a third-party copy or a national adoption
	Practice Mark = "practice" // trade habit, no standard behind it
	Memory   Mark = "memory"   // recalled, not seen
)

// marks is the order from the surest to the least sure.
func marks() []Mark { return []Mark{Read, ReadCopy, Practice, Memory} }

// Words is the mark as a person should hear it.
func (m Mark) Words() string {
	switch m {
	case Read:
		return "read in the source"
	case ReadCopy:
		return "read in a copy: check the original before quoting it"
	case Practice:
		return "common practice, no source"
	case Memory:
		return "from memory: verify"
	}
	return "not marked: verify"
}

// Worst is the least sure of several marks; an unknown one is the least of all. Empty marks are
// passed over.
func Worst(ms ...Mark) Mark {
	worst, at := Mark(""), -1
	for _, m := range ms {
		i := slices.Index(marks(), m)
		if i < 0 && m != "" {
			i = len(marks())
		}
		if i > at {
			worst, at = m, i
		}
	}
	return worst
}

// RangeError is a figure that cannot be. What, Unit, Why and Example are fixed phrases, so that
// they can be said in any language; {of} and {limit} in them stand for the two fields.
type RangeError struct {
	What    string // what was measured, in the trade's words
	Value   float64
	Unit    string
	Why     string
	Example string  // a figure that works
	Of      string  // which one: a screen, a class, a method; may be empty
	Limit   float64 // what the value was held against; 0 where Why names it
}

// Error says what was wrong, why, and a figure that works.
func (e RangeError) Error() string {
	text := fmt.Sprintf("%s %g %s: %s, for example %s", e.What, e.Value, e.Unit, e.Why, e.Example)
	return strings.NewReplacer("{of}", e.Of, "{limit}", fmt.Sprintf("%g", e.Limit)).Replace(text)
}

// cannot is a RangeError that names nothing but its value.
func cannot(what string, v float64, unit, why, example string) RangeError {
	return RangeError{What: what, Value: v, Unit: unit, Why: why, Example: example}
}

// UnknownError is a word that a table does not have.
type UnknownError struct {
	What  string // "class", "table", "method", "product", …
	Word  string
	In    string   // the table; may be empty
	Near  string   // the nearest known word; empty when none is near
	Known []string // all known words
}

// Error names the nearest word, or lists what is known.
func (e UnknownError) Error() string {
	in := ""
	if e.In != "" {
		in = " in " + e.In
	}
	if e.Near != "" {
		return fmt.Sprintf("no %s %q%s: perhaps %s", e.What, e.Word, in, e.Near)
	}
	return fmt.Sprintf("no %s %q%s: it has %s", e.What, e.Word, in, strings.Join(e.Known, ", "))
}

// unknown makes an UnknownError with the nearest of the known words, if one is near.
func unknown(what, word, in string, known []string) UnknownError {
	return UnknownError{what, word, in, Nearest(word, known), known}
}

// Nearest is the known word nearest to a word that is not known, "" when none is near: a third of
// the letters may be wrong, and one more; a word that one begins or ends with is near too.
func Nearest(word string, known []string) string {
	best, near := len(word)/3+1, ""
	for _, k := range known {
		d := distance(plain(word), plain(k))
		if word != "" && (strings.HasPrefix(k, word) || strings.HasSuffix(k, word)) {
			d = min(d, 1)
		}
		if d < best || d == best && near == "" {
			best, near = d, k
		}
	}
	return near
}

// plain is a word as tables compare it: lower case, letters and digits only.
func plain(word string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127 {
			return r
		}
		return -1
	}, strings.ToLower(word))
}

// distance is the number of letters to change, add or drop (Levenshtein).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

// positive refuses what is not a finite number above 0.
func positive(what string, v float64, unit, example string) error {
	if v > 0 && !math.IsInf(v, 1) {
		return nil
	}
	return cannot(what, v, unit, "must be more than 0", example)
}

// notNegative refuses what is not a finite number from 0 up.
func notNegative(what string, v float64, unit, example string) error {
	if fromZero(v) {
		return nil
	}
	return cannot(what, v, unit, "must be 0 or more", example)
}

// fromZero says whether v is a finite number from 0 up.
func fromZero(v float64) bool { return v >= 0 && !math.IsInf(v, 1) }
