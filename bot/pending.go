package bot

import (
	"encoding/json"
	"time"

	"lotbell/state"
)

// pending is the small mutable row of an address: what it was last asked, and what a yes would
// do. It is no part of the fold.
type pending struct {
	Asked    *Asked        `json:",omitempty"`
	AskedAt  state.Instant `json:",omitempty"`
	Do       string        `json:",omitempty"` // what a yes does: see confirm.go
	Line     state.Seq     `json:",omitempty"` // the line it would be done to
	Text     string        `json:",omitempty"` // or the text
	Heard    *Heard        `json:",omitempty"` // or the facts
	Answered state.Instant `json:",omitempty"` // a stranger's last answer
	Minute   state.Instant `json:",omitempty"` // messages are counted since
	Count    int           `json:",omitempty"`
}

// askedFor is how long a question waits for its answer.
const askedFor = 15 * time.Minute

// pendingAt is the row of an address, with what is too old left out.
func (t *turn) pendingAt(a Address) *pending {
	if p := t.pend[a.String()]; p != nil {
		return p
	}
	p := &pending{}
	if raw, err := t.db.Pending(a.String()); err == nil && raw != nil {
		if json.Unmarshal(raw, p) != nil {
			*p = pending{}
		}
	}
	if p.AskedAt != 0 && t.at.Sub(p.AskedAt) > askedFor {
		p.Asked, p.AskedAt, p.Do, p.Line, p.Text, p.Heard = nil, 0, "", 0, "", nil
	}
	t.pend[a.String()] = p
	return p
}

// keepPending writes the row of an address with this turn.
func (t *turn) keepPending(a Address, p *pending) {
	t.pend[a.String()] = p
	raw, err := json.Marshal(p)
	if err != nil {
		t.o.Report("cannot keep a question: " + err.Error())
		return
	}
	t.b.Pending[a.String()] = raw
}

// ask remembers a question to whoever wrote; the next question takes its place.
func (t *turn) ask(q Asked, do string, set func(p *pending)) {
	t.askAt(t.msg.From, q, do, set)
}

func (t *turn) askAt(a Address, q Asked, do string, set func(p *pending)) {
	old := t.pendingAt(a)
	p := &pending{Asked: &q, AskedAt: t.at, Do: do, Answered: old.Answered, Minute: old.Minute,
		Count: old.Count}
	if set != nil {
		set(p)
	}
	t.keepPending(a, p)
}

// answered forgets the question of whoever wrote.
func (t *turn) answered() {
	old := t.pendingAt(t.msg.From)
	t.keepPending(t.msg.From, &pending{Answered: old.Answered, Minute: old.Minute,
		Count: old.Count})
}
