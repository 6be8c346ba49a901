package journal

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"go.etcd.io/bbolt"

	"lotbell/state"
)

// Backup copies the journal to path while it runs: written beside it, brought to disk, verified
// and only then renamed over what was there. The copy is the mill at one commit. It needs as much
// room as the file, twice when an older backup is there.
func (d *DB) Backup(path string) error {
	d.backups.Lock()
	defer d.backups.Unlock()
	if same(path, d.path) {
		return fmt.Errorf("backup to %s: that is the journal itself; name another file", path)
	}
	part := path + ".part"
	err := d.copyTo(part)
	if err == nil {
		_, err = Verify(part)
	}
	if err == nil {
		err = os.Rename(part, path)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("backup to %s: %w", path, err), removeIfThere(part))
	}
	if dir, err := os.Open(filepath.Dir(path)); err == nil {
		_ = dir.Sync() // not every system can; the copy itself is on disk
		_ = dir.Close()
	}
	return nil
}

// copyTo writes what one read transaction sees and brings it to disk.
func (d *DB) copyTo(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	err = d.view(func(t *txn) error {
		_, err := t.bolt.WriteTo(f)
		return err
	})
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// same says whether two paths are one file.
func same(a, b string) bool {
	x, errA := os.Stat(a)
	y, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(x, y)
}

// removeIfThere removes a file; one that is not there is no error.
func removeIfThere(path string) error {
	if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
		return err
	}
	return nil
}

// Report is what Verify found in a file. Whole files have no entry in Found.
type Report struct {
	Path    string
	Format  int
	Program string         // that wrote it last, "" when it did not say
	Events  int            // records read
	Rows    map[string]int // records of each box
	Pages   int
	Found   []Damage
	Notes   []string // what could not be looked at, without being damage
}

// String is the report for the person who keeps the machine.
func (r Report) String() string {
	var b strings.Builder
	if len(r.Found) > 0 {
		b.WriteString((&Damaged{r.Path, r.Found}).Error())
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

func (r *Report) add(d Damage) {
	if len(r.Found) < foundAtMost {
		r.Found = append(r.Found, d)
	}
}

// addError adds a damaged spot; any other error is given back.
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
// It writes nothing and ends on any file. Damage is in the report and in the error, which then is
// [Damaged]; the other errors are those of [Open]. The checks of more run after it, on a file that
// is whole so far: see [InChild].
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
		return r, &Damaged{path, r.Found}
	}
	return r, nil
}

// readAll reads every box and the list of free pages.
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
	_, err := unseal(p.key, p.val)
	if err == nil && p.flags != 0 {
		err = errors.New("not a record")
	}
	if err != nil {
		return 0, &Damaged{r.Path, []Damage{{Box: boxNames()[which],
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

// hold takes the file's lock for reading, so that nobody writes until release. It fails with
// Locked only: a file that bbolt cannot open is not held and release does nothing. An empty or
// missing file is not tried, since bbolt would begin one.
func hold(path string, o Options) (release func(), err error) {
	nothing := func() {}
	st, err := os.Stat(path)
	if err != nil || !st.Mode().IsRegular() || st.Size() == 0 {
		return nothing, nil
	}
	var b *bbolt.DB
	opts := boltOptions(o, nil)
	opts.ReadOnly, opts.InitialMmapSize = true, 0
	err = guard(path, func() error {
		b, err = bbolt.Open(path, 0o600, opts)
		return err
	})
	switch {
	case err == nil:
		return func() { _ = b.Close() }, nil
	case errors.Is(err, bbolt.ErrTimeout):
		return nothing, &Locked{Path: path}
	}
	return nothing, nil
}

// CheckPages runs bbolt's own check over a file that is not in use. On a damaged file it can run
// for ever or end the process: call it in a process of its own, see [InChild].
func CheckPages(path string) error {
	opts := boltOptions(Options{}, nil)
	opts.ReadOnly, opts.PreLoadFreelist, opts.InitialMmapSize = true, true, 0
	b, err := bbolt.Open(path, 0o600, opts)
	if errors.Is(err, bbolt.ErrTimeout) {
		return &Locked{Path: path}
	}
	if err != nil {
		return err
	}
	err = b.View(func(tx *bbolt.Tx) error {
		var all []error
		for e := range tx.Check() {
			if len(all) < foundAtMost {
				all = append(all, e)
			}
		}
		return errors.Join(all...)
	})
	return errors.Join(err, b.Close())
}

// InChild makes a check for Verify out of a command: argv with the file's path after it, which
// must end with 0 within the limit when the file is whole. The program gives its own executable
// and a sub-command that calls CheckPages, prints the error and exits with 1:
//
//	self, err := os.Executable()
//	r, err := journal.Verify(path, journal.InChild(2*time.Second, self, "check-pages"))
//
// A check that does not end in time is killed and becomes a note, as it also happens with a large
// file that is whole.
func InChild(limit time.Duration, argv ...string) func(path string) error {
	return func(path string) error {
		ctx, stop := context.WithTimeout(context.Background(), limit)
		defer stop()
		line := append(append([]string{}, argv...), path)
		said, err := exec.CommandContext(ctx, line[0], line[1:]...).CombinedOutput()
		switch {
		case err == nil:
			return nil
		case ctx.Err() != nil:
			return fmt.Errorf("the check of pages did not end in %v: %w", limit, ctx.Err())
		}
		return fmt.Errorf("the check of pages failed: %v: %.300s", err, said)
	}
}
