package bot

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// inGroup lets somebody write in a group; by is the address their own phone has, "" if the
// transport does not tell.
func (r *rig) inGroup(group, by, text string) string {
	r.t.Helper()
	r.now = r.now.Add(time.Second)
	r.n++
	m := Message{From: Address{"script", group}, ID: fmt.Sprint(r.n), At: r.now, Kind: Text,
		Text: text, Name: by, Group: true}
	if by != "" {
		m.By = Address{"script", by}
	}
	r.put(m, fmt.Sprint(r.n))
	return r.run()
}

func TestGroupIsNeverRead(t *testing.T) {
	r := newRig(t)
	before := r.picture()
	got := r.inGroup("yard", "ana", "t1 add 4200")
	r.wants(got, "yard< I talk with each of you in private only")
	for _, text := range []string{"t1 rough", "t1?", "mill?", "ok 1", "group summaries", "yes",
		"place t9 tank 6000", "t1 wash"} {
		if got := r.inGroup("yard", "ana", text); got != "" {
			t.Errorf("%q in a group is answered: %s", text, got)
		}
	}
	if got := r.inGroup("yard", "", "group summaries"); got != "" {
		t.Errorf("a speaker nobody knows changed something: %s", got)
	}
	if r.picture() != before {
		t.Errorf("a group changed the mill:\n%s", r.picture())
	}
	r.db.Close()
	r.open()
	if got := r.inGroup("yard", "ana", "hello"); got != "" {
		t.Errorf("answered again after a restart: %s", got)
	}
}

func TestHelpInGroup(t *testing.T) {
	r := newRig(t)
	r.wants(r.inGroup("yard", "ana", "help"), "yard< Passed to the manager", "marta< HELP from ana")
	r.wants(r.inGroup("yard", "", "help!!"), "marta< HELP from somebody at yard")
}

func TestGroupSummaries(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.wants(r.inGroup("yard", "marta", "group summaries"), "yard< This group gets the summaries")
	r.now = r.now.Add(22 * time.Hour)
	got := only("yard", r.run())
	r.wants(got, "to decide", "Tank room 6 t")
	r.put(Message{From: Address{"script", "yard"}, To: Address{"script", "bigyard"}, At: r.now,
		Kind: Moved, Group: true}, "moved")
	r.run()
	r.now = r.now.Add(24 * time.Hour)
	got = r.run()
	if only("bigyard", got) == "" || only("yard", got) != "" {
		t.Errorf("a group that moved: %s", got)
	}
	r.wants(r.inGroup("bigyard", "marta", "group off"), "gets nothing more")
	r.now = r.now.Add(24 * time.Hour)
	if got := only("bigyard", r.run()); got != "" {
		t.Errorf("sent after the end: %s", got)
	}
}

func TestGroupThatPutsLotbellOut(t *testing.T) {
	r := newRig(t)
	r.inGroup("yard", "marta", "group summaries")
	r.put(Message{From: Address{"script", "yard"}, At: r.now, Kind: Blocked, Group: true}, "out")
	r.run()
	r.now = r.now.Add(24 * time.Hour)
	if got := only("yard", r.run()); got != "" {
		t.Errorf("sent to a group that put Lotbell out: %s", got)
	}
	for _, p := range r.desk.mill.Persons() {
		if !p.Reachable {
			t.Errorf("person %d cannot be reached because of a group", p.ID)
		}
	}
}

// TestCodeShownToGroup closes an invitation whose code was written where all could read it.
func TestCodeShownToGroup(t *testing.T) {
	r := newRig(t)
	r.say("marta", "invite ana")
	r.wants(r.inGroup("yard", "luis", "join code-1"), "marta< The code for ana was shown")
	r.lacks(r.say("thief", "join code-1"), "Welcome")
	if strings.Contains(fmt.Sprint(r.desk.people), "yard") {
		t.Error("a group was enrolled")
	}
}
