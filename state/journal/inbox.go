package journal

import (
	"lotbell/state"
)

// In is one raw message as it came, on disk before its transport is told so.
type In struct {
	// No counts arrivals from 1 and is given by Receive. It is never given twice.
	No uint64 `json:"-"`
	// Via and ID together are the once-key: the transport, and its own id for the message. With ID
	// empty nothing is ever a repeat.
	Via, ID string
	// Raw is the message in the form of its transport. Nothing here looks into it.
	Raw []byte
	// Got is when it arrived, by the clock of whoever received it.
	Got state.Instant
}

// Aside is an inbox row that could not be taken, with the reason.
type Aside struct {
	In
	Reason string
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
	return list(d, inbox, limit, func(key []byte, r *In) bool {
		r.No = toNumber(key)
		return true
	})
}

// Asides gives up to limit messages that were put aside, oldest first; all with limit 0.
func (d *DB) Asides(limit int) ([]Aside, error) {
	return list(d, aside, limit, func(key []byte, r *Aside) bool {
		r.No = toNumber(key)
		return true
	})
}
