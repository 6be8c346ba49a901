package bot

import (
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// linesAMinute is how many messages a minute are taken from one phone, unless the desk was opened
// with another number. More come from a stuck key, a child, or a phone that was out of reach.
const linesAMinute = 30

// pace counts the messages of an address within a minute. It is in no file: after a restart the
// count begins anew.
type pace struct {
	from state.Instant
	n    int
	told bool
}

// tooMany says whether the message in hand is more than is taken of one phone in a minute. Such a
// row stays in the inbox, on disk and in its place, and is taken when the minute is over; so do
// those that come after it, so that their order is kept. The sender is told once. A cry for help
// always passes, and strangers are held up elsewhere.
func (t *turn) tooMany(row journal.In) bool {
	delete(t.delayed, row.No)
	most := t.o.Lines
	if most == 0 {
		most = linesAMinute
	}
	switch t.msg.Kind {
	case Blocked, Unblocked, Moved, Missed, Trouble, ClockWas, Rehearsed:
		return false
	}
	if t.person == nil || most < 0 {
		return false
	}
	a := t.msg.From.String()
	p := t.paces[a]
	if p == nil || t.now.Sub(p.from) >= time.Minute || t.now < p.from {
		p = &pace{from: t.now}
		t.paces[a] = p
	}
	if p.n++; p.n <= most {
		return false
	}
	if find(Read(t.msg.Text, t.context(), t.words).Facts, state.Help) != nil {
		return false
	}
	until := p.from.Add(time.Minute)
	t.delayed[row.No] = until
	t.b.Handled = t.b.Handled[:len(t.b.Handled)-1]
	if !p.told {
		p.told = true
		t.say("too-many", "n", most, "time", t.clock(until))
	}
	return true
}

// waiting is what the inbox has to be taken at an instant, a commit's worth at most. Rows of
// phones that sent too much are passed over until their time has come. One that is further off
// than a minute was noted under a clock that has been set back since.
func (d *Desk) waiting(now state.Instant) ([]journal.In, error) {
	rows, err := d.db.Inbox(inboxAtOnce + len(d.delayed))
	if err != nil || len(d.delayed) == 0 {
		return rows, err
	}
	var out []journal.In
	for _, r := range rows {
		wait := d.delayed[r.No].Sub(now)
		if (wait <= 0 || wait > time.Minute) && len(out) < inboxAtOnce {
			out = append(out, r)
		}
	}
	return out, nil
}
