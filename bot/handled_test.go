package bot

import (
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// wholeMill is a mill with every kind of place and post, for tests of what the desk does with a
// fact whatever it is.
const wholeMill = `zone UTC
place r1 intake
place t1 tank 6000
place t2 tank 6000
place t3 tank 6000
place t4 tank 6000
place t5 tank 6000
place t6 tank 6000
place c1 channel
place p1 patio
place p2 patio
place p3 patio
place p4 patio
place d1 drum 3500 inlet C
place d2 drum 3500 inlet C
place d3 drum 3500 inlet C
place s1 silo
place s2 silo
place s3 silo
place s4 silo
place l1 lab
place pulper pulper
person marta manager keeper en
person ana worker tank patio drum silo intake lab en
person tom lead en
`

// fullMill is a rig with that mill and coffee at every kind of place.
func fullMill(t *testing.T) *rig {
	r := newRig(t)
	if err := r.desk.Setup(wholeMill, r.now); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"r1 1850 kg grp 7", "t1 add 4200", "t2 add 4000", "t2 washed",
		"p1 spread 3000kg", "t3 add 4200", "d1 load 2800kg hum 30", "s1 stored 2000kg hum 11"} {
		r.now = r.now.Add(2 * time.Minute)
		r.say("ana", line)
	}
	return r
}

// whats lists every word that Fact.What can be: quantities, marks, acts and the words of heard.go.
func whats(t *testing.T) []string {
	t.Helper()
	var all []string
	for _, q := range state.Quantities() {
		all = append(all, q.Name)
	}
	all = append(append(all, state.Marks()...), state.Acts()...)
	text, err := os.ReadFile("heard.go")
	if err != nil {
		t.Fatal(err)
	}
	said := regexp.MustCompile(`(?m)^\tSays\w+ += "([^"]+)"`).FindAllStringSubmatch(string(text), -1)
	if len(said) < 33 {
		t.Fatalf("only %d words were found in heard.go", len(said))
	}
	for _, m := range said {
		all = append(all, m[1])
	}
	return all
}

// factPlace is a place at which a fact makes sense.
func factPlace(what string) string {
	for _, k := range fits(what) {
		if p := map[state.Kind]string{state.Tank: "t1", state.Patio: "p1", state.Drum: "d1",
			state.Silo: "s1", state.Intake: "r1", state.Channel: "c1"}[k]; p != "" {
			return p
		}
	}
	switch what {
	case SaysBy, SaysPicked, SaysReject, state.ActIntake:
		return "r1"
	case SaysHold, SaysProcess:
		return "s1"
	}
	return "t1"
}

// TestEveryFactIsAnswered: no word that a line can be understood as is dropped by the desk. Each
// leaves an event or an answer that is not "I do not understand"; those that tell of coffee leave
// an event.
func TestEveryFactIsAnswered(t *testing.T) {
	talks := map[string]bool{SaysHolds: true, SaysNot: true, SaysAsks: true, SaysTrouble: true,
		SaysClass: true}
	r := fullMill(t)
	for _, what := range whats(t) {
		if moved(what) { // empties or fills places: on a mill of its own
			r = fullMill(t)
		}
		d := r.desk.turn(r.now.Add(time.Minute))
		d.msg = &Message{From: Address{"script", "ana"}, ID: "x", At: d.at, Kind: Text, Text: what}
		d.person = d.mill.Person(d.people[d.msg.From.String()][0])
		f := Fact{Place: factPlace(what), What: what, Value: 11, Has: true, Unit: "kg", At: d.at}
		switch what {
		case SaysAsks, SaysNot:
			f.Word = state.Turned
		case SaysTrouble:
			f.Word = "leak"
		case SaysProcess, SaysLang:
			f.Word = map[string]string{SaysProcess: "honey", SaysLang: "es"}[what]
		case SaysBy:
			f.Word = "group 7"
		case SaysSample:
			f.Word, f.Lot = "approved", d.newest("s1")
		case SaysFuel:
			f.Unit, f.Word = "sack", "husk"
		case SaysClass:
			f.Word, f.From = "1", []string{"t1"}
		}
		before := len(d.b.Events)
		d.facts([]Fact{f})
		events, answer := len(d.b.Events)-before, strings.Join(d.lines, "\n")
		if answer == "" {
			t.Errorf("%s: no answer", what)
		}
		if strings.Contains(answer, "not what they mean") || strings.Contains(answer, "ask.") {
			t.Errorf("%s: %s", what, answer)
		}
		_, measured := state.QuantityOf(what)
		kept := measured || tagOf(what) != "" || isMarkWord(what) || moved(what)
		if kept && !talks[what] && events == 0 {
			t.Errorf("%s leaves no event: %s", what, answer)
		}
	}
}

// TestNoLineWithoutAnswer sends every line of the committed tables to one mill: each gets an answer
// of its own, and what was understood is never answered as if it was not.
func TestNoLineWithoutAnswer(t *testing.T) {
	r := fullMill(t)
	for _, table := range []string{"yardstick.tsv", "made-up-1.tsv"} {
		for _, l := range floorTable(t, table) {
			r.now = r.now.Add(time.Minute)
			d := r.desk.turn(r.now)
			d.msg = &Message{From: Address{"script", "ana"}, ID: l.raw, At: d.at, Kind: Text, Text: l.raw}
			d.person = d.mill.Person(d.people[d.msg.From.String()][0])
			h := Read(l.raw, d.context(), d.words)
			d.converse(h)
			answer := strings.Join(d.lines, "\n")
			switch {
			case answer == "":
				t.Errorf("%q (%s): no answer", l.raw, heardText(h))
			case h.Outcome != IsAsked && strings.Contains(answer, "not what they mean"):
				t.Errorf("%q was understood (%s) and answered %q", l.raw, heardText(h), answer)
			case strings.Contains(answer, "{") || strings.Contains(answer, "_"):
				t.Errorf("%q was answered with a word of the program: %s", l.raw, answer)
			}
		}
	}
}
