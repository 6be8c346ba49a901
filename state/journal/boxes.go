package journal

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/crc32"

	"go.etcd.io/bbolt"

	"lotbell/state"
)

// In is one raw message as it came, on disk before its transport is told so. No counts arrivals
// from 1 and is given by Receive. Via and ID together are the once-key: the transport and its own
// id for the message. With ID empty nothing is ever a repeat.
type In struct {
	No      uint64 `json:"-"`
	Via, ID string
	Raw     []byte
	Got     state.Instant
}

// Out is one message to be sent. No is given by Commit. While a row is unsent, a newer one with
// the same Via, To and non-empty Key takes its place. Instants of 0 are not given.
type Out struct {
	No        uint64 `json:"-"`
	Via, To   string
	Key       string         `json:",omitempty"`
	Person    state.PersonID `json:",omitempty"`
	Priority  int            `json:",omitempty"`
	Made      state.Instant  `json:",omitempty"`
	Expires   state.Instant  `json:",omitempty"`
	NotBefore state.Instant  `json:",omitempty"`
	Cause     state.Seq      `json:",omitempty"` // the event it tells of; 0: none
	Tries     int            `json:",omitempty"` // sendings that failed
	Body      []byte         `json:",omitempty"`
}

// Aside is an inbox row that could not be taken, with the reason.
type Aside struct {
	In
	Reason string
}

// Ended is an outbox row that is no longer to be sent: Sent at an instant, or Dead for a reason.
type Ended struct {
	Out
	Sent state.Instant `json:",omitempty"`
	Dead string        `json:",omitempty"`
}

// The boxes of the file, in the order of their tallies on disk: new ones go at the end.
const (
	events  = iota // Seq -> record
	words          // Seq of a message -> text
	inbox          // arrival number -> In
	aside          // arrival number -> Aside
	once           // via, 0, id -> arrival number
	ages           // arrival number, 'a' or 'l', key of once or lines -> instant
	lines          // line key -> Seq of a message
	outbox         // number -> Out
	keyed          // via, 0, to, 0, key -> number of the unsent row
	ended          // number -> Ended
	cards          // PersonID -> Card
	pending        // address -> bytes
	cursors        // name -> text
	boxCount
)

// boxNames are the bucket names, in the order of the constants above.
func boxNames() [boxCount]string {
	return [boxCount]string{"events", "words", "inbox", "aside", "once", "ages", "lines",
		"outbox", "keyed", "ended", "cards", "pending", "cursors"}
}

// tally is what a box must hold: how many records, and the exclusive-or of their CRCs.
type tally struct {
	n   uint64
	crc uint32
}

// standing is where the file stands after a commit: the last numbers given and what each box must
// hold. It is written in every transaction.
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

// sum is the CRC-32C over key and value.
func sum(key, val []byte) uint32 {
	return crc32.Update(crc32.Checksum(key, castagnoli()), castagnoli(), val)
}

// seal puts the CRC before a value.
func seal(key, val []byte) []byte {
	b := make([]byte, 4, 4+len(val))
	binary.BigEndian.PutUint32(b, sum(key, val))
	return append(b, val...)
}

// unseal checks the CRC before a value and gives the value, which aliases b.
func unseal(key, b []byte) ([]byte, error) {
	if len(b) < 4 {
		return nil, fmt.Errorf("record of %d bytes", len(b))
	}
	if want := sum(key, b[4:]); want != binary.BigEndian.Uint32(b) {
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

// read gives the value under a key, nil when there is none. It aliases the map.
func (x box) read(key []byte) ([]byte, error) {
	b := x.Get(key)
	if b == nil {
		return nil, nil
	}
	return x.open(key, b)
}

// open unseals a stored value and names the record when it is damaged.
func (x box) open(key, b []byte) ([]byte, error) {
	val, err := unseal(key, b)
	if err != nil {
		return nil, &Damaged{x.path, []Damage{{Box: boxNames()[x.which],
			Record: recordName(x.which, key), Reason: err.Error()}}}
	}
	return val, nil
}

// put writes a value under a key.
func (x box) put(key, val []byte) error {
	if err := x.remove(key); err != nil {
		return err
	}
	b := seal(key, val)
	x.t.n++
	x.t.crc ^= binary.BigEndian.Uint32(b)
	return x.Put(key, b)
}

// remove deletes a key; one that is not there is no error.
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

// Receive puts messages on disk as they came and moves cursors in the same transaction. A message
// whose once-key is known is left out; fresh counts the others. When it returns without error the
// transport may be told that all of them have arrived.
func (d *DB) Receive(rows []In, cursors map[string]string) (fresh int, err error) {
	err = d.submit(&job{apply: func(t *txn) error {
		fresh = 0 // a transaction may be tried twice
		for _, r := range rows {
			took, err := t.receive(r)
			if err != nil {
				return err
			}
			fresh += took
		}
		return t.moveCursors(cursors)
	}, after: func() {
		if fresh > 0 {
			wake(d.arrived)
		}
	}})
	if err != nil {
		fresh = 0
	}
	return fresh, err
}

// receive puts one message into the inbox and says how many it was: 0 for a repeat.
func (t *txn) receive(r In) (int, error) {
	key := joined(r.Via, r.ID)
	if r.ID != "" {
		known, err := t.box(once).read(key)
		if err != nil || known != nil {
			return 0, err
		}
	}
	t.now.in++
	t.now.got = r.Got
	no := number(t.now.in)
	if r.ID != "" {
		if err := t.box(once).put(key, no); err != nil {
			return 0, err
		}
		if err := t.age('a', key, r.Got); err != nil {
			return 0, err
		}
	}
	return 1, t.box(inbox).putJSON(no, r)
}

// age notes when a key was put, under the arrival number of now.
func (t *txn) age(tag byte, key []byte, at state.Instant) error {
	return t.box(ages).put(append(append(number(t.now.in), tag), key...), number(uint64(at)))
}

// Inbox gives up to limit messages that are neither answered nor put aside, oldest first; all of
// them with limit 0.
func (d *DB) Inbox(limit int) ([]In, error) {
	var found []In
	err := d.each(inbox, limit, func(key, val []byte) (bool, error) {
		r := In{No: toNumber(key)}
		err := json.Unmarshal(val, &r)
		found = append(found, r)
		return true, err
	})
	return found, err
}

// Asides gives up to limit messages that were put aside, oldest first; all with limit 0.
func (d *DB) Asides(limit int) ([]Aside, error) {
	var found []Aside
	err := d.each(aside, limit, func(key, val []byte) (bool, error) {
		var r Aside
		err := json.Unmarshal(val, &r)
		r.No = toNumber(key)
		found = append(found, r)
		return true, err
	})
	return found, err
}

// Outbox gives up to limit rows that are to be sent by a transport, in the order of No; all of
// them with limit 0. Rows whose NotBefore has not come are among them.
func (d *DB) Outbox(via string, limit int) ([]Out, error) {
	var found []Out
	err := d.each(outbox, limit, func(key, val []byte) (bool, error) {
		r := Out{No: toNumber(key)}
		if err := json.Unmarshal(val, &r); err != nil || r.Via != via {
			return false, err
		}
		found = append(found, r)
		return true, nil
	})
	return found, err
}

// Endings gives up to limit rows that were sent or given up, the newest last; all with limit 0.
func (d *DB) Endings(limit int) ([]Ended, error) {
	var found []Ended
	err := d.each(ended, 0, func(key, val []byte) (bool, error) {
		var r Ended
		err := json.Unmarshal(val, &r)
		r.No = toNumber(key)
		found = append(found, r)
		return true, err
	})
	if limit > 0 && len(found) > limit {
		found = found[len(found)-limit:]
	}
	return found, err
}

// Sent says that a row has been sent: it leaves the outbox. A row that is no longer there, because
// a newer one took its place meanwhile, is no error.
func (d *DB) Sent(no uint64, at state.Instant) error {
	return d.submit(&job{apply: func(t *txn) error {
		return t.end(no, Ended{Sent: at})
	}})
}

// Dead says that a row can never be sent, and why: it leaves the outbox.
func (d *DB) Dead(no uint64, reason string) error {
	return d.submit(&job{apply: func(t *txn) error {
		return t.end(no, Ended{Dead: reason})
	}})
}

// Retry says that a sending failed and when to try again. A row that is no longer there is no
// error.
func (d *DB) Retry(no uint64, notBefore state.Instant) error {
	return d.submit(&job{apply: func(t *txn) error {
		r, found, err := t.unsent(no)
		if err != nil || !found {
			return err
		}
		r.Tries, r.NotBefore = r.Tries+1, notBefore
		return t.box(outbox).putJSON(number(no), r)
	}})
}

// unsent is a row of the outbox.
func (t *txn) unsent(no uint64) (Out, bool, error) {
	r := Out{No: no}
	val, err := t.box(outbox).read(number(no))
	if err != nil || val == nil {
		return r, false, err
	}
	return r, true, json.Unmarshal(val, &r)
}

// end moves a row from the outbox to those that have ended, without what it said.
func (t *txn) end(no uint64, e Ended) error {
	r, found, err := t.unsent(no)
	if err != nil || !found {
		return err
	}
	if err := t.withdraw(r); err != nil {
		return err
	}
	e.Out, e.Body = r, nil
	return t.box(ended).putJSON(number(no), e)
}

// withdraw takes a row out of the outbox and its key out of the keyed ones.
func (t *txn) withdraw(r Out) error {
	if r.Key != "" {
		if err := t.box(keyed).remove(joined(r.Via, r.To, r.Key)); err != nil {
			return err
		}
	}
	return t.box(outbox).remove(number(r.No))
}

// queue puts a row into the outbox in place of an unsent one with the same key.
func (t *txn) queue(r *Out) error {
	t.now.out++
	r.No = t.now.out
	if r.Key != "" {
		key := joined(r.Via, r.To, r.Key)
		old, err := t.box(keyed).read(key)
		if err != nil {
			return err
		}
		if old != nil {
			if err := t.box(outbox).remove(old); err != nil {
				return err
			}
		}
		if err := t.box(keyed).put(key, number(r.No)); err != nil {
			return err
		}
	}
	return t.box(outbox).putJSON(number(r.No), r)
}

// moveCursors sets named cursors.
func (t *txn) moveCursors(to map[string]string) error {
	for name, place := range to {
		if err := t.box(cursors).put([]byte(name), []byte(place)); err != nil {
			return fmt.Errorf("cursor %q: %w", name, err)
		}
	}
	return nil
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

// keepLatest is how many arrivals stay known whatever the instants say: a clock that was wrong
// must not make the last messages strange again.
const keepLatest = 1000

// expireAtOnce bounds one transaction of Expire.
const expireAtOnce = 10000

// Expire forgets once-keys and line keys put before an instant, save those of the last 1,000
// arrivals, and outbox rows that ended before it. It takes at most 10,000 at a time: when it
// returns that many there may be more.
func (d *DB) Expire(before state.Instant) (n int, err error) {
	err = d.submit(&job{apply: func(t *txn) error {
		n = 0
		for _, f := range []func(state.Instant, int) (int, error){t.expireKeys, t.expireEnded} {
			k, err := f(before, expireAtOnce-n)
			if err != nil {
				return err
			}
			n += k
		}
		return nil
	}})
	return n, err
}

// expireKeys walks the ages from the oldest and stops at the first that is to stay.
func (t *txn) expireKeys(before state.Instant, limit int) (int, error) {
	var gone [][]byte
	x := t.box(ages)
	c := x.Cursor()
	for key, b := c.First(); key != nil && len(gone) < limit; key, b = c.Next() {
		val, err := x.open(key, b)
		if err != nil {
			return 0, err
		}
		if state.Instant(toNumber(val)) >= before || toNumber(key[:8])+keepLatest > t.now.in {
			break
		}
		gone = append(gone, bytes.Clone(key))
	}
	for _, key := range gone {
		of, what := once, key[9:]
		if key[8] == 'l' {
			of = lines
		}
		if err := t.box(of).remove(what); err != nil {
			return 0, err
		}
		if err := x.remove(key); err != nil {
			return 0, err
		}
	}
	return len(gone), nil
}

// expireEnded removes the oldest of the ended rows.
func (t *txn) expireEnded(before state.Instant, limit int) (int, error) {
	n, x := 0, t.box(ended)
	c := x.Cursor()
	for key, b := c.First(); key != nil && n < limit; key, b = c.First() {
		val, err := x.open(key, b)
		if err != nil {
			return n, err
		}
		var r Ended
		if err := json.Unmarshal(val, &r); err != nil {
			return n, err
		}
		if max(r.Sent, r.Made) >= before {
			break
		}
		if err := x.remove(bytes.Clone(key)); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}
