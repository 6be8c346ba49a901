package bot

import (
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

func TestSharedPhoneSpeaker(t *testing.T) {
	r := sharedRig(t)
	r.wants(r.say("box", "I am ana"), "box< ana writes from here now")
	r.say("box", "t1 add 4200")
	ana, luis := r.desk.personNamed("ana"), r.desk.personNamed("luis")
	if line := r.desk.mill.LastLine(ana); line == 0 {
		t.Error("the line is not ana's")
	}
	r.wants(r.say("box", "luis here"), "box< Ahora escribe luis")
	r.say("box", "d1 load 2600")
	if line := r.desk.mill.LastLine(luis); line == 0 {
		t.Error("the line is not luis'")
	}
	r.wants(r.say("box", "soy tom"), "tom no escribe de este")
	r.wants(r.say("box", "Soy Ana!"), "ana writes from here")
	r.wants(r.say("ana", "I am luis"), "luis does not write from this phone")
	r.lacks(r.say("ana", "I am on it"), "writes from")
}

// TestNobodyNamed is a shared phone after a night: what is seen counts at once and is nobody's,
// what needs a name waits for it, and nothing is done twice.
func TestNobodyNamed(t *testing.T) {
	r := sharedRig(t)
	r.say("box", "I am ana")
	r.say("box", "t1 add 4200")
	r.now = r.now.Add(speakerFor + time.Hour)
	r.run()
	got := r.say("box", "d1 80")
	r.wants(got, "luis< (1) d1: aire 80", "Who is it now?", // the alarm has not waited
		"(marta, ana, luis)")
	e := r.desk.mill.LastAlike(0, func(e *state.Event) bool {
		_, is := e.Body.(state.Reading)
		return is
	}, 0)
	if e == nil || e.Body.(state.Reading).Value != 80 {
		t.Errorf("the reading is somebody's or lost: %+v", e)
	}
	got = r.say("box", "on shift")
	r.wants(got, "Who is it now?")
	r.lacks(got, "You are on shift")
	r.wants(r.say("box", "undo"), "Who is it now?")
	r.wants(r.say("box", "limit drum_air_wet 50"), "Who is it now?")
	r.wants(r.say("box", "help"), "Passed to the manager")
	got = r.say("box", "I am ana")
	r.wants(got, "ana writes from here", "You are on shift", "Take back", "Only a keeper")
	if !r.desk.mill.Person(r.desk.personNamed("ana")).OnDuty(r.now) {
		t.Error("ana is not on shift")
	}
	r.lacks(r.say("box", "I am ana"), "You are on shift")
}

func TestWaitingLinesAreBounded(t *testing.T) {
	r := sharedRig(t)
	r.desk.o.Lines = -1
	r.now = r.now.Add(speakerFor + time.Hour)
	for range 3 * mostWaiting {
		r.say("box", "due")
	}
	if got := r.say("box", "I am luis"); strings.Count(got, "toca") > mostWaiting {
		t.Errorf("too many lines waited: %d", strings.Count(got, "toca"))
	}
}

// TestCallNamesThePerson rings two people of one phone: one message, their names first.
func TestCallNamesThePerson(t *testing.T) {
	r := sharedRig(t)
	r.say("marta", "person luis worker tank es")
	r.say("ana", "t1 add 4200")
	r.say("ana", "t1 rough")
	got := r.say("marta", "t1 wash")
	r.wants(only("box", got), "box< ana, luis: (2) ")
	if n := strings.Count(got, "box< "); n != 1 {
		t.Errorf("the phone got %d messages: %s", n, got)
	}
	r.wants(got, "ana< (2) ", "luis< (2) ") // their own phones need no name
}

func TestFirstLineFitsWithName(t *testing.T) {
	long := "ana: " + strings.Repeat("word ", 40) + "end\nsecond"
	got := fitFirst(long)
	first, rest, _ := strings.Cut(got, "\n")
	if len(first) > shortest || strings.ReplaceAll(got, "\n", " ") != strings.ReplaceAll(long, "\n",
		" ") || !strings.HasSuffix(rest, "second") {
		t.Errorf("fitted: %q", got)
	}
	if text := "ana: short\nx"; fitFirst(text) != text {
		t.Errorf("a short text was changed: %q", fitFirst(text))
	}
}

// TestOrdersNeedTheCode gives orders from a shared phone. The code is asked for, checked, counted
// when wrong, and stands nowhere afterwards.
func TestOrdersNeedTheCode(t *testing.T) {
	r := sharedRig(t)
	r.say("ana", "t1 add 4200")
	r.say("box", "I am marta")
	got := r.say("box", "t1 wash")
	r.wants(got, "needs your short code")
	r.lacks(got, "wash ordered", "ana< ")
	r.wants(r.say("box", "code 4711"), "of their own") // marta has a phone of her own
	r.wants(r.say("marta", "code 4711"), "marta has a short code")
	r.wants(r.say("box", "t1 wash"), "send your short code")
	r.lacks(r.say("box", "4712"), "wash ordered")
	got = r.say("box", "4711")
	r.wants(got, "t1: wash ordered")
	r.wants(r.say("box", "limit drum_air_wet 57 code 4711"), "60 -> 57 C")
	r.wants(r.say("box", "yes"), "Book 2 is in force")
	r.wants(r.say("box", "remove luis"), "send your short code")
	r.wants(r.say("box", "code 4711"), "luis is no longer")
	r.wants(r.say("box", "place t7 tank 6000"), "send your short code")
	r.wants(r.say("box", "yes"), "send your short code")
	if _, ok := r.desk.mill.Place("t7"); ok {
		t.Error("an order was done without its code")
	}
	r.wants(r.say("box", "I am ana"), "ana writes")
	r.lacks(r.say("box", "4711"), "t7:") // the question was marta's
	r.stored("4711")
	r.stored("4712")
}

func TestYesIsNotAnothersYes(t *testing.T) {
	r := sharedRig(t)
	r.say("marta", "code 4711")
	r.say("box", "I am marta")
	r.wants(r.say("box", "limit drum_air_wet 57 code 4711"), "60 -> 57 C")
	r.say("box", "I am ana")
	r.lacks(r.say("box", "yes"), "in force")
}

func TestWrongShortCodes(t *testing.T) {
	r := sharedRig(t)
	r.say("marta", "code 4711")
	r.say("box", "I am marta")
	for i := range wrongAtOne {
		r.say("box", "t1 wash")
		got := r.say("box", []string{"1111", "code 2222", "3333", "4444", "5555"}[i])
		r.wants(got, "That is not the code")
		const warning = "marta< 5 wrong codes from one phone (marta, ana, luis)"
		if told := strings.Contains(got, warning); told != (i == wrongAtOne-1) {
			t.Errorf("after %d wrong codes: %s", i+1, got)
		}
	}
	r.wants(r.say("box", "t1 wash code 4711"), "Too many wrong codes")
	r.wants(r.say("box", "t1 add 3000"), "3000 kg in") // the floor's lines stay free
	r.now = r.now.Add(codesRest)
	r.wants(r.say("box", "t1 wash code 4711"), "wash ordered")
}

// TestCodeSetOnSharedPhone lets somebody who has no other phone choose a code there, once.
func TestCodeSetOnSharedPhone(t *testing.T) {
	r := sharedRig(t)
	r.desk.o.Bind = ""
	r.say("marta", "invite nora deputy keeper en")
	r.say("box", "join code-4")
	r.wants(r.say("box", "code 4711"), "nora has a short code", "marta< nora set a short code")
	r.wants(r.say("box", "code 5822"), "not the code")
	r.wants(r.say("box", "code 4711 5822"), "nora has a short code")
	r.wants(r.say("box", "place t7 tank 6000 code 5822"), "t7: ")
	r.wants(r.say("marta", "code nora 6933"), "nora has a short code")
	r.lacks(r.say("box", "place t8 tank 6000 code 5822"), "t8: ")
	r.wants(r.say("box", "code nora 7044"), "Not on a phone that several use")
	got := r.say("box", "invite tom code 6933") // a code never goes where others read
	r.wants(got, "Not on a phone that several use")
	r.lacks(got, "join code")
	for _, code := range []string{"4711", "5822", "6933", "7044"} {
		r.stored(code)
	}
}

func TestInviteFromSharedPhone(t *testing.T) {
	r := sharedRig(t)
	r.say("marta", "code 4711")
	r.say("box", "I am marta")
	got := r.say("box", "invite tom code 4711")
	r.wants(only("marta", got), "join code-")
	r.lacks(only("box", got), "join code-")
}

// TestCountsStayPrivate counts bags from a shared phone and from another: the manager hears of it
// where nobody else reads.
func TestCountsStayPrivate(t *testing.T) {
	r := sharedRig(t)
	r.say("box", "I am ana")
	r.say("luis", "s1 store 5000")
	got := r.say("tom", "s1 counted 120")
	r.wants(only("marta", got), "Private: tom counted 120")
	r.lacks(only("box", got), "120")
	got = r.say("box", "s1 counted 118")
	r.wants(only("marta", got), "Private: ana counted 118")
	r.lacks(only("box", got), "118")
}

func TestPrivateWithNoPhoneIsReported(t *testing.T) {
	r := sharedRig(t)
	id := r.desk.personNamed("marta")
	c := r.desk.cards[id]
	c.At = []string{"script:box"}
	r.desk.file(c)
	r.say("luis", "s1 store 5000")
	r.lacks(r.say("tom", "s1 counted 120"), "Private")
	if said := strings.Join(r.said, "\n"); !strings.Contains(said, "manager.count") ||
		strings.Contains(said, "120") {
		t.Errorf("the operator was told: %s", said)
	}
}

func TestOrderByEditing(t *testing.T) {
	r := sharedRig(t)
	r.say("marta", "code 4711")
	r.say("box", "I am marta")
	r.say("box", "t1 add 4200")
	r.put(Message{From: Address{"script", "box"}, ID: "x", At: r.now, Kind: Edited, Text: "t1 wash"},
		"edit")
	r.wants(r.run(), "cannot be made of an old line")
}

func TestSharedPhoneMoves(t *testing.T) {
	r := sharedRig(t)
	r.say("box", "I am ana")
	r.put(Message{From: Address{"script", "box"}, To: Address{"script", "crate"}, At: r.now,
		Kind: Moved}, "moved")
	r.run()
	r.wants(r.say("crate", "t1 add 4200"), "4200 kg in")
	if r.desk.mill.LastLine(r.desk.personNamed("ana")) == 0 {
		t.Error("who spoke was forgotten in the move")
	}
	r.wants(r.say("box", "t1?"), "This is a mill's own line")
}

func TestSharedPhoneSurvivesRestart(t *testing.T) {
	r := sharedRig(t)
	r.say("box", "I am luis")
	r.db.Close()
	r.open()
	r.say("box", "d1 load 2600")
	if r.desk.mill.LastLine(r.desk.personNamed("luis")) == 0 {
		t.Error("who spoke was forgotten over a restart")
	}
}
