package journal

import (
	"errors"

	"go.etcd.io/bbolt"
)

// format is the version of the file that this program writes.
const format = 1

// job is what one caller wants written.
type job struct {
	// apply writes it in a transaction. It may run twice, in two transactions, and must not count
	// on the first.
	apply func(*txn) error
	// after runs once it is on disk, before the caller hears of it. It may be nil and must not
	// wait.
	after func()
	// done takes the outcome, and has room for it.
	done chan error
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

// write is the writer: it takes a job and whatever else waits, and writes them together. While it
// waits for the disk the next ones gather: with 64 senders some 30 go into one commit, with one
// sender each has its own and nobody waits for company.
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

// group gathers the jobs that wait, in the order they were sent.
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

// finish writes jobs in one transaction. If one of them could not be applied each is tried alone,
// in order, so that the bad one fails alone.
func (d *DB) finish(jobs []*job) {
	applied, err := d.commit(jobs)
	for _, j := range jobs {
		if !applied && len(jobs) > 1 {
			_, err := d.commit([]*job{j})
			j.done <- err
			continue
		}
		j.done <- err
	}
}

// commit writes jobs in one transaction. If all could be applied and yet it failed, the fault is
// the disk's and trying again is not for us to decide: the standing is then read from the file
// anew, because a commit that broke off at its very end may be there after all.
func (d *DB) commit(jobs []*job) (applied bool, err error) {
	if d.fault != nil {
		return false, d.fault
	}
	now := d.standing
	err = guard(d.path, func() error {
		return d.bolt.Update(func(tx *bbolt.Tx) error {
			t := &txn{path: d.path, bolt: tx, now: &now}
			for _, j := range jobs {
				if err := j.apply(t); err != nil {
					return err
				}
			}
			applied = true
			return putAbout(tx, "standing", now.encode())
		})
	})
	var damaged *Damaged
	if errors.As(err, &damaged) && damaged.fault {
		d.fault = err
		return applied, err
	}
	if err != nil {
		again := guard(d.path, func() error {
			return d.bolt.View(func(tx *bbolt.Tx) error { return readStanding(d.path, tx, &now) })
		})
		if again != nil {
			return applied, again
		}
	}
	d.standing = now
	d.next.Store(uint64(now.last) + 1)
	for _, j := range jobs {
		if err == nil && j.after != nil {
			j.after()
		}
	}
	return applied, err
}
