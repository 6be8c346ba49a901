package journal

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"

	"lotbell/state"
)

// Report is what Verify found in a file. Whole files have no entry in Found.
type Report struct {
	Path   string
	Format int
	// Program is what wrote the file last, "" when it did not say.
	Program string
	// Events and Rows count the records that were read, whole or not: of the events, and of each
	// box by its name.
	Events int
	Rows   map[string]int
	// Pages is how many pages the file should have, the two heads among them.
	Pages int
	// Found are the damaged spots, the first fifty of them.
	Found []Damage
	// Notes are what could not be looked at, which is no damage.
	Notes []string
}

// String is the report for the person who keeps the machine.
func (r Report) String() string {
	var b strings.Builder
	if len(r.Found) > 0 {
		b.WriteString((&Damaged{Path: r.Path, Found: r.Found}).Error())
	} else {
		fmt.Fprintf(&b, "%s is whole: %d events on %d pages, format %d", r.Path, r.Events,
			r.Pages, r.Format)
		if r.Program != "" {
			fmt.Fprintf(&b, ", written by %s", r.Program)
		}
		fmt.Fprintf(&b, "; inbox %d, outbox %d, put aside %d", r.Rows["inbox"],
			r.Rows["outbox"], r.Rows["aside"])
	}
	for _, n := range r.Notes {
		b.WriteString("; " + n)
	}
	return b.String()
}

// foundAtMost bounds the damage that a report lists.
const foundAtMost = 50

// add notes a damaged spot.
func (r *Report) add(d Damage) {
	if len(r.Found) < foundAtMost {
		r.Found = append(r.Found, d)
	}
}

// addError notes a damaged spot, with its box when the error does not know it; any other error is
// given back.
func (r *Report) addError(box string, err error) error {
	var p *pageError
	var d *Damaged
	switch {
	case errors.As(err, &p):
		r.add(Damage{Box: box, Page: p.page, Reason: p.reason})
	case errors.As(err, &d):
		for _, f := range d.Found {
			r.add(f)
		}
	default:
		return err
	}
	return nil
}

// Verify reads a file that is not in use from end to end: both heads, every page and that each is
// used once, the order and CRC of every record, every event's body, and what each box must hold.
// It writes nothing and ends on any file: a thousand records take some milliseconds.
//
// Damage is in the report and in the error, which then is [Damaged]; the other errors are those of
// [Open], and a file that is not there is an error of the system. A file with records of a later
// program is [Newer], not damaged. The checks of more run after it, on a file that is whole so far:
// see [InChild].
func Verify(path string, more ...func(path string) error) (Report, error) {
	r := Report{Path: path, Rows: map[string]int{}}
	release, err := hold(path, Options{})
	if err != nil {
		return r, err
	}
	defer release()
	f, err := os.Open(path)
	if err != nil {
		return r, fmt.Errorf("verify: %w", err)
	}
	defer func() { _ = f.Close() }()
	h, err := newestHead(path, f)
	if err == nil {
		r.Pages = int(h.pages)
		err = r.readAll(newWalk(f, h))
	}
	if err = r.addError("", err); err != nil {
		return r, err
	}
	for _, check := range more {
		if len(r.Found) > 0 {
			break
		}
		if err := check(path); errors.Is(err, context.DeadlineExceeded) {
			r.Notes = append(r.Notes, err.Error())
		} else if err != nil {
			r.add(Damage{Box: "file", Reason: err.Error()})
		}
	}
	if len(r.Found) > 0 {
		return r, &Damaged{Path: path, Found: r.Found}
	}
	return r, nil
}

// readAll reads every box and the list of free pages. It goes on behind damage as far as it can, so
// that the report tells one bad spot from a disk that is going.
func (r *Report) readAll(w *walk) error {
	all, err := w.buckets()
	if err != nil {
		return err
	}
	if _, ok := all[about]; !ok {
		return nameless(r.Path, slices.Collect(maps.Keys(all)))
	}
	by, err := parseWritten(r.Path, aboutValue(all, "format"))
	if err != nil {
		return err
	}
	r.Format, r.Program = by.Format, by.Program
	var now standing
	if err := parseStanding(r.Path, aboutValue(all, "standing"), &now); err != nil {
		return err
	}
	for which, name := range boxNames() {
		b, ok := all[name]
		if !ok {
			r.add(Damage{Box: name, Page: w.head.root, Reason: "missing"})
			continue
		}
		got, err := r.readBox(w, b, which)
		if d := got.against(now.tally[which]); err == nil && d != "" {
			r.add(Damage{Box: name, Page: b.root(), Reason: "not as last written: " + d})
		}
		if err := r.addError(name, err); err != nil {
			return err
		}
		r.Rows[name] = int(got.n)
		delete(all, name)
	}
	delete(all, about)
	for name, b := range all {
		r.add(Damage{Box: name, Page: b.page, Reason: "a box that is not known"})
	}
	r.Events = r.Rows["events"]
	if len(r.Found) > 0 {
		return nil // pages are missing from the count below a bad one
	}
	return w.unused()
}

// readBox reads one box and tallies it. A damaged record is noted and does not end the reading.
func (r *Report) readBox(w *walk, b bucket, which int) (got tally, err error) {
	v := vocabulary{}
	err = w.leaves(b, func(page uint64, pairs []pair) error {
		for _, p := range pairs {
			got.n++
			crc, err := r.readPair(which, got.n, p, v)
			got.crc ^= crc
			var d *Damaged
			if errors.As(err, &d) {
				d.Found[0].Page = page
			}
			if err := r.addError("", err); err != nil {
				return err
			}
		}
		return nil
	})
	return got, err
}

// readPair reads one record of a box.
func (r *Report) readPair(which int, nth uint64, p pair, v vocabulary) (uint32, error) {
	if which == events {
		_, crc, err := readRecord(r.Path, r.Program, state.Seq(nth), p, v)
		return crc, err
	}
	_, err := unseal(boxNames()[which], p.key, p.val)
	if err == nil && p.flags != 0 {
		err = errors.New("not a record")
	}
	if err != nil {
		return 0, &Damaged{Path: r.Path, Found: []Damage{{Box: boxNames()[which],
			Record: recordName(which, p.key), Reason: err.Error()}}}
	}
	return binary.BigEndian.Uint32(p.val), nil
}

// aboutValue finds a value of the about bucket, which always lies whole in its own value; nil
// when it does not.
func aboutValue(all map[string]bucket, key string) (found []byte) {
	b, ok := all[about]
	if !ok || b.root() != b.page {
		return nil
	}
	_ = (&walk{}).leaves(b, func(_ uint64, pairs []pair) error {
		for _, p := range pairs {
			if string(p.key) == key {
				found = p.val
			}
		}
		return nil
	})
	return found
}
