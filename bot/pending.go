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
	Quote    string        `json:",omitempty"` // the words those facts were read from
	Answered state.Instant `json:",omitempty"` // a stranger's last answer

	Speaker state.PersonID `json:",omitempty"` // who writes from a shared phone; 0: not said
	Spoke   state.Instant  `json:",omitempty"` // when the speaker last wrote
	Waiting []waiting      `json:",omitempty"` // lines that wait for who wrote them
	Wrong   int            `json:",omitempty"` // wrong codes since WrongAt
	WrongAt state.Instant  `json:",omitempty"`
	Shut    bool           `json:",omitempty"` // the chat takes no messages
	Spanish int            `json:",omitempty"` // lines in Spanish of one who never chose a language
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
	ahead := t.at.Add(clockBehind) // what lies ahead is of a clock that was wrong
	if p.AskedAt > ahead || p.AskedAt != 0 && t.at.Sub(p.AskedAt) > askedFor {
		p.forget()
	}
	for _, at := range []*state.Instant{&p.Answered, &p.Spoke, &p.WrongAt} {
		if *at > ahead {
			*at = 0
		}
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
	t.askAt(t.msg.From, q, do, func(p *pending) {
		p.Quote = t.msg.Text
		if set != nil {
			set(p)
		}
	})
}

func (t *turn) askAt(a Address, q Asked, do string, set func(p *pending)) {
	p := *t.pendingAt(a) // whoever holds the old row reads on in it
	p.forget()
	p.Asked, p.AskedAt, p.Do = &q, t.at, do
	if set != nil {
		set(&p)
	}
	t.keepPending(a, &p)
}

// answered forgets the question of whoever wrote.
func (t *turn) answered() {
	p := *t.pendingAt(t.msg.From)
	p.forget()
	t.keepPending(t.msg.From, &p)
}

// forget leaves out the question and what hangs on it; what holds for the phone stays.
func (p *pending) forget() {
	p.Asked, p.AskedAt, p.Do, p.Line, p.Text, p.Heard, p.Quote = nil, 0, "", 0, "", nil, ""
}
