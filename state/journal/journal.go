// Package journal keeps a mill on disk: the events in the order they were heard, and beside them
// the boxes that a chat needs (inbox, outbox, once-keys, cursors, pending answers) and the
// address book and words, which are mutable and can be erased.
//
// Read in this order: [DB] here, [Batch] (batch.go), the writer (writer.go), the boxes (boxes.go,
// inbox.go, outbox.go, expire.go), the address book and words (people.go), the stored form of an
// event (stored.go, wire.go) and its reading (load.go), the file's pages (heads.go, pages.go),
// what makes a file a journal (about.go), backup and check (care.go, verify.go), errors.go.
//
// # What is promised
//
// A batch is one transaction: its events, words, outbox rows, answered inbox rows and cursors are
// all on disk or none is. When Commit or Receive return without error, it is there, whatever
// happens to the process or the power afterwards, as far as the disk tells the truth. One goroutine
// writes; batches that wait while it writes go together into the next transaction, in the order
// they came, and one that is wrong fails alone. Sequence numbers count from 1 without gaps.
//
// Every row is copied out: no read transaction is open while a caller works, since the file grows
// for as long as one is.
//
// # What stands on disk
//
// The file is a bbolt database, version 2 of that format, in the byte order of the machine, made
// with mode 0600. Each box is a bucket; numbers are big-endian so that they sort as they count.
// Every record carries a CRC-32C (Castagnoli, RFC 3720) over box, key and value. The bucket
// "lotbell" holds the format, the program that wrote last, the last numbers given, and for every
// box its count and the exclusive-or of its CRCs, written in every transaction: so a record that
// is damaged, lost or come back is noticed, and so is a page that a disk failed to write.
//
// An event is about 90 bytes on disk, pages and all, and 160 in memory once it is loaded, where
// four in five are readings (measured: BenchmarkLoad).
//
// # Damage
//
// Before a file is opened for writing its pages are walked by code of ours that neither panics
// nor runs for ever, whatever stands there. Events are read by the same walk. What bbolt does with
// the file afterwards runs under recover. bbolt's own check can kill a process or never end, and
// is only run in a child, see [InChild].
//
// What is not noticed: a file put back whole to an older state, or a disk that loses its last
// writes all at once, head page included; both are a journal that ends earlier.
//
// # Limits
//
// The package never asks a clock, never folds events and never words an answer. Erased names and
// words leave their box at once; their bytes stay in the file until the freed page is used again,
// and in every backup made before.
//
// Checked against: bbolt's own reader and checker over the same file; the check values of CRC-32C
// in RFC 3720; a process killed while it commits; files with single bits flipped, with pages
// lost, doubled, swapped and zeroed, and with records changed under a right CRC.
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
	// Timeout is how long to wait for the file's lock. 0 is one second; there is no waiting for
	// ever.
	Timeout time.Duration
	// NoSync leaves it to the system when to bring commits to disk. It is for scripts and the
	// demo only: a power cut may then lose commits, or the file.
	NoSync bool
	// Program is name and version of the program, at most 100 bytes of it. They are kept in the
	// file, so that an older program can say who wrote what it cannot read. "" leaves what
	// stands there.
	Program string
}

// DB is an open journal. One process at a time can have it open. Its methods may be called from
// several goroutines.
type DB struct {
	path    string
	bolt    *bbolt.DB
	file    *os.File // bolt's own handle, read beside it
	program string

	// The writer takes from jobs until quit is closed, and closes stopped when it has ended.
	jobs    chan *job
	quit    chan struct{}
	stopped chan struct{}
	closing sync.Once
	backups sync.Mutex

	// standing belongs to the writer; next is what others may know of it. A fault ends all writing:
	// bbolt keeps its lock when it panics a second time while it takes a transaction back.
	standing standing
	next     atomic.Uint64
	fault    error
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
// [ErrClosed]. Closing twice does nothing. After a commit that failed because the file could not be
// read, as when it was cut short, Close says so again, and the lock goes with the process only.
func (d *DB) Close() error {
	var err error
	d.closing.Do(func() {
		close(d.quit)
		<-d.stopped
		if d.fault != nil {
			err = errors.Join(d.fault, d.file.Close())
			return
		}
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
