package bot

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// rig is a desk over a journal of its own, with a mill.
type rig struct {
	t    testing.TB
	path string
	db   *journal.DB
	desk *Desk
	now  state.Instant
	n    int
	said []string // what the operator was told
}

const rigMill = `zone UTC
place t1 tank 6000
place t2 tank 6000
place p1 patio 4000
place d1 drum 3500 inlet C
place s1 silo 20000
person marta manager keeper en
person ana worker tank en
person luis worker drum es
person tom lead en
`

func newRig(t testing.TB) *rig {
	r := &rig{t: t, path: filepath.Join(t.TempDir(), "mill.db"),
		now: state.At(time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC))}
	r.open()
	if err := r.desk.Start(r.now); err != nil {
		t.Fatal(err)
	}
	if err := r.desk.Setup(rigMill, r.now); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.db.Close() })
	return r
}

func (r *rig) open() {
	r.t.Helper()
	db, err := journal.Open(r.path, journal.Options{NoSync: true})
	if err != nil {
		r.t.Fatal(err)
	}
	codes := 0
	desk, err := Open(db, Options{Program: "test", Bind: "script", Code: func() string {
		codes++
		return fmt.Sprintf("code-%d", codes)
	}, Decode: map[string]Decode{"script": DecodeJSON}, Lines: -1,
		Report: func(s string) { r.said = append(r.said, s) }})
	if err != nil {
		r.t.Fatal(err)
	}
	r.db, r.desk = db, desk
}

// put stores a message without running the desk.
func (r *rig) put(m Message, id string) {
	r.t.Helper()
	raw, err := json.Marshal(m)
	if err != nil {
		r.t.Fatal(err)
	}
	if _, err := r.db.Receive([]journal.In{{Via: "script", ID: id, Raw: raw, Got: r.now}},
		nil); err != nil {
		r.t.Fatal(err)
	}
}

// say lets somebody write a line a second later and gives all that is then sent, "name< text".
func (r *rig) say(who, text string) string {
	r.t.Helper()
	r.now = r.now.Add(time.Second)
	r.n++
	r.put(Message{From: Address{"script", who}, ID: fmt.Sprint(r.n), At: r.now, Kind: Text,
		Text: text, Name: who}, fmt.Sprint(r.n))
	return r.run()
}

func (r *rig) run() string {
	r.t.Helper()
	if err := r.desk.Run(r.now); err != nil {
		r.t.Fatal(err)
	}
	return r.sent()
}

func (r *rig) sent() string {
	r.t.Helper()
	rows, err := r.db.Outbox("script", 1000)
	if err != nil {
		r.t.Fatal(err)
	}
	var out []string
	for _, row := range rows {
		var o Outgoing
		if err := json.Unmarshal(row.Body, &o); err != nil {
			r.t.Fatal(err)
		}
		out = append(out, row.To+"< "+o.Text)
		if err := r.db.Sent(row.No, r.now); err != nil {
			r.t.Fatal(err)
		}
	}
	return strings.Join(out, "\n")
}

func (r *rig) wants(got string, parts ...string) {
	r.t.Helper()
	for _, p := range parts {
		if !strings.Contains(got, p) {
			r.t.Errorf("no %q in:\n%s", p, got)
		}
	}
}

func (r *rig) picture() string { return r.desk.mill.Picture(true) }

func TestFailedCommitLeavesTheMillAsBefore(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	before := r.picture()
	// Somebody else has written: the next batch does not fit the journal and is refused whole.
	intruder := state.Event{Seq: r.db.Next(), Msg: r.db.Next(), At: r.now, Heard: r.now.Add(1),
		Body: state.Start{Program: "intruder"}}
	if err := r.db.Commit(&journal.Batch{Events: []state.Event{intruder}}); err != nil {
		t.Fatal(err)
	}
	r.put(Message{From: Address{"script", "ana"}, ID: "x", At: r.now, Kind: Text,
		Text: "t2 add 3000"}, "x")
	if err := r.desk.Run(r.now.Add(time.Second)); err == nil {
		t.Fatal("the commit did not fail")
	}
	if r.picture() != before {
		t.Errorf("the mill has changed:\n%s\nwas:\n%s", r.picture(), before)
	}
	if got := r.sent(); got != "" {
		t.Errorf("something was answered that is not on disk: %s", got)
	}
	r.now = r.now.Add(2 * time.Second)
	r.wants(r.run(), "ana< t2: 3000 kg in") // the message was kept and is taken now
}

func TestRestartRingsNothing(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.say("luis", "d1 75")
	r.wants(r.say("ana", "t1 rough"), "marta< ")
	before := r.picture()
	r.db.Close()
	r.open()
	r.now = r.now.Add(time.Second)
	if err := r.desk.Start(r.now); err != nil {
		t.Fatal(err)
	}
	if got := r.run(); got != "" {
		t.Errorf("a restart sent: %s", got)
	}
	if r.picture() != before {
		t.Errorf("a restart changed the mill:\n%s\nwas:\n%s", r.picture(), before)
	}
}

// TestShortGapHidesNothing: what fell due while the program was away for some seconds rings at the
// instant it was due, so that a rehearsal of the journal finds it there.
func TestShortGapHidesNothing(t *testing.T) {
	r := newRig(t)
	r.say("luis", "d1 load 3000kg hum 40")
	due := r.desk.watch.Next()
	r.now = due.Add(-10 * time.Second)
	r.run()
	r.db.Close()
	r.open()
	r.now = due.Add(20 * time.Second)
	if err := r.desk.Start(r.now); err != nil {
		t.Fatal(err)
	}
	es, err := r.db.Load()
	if err != nil {
		t.Fatal(err)
	}
	rang := rules.Rang(es)
	if len(rang) == 0 || rang[len(rang)-1].At != due {
		t.Errorf("it rang %+v, and was due at %v", rang, due.Time())
	}
	would, err := rules.Rehearse(es, nil, rules.Parse)
	if err != nil || fmt.Sprint(len(rang), rules.Differ(rang, would.Steps, 0)) !=
		fmt.Sprint(len(would.Steps), []rules.Difference(nil)) {
		t.Errorf("rehearsed %+v (%v), rang %+v", would, err, rang)
	}
}

func TestUndoIsAsIfNeverSaid(t *testing.T) {
	a, b := newRig(t), newRig(t)
	a.say("ana", "t1 add 4200")
	b.say("ana", "t1 add 4200")
	a.say("ana", "t1 add 42000")
	a.wants(a.say("ana", "undo"), "Take back")
	a.wants(a.say("ana", "yes"), "Taken back", "t1: lot 1, 4200 kg")
	if x, y := a.desk.mill.Picture(false), b.desk.mill.Picture(false); x != y {
		t.Errorf("undone:\n%s\nnever said:\n%s", x, y)
	}
}

func TestSameMessageTwice(t *testing.T) {
	r := newRig(t)
	m := Message{From: Address{"script", "ana"}, ID: "7", At: r.now, Kind: Text, Text: "t1 add 4200"}
	r.put(m, "7")
	r.put(m, "7") // the transport brings the same update again
	r.wants(r.run(), "ana< t1: 4200 kg in")
	if got := r.say("ana", "t1 add 4200"); !strings.Contains(got, "I have that already") {
		t.Errorf("the same line again: %s", got)
	}
	if s := r.desk.mill.StaysAt("t1")[0]; s.Mass != state.Kg(4200) {
		t.Errorf("the tank holds %v g", s.Mass)
	}
	r.wants(r.say("ana", "yes"), "8400 kg")
}

func TestBadInput(t *testing.T) {
	r := newRig(t)
	long := strings.Repeat("cafe ", 800)
	for _, c := range []struct{ text, want string }{
		{"", "ana< "}, {"t33 rough", "ana< "}, {"t1 slipery", "t1"}, {"d1 580", "cannot be"},
		{long, "ana< "}, {"👍👍", "ana< "}, {"مرحبا بالعالم", "ana< "}, {"t1 ph 48", "ana< "},
		{"x\x00y\u202e", "ana< "},
	} {
		got := r.say("ana", c.text)
		if !strings.Contains(got, c.want) || strings.Contains(strings.ToLower(got), "invalid") {
			t.Errorf("%.20q is answered: %s", c.text, got)
		}
	}
	if n := len(r.desk.mill.OpenStays()); n != 0 {
		t.Errorf("%d stays were made of nonsense", n)
	}
}

func TestStranger(t *testing.T) {
	r := newRig(t)
	r.wants(r.say("someone", "t1?"), "someone< This is a mill's own line")
	if got := r.say("someone", "how many tanks do you have"); got != "" {
		t.Errorf("a stranger is answered twice within the hour: %s", got)
	}
	got := r.say("someone", "help")
	r.wants(got, "someone< Passed to the manager", "marta< HELP from somebody at someone",
		"marta< (1) HELP")
}

func TestEnrolment(t *testing.T) {
	r := newRig(t)
	r.wants(r.say("marta", "person nora worker tank en"), "nora is of the mill")
	r.wants(r.say("marta", "invite nora"), "join code-1")
	if got := r.say("newphone", "join code-9"); strings.Contains(got, "Welcome") {
		t.Errorf("a wrong code enrolled: %s", got)
	}
	r.wants(r.say("newphone", "join code-1"), "newphone< Welcome, nora")
	r.wants(r.say("newphone", "t1 add 3000"), "newphone< t1: 3000 kg in")
	if got := r.say("third", "join code-1"); strings.Contains(got, "Welcome") {
		t.Errorf("a code was used twice: %s", got)
	}
	r.wants(r.say("ana", "remove nora"), "Only a keeper")
	r.say("marta", "remove nora")
	if got := r.say("newphone", "t1?"); strings.Contains(got, "3000") {
		t.Errorf("somebody who was removed is told: %s", got)
	}
}

func TestTimesThatAreOdd(t *testing.T) {
	r := newRig(t)
	r.now = r.now.Add(time.Second)
	r.put(Message{From: Address{"script", "ana"}, ID: "a", At: r.now.Add(24 * time.Hour), Kind: Text,
		Text: "t1 add 4200"}, "a")
	r.wants(r.run(), "t1: 4200 kg in") // dated tomorrow: it counts for now
	if s := r.desk.mill.StaysAt("t1")[0]; s.From > r.now {
		t.Errorf("a stay begins in the future: %v", s.From.Time())
	}
	r.put(Message{From: Address{"script", "luis"}, ID: "b", At: r.now.Add(-48 * time.Hour),
		Kind: Text, Text: "d1 80"}, "b")
	got := r.run() // two days late: taken, and nothing rings for what is over
	r.wants(got, "luis< d1: aire 80 C")
	if strings.Contains(got, "(1)") {
		t.Errorf("something rang for what is over: %s", got)
	}
}

func TestEditedMessage(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	id := r.desk.mill.StaysAt("t1")[0].ID
	edit := func(text string) string {
		r.now = r.now.Add(time.Second)
		r.put(Message{From: Address{"script", "ana"}, ID: "1", At: r.now, Kind: Edited, Text: text},
			fmt.Sprint("edit", r.now))
		return r.run()
	}
	r.wants(edit("t1 add 4300"), "Corrected. t1: 4300 kg in")
	if got := edit("t1 add 4300"); got != "" {
		t.Errorf("the same edit again is answered: %s", got)
	}
	r.wants(edit("t1 add  4300 kg"), "Nothing changed")
	r.wants(edit("blah blah"), "stays as it was")
	s := r.desk.mill.StaysAt("t1")[0]
	if s.ID != id || s.Mass != state.Kg(4300) {
		t.Errorf("after an edit: stay %v of %v g, was %v", s.ID, s.Mass, id)
	}
}

// TestEditedKeepsTheCall: a figure that is set right and rings as before is the same call, told to
// nobody anew; one that rings no longer takes the call back.
func TestEditedKeepsTheCall(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.say("luis", "d1 load t1 2800kg hum 30")
	r.wants(r.say("luis", "d1 72"), "luis< (1) d1")
	id := r.desk.mill.Numbered(1).ID
	edit := func(text string) string {
		r.now = r.now.Add(time.Second)
		r.put(Message{From: Address{"script", "luis"}, ID: fmt.Sprint(r.n), At: r.now, Kind: Edited,
			Text: text}, fmt.Sprint("edit", r.now))
		return r.run()
	}
	got := edit("d1 74")
	r.wants(got, "luis< Corregido. d1", "74 C")
	if c := r.desk.mill.Numbered(1); c == nil || c.ID != id || strings.Contains(got, "(1)") ||
		len(r.desk.mill.Calls()) != 1 {
		t.Errorf("the call is %+v, and was told again in %s", c, got)
	}
	r.wants(edit("d1 47"), "luis< Corregido. d1", "(1) d1")
	if c := r.desk.mill.Numbered(1); c != nil {
		t.Errorf("it still stands: %+v", c)
	}
}

// TestPoisonIsSetAside: a row that cannot be read, or is of a transport that nobody knows, is kept
// aside and reported without its words; the lines around it are answered in their order.
func TestPoisonIsSetAside(t *testing.T) {
	r := newRig(t)
	rows := []journal.In{{Via: "script", ID: "a", Raw: []byte(`{"Text": 5, "Name": "zanzibar"}`)},
		{Via: "pigeon", ID: "b", Raw: []byte("zanzibar")}}
	before := len(r.said)
	r.n++
	r.put(Message{From: Address{"script", "ana"}, ID: "1", At: r.now, Kind: Text,
		Text: "t1 add 4200"}, "1")
	if _, err := r.db.Receive(rows, nil); err != nil {
		t.Fatal(err)
	}
	got := r.say("ana", "t1 rough")
	r.wants(got, "ana< t1: 4200 kg in", "ana< t1: rough", "marta< A message could not be read")
	if strings.Count(got, "could not be read") != 1 {
		t.Errorf("not one keeper heard of it once: %s", got)
	}
	asides, err := r.db.Asides(0)
	if err != nil || len(asides) != 2 || asides[0].ID != "a" || asides[1].ID != "b" {
		t.Errorf("aside are %+v: %v", asides, err)
	}
	told := strings.Join(r.said[before:], "\n")
	if strings.Count(told, "was set aside") != 2 || strings.Contains(told, "zanzibar") {
		t.Errorf("the operator was told %q", told)
	}
}

func TestLimitByChat(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.say("luis", "d1 load t1 2800kg hum 30")
	r.say("luis", "d1 58")
	r.wants(r.say("marta", "limit drum_air_wet 95"), "may be 30 to 75")
	r.wants(r.say("marta", "limit drum_air_wett"), "Did you mean drum_air_wet?")
	r.wants(r.say("ana", "limit drum_air_wet 57"), "Only a keeper")
	r.wants(r.say("marta", "limit drum_air_wet 57"), "60 -> 57 C.")
	got := r.say("marta", "yes")
	r.wants(got, "Book 2 is in force", "luis< (") // 58 is over the new limit: it rings now
	r.say("marta", "limit drum_air_wet 60")
	r.wants(r.say("marta", "yes"), "luis< (", "ya pasó") // and is over when the limit goes back
}

func TestPoisonMessageBlocksNobody(t *testing.T) {
	r := newRig(t)
	if _, err := r.db.Receive([]journal.In{{Via: "script", ID: "bad", Raw: []byte("{"), Got: r.now},
		{Via: "nowhere", ID: "x", Raw: []byte("{}"), Got: r.now}}, nil); err != nil {
		t.Fatal(err)
	}
	r.wants(r.say("ana", "t1 add 4200"), "t1: 4200 kg in")
	if len(r.said) < 2 {
		t.Errorf("the operator was told %v", r.said)
	}
}

// TestCries: help is told from a line without anything being known of who wrote it.
func TestCries(t *testing.T) {
	r := newRig(t)
	for text, want := range map[string]bool{"help": true, "AYUDA!": true,
		"hay humo, auxilio": true, "ajuda na caldeira": true, "t3 add 4200": false, "": false,
		"t3 smells": false} {
		if got := r.desk.Cries(text); got != want {
			t.Errorf("%q: %t", text, got)
		}
	}
}
