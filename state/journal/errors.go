package journal

import (
	"encoding/binary"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"lotbell/state"
)

// ErrClosed is the error of every call after Close.
var ErrClosed = errors.New("the journal is closed")

// Locked says that another process has the journal open, or another DB of this one. It is also the
// answer for a file that looks damaged only because somebody is writing it.
type Locked struct{ Path string }

// Error names the file and what to do.
func (e *Locked) Error() string {
	return fmt.Sprintf("%s is held by another lotbell: stop that one first, "+
		"or name its newest backup instead", e.Path)
}

// Empty says that the file is there but holds nothing. bbolt would begin a new mill in it, which is
// not what somebody wants whose file was emptied.
type Empty struct{ Path string }

// Error names the file and what to do.
func (e *Empty) Error() string {
	return fmt.Sprintf("%s is empty: %s; for a new mill remove it first", e.Path, restore(e.Path))
}

// Foreign says that the file is something else than a journal.
type Foreign struct{ Path, Why string }

// Error names the file, what it is not and what to do.
func (e *Foreign) Error() string {
	return fmt.Sprintf("%s is not a lotbell journal (%s): name another file, or %s",
		e.Path, e.Why, restore(e.Path))
}

// Truncated says that the end of the file is missing, as after a copy that was broken off. Sizes
// are in bytes; Want is the least that the file must have.
type Truncated struct {
	Path       string
	Have, Want int64
}

// Error names the file, both sizes and what to do.
func (e *Truncated) Error() string {
	return fmt.Sprintf("%s is cut short: %d bytes of %d: %s", e.Path, e.Have, e.Want,
		restore(e.Path))
}

// Newer says that a later version of the program wrote the file or a record of it. Seq is 0 when
// it is the file as a whole; Kind and Version are those of the record, or "file" and its format.
type Newer struct {
	Path    string
	Seq     state.Seq
	Kind    string
	Version int
	Program string // that wrote it, "" when it did not say
}

// Error names the file, what is too new in it, who wrote it and what to do.
func (e *Newer) Error() string {
	what := fmt.Sprintf("its format is %d, this program knows %d", e.Version, format)
	if e.Seq != 0 {
		what = fmt.Sprintf("event %d is %q in version %d", e.Seq, e.Kind, e.Version)
	}
	by := e.Program
	if by == "" {
		by = "a later version"
	}
	return fmt.Sprintf("%s was written by %s (%s): start that version, or a later one",
		e.Path, by, what)
}

// Damage is one damaged spot: a record of a box, or a page of the file, counted from 0.
type Damage struct {
	Box    string // "events", "inbox", or "file" as a whole; "" when it is a page
	Record string // "event 512", "row 7"; "" when it is the page or the whole box
	Page   uint64 // 0 with a box: not known
	Reason string
}

// String names the spot and the reason.
func (d Damage) String() string {
	var where []string
	if d.Record != "" {
		where = append(where, d.Record)
	}
	if d.Page != 0 || d.Box == "" {
		where = append(where, fmt.Sprintf("page %d", d.Page))
	}
	if d.Box != "" {
		where = append(where, d.Box)
	}
	return strings.Join(where, " of ") + ": " + d.Reason
}

// Damaged says that the file cannot be trusted, and where. Found has at least one entry. The file
// is left as it is: nothing here repairs, because a repaired mill would be a guess.
type Damaged struct {
	Path  string
	Found []Damage

	fault bool // bbolt panicked or the map faulted
}

// Error names the file, up to three damaged spots and what to do.
func (e *Damaged) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s is damaged: ", e.Path)
	for i, f := range e.Found {
		if i == 3 {
			fmt.Fprintf(&b, "; and %d more", len(e.Found)-i)
			break
		}
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString(f.String())
	}
	fmt.Fprintf(&b, ": %s", restore(e.Path))
	return b.String()
}

// Refused says why a batch was not taken. Nothing of it is on disk and the mill's file is whole:
// it is the caller's batch that is wrong.
type Refused struct{ Reason string }

// Error is the reason.
func (e *Refused) Error() string { return "batch refused: " + e.Reason }

// refuse makes a Refused of a format.
func refuse(f string, args ...any) error { return &Refused{fmt.Sprintf(f, args...)} }

// recordName is what a person calls a record.
func recordName(which int, key []byte) string {
	switch {
	case which == events:
		return fmt.Sprintf("event %d", toNumber(key))
	case which == words:
		return fmt.Sprintf("words of message %d", toNumber(key))
	case which == cards && len(key) == 4:
		return fmt.Sprintf("card of person %d", binary.BigEndian.Uint32(key))
	case which == inbox || which == aside || which == outbox || which == ended:
		return fmt.Sprintf("row %d", toNumber(key))
	}
	return fmt.Sprintf("row %q", key)
}

// restore says how to get a good file back.
func restore(path string) string {
	return fmt.Sprintf("keep it aside, find the newest backup that `lotbell verify BACKUP` calls "+
		"whole, and copy it over: cp BACKUP %s", path)
}

// guard runs f, which reads mapped pages, and turns a panic or a fault of the map into Damaged: a
// file cut short under a running program would otherwise end it with SIGBUS. It holds for the
// goroutine that it runs in only.
func guard(path string, f func() error) (err error) {
	old := debug.SetPanicOnFault(true)
	defer debug.SetPanicOnFault(old)
	defer func() {
		if p := recover(); p != nil {
			err = &Damaged{Path: path, fault: true,
				Found: []Damage{{Box: "file", Reason: fmt.Sprint("unreadable: ", p)}}}
		}
	}()
	return f()
}
