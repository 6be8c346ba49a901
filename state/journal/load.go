package journal

import (
	"encoding/binary"
	"fmt"
	"os"
	"runtime"
	"sync"

	"go.etcd.io/bbolt"

	"lotbell/state"
)

// Load gives all events in order, for the first fold and for a new one after a commit that failed.
// It may run while others commit and gives the mill at one commit. A record that is damaged,
// missing or too much is [Damaged] and named; one of a later program is [Newer]. Then no event is
// given: a mill with a hole is not folded.
//
// Pages are read one after the other and decoded on every core; an event costs about 1.4 µs of one
// core (measured: BenchmarkLoad). The words of places, quantities and the like are shared between
// events.
func (d *DB) Load() ([]state.Event, error) {
	var all []state.Event
	err := d.view(func(t *txn) error {
		var now standing
		if err := readStanding(d.path, t.bolt, &now); err != nil {
			return err
		}
		var err error
		all, err = readEvents(d.path, d.file, rootOf(d, t.bolt), now)
		return err
	})
	return all, err
}

// rootOf is the head that a read transaction sees, as far as a walk needs it. While the transaction
// lasts its pages are not written, so that they can be read past bbolt and its map.
func rootOf(d *DB, tx *bbolt.Tx) head {
	size := d.bolt.Info().PageSize
	return head{size: size, root: uint64(tx.Cursor().Bucket().Root()),
		pages: uint64(tx.Size()) / uint64(size)}
}

// leafPage is one page of records on its way to be decoded.
type leafPage struct {
	at    int // how many came before
	page  uint64
	pairs []pair
}

// chunk is what one leaf page became.
type chunk struct {
	at     int
	events []state.Event
	crc    uint32
	err    error
}

// readEvents walks the leaves of the events and has them decoded: one goroutine reads, as many as
// there are cores decode, this one puts together. All of them end before it returns, also after
// an error, since each drains what the one before it sends.
func readEvents(path string, f *os.File, h head, now standing) ([]state.Event, error) {
	w := newWalk(f, h)
	all, err := w.buckets()
	if err != nil {
		return nil, damagedPage(path, "", err)
	}
	box, ok := all["events"]
	if !ok {
		return nil, &Damaged{Path: path,
			Found: []Damage{{Box: "events", Page: h.root, Reason: "missing"}}}
	}
	by, err := parseWritten(path, aboutValue(all, "format"))
	if err != nil {
		return nil, err
	}
	leaves, chunks := make(chan leafPage, 64), make(chan chunk, 64)
	walked := make(chan error, 1)
	go func() {
		n := 0
		walked <- w.leaves(box, func(page uint64, pairs []pair) error {
			leaves <- leafPage{n, page, pairs}
			n += len(pairs)
			return nil
		})
		close(leaves)
	}()
	go decodeLeaves(path, by.Program, leaves, chunks)
	found, err := gather(path, box.root(), now, chunks)
	if werr := <-walked; werr != nil {
		return nil, damagedPage(path, "events", werr)
	}
	if err != nil {
		return nil, err
	}
	return found, nil
}

// decodeLeaves decodes pages on every core and closes chunks at the end.
func decodeLeaves(path, by string, leaves <-chan leafPage, chunks chan<- chunk) {
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			v := vocabulary{}
			for l := range leaves {
				chunks <- decodeLeaf(path, by, l, v)
			}
		})
	}
	all.Wait()
	close(chunks)
}

// decodeLeaf checks and decodes one page.
func decodeLeaf(path, by string, l leafPage, v vocabulary) chunk {
	c := chunk{at: l.at, events: make([]state.Event, 0, len(l.pairs))}
	for i, p := range l.pairs {
		e, crc, err := readRecord(path, by, state.Seq(l.at+i+1), p, v)
		if err != nil {
			if d, ok := err.(*Damaged); ok {
				d.Found[0].Page = l.page
			}
			c.err = err
			return c
		}
		c.crc ^= crc
		c.events = append(c.events, e)
	}
	return c
}

// readRecord checks one record of the events, which must be the one that want names, and gives its
// CRC beside it. The page is not known here and is added by the caller.
func readRecord(path, by string, want state.Seq, p pair, v vocabulary) (
	e state.Event, crc uint32, err error) {
	bad := func(reason string) error {
		return &Damaged{Path: path, Found: []Damage{{Box: "events",
			Record: recordName(events, p.key), Reason: reason}}}
	}
	val, err := unseal("events", p.key, p.val)
	switch {
	case err != nil:
		return e, 0, bad(err.Error())
	case p.flags != 0 || len(p.key) != 8:
		return e, 0, bad("not a record")
	case toNumber(p.key) != uint64(want):
		return e, 0, bad(fmt.Sprintf("event %d should be here", want))
	}
	e, err = decodeEvent(want, val, v)
	if later, ok := err.(laterKind); ok {
		return e, 0, &Newer{path, want, string(rune(later.kind)), int(later.version), by}
	}
	if err != nil {
		return e, 0, bad(err.Error())
	}
	return e, binary.BigEndian.Uint32(p.val), nil
}

// gather puts chunks in order and compares the whole with the tally. The first damaged record of
// the file is the one that is told, however the decoders raced.
func gather(path string, root uint64, now standing, chunks <-chan chunk) ([]state.Event, error) {
	want := now.tally[events]
	all := make([]state.Event, min(want.n, 1<<24))
	var got tally
	var first *chunk
	for c := range chunks {
		if c.err != nil && (first == nil || c.at < first.at) {
			first = &c
		}
		got.n += uint64(len(c.events))
		got.crc ^= c.crc
		for end := c.at + len(c.events); end > len(all); {
			all = append(all, state.Event{})
		}
		copy(all[c.at:], c.events)
	}
	if first != nil {
		return nil, first.err
	}
	if d := got.against(want); d != "" {
		return nil, &Damaged{Path: path, Found: []Damage{{Box: "events", Page: root,
			Reason: "not as last written: " + d}}}
	}
	return all, nil
}

// against says how a tally differs from what it should be, "" when it does not.
func (t tally) against(want tally) string {
	switch {
	case t.n != want.n:
		return fmt.Sprintf("%d records where %d were", t.n, want.n)
	case t.crc != want.crc:
		return fmt.Sprintf("the CRCs of all %d records together do not match", t.n)
	}
	return ""
}
