package journal

import (
	"encoding/json"

	"lotbell/state"
)

// Out is one message to be sent. Instants of 0 are not given. Expires, NotBefore and Priority are
// for the sender: the journal acts on none of them.
type Out struct {
	// No counts rows from 1 and is given by Commit. It is never given twice.
	No uint64 `json:"-"`
	// Via and To are the transport and the address in it.
	Via, To string
	// Key is what the message is about. While a row is unsent, a newer one with the same Via, To
	// and non-empty Key takes its place.
	Key       string         `json:",omitempty"`
	Person    state.PersonID `json:",omitempty"`
	Priority  int            `json:",omitempty"`
	Made      state.Instant  `json:",omitempty"`
	Expires   state.Instant  `json:",omitempty"`
	NotBefore state.Instant  `json:",omitempty"`
	// Cause is the event that it tells of; 0 is none.
	Cause state.Seq `json:",omitempty"`
	// Tries counts the sendings that failed.
	Tries int `json:",omitempty"`
	// Body is the message. Nothing here looks into it.
	Body []byte `json:",omitempty"`
}

// Ended is an outbox row that is no longer to be sent: Sent at an instant, or Dead for a reason.
// Its Body is gone. Rows that were replaced or withdrawn leave none.
type Ended struct {
	Out
	Sent state.Instant `json:",omitempty"`
	Dead string        `json:",omitempty"`
}

// Outbox gives up to limit rows that are to be sent by a transport, in the order of No; all of
// them with limit 0. Rows whose NotBefore has not come are among them, and those past Expires.
func (d *DB) Outbox(via string, limit int) ([]Out, error) {
	return list(d, outbox, limit, func(key []byte, r *Out) bool {
		r.No = toNumber(key)
		return r.Via == via
	})
}

// Endings gives up to limit rows that were sent or given up, the newest last; all with limit 0.
func (d *DB) Endings(limit int) ([]Ended, error) {
	found, err := list(d, ended, 0, func(key []byte, r *Ended) bool {
		r.No = toNumber(key)
		return true
	})
	if limit > 0 && len(found) > limit {
		found = found[len(found)-limit:]
	}
	return found, err
}

// Sent says that a row has been sent: it leaves the outbox. A row that is no longer there, because
// a newer one took its place meanwhile, is no error. A program that dies between sending and this
// call sends again: a message is sent at least once.
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

// end moves a row from the outbox to those that have ended, without what it said: who was told of
// which event, when and how often it was tried is kept, the words are not.
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

// withdraw takes a row out of the outbox and its key out of the keyed ones, where it can only stand
// for this row: the newest with that key is the only one.
func (t *txn) withdraw(r Out) error {
	if r.Key != "" {
		if err := t.box(keyed).remove(joined(r.Via, r.To, r.Key)); err != nil {
			return err
		}
	}
	return t.box(outbox).remove(number(r.No))
}

// queue puts a row into the outbox in place of an unsent one with the same key. The newer one goes
// to the end of the queue. If the older one is being sent at this moment, both arrive.
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
