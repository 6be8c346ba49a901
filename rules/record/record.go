// Package record reads what a mill wrote down of one load of coffee: the rows of a drum, a tank or
// a patio as comma separated text with a header. [Read] gives a [Sheet] of [Row]s in time order, or
// a [Fault] that says where, why and what would be right. Read the columns in columns.go.
//
// # Form
//
// UTF-8, with or without a byte order mark, lines ended in either way. Lines that begin with # are
// remarks, for a source or a name. The first other line names the columns, in any order; columns
// that are not known are left out and listed. Times are YYYY-MM-DD HH:MM of the wall clock where
// the file was written, one row an instant, in order. They are kept in UTC, for want of a zone: a
// night on which clocks were put forward or back is an hour off. Numbers have a decimal point. What
// was not read stays empty.
//
// # Units and range of validity
//
// Columns carry their unit in the name: percent wet basis, °C, percent of humidity (kept as 0 to
// 1), kg, mm, cm, pH. The limits within which a figure is believed stand beside each column; they
// catch slips of the pen and of the unit, and are wider than anything a mill does. A moisture that
// rises by [Rise] points or more from one reading to the next is another lot or a slip, not a
// jump of sampling, which is 1 to 3 points.
//
// There are no equations here, so nothing is checked against a source; the tests read files that
// people and spreadsheets get wrong. The package imports nothing of ours and asks no clock.
package record

import (
	"io"
	"strings"
	"time"
)

// Kind is what a record is of.
type Kind string

// The kinds of record.
const (
	Drum  Kind = "drum"
	Tank  Kind = "tank"
	Patio Kind = "patio"
)

// Layout is how times are written, for package time.
const Layout = "2006-01-02 15:04"

// What no record of one load goes beyond.
const (
	Rise     = 7.5                 // points wet basis between two readings: not one lot any more
	MaxRows  = 20_000              // an hourly record of two years
	MaxBytes = 4 << 20             // of one file
	MaxGap   = 31 * 24 * time.Hour // between two rows: a wrong month or year
)

// Mark is a yes or no that was written down, or was not.
type Mark int8

// The marks. Unsaid is the zero value.
const (
	Unsaid Mark = iota
	Yes
	No
)

// The words of a hand test.
const (
	Rough    = "rough"
	Slippery = "slippery"
)

// Row is what was written down at one instant. A number is NaN, a word empty and a mark Unsaid
// where nothing was written, or where the kind of record has no such column.
type Row struct {
	Line int       // in the file, from 1
	At   time.Time // wall clock, kept in UTC

	Moisture float64 // percent wet basis
	Method   string  // how moisture was read; lower case
	Weight   float64 // kg, by the drum's own scale
	Inlet    float64 // °C, air that meets the coffee in a drum
	Mass     float64 // °C, coffee in a tank
	Ambient  float64 // °C, air outside
	RH       float64 // of that air, 0 to 1
	Rain     float64 // mm since the row before
	Depth    float64 // cm, layer on a patio
	PH       float64
	Added    float64 // kg that went into a tank
	Fire     Mark    // No: out
	Covered  Mark
	Turned   Mark
	Hand     string // Rough, Slippery or empty
}

// Sheet is one record. Rows are in time order and there is at least one.
type Sheet struct {
	Name   string // of the file, as given to Read
	Kind   Kind
	Rows   []Row
	Unread []string // columns that were left out because they are not known
}

// From is the instant of the first row.
func (s Sheet) From() time.Time { return s.Rows[0].At }

// To is the instant of the last row.
func (s Sheet) To() time.Time { return s.Rows[len(s.Rows)-1].At }

// Read reads one record. Rows after until are not looked at, not even for faults; a zero until
// reads all. What a person can mend comes as a *[Fault]; any other error is the reader's.
func Read(kind Kind, name string, from io.Reader, until time.Time) (Sheet, error) {
	s := scan{file: name, kind: kind, until: until}
	sheet := Sheet{Name: name, Kind: kind}
	if err := s.open(from); err != nil {
		return Sheet{}, err
	}
	for {
		row, more, err := s.next()
		if err != nil {
			return Sheet{}, err
		}
		if !more {
			break
		}
		if len(sheet.Rows) == MaxRows {
			return Sheet{}, s.fault(TooBig, "", "", "more than 20000 rows; a record is of one load",
				"cut it where the next load begins")
		}
		sheet.Rows = append(sheet.Rows, row)
	}
	sheet.Unread = s.unread
	if len(sheet.Rows) > 0 {
		return sheet, nil
	}
	if !s.later.IsZero() {
		return Sheet{}, s.fault(NothingYet, "time", s.later.Format(Layout),
			"the first row comes after "+until.Format(Layout), "look at "+s.later.Format(Layout))
	}
	return Sheet{}, &Fault{File: name, Kind: NoRows, Why: "columns are named and no row follows",
		Example: Example(kind)}
}

// Example is a header and a row of a record that would be read.
func Example(kind Kind) string {
	var names, values []string
	for _, c := range columnsOf(kind) {
		if c.needed {
			names, values = append(names, c.name), append(values, c.example)
		}
	}
	return strings.Join(names, ",") + "\n" + strings.Join(values, ",")
}
