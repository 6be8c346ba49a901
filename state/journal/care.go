package journal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// Backup copies the journal to path while it runs: written beside it as path.part, brought to disk,
// verified and only then renamed over what was there. The copy is the mill at one commit. A backup
// that fails leaves the older one as it was; it is for the operator to hear of.
//
// It needs as much room as the file, twice when an older backup is there. Copying holds a read
// transaction, and so path should be on a disk of this machine: to take a copy further, copy the
// backup. One backup runs at a time.
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

// copyTo writes what one read transaction sees and brings it to disk. Pages past the last one in
// use are left out, so that the copy is often the smaller file.
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

// hold takes the file's lock for reading, so that nobody writes until release. It fails with
// Locked only: a file that bbolt cannot open is not held and release does nothing. An empty or
// missing file is not tried, since bbolt would begin one. Opened for reading, bbolt looks at the
// head pages and at nothing else, so that damage further in cannot make it panic.
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
	case errors.Is(err, bolterrors.ErrTimeout):
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
	if errors.Is(err, bolterrors.ErrTimeout) {
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
