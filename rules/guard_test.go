package rules

import (
	"fmt"
	"strings"
	"testing"

	"lotbell/state"
)

// guardCase is one guard of the default book and an act: whether it stands, by the floor before.
type guardCase struct {
	guard string
	floor string
	of    string // where the coffee is; a place without coffee is looked at as a place
	act   Act
	by    state.PersonID
	at    string // day and clock
	want  bool
	why   string
}

func guardCases() []guardCase {
	const tank = "1 06:00 t1 add 3000\n"
	const drum = "1 08:00 p1 add 2000\n1 09:00 d1 load p1\n"
	const silo = "1 09:00 s1 add 2000\n"
	wash := func(asked state.Instant) Act { return Act{What: state.WashOrdered, Asked: asked} }
	unload, ship := Act{What: state.ActUnload, To: "s1"}, Act{What: state.ActShip, To: state.Outside}
	store := Act{What: state.ActStore, To: "s2"}
	load := Act{What: state.ActLoad, To: "d1"}
	both := "1 06:00 s2 add 900\n1 07:00 w1 add 500\n"
	asked := on(1, "10:00")
	receipt := func(said string, kg float64) Act {
		m := &state.Move{Act: state.ActIntake, Said: said, Out: []state.Part{{Place: state.Outside}},
			In: []state.Part{{Place: "r1", Mass: state.Kg(kg)}}}
		return Act{What: state.ActIntake, To: "r1", Move: m}
	}
	// Six deliveries, counted and weighed: 50, 51, 51.6, 52, 52.4 and 90 kg each, 51.8 in the median.
	sacks := ""
	for i, kg := range []string{"500", "510", "516", "520", "524", "900"} {
		sacks += fmt.Sprintf("1 0%d:00 r1 receipt %s 10 sack\n", i+1, kg)
	}
	return []guardCase{
		{"who-washes", tank, "t1", wash(0), boss, "1 10:00", false, "the manager decides"},
		{"who-washes", tank, "t1", wash(0), tankHand, "1 10:00", true, "a hand does not"},
		{"who-washes", tank, "t1", wash(0), deputy, "1 10:00", true, "nor a deputy who was not needed"},
		{"who-washes", tank, "t1", wash(asked), deputy, "1 10:19:59", true, "nor before 20 minutes"},
		{"who-washes", tank, "t1", wash(asked), deputy, "1 10:20:00", false, "after 20 minutes"},
		{"who-washes", tank, "t1", wash(asked), lead, "1 10:39:59", true, "the lead after 40"},
		{"who-washes", tank, "t1", wash(asked), lead, "1 10:40:00", false, "the lead after 40"},
		{"who-washes", tank, "t1", wash(asked), tankHand, "2 10:00", true, "a hand never"},
		{"unload-far", drum + "1 10:00 d1 hum_pct 11.6", "d1", unload, drumHand, "1 10:01", true,
			"1.1 points off"},
		{"unload-far", drum + "1 10:00 d1 hum_pct 9.4", "d1", unload, drumHand, "1 10:01", true,
			"1.1 points off, too dry"},
		{"unload-far", drum + "1 10:00 d1 hum_pct 11.5", "d1", unload, drumHand, "1 10:01", false,
			"a point off"},
		{"unload-far", drum, "d1", unload, drumHand, "1 10:01", false, "nothing read: cannot be told"},
		{"unload-far", silo + "1 10:00 s1 hum_pct 20", "s1", unload, drumHand, "1 10:01", false,
			"not out of a drum"},
		{"rest-not-over", silo, "s1", ship, deputy, "31 08:59:59", true, "thirty days from 09:00"},
		{"rest-not-over", silo, "s1", ship, deputy, "31 09:00", false, "thirty days from 09:00"},
		{"rest-not-over", silo + "2 09:00 s1 tag class reserved", "s1", ship, deputy, "60 09:00", true,
			"a reserved class rests sixty"},
		{"rest-not-over", silo, "s1", ship, boss, "2 09:00", false, "the manager may"},
		{"rest-not-over", silo, "s1", Act{What: "prepare"}, deputy, "2 09:00", true, "nor prepared"},
		{"rest-not-over", silo, "s1", store, deputy, "2 09:00", false, "another act"},
		{"rest-not-over", drum, "d1", ship, deputy, "2 09:00", false, "another place"},
		{"classes-apart", both, "w1", store, drumHand, "1 10:00", false, "both normal, the mill's"},
		{"classes-apart", both + "1 08:00 s2 tag class fine", "w1", store, drumHand, "1 10:00", true,
			"another class there"},
		{"classes-apart", both + "1 08:00 w1 tag owner ana", "w1", store, drumHand, "1 10:00", true,
			"another owner"},
		{"classes-apart", both + "1 08:00 w1 tag claim org", "w1", store, drumHand, "1 10:00", true,
			"another claim"},
		{"classes-apart", "1 07:00 w1 add 500\n1 08:00 w1 tag class fine", "w1", store, drumHand,
			"1 10:00", false, "nothing there"},
		{"each-off", sacks, "r1", receipt("20 sack", 1191), tankHand, "1 10:00", false,
			"59.55 kg each, 15 % off 51.8 would be 59.57"},
		{"each-off", sacks, "r1", receipt("20 sack", 1192), tankHand, "1 10:00", true, "59.6 kg each"},
		{"each-off", sacks, "r1", receipt("20 sack", 880), tankHand, "1 10:00", true, "44 kg each"},
		{"each-off", sacks, "r1", receipt("20 basket", 1192), tankHand, "1 10:00", false,
			"another measure: nothing is usual"},
		{"each-off", sacks, "r1", receipt("1192 lb", 541), tankHand, "1 10:00", false,
			"pounds are no sacks"},
		{"each-off", "", "r1", Act{What: state.ActIntake, To: "r1", Told: state.Kg(50),
			Move: receipt("20 sack", 1160).Move}, tankHand, "1 10:00", true,
			"58 kg each, and the mill says 50"},
		{"clean-first", drum, "p1", load, drumHand, "1 10:00", false,
			"there is coffee in it"},
		{"clean-first", drum + "1 20:00 s1 unload d1", "p1", load, drumHand,
			"2 10:00", true, "emptied, and nobody cleaned it"},
		{"clean-first", drum + "1 19:00 d1 cleaned\n1 20:00 s1 unload d1", "p1",
			load, drumHand, "2 10:00", true, "cleaned before it was emptied"},
		{"clean-first", drum + "1 20:00 s1 unload d1\n1 21:00 d1 cleaned", "p1",
			load, drumHand, "2 10:00", false, "cleaned"},
		{"clean-first", "", "p1", Act{What: state.ActAdd, To: "t1"}, tankHand, "1 10:00", false,
			"it never held coffee: cannot be told"},
	}
}

// TestGuards: every guard of the default book stands where it should and nowhere else.
func TestGuards(t *testing.T) {
	stood := map[string][2]int{}
	for _, c := range guardCases() {
		r := newRig(t, "")
		r.say(c.floor)
		of := atPlace(c.of)
		if len(r.m.StaysAt(c.of)) > 0 {
			of = r.of(c.of)
		}
		at, _ := r.line(c.at)
		c.act.By = r.m.Person(c.by)
		got := false
		for _, v := range r.book.Guard(r.m, r.know, of, c.act, at) {
			if v.Guard.Name == c.guard {
				got = true
				if v.Stop != v.Guard.Stop || len(v.Why) == 0 {
					t.Errorf("%s: %+v", c.guard, v)
				}
			}
		}
		if got != c.want {
			t.Errorf("%s, %s: stands %v, want %v", c.guard, c.why, got, c.want)
		}
		n := stood[c.guard]
		if c.want {
			n[1]++
		} else {
			n[0]++
		}
		stood[c.guard] = n
	}
	for _, g := range mustRead(t, DefaultText()).Guards {
		if n := stood[g.Name]; n[0] == 0 || n[1] == 0 {
			t.Errorf("%s: %v cases in which it does not stand and does", g.Name, n)
		}
	}
}

// guard is a guard on unloading, as a book writes it.
func guard(name, stop, when string) string {
	return fmt.Sprintf("[[guard]]\nname = %q\non = [\"unload\"]\nstop = %q\nwhen = %q\n"+
		"say.en = \"x\"\n", name, stop, when)
}

// TestStrictestGuardFirst: of several that stand the strictest comes first, in the book's order
// among equals; what cannot be told does not stand.
func TestStrictestGuardFirst(t *testing.T) {
	text := ""
	for i, stop := range []string{"ask", "pass-on", "ask", "forbid"} {
		text += guard(fmt.Sprint("g", i), stop, "air > 5")
	}
	text += guard("blind", "forbid", "hum > 5")
	r := newRig(t, text)
	r.say("1 09:00 d1 load p1\n1 10:00 d1 air_c 50")
	var names []string
	for _, v := range r.book.Guard(r.m, r.know, r.of("d1"), Act{What: "unload"}, on(1, "11:00")) {
		names = append(names, v.Guard.Name)
	}
	if got := strings.Join(names, " "); got != "g3 g1 g0 g2" {
		t.Error(got)
	}
	if v := r.book.Guard(r.m, r.know, r.of("d1"), Act{What: "store"}, on(1, "11:00")); len(v) > 0 {
		t.Errorf("another act: %v", v)
	}
}
