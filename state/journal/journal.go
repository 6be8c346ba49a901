// Package journal keeps a mill on disk: the events in the order they were heard, and beside them
// the boxes that a chat needs (inbox, outbox, once-keys, cursors, pending answers) and the
// address book and words, which are mutable and can be erased.
//
// Read in this order: [DB] and [Batch] here, the writer (writer.go), the boxes (boxes.go), the
// address book and words (people.go), the stored form of an event (stored.go), the file's pages
// (pages.go), backup and verify (care.go) and the errors (errors.go).
//
// A batch is one transaction: its events, words, outbox rows, answered inbox rows and cursors are
// all on disk or none is. One goroutine writes; batches that wait while it writes go together
// into the next transaction, in the order they came. Sequence numbers count from 1 without gaps.
//
// The file is a bbolt database, version 2 of that format, in the byte order of the machine. Every
// record carries a CRC-32C (Castagnoli) over key and value, and every box its count and the
// exclusive-or of its CRCs, so that a record that is damaged, lost or come back is noticed. Before
// a file is opened its pages are walked by code of ours that neither panics nor runs for ever on
// damage; what bbolt does with the file afterwards runs under recover.
//
// The package never asks a clock, never folds events and never words an answer. It holds no read
// transaction while anything is sent: every row is copied out.
//
// Checked against: bbolt's own reader and checker over the same file, published check values of
// CRC-32C, a process killed while it commits, and a file with single bits flipped.
package journal

import (
	"errors"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"lotbell/state"
)

// Options are how a journal is opened. The zero value is right for a mill.
type Options struct {
	Timeout time.Duration // how long to wait for the file's lock; 0: one second
	NoSync  bool          // for scripts and the demo only: a power cut may lose commits
	Program string        // name and version, kept in the file; "": left as it is
}

// DB is an open journal. One process at a time can have it open. Its methods may be called from
// several goroutines.
type DB struct {
	path    string
	bolt    *bbolt.DB
	file    *os.File // bolt's own handle, read beside it
	program string

	jobs    chan *job
	quit    chan struct{}
	stopped chan struct{}
	closing sync.Once
	backups sync.Mutex

	standing standing // the writer's own
	next     atomic.Uint64
	arrived  chan struct{}
	queued   chan struct{}
}

// Open opens the journal at path, and makes one where there is no file. The errors [Locked],
// [Empty], [Foreign], [Truncated], [Newer] and [Damaged] say what stands there instead and how
// to restore it; such a file is left as it is.
func Open(path string, o Options) (*DB, error) {
	if err := probe(path, o); err != nil {
		return nil, err
	}
	d := &DB{
		path:    path,
		program: o.Program[:min(len(o.Program), nameAtMost)],
		jobs:    make(chan *job, waitAtMost),
		quit:    make(chan struct{}),
		stopped: make(chan struct{}),
		arrived: make(chan struct{}, 1),
		queued:  make(chan struct{}, 1),
	}
	if err := d.open(o); err != nil {
		return nil, err
	}
	if err := d.begin(); err != nil {
		_ = d.bolt.Close() // the first error is the one to tell
		return nil, err
	}
	go d.write()
	return d, nil
}

// open opens the file with bbolt.
func (d *DB) open(o Options) error {
	err := guard(d.path, func() error {
		b, err := bbolt.Open(d.path, 0o600, boltOptions(o, &d.file))
		if err == nil {
			b.AllocSize = growBy
			d.bolt = b
		}
		return err
	})
	if errors.Is(err, bolterrors.ErrTimeout) {
		return &Locked{Path: d.path}
	}
	return err
}

// begin makes the boxes of a new file, or checks those of an old one.
func (d *DB) begin() error {
	ready := false
	err := guard(d.path, func() error {
		return d.bolt.View(func(tx *bbolt.Tx) (err error) {
			ready, err = d.look(tx)
			return err
		})
	})
	if err == nil && !ready {
		err = guard(d.path, func() error { return d.bolt.Update(d.create) })
	}
	if err != nil {
		return err
	}
	d.next.Store(uint64(d.standing.last) + 1)
	if d.standing.tally[inbox].n > 0 {
		wake(d.arrived)
	}
	if d.standing.tally[outbox].n > 0 {
		wake(d.queued)
	}
	return nil
}

// growBy is how many bytes a file grows by. With a large map bbolt would take 16 MiB at once.
const growBy = 1 << 20

// boltOptions are bbolt's for a journal. The map is large from the start: while it grows, the
// writer waits for every reader. The handle goes into opened unless that is nil.
func boltOptions(o Options, opened **os.File) *bbolt.Options {
	if o.Timeout <= 0 {
		o.Timeout = time.Second
	}
	return &bbolt.Options{
		Timeout:         o.Timeout,
		NoSync:          o.NoSync,
		InitialMmapSize: 256 << 20,
		OpenFile: func(name string, flag int, mode os.FileMode) (*os.File, error) {
			f, err := os.OpenFile(name, flag, mode)
			if opened != nil {
				*opened = f
			}
			return f, err
		},
	}
}

// Close lets the writer finish what it has begun and closes the file. Calls after it fail with
// [ErrClosed]. Closing twice does nothing.
func (d *DB) Close() error {
	var err error
	d.closing.Do(func() {
		close(d.quit)
		<-d.stopped
		err = d.bolt.Close()
	})
	return err
}

// Path is the file's path as it was given to Open.
func (d *DB) Path() string { return d.path }

// Next is the place of the next event: 1 in an empty journal.
func (d *DB) Next() state.Seq { return state.Seq(d.next.Load()) }

// Arrived receives when there is something new in the inbox, and once after Open when it was not
// empty. Several arrivals may be one signal.
func (d *DB) Arrived() <-chan struct{} { return d.arrived }

// Queued receives when there is something new in the outbox, and once after Open when it was not
// empty. Several rows may be one signal.
func (d *DB) Queued() <-chan struct{} { return d.queued }

// wake signals without waiting.
func wake(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}
