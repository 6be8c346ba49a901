package bot

import (
	"strings"
	"testing"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// TestPutRight: what was done by a clock that was 30 hours ahead holds nothing up. The journal says
// what the clock was; a question asked by it is closed, an invitation is good for no longer than any
// other, wrong codes are forgotten, a stranger is answered; the summary of the next morning comes.
func TestPutRight(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	right := r.now
	for range 2 { // a clock that is right, or a little behind, changes nothing
		since, err := r.desk.PutRight(r.now.Add(-clockBehind))
		if since != 0 || err != nil {
			t.Fatalf("put right since %v: %v", since, err)
		}
	}
	r.now = right.Add(30 * time.Hour)
	r.run()
	r.say("marta", "invite ana")
	r.wants(r.say("luis", "d1 40"), "luis< ")
	r.wants(r.say("pedro", "hola"), "pedro< ")
	r.wants(r.say("luis", "join 234567abcd"), "luis< ")
	ahead := max(r.desk.mill.Heard(), r.desk.lastAlive())
	if err := r.desk.Run(right); err != nil || len(r.said) == 0 ||
		!strings.Contains(r.said[len(r.said)-1], "clock is behind") {
		t.Errorf("the operator was told %q: %v", r.said, err)
	}
	r.now = right.Add(time.Minute)
	since, err := r.desk.PutRight(r.now)
	if err != nil || since != right.Add(0) {
		t.Errorf("wrong since %v, want %v: %v", since.Time(), right.Time(), err)
	}
	es, err := r.db.Load()
	if err != nil || !hasBody(es, state.Clock{Was: ahead, Is: r.now}) || r.desk.mill.Heard() != r.now {
		t.Errorf("the journal does not say so, heard %v: %v", r.desk.mill.Heard().Time(), err)
	}
	r.sent()
	r.wants(r.say("pedro", "hola"), "pedro< ")
	if p := r.desk.turn(r.now).pendingAt(Address{"script", "luis"}); p.Asked != nil || p.Wrong > 1 {
		t.Errorf("still asked: %+v", p)
	}
	r.now = right.Add(22 * time.Hour)
	r.wants(r.run(), "marta< UP")
	r.now = right.Add(invitedFor + time.Hour)
	r.run()
	r.wants(r.say("nora", "join code-1"), "mill's own line")
	rang, err := rules.Rehearse(es, nil, rules.Parse)
	if err != nil || len(rang.Steps) != len(rules.Rang(es)) {
		t.Errorf("a rehearsal finds %d steps of %d: %v", len(rang.Steps), len(rules.Rang(es)), err)
	}
}

func hasBody(es []state.Event, b state.Body) bool {
	for _, e := range es {
		if e.Body == b {
			return true
		}
	}
	return false
}
