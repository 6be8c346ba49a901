package telegram

import (
	"time"

	"lotbell/state"
)

// patience is how often a thing may fail before the operator is told: one lost request is daily
// bread on a rural line. calm is how long a trouble must not be seen before it counts as over, so
// that one which comes and goes is told once.
const (
	patience = 3
	calm     = 2 * time.Minute
)

// trouble remembers what the operator was told, so that each kind of trouble is told once until
// it is over.
type trouble struct {
	alert func(kind, text string)
	seen  map[string]state.Instant // kinds that were told, and when last seen
	fails int                      // failures in a row
}

// newTrouble has told nothing yet.
func newTrouble(alert func(kind, text string)) *trouble {
	return &trouble{alert: alert, seen: map[string]state.Instant{}}
}

// say tells the operator, unless this kind was told and is not over.
func (t *trouble) say(kind string, at state.Instant, text string) {
	if _, told := t.seen[kind]; !told {
		t.alert(kind, text)
	}
	t.seen[kind] = at
}

// over tells the operator that a kind of trouble has not been seen for a while, if they were told
// of it. A clock that was set back starts the while anew.
func (t *trouble) over(kind string, at state.Instant, text string) {
	last, told := t.seen[kind]
	switch {
	case !told:
	case at < last:
		t.seen[kind] = at
	case at.Sub(last) >= calm:
		delete(t.seen, kind)
		t.alert("", text)
	}
}

// backoff is the pause after the n-th failure in a row: 1, 2, 4, 8, 16, then 30 seconds.
func backoff(n int) time.Duration {
	if n >= 6 {
		return 30 * time.Second
	}
	return time.Second << max(n-1, 0)
}
