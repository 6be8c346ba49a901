package journal

import (
	"bytes"
	"encoding/json"

	"lotbell/state"
)

// keepLatest is how many arrivals stay known whatever the instants say: a clock that was wrong
// must not make the last messages strange again.
const keepLatest = 1000

// expireAtOnce bounds one transaction of Expire.
const expireAtOnce = 10000

// Expire forgets what is older than an instant: once-keys and line keys, save those of the last
// 1,000 arrivals; outbox rows that have ended; messages put aside. It takes at most 10,000 at a
// time: when it returns that many there may be more. A once-key must outlive the longest time in
// which a transport repeats a message: 24 hours with Telegram's updates.
//
// Each box is read from its oldest row and only up to the first that is to stay. One that arrived
// under a clock that was fast keeps what came after it until its own instant has passed.
func (d *DB) Expire(before state.Instant) (n int, err error) {
	err = d.submit(&job{apply: func(t *txn) error {
		n = 0
		n, err = t.expireKeys(before, expireAtOnce)
		for _, which := range []int{ended, aside} {
			if err != nil {
				return err
			}
			var k int
			k, err = t.expireRows(which, before, expireAtOnce-n)
			n += k
		}
		return err
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

// expireRows removes the oldest rows of a box and stops at the first that is to stay.
func (t *txn) expireRows(which int, before state.Instant, limit int) (n int, err error) {
	x := t.box(which)
	c := x.Cursor()
	for key, b := c.First(); key != nil && n < limit; key, b = c.First() {
		val, err := x.open(key, b)
		if err != nil {
			return n, err
		}
		var r struct{ Got, Made, Sent state.Instant } // what either kind of row has of them
		if err := json.Unmarshal(val, &r); err != nil {
			return n, err
		}
		if max(r.Got, r.Made, r.Sent) >= before {
			break
		}
		if err := x.remove(bytes.Clone(key)); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}
