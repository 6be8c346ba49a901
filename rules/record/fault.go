package record

import (
	"strconv"
	"strings"
)

// FaultKind is what is wrong with a record.
type FaultKind string

// The kinds of fault.
const (
	NotText       FaultKind = "not-text"       // no UTF-8: a workbook, another encoding
	Empty         FaultKind = "empty"          // nothing in it but remarks
	NoRows        FaultKind = "no-rows"        // a header and nothing after it
	NothingYet    FaultKind = "nothing-yet"    // all rows are later than the instant asked for
	Separator     FaultKind = "separator"      // semicolons or tabs between the columns
	MissingColumn FaultKind = "missing-column" // the header lacks one
	TwiceColumn   FaultKind = "twice-column"   // the header has one twice
	FieldCount    FaultKind = "field-count"    // a row with more or fewer fields than the header
	Quotes        FaultKind = "quotes"         // quotation marks that do not pair
	BadTime       FaultKind = "bad-time"       // no such form, or no such day
	OutOfOrder    FaultKind = "out-of-order"   // earlier than the row before
	SameInstant   FaultKind = "same-instant"   // two rows at one
	LongGap       FaultKind = "long-gap"       // a month and more after the row before
	DecimalComma  FaultKind = "decimal-comma"  // 12,5
	NotANumber    FaultKind = "not-a-number"   // letters, a unit
	OutOfRange    FaultKind = "out-of-range"   // not believed
	Rises         FaultKind = "rises"          // moisture rises as no lot does
	BadWord       FaultKind = "bad-word"       // not one of those known
	NoLoad        FaultKind = "no-load"        // a tank's first row does not say what went in
	TooBig        FaultKind = "too-big"        // too many rows or bytes for one load
)

// Fault is what is wrong with a record, for whoever can mend it: where, what, why, and what would
// be right. Line is 0 where the whole file is meant.
type Fault struct {
	File    string
	Line    int
	Column  string // "": the row or the file
	Word    string // the text at fault; "": none
	Kind    FaultKind
	Why     string
	Example string // what would be read
}

// Error is the fault in English: place, reason and example, a line or two.
func (f *Fault) Error() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		b.WriteString(":" + strconv.Itoa(f.Line))
	}
	b.WriteString(": ")
	if f.Column != "" {
		b.WriteString(f.Column + " ")
	}
	if f.Word != "" {
		b.WriteString(strconv.Quote(clip(f.Word)) + ": ")
	}
	b.WriteString(f.Why)
	switch {
	case strings.Contains(f.Example, "\n"):
		b.WriteString("; this would be read:\n" + f.Example)
	case f.Example != "":
		b.WriteString("; " + f.Example)
	}
	return b.String()
}

// clip shortens a word at fault.
func clip(word string) string {
	const most = 40
	if r := []rune(word); len(r) > most {
		return string(r[:most]) + "…"
	}
	return word
}
