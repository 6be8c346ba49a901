package journal

import (
	"encoding/json"
	"fmt"
	"sort"

	"lotbell/state"
)

// Batch is what one step of the desk leaves behind: one transaction. The zero value is empty and
// commits nothing.
//
// Keys (addresses, line keys, names of cursors) are 1 to 32,768 bytes long.
type Batch struct {
	// Events follow on the last one without a gap: the first has Seq Next(). Msg is at most Seq.
	// Text in a body must be UTF-8, numbers must be numbers, save those of a Compared.
	Events []state.Event
	// Words are the messages as they were written, by Msg. "" erases.
	Words map[state.Seq]string
	// Handled are the numbers of inbox rows that are answered. They are removed; one that is not
	// there refuses the batch, because it would be answered twice.
	Handled []uint64
	// Aside are inbox rows that could not be taken, with the reason. They leave the inbox, so that
	// they hold up nothing, and can be read with Asides until they expire.
	Aside map[uint64]string
	// Out are messages to be sent. The commit gives No and writes it back into these rows.
	Out []Out
	// Drop are outbox rows withdrawn. One that is gone already is no error.
	Drop []uint64
	// Cards are address book entries put in the place of older ones. One without Name and At
	// erases the entry.
	Cards []Card
	// Pending is a small row per address, such as the question that waits for an answer. nil
	// deletes it.
	Pending map[string][]byte
	// Lines say for which message a line stands, by its key in its transport, so that an edit
	// finds its events. They are forgotten by Expire.
	Lines map[string]state.Seq
	// Cursors are named places, such as how far a transport has been read.
	Cursors map[string]string
}

// Commit writes a batch as one transaction and returns when it is on disk. It is checked whole
// first: a bad one is [Refused], leaves nothing behind and touches no other. After any other error
// the caller must fold anew from Load: what is not on disk did not happen.
func (d *DB) Commit(b *Batch) error {
	j, err := d.prepareBatch(b)
	if err != nil {
		return err
	}
	return d.submit(j)
}

// prepareBatch checks what can be told without the file and encodes the events, in the caller's
// goroutine, so that the writer has little left to do. Whether the first event is the next one is
// only known when its turn comes: another batch may be before it.
func (d *DB) prepareBatch(b *Batch) (*job, error) {
	records := make([][]byte, len(b.Events))
	for i := range b.Events {
		e := &b.Events[i]
		if want := b.Events[0].Seq + state.Seq(i); e.Seq != want || e.Seq == 0 {
			return nil, refuse("event %d where %d should be", e.Seq, max(want, 1))
		}
		if e.Msg > e.Seq {
			return nil, refuse("event %d belongs to message %d, which is later", e.Seq, e.Msg)
		}
		rec, err := encodeEvent(e)
		if err != nil {
			return nil, refuse("event %d: %v", e.Seq, err)
		}
		records[i] = rec
	}
	return &job{
		apply: func(t *txn) error { return t.putBatch(b, records) },
		after: func() {
			if len(b.Out) > 0 {
				wake(d.queued)
			}
		},
	}, nil
}

// putBatch writes a batch. Each step is one kind of row. Withdrawn rows go before new ones are
// queued, so that a new row may have the key of one withdrawn.
func (t *txn) putBatch(b *Batch, records [][]byte) error {
	steps := []func() error{
		func() error { return t.putEvents(b.Events, records) },
		func() error { return t.putWords(b.Words) },
		func() error { return t.handle(b.Handled) },
		func() error { return t.putAside(b.Aside) },
		func() error { return t.drop(b.Drop) },
		func() error { return t.queueAll(b.Out) },
		func() error { return t.putCards(b.Cards) },
		func() error { return t.putPending(b.Pending) },
		func() error { return t.putLines(b.Lines, b.Events) },
		func() error { return t.moveCursors(b.Cursors) },
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// putEvents appends events, which must follow on the last one.
func (t *txn) putEvents(all []state.Event, records [][]byte) error {
	for i := range all {
		if next := t.now.last + 1; all[i].Seq != next {
			return refuse("event %d where %d is next", all[i].Seq, next)
		}
		if err := t.box(events).put(number(uint64(all[i].Seq)), records[i]); err != nil {
			return fmt.Errorf("event %d: %w", all[i].Seq, err)
		}
		t.now.last = all[i].Seq
	}
	return nil
}

// handle removes answered rows from the inbox. Their once-keys stay, so that the same message is
// known when its transport brings it again.
func (t *txn) handle(nos []uint64) error {
	for _, no := range nos {
		if val, err := t.box(inbox).read(number(no)); err != nil || val == nil {
			return orRefuse(err, "inbox row %d is not there to be answered", no)
		}
		if err := t.box(inbox).remove(number(no)); err != nil {
			return err
		}
	}
	return nil
}

// putAside moves rows out of the inbox, with the reason. They keep their numbers.
func (t *txn) putAside(reasons map[uint64]string) error {
	for no, reason := range reasons {
		val, err := t.box(inbox).read(number(no))
		if err != nil || val == nil {
			return orRefuse(err, "inbox row %d is not there to be put aside", no)
		}
		row := Aside{Reason: reason}
		if err := json.Unmarshal(val, &row.In); err != nil {
			return err
		}
		if err := t.box(aside).putJSON(number(no), row); err != nil {
			return err
		}
		if err := t.box(inbox).remove(number(no)); err != nil {
			return err
		}
	}
	return nil
}

// orRefuse is err, or a refusal when there is none.
func orRefuse(err error, f string, args ...any) error {
	if err != nil {
		return err
	}
	return refuse(f, args...)
}

// drop withdraws rows from the outbox.
func (t *txn) drop(nos []uint64) error {
	for _, no := range nos {
		r, found, err := t.unsent(no)
		if err != nil {
			return err
		}
		if found {
			if err := t.withdraw(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// queueAll puts rows into the outbox.
func (t *txn) queueAll(rows []Out) error {
	for i := range rows {
		if err := t.queue(&rows[i]); err != nil {
			return fmt.Errorf("outbox row to %s:%s: %w", rows[i].Via, rows[i].To, err)
		}
	}
	return nil
}

// putPending sets the small rows of addresses; nil deletes, an empty row that is not nil stays a
// row.
func (t *txn) putPending(rows map[string][]byte) error {
	for address, row := range rows {
		var err error
		if row == nil {
			err = t.box(pending).remove([]byte(address))
		} else {
			err = t.box(pending).put([]byte(address), row)
		}
		if err != nil {
			return fmt.Errorf("pending of %q: %w", address, err)
		}
	}
	return nil
}

// putLines notes which message a line's key stands for. Its age is that of the batch's last
// event, or of the last arrival when it has none; saying a line again does not renew it.
func (t *txn) putLines(all map[string]state.Seq, by []state.Event) error {
	at := t.now.got
	if len(by) > 0 {
		at = by[len(by)-1].Heard
	}
	keys := make([]string, 0, len(all))
	for key := range all {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	for _, key := range keys {
		known, err := t.box(lines).read([]byte(key))
		if err != nil {
			return err
		}
		if err := t.box(lines).put([]byte(key), number(uint64(all[key]))); err != nil {
			return fmt.Errorf("line %q: %w", key, err)
		}
		if known == nil {
			if err := t.age('l', []byte(key), at); err != nil {
				return err
			}
		}
	}
	return nil
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
