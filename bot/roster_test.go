package bot

import (
	"strings"
	"testing"
	"time"

	"lotbell/rules"
	"lotbell/state"
)

// wait lets time pass, tick by tick, and gives all that is sent meanwhile.
func (r *rig) wait(d time.Duration) string {
	r.t.Helper()
	r.now = r.now.Add(d)
	return r.run()
}

// restart stops the program and starts it again.
func (r *rig) restart() {
	r.t.Helper()
	r.db.Close()
	r.open()
	r.now = r.now.Add(time.Second)
	if err := r.desk.Start(r.now); err != nil {
		r.t.Fatal(err)
	}
}

// crew is the rig's mill with a second hand at the tanks and a watchman.
func crew(t testing.TB) *rig {
	r := newRig(t)
	if err := r.desk.Setup("person rosa worker tank en\nperson nico watchman en", r.now); err != nil {
		t.Fatal(err)
	}
	r.sent()
	return r
}

func TestHandoverWaitsToBeReceived(t *testing.T) {
	r := crew(t)
	r.say("ana", "shift in")
	r.say("ana", "t1 add 4200")
	r.say("ana", "t1 rough")
	r.say("marta", "t1 wash")
	r.say("ana", "ok 2")
	got := r.say("ana", "shift out")
	r.wants(got, "ana< Told: rosa. Your calls stay yours", "rosa< ana hands over",
		"(2) t1: wash it now")
	if c := r.desk.mill.Numbered(2); c.By != r.desk.personNamed("ana") {
		t.Errorf("the call is %d's before anybody received it", c.By)
	}
	r.restart()
	r.wants(r.say("rosa", "received"), "rosa< You have it from ana", "ana< rosa has received it")
	if got := r.wait(31 * time.Minute); strings.Contains(got, "Nobody received") {
		t.Errorf("a received hand-over ran out: %s", got)
	}
	if got := r.say("rosa", "received"); strings.Contains(got, "You have it") {
		t.Errorf("it was received twice: %s", got)
	}
}

func TestHandoverThatNobodyReceives(t *testing.T) {
	r := crew(t)
	r.say("ana", "shift in")
	r.say("ana", "t1 add 4200")
	r.say("ana", "t1 rough")
	r.say("marta", "t1 wash")
	r.say("ana", "ok 2")
	r.say("ana", "shift out")
	r.restart()
	if got := r.wait(29 * time.Minute); strings.Contains(got, "Nobody received") {
		t.Errorf("too early: %s", got)
	}
	r.wants(r.wait(2*time.Minute), "rosa< From ana, who goes off: (2)", "tom< Nobody received")
	if got := r.wait(time.Hour); strings.Contains(got, "Nobody received") {
		t.Errorf("twice: %s", got)
	}
}

// TestHandoverIsCompared: what is written is held against the book as it was before the line.
func TestHandoverIsCompared(t *testing.T) {
	for _, c := range []struct{ line, want, not string }{
		{"shift out t1 with coffee d1 fire lit", "d1: the book had: fire out", "also in"},
		{"shift out d1 fire out", "also in: t1", "the book had"},
		{"shift out t1 and t2 with coffee", "nothing in: t2", "also in"},
		{"shift out t1 with coffee", "The book says the same", "nothing in"},
		{"shift out", "t1: lot 1", "The book"},
	} {
		r := crew(t)
		r.say("ana", "t1 add 4200")
		r.say("luis", "d1 load 2800kg hum 30")
		r.say("luis", "d1 fire out")
		got := r.say("ana", c.line)
		r.wants(got, c.want)
		if strings.Contains(got, c.not) {
			t.Errorf("%q is answered: %s", c.line, got)
		}
	}
}

func TestShiftOutWithNothingInHand(t *testing.T) {
	r := crew(t)
	r.wants(r.say("ana", "shift out"), "ana< You are off shift")
	if got := r.wait(time.Hour); strings.Contains(got, "Nobody received") {
		t.Errorf("nothing was to be received: %s", got)
	}
}

func TestAbsentIsNotCalled(t *testing.T) {
	r := crew(t)
	r.say("luis", "d1 load 2800kg hum 30")
	r.wants(r.say("marta", "absent luis until 12:00"), "luis is away until 12:00",
		"Nobody else is at drum")
	got := r.say("tom", "d1 75")
	if strings.Contains(got, "luis< ") || !strings.Contains(got, "tom< (") {
		t.Errorf("with luis away: %s", got)
	}
	r.restart()
	r.say("tom", "d1 55")
	r.wait(4*time.Hour + time.Minute) // noon has passed: nobody needs to say that he is back
	r.wants(r.say("tom", "d1 75"), "luis< (")
}

func TestAbsentPassesOnWhatRings(t *testing.T) {
	r := crew(t)
	r.say("ana", "t1 add 4200")
	r.say("ana", "t1 rough")
	r.say("marta", "t1 wash")
	r.wants(r.say("tom", "absent ana rosa"), "(2) goes to tom", "Nobody else is at tank")
	r.wants(r.say("tom", "present rosa"), "rosa is back")
	r.wants(r.say("ana", "present"), "You are on shift")
}

func TestAbsentBadInput(t *testing.T) {
	r := crew(t)
	before := r.picture()
	for _, line := range []string{"absent pedro", "absent luis until noonish", "absent until",
		"absent luis 25:00", "absent luis -3 h", "absent luis 90000 d", "absent luis \x00",
		"absent luis until 18:00 perhaps"} {
		got := r.say("tom", line)
		if !strings.Contains(got, "absent luis until 18:00") {
			t.Errorf("%q is answered: %s", line, got)
		}
	}
	r.wants(r.say("rosa", "absent luis"), "rosa< I told the manager", "marta< rosa: absent luis")
	if r.picture() != before {
		t.Errorf("bad lines changed the mill:\n%s\nwas:\n%s", r.picture(), before)
	}
}

// TestManagerAway: with the manager away a call goes to the deputy, and to the manager after all
// when there is nobody else.
func TestManagerAway(t *testing.T) {
	r := newRig(t)
	if err := r.desk.Setup("person nora deputy en", r.now); err != nil {
		t.Fatal(err)
	}
	r.sent()
	r.say("ana", "t1 add 4200")
	r.say("marta", "absent marta")
	r.wants(r.say("ana", "t1 rough"), "nora< (1) t1 is rough")
	r.say("marta", "absent nora tom ana luis")
	got := r.say("luis", "d1 75")
	r.wants(got, "marta< (")
}

// TestWatchmanKnocks: when a ladder comes to the watchman, he is told whose doors to knock at.
func TestWatchmanKnocks(t *testing.T) {
	book := strings.Replace(rules.DefaultText(), `then = ["deputy 20min", "lead 40min"]`,
		`then = ["deputy 20min", "lead 40min", "watchman 60min"]`, 1)
	script := "mill testdata/mills/small.chat\nmill testdata/mills/shift-night.chat\n" +
		"@ 2026-01-12 20:00\nana> t1 add 4000\nana> t1 rough\n@ +65m\n"
	run, err := Play(script, Beside("../testdata/chats"), book, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(run.Text, "Knock at the door: marta, tom.") {
		t.Errorf("the watchman is not sent to anybody:\n%s", run.Text)
	}
}

// TestAwayIsFolded: who is away is as it was after a refold.
func TestAwayIsFolded(t *testing.T) {
	r := crew(t)
	r.say("tom", "absent luis until 18:00")
	r.say("ana", "t1 add 4200")
	r.say("ana", "shift out")
	before := r.picture()
	r.restart()
	if r.picture() != before {
		t.Errorf("refolded:\n%s\nwas:\n%s", r.picture(), before)
	}
	p := r.desk.mill.Person(r.desk.personNamed("luis"))
	at := state.At(time.Date(2026, 1, 12, 18, 0, 0, 0, time.UTC))
	if !p.AwayAt(at-1) || p.AwayAt(at) || p.OnDuty(at-1) {
		t.Errorf("luis is away until %v", p.AwayUntil.Time())
	}
}
