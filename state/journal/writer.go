package journal

import (
	"encoding/json"
	"fmt"
	"sort"

	"go.etcd.io/bbolt"

	"lotbell/state"
)

// format is the version of the file that this program writes.
const format = 1

// job is what one caller wants written. apply may run twice, in two transactions.
type job struct {
	apply func(*txn) error
	after func() // once it is on disk; may be nil
	done  chan error
}

// groupAtMost bounds what goes into one transaction.
const groupAtMost = 256

// waitAtMost bounds what waits for the writer without blocking its sender.
const waitAtMost = 256

// submit hands a job to the writer and waits until it is on disk.
func (d *DB) submit(j *job) error {
	if err := d.send(j); err != nil {
		return err
	}
	return d.wait(j)
}

// send hands a job to the writer. Jobs are written in the order they were sent.
func (d *DB) send(j *job) error {
	j.done = make(chan error, 1)
	select {
	case <-d.quit:
		return ErrClosed
	default:
	}
	select {
	case d.jobs <- j:
		return nil
	case <-d.quit:
		return ErrClosed
	}
}

// wait waits until a job is on disk. One that the writer left behind when it stopped is not.
func (d *DB) wait(j *job) error {
	select {
	case err := <-j.done:
		return err
	case <-d.stopped:
	}
	select {
	case err := <-j.done:
		return err
	default:
		return ErrClosed
	}
}

// write is the writer: it takes a job and whatever else waits, and writes them together.
func (d *DB) write() {
	defer close(d.stopped)
	for {
		select {
		case j := <-d.jobs:
			d.finish(d.group(j))
		case <-d.quit:
			return
		}
	}
}

// group gathers the jobs that wait.
func (d *DB) group(first *job) []*job {
	jobs := []*job{first}
	for len(jobs) < groupAtMost {
		select {
		case j := <-d.jobs:
			jobs = append(jobs, j)
		default:
			return jobs
		}
	}
	return jobs
}

// finish writes jobs in one transaction. If that fails each is tried alone, in order, so that a
// bad one fails alone.
func (d *DB) finish(jobs []*job) {
	err := d.commit(jobs)
	for _, j := range jobs {
		if err != nil && len(jobs) > 1 {
			j.done <- d.commit([]*job{j})
			continue
		}
		j.done <- err
	}
}

// commit writes jobs in one transaction. After a failure the standing is read from the file anew:
// a commit that broke off at its very end may be there after all.
func (d *DB) commit(jobs []*job) error {
	now := d.standing
	err := guard(d.path, func() error {
		return d.bolt.Update(func(tx *bbolt.Tx) error {
			t := &txn{path: d.path, bolt: tx, now: &now}
			for _, j := range jobs {
				if err := j.apply(t); err != nil {
					return err
				}
			}
			return putAbout(tx, "standing", now.encode())
		})
	})
	if err != nil {
		now = d.standing
		again := guard(d.path, func() error {
			return d.bolt.View(func(tx *bbolt.Tx) error { return readStanding(d.path, tx, &now) })
		})
		if again != nil {
			return again
		}
	}
	d.standing = now
	d.next.Store(uint64(now.last) + 1)
	for _, j := range jobs {
		if err == nil && j.after != nil {
			j.after()
		}
	}
	return err
}

// prepareBatch checks a batch and encodes its events, in the caller's goroutine.
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

// putBatch writes a batch. Each step is one kind of row.
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

// handle removes answered rows from the inbox.
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

// putAside moves rows out of the inbox, with the reason.
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

// putPending sets the small rows of addresses; nil deletes.
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
