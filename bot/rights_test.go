package bot

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// sharedRig is a mill where ana and luis write from one phone besides their own, which the tests
// call "box"; marta, the keeper, has the third seat on it.
func sharedRig(t *testing.T) *rig {
	r := newRig(t)
	for i, name := range []string{"ana", "luis", "marta"} {
		r.say("marta", "invite "+name)
		r.wants(r.say("box", fmt.Sprintf("join code-%d", i+1)), name)
	}
	return r
}

// lacks fails when something is said that must not be.
func (r *rig) lacks(got string, parts ...string) {
	r.t.Helper()
	for _, p := range parts {
		if strings.Contains(got, p) {
			r.t.Errorf("%q is in:\n%s", p, got)
		}
	}
}

// only keeps what was sent to one address.
func only(who, got string) string {
	var out []string
	mine := false
	for _, l := range strings.Split(got, "\n") {
		if name, _, ok := strings.Cut(l, "< "); ok && !strings.Contains(name, " ") {
			mine = name == who
		}
		if mine {
			out = append(out, l)
		}
	}
	return strings.Join(out, "\n")
}

// stored fails when a text is anywhere in the words, the rows or the events of the journal.
func (r *rig) stored(text string) {
	r.t.Helper()
	es, err := r.db.Load()
	if err != nil {
		r.t.Fatal(err)
	}
	for _, e := range es {
		words, err := r.db.Words(e.Seq)
		if err != nil {
			r.t.Fatal(err)
		}
		body, err := json.Marshal(e.Body)
		if err != nil {
			r.t.Fatal(err)
		}
		if strings.Contains(words, text) || strings.Contains(string(body), text) {
			r.t.Errorf("%q is stored with event %d: %s %s", text, e.Seq, words, body)
		}
	}
	for _, a := range []string{"script:box", "script:ana", "script:marta"} {
		if row, err := r.db.Pending(a); err != nil || strings.Contains(string(row), text) {
			r.t.Errorf("%q is stored for %s: %s %v", text, a, row, err)
		}
	}
	cards, err := r.db.Cards()
	if err != nil {
		r.t.Fatal(err)
	}
	for _, c := range cards {
		if raw, _ := json.Marshal(c); strings.Contains(string(raw), text) {
			r.t.Errorf("%q is on a card: %s", text, raw)
		}
	}
	if said := strings.Join(r.said, "\n"); strings.Contains(said, text) {
		r.t.Errorf("the operator was told %q: %s", text, said)
	}
}

func TestInvitationEnds(t *testing.T) {
	r := newRig(t)
	r.wants(r.say("marta", "invite nora worker tank en"), "nora is of the mill", "join code-1",
		"until Wed 08:00")
	r.now = r.now.Add(invitedFor + time.Minute)
	r.lacks(r.say("newphone", "join code-1"), "Welcome", "nora")
	r.say("marta", "invite nora")
	got := r.say("newphone", "Join CODE-2") // a phone begins lines with a capital
	r.wants(got, "newphone< Welcome, nora", "marta< nora has joined", "Tank:  t1 add 4200")
	if r.desk.mill.Person(r.desk.personNamed("nora")).Is(state.Keeper) {
		t.Error("an invitation gave more than it was made for")
	}
	r.wants(r.say("newphone", "start code-2"), "not open")
}

func TestInvitationLink(t *testing.T) {
	r := newRig(t)
	r.desk.o.Link = func(code string) string { return "https://t.me/mill_bot?start=" + code }
	r.wants(r.say("marta", "invite ana"), "https://t.me/mill_bot?start=code-1")
	r.wants(r.say("second", "start code-1"), "second< Welcome, ana")
	r.desk.o.Link = func(string) string { return "" }
	r.lacks(r.say("marta", "invite ana"), "link")
}

func TestInviteBadInput(t *testing.T) {
	r := newRig(t)
	for text, want := range map[string]string{
		"invite nobody": "Nobody is called nobody", "invite nora dragon": "I do not know dragon",
		"invite " + strings.Repeat("x", 300) + " worker": "I do not know",
		"remove nobody": "Nobody is called", "remove": "marta< ", "remove marta": "only keeper",
		"person marta worker": "only keeper", "forget marta": "only keeper",
		"forget nobody": "Nobody is called", "people nobody": "Nobody is called",
		"code": "4 to 8 digits", "code 12": "4 to 8 digits", "code 1234": "anybody would try",
		"code 7777": "anybody would try", "code 123456789": "4 to 8 digits",
		"code nobody 4826": "Nobody is called", "code a b c": "4 to 8 digits",
		"place t9 tank\nzone": "Something is missing", "place t8 tank\nremove": "Something is missing",
		"code 4826\nt1 rough": "sent alone", "t1 rough code 4826\nt2 rough": "sent alone",
	} {
		r.wants(r.say("marta", text), want)
	}
	r.wants(r.say("ana", "invite nora worker"), "Only a keeper")
	r.wants(r.say("ana", "forget luis"), "Only a keeper")
	r.wants(r.say("ana", "remove last"), "nothing that I could take back")
}

// TestWrongCodesAreSlowed tries codes from one phone: five are looked at, then none for an hour,
// right or wrong; a cry for help passes all the same.
func TestWrongCodesAreSlowed(t *testing.T) {
	r := newRig(t)
	r.say("marta", "invite ana")
	for i := range wrongAtOne {
		got := r.say("thief", fmt.Sprintf("join guess-%d", i))
		if i > 0 && got != "" {
			t.Errorf("guess %d is answered: %s", i, got)
		}
	}
	if got := r.say("thief", "join code-1"); got != "" {
		t.Errorf("a code is looked at after five wrong ones: %s", got)
	}
	r.wants(r.say("thief", "help"), "thief< Passed to the manager")
	r.now = r.now.Add(codesRest - time.Minute)
	if got := only("thief", r.say("thief", "hello")); got != "" {
		t.Errorf("somebody who guesses is answered within the hour: %s", got)
	}
	r.now = r.now.Add(2 * time.Minute)
	r.wants(r.say("thief", "join code-1"), "thief< Welcome, ana")
}

func TestManyWrongCodesAreReported(t *testing.T) {
	r := newRig(t)
	told := 0
	for i := range 2 * wrongAtAll {
		got := r.say(fmt.Sprintf("thief%d", i), "join guess")
		if strings.Contains(got, "wrong codes within the hour") {
			told++
			if i != wrongAtAll || only("marta", got) == "" {
				t.Errorf("told at guess %d: %s", i+1, got)
			}
		}
	}
	if told != 1 || strings.Count(strings.Join(r.said, "\n"), "wrong codes") != 1 {
		t.Errorf("keepers were told %d times, the operator: %v", told, r.said)
	}
}

// TestMemberGuessing counts codes tried by somebody of the mill, whose other lines stay free.
func TestMemberGuessing(t *testing.T) {
	r := newRig(t)
	for i := range wrongAtOne {
		r.wants(r.say("ana", fmt.Sprintf("join guess-%d", i)), "ana< That code is not open")
	}
	r.wants(r.say("ana", "join guess-9"), "Too many wrong codes")
	r.wants(r.say("ana", "t1 add 3000"), "t1: 3000 kg in")
	r.wants(r.say("ana", "entrar t1"), "stay out") // a wish that is refused, not a code
	r.wants(r.say("ana", "entrar tanque23"), "stay out")
	r.wants(r.say("luis", "entrar qwertz2345"), "luis< Ese código no está abierto")
}

func TestUnreachableUntilEnrolled(t *testing.T) {
	r := newRig(t)
	r.desk.o.Bind = "" // as serve opens it: people have no phone before they enrol
	r.say("marta", "invite nora worker tank en")
	id := r.desk.personNamed("nora")
	if r.desk.mill.Person(id).Reachable {
		t.Error("somebody without a phone counts as reachable")
	}
	r.wants(r.say("marta", "people"), "nora: worker tank, invited until")
	r.say("newphone", "join code-1")
	if !r.desk.mill.Person(id).Reachable {
		t.Error("somebody who has joined cannot be reached")
	}
}

// TestRemovedAtOnce removes somebody who has taken a call: it goes to the next, what waited to be
// sent to them is withdrawn, and their phone is a stranger's.
func TestRemovedAtOnce(t *testing.T) {
	r := newRig(t)
	r.say("marta", "person nora worker tank en")
	r.say("ana", "off shift")
	r.say("nora", "on shift")
	r.say("nora", "t1 add 4200")
	r.say("nora", "t1 rough")
	r.wants(r.say("marta", "t1 wash"), "nora< (")
	r.say("nora", "ok 2")
	call := r.desk.callsFor(r.desk.personNamed("nora"))[0]
	if call.State != state.Acknowledged {
		t.Fatalf("nora has not taken the call: %+v", call)
	}
	r.put(Message{From: Address{"script", "marta"}, ID: "rm", At: r.now, Kind: Text,
		Text: "remove nora"}, "rm")
	got := r.run()
	r.wants(got, "marta< nora is no longer of the mill", "From nora, who left: (")
	r.lacks(got, "nora< ")
	if call.State != state.Unacknowledged {
		t.Errorf("the call is still taken by somebody who left: %+v", call)
	}
	r.lacks(r.say("nora", "t1?"), "4200")
	r.lacks(r.say("nora", "ok 2"), "Yours")
	r.wants(r.say("marta", "t1?"), "marta< t1")
	r.wants(r.say("marta", "person nora worker tank en"), "nora is of the mill") // and comes back
	r.wants(r.say("nora", "t1?"), "4200")
}

// TestWithdrawnFromOutbox removes somebody while a message to them waits: it is never sent.
func TestWithdrawnFromOutbox(t *testing.T) {
	r := newRig(t)
	for i, text := range []string{"t1 add 4200", "remove ana"} {
		who := []string{"ana", "marta"}[i]
		r.now = r.now.Add(time.Second)
		r.put(Message{From: Address{"script", who}, ID: who, At: r.now, Kind: Text, Text: text}, who)
		if err := r.desk.Run(r.now); err != nil {
			t.Fatal(err)
		}
	}
	if got := r.sent(); strings.Contains(got, "ana< ") || !strings.Contains(got, "no longer") {
		t.Errorf("sent to somebody who was removed: %s", got)
	}
}

// TestForgotten erases somebody: the picture of the mill is the same before, after, and when it is
// folded anew from the disk; nothing of the person is left but a number.
func TestForgotten(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4200")
	r.say("ana", "t1 ph 4.1")
	r.say("luis", "d1 load 2600")
	r.say("marta", "remove ana")
	before := r.picture()
	line := r.desk.mill.StaysAt("t1")[0].ID.Opened
	if words, _ := r.db.Words(line); words != "t1 add 4200" {
		t.Fatalf("the words were %q", words)
	}
	r.wants(r.say("marta", "forget ana"), "Forget ana?")
	r.wants(r.say("marta", "no"), "Left as it was")
	if words, _ := r.db.Words(line); words == "" {
		t.Error("erased without a yes")
	}
	r.say("marta", "forget ana")
	r.wants(r.say("marta", "yes"), "ana is forgotten, 2 lines")
	if r.picture() != before {
		t.Errorf("forgetting changed the mill:\n%s\nwas:\n%s", r.picture(), before)
	}
	r.db.Close()
	r.open()
	if r.picture() != before {
		t.Errorf("folded anew:\n%s\nwas:\n%s", r.picture(), before)
	}
	r.stored("t1 add 4200")
	for id, c := range r.desk.cards {
		if strings.Contains(fmt.Sprint(c), "ana") {
			t.Errorf("card %d is %+v", id, c)
		}
	}
	if words, _ := r.db.Words(r.desk.mill.StaysAt("d1")[0].ID.Opened); words != "d1 load 2600" {
		t.Errorf("luis' words are %q", words)
	}
	r.wants(r.say("marta", "forget ana"), "Nobody is called ana")
}

// TestForgottenWhileHere erases somebody who is still of the mill: they are removed first.
func TestForgottenWhileHere(t *testing.T) {
	a, b := newRig(t), newRig(t)
	for _, r := range []*rig{a, b} {
		r.say("ana", "t1 add 4200")
	}
	a.say("marta", "forget ana")
	a.say("marta", "yes")
	b.say("marta", "remove ana")
	if x, y := a.desk.mill.Picture(false), b.desk.mill.Picture(false); x != y {
		t.Errorf("forgotten:\n%s\nremoved:\n%s", x, y)
	}
	a.lacks(a.say("ana", "t1?"), "4200")
}

func TestContactsAreForKeepers(t *testing.T) {
	r := newRig(t)
	r.lacks(r.say("marta", "people"), "script:")
	r.wants(r.say("marta", "people ana"), "ana: script:ana")
	r.lacks(r.say("ana", "people marta"), "script:marta")
	r.lacks(r.say("tom", "people"), "ana: ")
}

func TestSecondPhoneAndBlocked(t *testing.T) {
	r := newRig(t)
	r.say("marta", "invite ana")
	r.say("second", "join code-1")
	id := r.desk.personNamed("ana")
	block := func(who string, kind MessageKind) {
		r.n++
		r.put(Message{From: Address{"script", who}, At: r.now, Kind: kind}, fmt.Sprint(r.n))
		r.run()
	}
	block("ana", Blocked)
	if !r.desk.mill.Person(id).Reachable {
		t.Error("one of two phones is shut and nothing reaches her")
	}
	block("second", Blocked)
	if r.desk.mill.Person(id).Reachable {
		t.Error("both phones are shut and she counts as reachable")
	}
	block("second", Unblocked)
	if !r.desk.mill.Person(id).Reachable {
		t.Error("a phone is open again and she counts as unreachable")
	}
}

// TestFirstKeeper begins an empty mill: one code, the same over restarts, good once, and none as
// soon as somebody can be reached.
func TestFirstKeeper(t *testing.T) {
	r := &rig{t: t, path: filepath.Join(t.TempDir(), "mill.db"),
		now: state.At(time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC))}
	first := func() string {
		t.Helper()
		r.open()
		r.desk.o.Bind = ""
		r.now = r.now.Add(time.Second)
		if err := r.desk.Start(r.now); err != nil {
			t.Fatal(err)
		}
		code, err := r.desk.FirstCode(r.now)
		if err != nil {
			t.Fatal(err)
		}
		return code
	}
	code := first()
	r.db.Close()
	if again := first(); code == "" || again != code {
		t.Errorf("the first code is %q, then %q", code, again)
	}
	r.now = r.now.Add(30 * 24 * time.Hour) // it does not end by itself
	r.wants(r.say("mine", "start "+code), "mine< Welcome, keeper")
	p := r.desk.mill.Persons()
	if len(p) != 1 || !p[0].Is(state.Keeper) || !p[0].Is(state.Manager) || !p[0].Reachable {
		t.Fatalf("the first person is %+v", p[0])
	}
	r.lacks(r.say("thief", "start "+code), "Welcome")
	r.wants(r.say("mine", "invite rosa worker tank es"), "join code-")
	r.db.Close()
	if code := first(); code != "" {
		t.Errorf("a first code after somebody is enrolled: %q", code)
	}
	r.db.Close()
}
