package journal

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"lotbell/state"
)

// The boxes of the file, in the order of their tallies on disk: a new one goes at the end, and a
// file from before it gets it when it is opened. Keys that are numbers are eight bytes, those of
// persons four.
const (
	// Seq -> record, see wire.go. Only grows.
	events = iota
	// Seq of a message -> its text.
	words
	// Arrival number -> In, as JSON.
	inbox
	// Arrival number -> Aside, as JSON.
	aside
	// Via, a zero byte, id -> arrival number: what has been received once.
	once
	// Arrival number, 'a' or 'l', a key of once or of lines -> instant: what is to be forgotten,
	// oldest first.
	ages
	// Line key -> Seq of a message.
	lines
	// Number -> Out, as JSON: the rows that are to be sent.
	outbox
	// Via, to and key, parted by zero bytes -> number of the unsent row that has them.
	keyed
	// Number -> Ended, as JSON.
	ended
	// PersonID -> Card, as JSON.
	cards
	// Address -> bytes.
	pending
	// Name -> text.
	cursors

	boxCount
)

// boxNames are the bucket names, in the order of the constants above.
func boxNames() [boxCount]string {
	return [boxCount]string{"events", "words", "inbox", "aside", "once", "ages", "lines",
		"outbox", "keyed", "ended", "cards", "pending", "cursors"}
}

// tally is what a box must hold: how many records, and the exclusive-or of their CRCs, which does
// not depend on their order and can be kept when one record comes or goes.
type tally struct {
	n   uint64
	crc uint32
}

// standing is where the file stands after a commit: the last numbers given and what each box must
// hold. It is written in every transaction; 188 bytes, which lie in the root page that every
// transaction writes anyway.
type standing struct {
	last    state.Seq     // event
	in, out uint64        // inbox and outbox row
	got     state.Instant // of the last arrival
	tally   [boxCount]tally
}

// encode packs a standing: four numbers, then a count and a CRC for each box.
func (s *standing) encode() []byte {
	b := make([]byte, 0, 32+12*boxCount)
	for _, n := range []uint64{uint64(s.last), s.in, s.out, uint64(s.got)} {
		b = binary.BigEndian.AppendUint64(b, n)
	}
	for _, t := range s.tally {
		b = binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint64(b, t.n), t.crc)
	}
	return b
}

// decode unpacks a standing. A file from before a box was added has fewer tallies.
func (s *standing) decode(b []byte) error {
	if len(b) < 32 || (len(b)-32)%12 != 0 || len(b) > 32+12*boxCount {
		return fmt.Errorf("standing of %d bytes", len(b))
	}
	u := binary.BigEndian
	*s = standing{last: state.Seq(u.Uint64(b)), in: u.Uint64(b[8:]), out: u.Uint64(b[16:]),
		got: state.Instant(u.Uint64(b[24:]))}
	for i, b := 0, b[32:]; len(b) > 0; i, b = i+1, b[12:] {
		s.tally[i] = tally{u.Uint64(b), u.Uint32(b[8:])}
	}
	return nil
}

// castagnoli is the table of CRC-32C (RFC 3720, section 12.1); crc32 makes it once.
func castagnoli() *crc32.Table { return crc32.MakeTable(crc32.Castagnoli) }

// sum is the CRC-32C over the box's name, the key and the value. The name is in it because a disk
// that loses a write can leave a page of one box where another box has its own.
func sum(box string, key, val []byte) uint32 {
	c := crc32.Checksum([]byte(box), castagnoli())
	return crc32.Update(crc32.Update(c, castagnoli(), key), castagnoli(), val)
}

// seal puts the CRC before a value.
func seal(box string, key, val []byte) []byte {
	b := make([]byte, 4, 4+len(val))
	binary.BigEndian.PutUint32(b, sum(box, key, val))
	return append(b, val...)
}

// unseal checks the CRC before a value and gives the value, which aliases b.
func unseal(box string, key, b []byte) ([]byte, error) {
	if len(b) < 4 {
		return nil, fmt.Errorf("record of %d bytes", len(b))
	}
	if sum(box, key, b[4:]) != binary.BigEndian.Uint32(b) {
		return nil, fmt.Errorf("CRC does not match")
	}
	return b[4:], nil
}

// txn is one transaction: its boxes, and the standing it will leave.
type txn struct {
	path   string
	bolt   *bbolt.Tx
	now    *standing // nil when only reading
	opened [boxCount]*bbolt.Bucket
}

// box is one box within a transaction.
type box struct {
	*bbolt.Bucket
	path  string
	which int
	t     *tally // nil when only reading
}

// box gives one box. Those that only grow get fuller pages: 25 MiB in place of 44 for 20 MiB of
// records (measured).
func (t *txn) box(which int) box {
	b := t.opened[which]
	if b == nil {
		b = t.bolt.Bucket([]byte(boxNames()[which]))
		t.opened[which] = b
		if which == events || which == words {
			b.FillPercent = 0.9
		}
	}
	x := box{b, t.path, which, nil}
	if t.now != nil {
		x.t = &t.now.tally[which]
	}
	return x
}

// read gives the value under a key, nil when there is none. It aliases the map and is gone with
// the transaction.
func (x box) read(key []byte) ([]byte, error) {
	b := x.Get(key)
	if b == nil {
		return nil, nil
	}
	return x.open(key, b)
}

// open unseals a stored value and names the record when it is damaged.
func (x box) open(key, b []byte) ([]byte, error) {
	val, err := unseal(boxNames()[x.which], key, b)
	if err != nil {
		return nil, &Damaged{Path: x.path, Found: []Damage{{Box: boxNames()[x.which],
			Record: recordName(x.which, key), Reason: err.Error()}}}
	}
	return val, nil
}

// put writes a value under a key, sealed, and keeps the tally. A key or value that bbolt does not
// take is the caller's fault. After any error the transaction is to be given up, tally and all.
func (x box) put(key, val []byte) error {
	if err := x.remove(key); err != nil {
		return err
	}
	b := seal(boxNames()[x.which], key, val)
	err := x.Put(key, b)
	if errors.Is(err, bolterrors.ErrKeyRequired) || errors.Is(err, bolterrors.ErrKeyTooLarge) ||
		errors.Is(err, bolterrors.ErrValueTooLarge) {
		return refuse("%v", err)
	}
	x.t.n++
	x.t.crc ^= binary.BigEndian.Uint32(b)
	return err
}

// remove deletes a key and keeps the tally; a key that is not there is no error. The CRC that
// leaves the tally is the one on disk, true or not: a damaged record leaves as it came.
func (x box) remove(key []byte) error {
	old := x.Get(key)
	if len(old) < 4 {
		return nil
	}
	x.t.n--
	x.t.crc ^= binary.BigEndian.Uint32(old)
	return x.Delete(key)
}

// putJSON writes a row as JSON.
func (x box) putJSON(key []byte, row any) error {
	b, err := json.Marshal(row)
	if err != nil {
		return err
	}
	return x.put(key, b)
}

// number is a big-endian key or value, which sorts as it counts.
func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

// toNumber reads one back; anything else than eight bytes is 0, which numbers nothing.
func toNumber(b []byte) uint64 {
	if len(b) != 8 {
		return 0
	}
	return binary.BigEndian.Uint64(b)
}

// joined makes a key of several words. A zero byte parts them.
func joined(words ...string) []byte {
	var b []byte
	for i, w := range words {
		if i > 0 {
			b = append(b, 0)
		}
		b = append(b, w...)
	}
	return b
}

// Cursor is a named cursor, "" when it was never set.
func (d *DB) Cursor(name string) (string, error) {
	val, err := d.one(cursors, []byte(name))
	return string(val), err
}

// Pending is the small row kept for an address, nil when there is none.
func (d *DB) Pending(address string) ([]byte, error) { return d.one(pending, []byte(address)) }

// Line is the message that a line's key in its transport stands for, and whether it is known.
func (d *DB) Line(key string) (state.Seq, bool, error) {
	val, err := d.one(lines, []byte(key))
	return state.Seq(toNumber(val)), val != nil, err
}

// view runs f in a read transaction. f must copy what it gives out, and must not wait for anything:
// while it runs no freed page is used again and the file grows.
func (d *DB) view(f func(*txn) error) error {
	select {
	case <-d.quit:
		return ErrClosed
	default:
	}
	err := guard(d.path, func() error {
		return d.bolt.View(func(tx *bbolt.Tx) error { return f(&txn{path: d.path, bolt: tx}) })
	})
	if errors.Is(err, bolterrors.ErrDatabaseNotOpen) {
		return ErrClosed
	}
	return err
}

// each visits the records of a box in the order of their keys until limit of them were taken; all
// of them with limit 0.
func (d *DB) each(which, limit int, take func(key, val []byte) (bool, error)) error {
	return d.view(func(t *txn) error {
		x, n := t.box(which), 0
		c := x.Cursor()
		for key, b := c.First(); key != nil && (limit <= 0 || n < limit); key, b = c.Next() {
			val, err := x.open(key, b)
			if err != nil {
				return err
			}
			took, err := take(key, val)
			if err != nil {
				return fmt.Errorf("%s: %w", recordName(which, key), err)
			}
			if took {
				n++
			}
		}
		return nil
	})
}

// list reads rows of JSON from a box, until limit of them were taken; all of them with limit 0.
func list[T any](d *DB, which, limit int, take func(key []byte, r *T) bool) ([]T, error) {
	var found []T
	err := d.each(which, limit, func(key, val []byte) (bool, error) {
		var r T
		if err := json.Unmarshal(val, &r); err != nil || !take(key, &r) {
			return false, err
		}
		found = append(found, r)
		return true, nil
	})
	return found, err
}

// one is a copy of the value under a key; nil when there is none, which an empty value is not.
func (d *DB) one(which int, key []byte) (val []byte, err error) {
	err = d.view(func(t *txn) error {
		b, err := t.box(which).read(key)
		if b != nil {
			val = append([]byte{}, b...)
		}
		return err
	})
	return val, err
}
