package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// TestWhom: those on shift at a post, if none all of it; the holders of a role, of those who work
// in shifts the ones on shift; everyone on shift, if none everyone.
func TestWhom(t *testing.T) {
	r := newRig(t, "")
	at := on(1, "12:00")
	second := state.PersonID(9) // a second hand at the drums, and a second lead
	r.by(boss, on(1, "05:01"), state.Staff{Person: second, Roles: []state.Role{state.Worker,
		state.Lead}, Posts: []state.Kind{state.Drum, state.Safety}})
	r.say("1 09:00 d1 load p1\n1 09:00 t1 add 3000\n1 10:00 t1 wash t1")
	drum, place := r.of("d1"), atPlace("d1")
	floor := state.Subject{Kind: state.OfStay, Name: state.Floor}
	post := state.Subject{Kind: state.OfPost, Name: "tank"}
	check := func(whom string, of state.Subject, want ...state.PersonID) {
		t.Helper()
		if got := Whom(r.m, whom, of, at); !slices.Equal(got, want) {
			t.Errorf("%s of %s at %s is %v, want %v", whom, of.Name, clocked(at), got, want)
		}
	}
	all := []state.PersonID{1, 2, 3, 4, 5, 6, 7, 8, 9}
	check("post", drum, drumHand, second)
	check("post", place, drumHand, second)
	check("post", post, tankHand)
	check("post", floor) // nobody works at waiting coffee
	check("post", r.of(state.Whole))
	check("drum", r.of("t1"), drumHand, second)
	check("silo", drum)
	check("safety", drum, second)
	check("lab", drum, labHand)
	check("manager", drum, boss)
	check("keeper", drum, boss)
	check("worker", drum, 4, 5, 6, 8, 9)
	check("lead", drum, lead, second)
	check("watchman", drum, watchman)
	check("everyone", drum, all...)
	for _, p := range []state.PersonID{second, deputy} {
		r.by(p, on(1, "11:00"), state.Duty{Person: p, On: true})
	}
	check("post", drum, second)
	check("lead", drum, second)
	check("manager", drum, boss) // not on shift and asked all the same
	check("deputy", drum, deputy)
	check("everyone", drum, deputy, second)
	check("tank", drum, tankHand)
	at = on(2, "00:59") // a shift that nobody ended is over after 14 h
	check("post", drum, second)
	at = on(2, "01:00")
	check("post", drum, drumHand, second)
	r.by(second, on(2, "02:00"), state.Staff{Person: second, Gone: true})
	check("post", drum, drumHand)
	r.by(boss, on(2, "02:00"), state.Duty{Person: boss, Away: true})
	check("manager", drum)
	r.by(boss, on(2, "02:00"), state.Duty{Person: boss, On: true})
	check("manager", drum, boss)
}

// TestTell: a rung with several words calls each person once; the rung that was rung is told.
func TestTell(t *testing.T) {
	r := newRig(t, strings.Replace(sample("rings = \"air > 1\"\n"+
		"who = [\"post\", \"worker\", \"drum\"]\nthen = [\"silo 5min\", \"lead manager 10min\"]\n"), "prompt", "alert", 1))
	r.say("1 09:00 d1 load p1")
	rule, of, at := r.book.Rule("sample"), r.of("d1"), on(1, "10:00")
	check := func(rung, wantRung int, want ...state.PersonID) {
		t.Helper()
		got, to := tell(r.m, rule, rung, of, at)
		if got != wantRung || !slices.Equal(to, want) {
			t.Errorf("rung %d calls %v as rung %d, want %v as %d", rung, to, got, want, wantRung)
		}
	}
	check(0, 0, 5, 4, 6, 8)
	check(1, 2, lead, boss) // nobody works at the silos
	check(2, 2, lead, boss)
	r.by(boss, on(1, "09:01"), state.Reach{Person: 5})
	check(0, 0, 4, 6, 8)
	for p := state.PersonID(2); p <= 8; p++ {
		r.by(boss, on(1, "09:02"), state.Reach{Person: p})
	}
	check(0, 2, boss)
	r.by(boss, on(1, "09:03"), state.Reach{Person: boss})
	check(0, 2, boss) // somebody must be told, reached or not
	r.by(boss, on(1, "09:03"), state.Duty{Person: boss, Away: true, Until: on(1, "11:00")})
	check(0, 2, boss)
	r.by(boss, on(1, "09:03"), state.Reach{Person: deputy, OK: true})
	check(0, 2, deputy) // the manager is away
	r.by(boss, on(1, "09:03"), state.Staff{Person: deputy, Gone: true})
	r.by(boss, on(1, "09:03"), state.Staff{Person: boss, Gone: true})
	check(0, 2, 3, 4, 5, 6, 7, 8) // nobody decides: everyone, reached or not
	r.by(boss, on(1, "09:04"), state.Reach{Person: 5, OK: true})
	check(0, 0, 5)
	if got := fmt.Sprint(rule.Ladder); got != "[{[post worker drum] 0s} {[silo] 5m0s} "+
		"{[lead manager] 10m0s}]" {
		t.Errorf("ladder %s", got)
	}
}

// TestWhatMayWake: at night who is off shift and said that only urgent calls or none may wake them is
// no answer; on shift, by day, and when nobody else is left, they are called.
func TestWhatMayWake(t *testing.T) {
	r := newRig(t, strings.Replace(sample("rings = \"air > 1\"\nwho = [\"lead\"]\n"+
		"then = [\"manager 5min\"]\npriority = 2\n"), "prompt", "alert", 1))
	rule, of := *r.book.Rule("sample"), atPlace("d1")
	wakes := func(p state.PersonID, role state.Role, w string) {
		r.by(boss, on(1, "05:10"), state.Staff{Person: p, Roles: []state.Role{role}, Wakes: w})
	}
	check := func(clock string, priority int, want ...state.PersonID) {
		t.Helper()
		rule.Priority = priority
		if _, to := tell(r.m, &rule, 0, of, on(2, clock)); !slices.Equal(to, want) {
			t.Errorf("at %s priority %d calls %v, want %v", clock, priority, to, want)
		}
	}
	wakes(lead, state.Lead, state.WakesUrgent)
	check("20:59", 2, lead)
	check("21:00", 2, boss)
	check("04:59", 2, boss)
	check("05:00", 2, lead)
	check("03:00", 1, lead)
	wakes(lead, state.Lead, state.WakesNever)
	check("03:00", 1, boss)
	wakes(boss, state.Manager, state.WakesNever)
	check("03:00", 1, deputy) // who may be woken decides for the others
	wakes(deputy, state.Deputy, state.WakesNever)
	check("03:00", 1, boss) // somebody must be
	r.by(lead, on(1, "22:00"), state.Duty{Person: lead, On: true})
	check("03:00", 2, lead)
}

// TestPrivateGoesToNobodyElse: what is for the managers alone goes to them though they cannot be
// reached, have had their hour's calls, or have long not answered.
func TestPrivateGoesToNobodyElse(t *testing.T) {
	d := newDrive(t, strings.Replace(sample("rings = \"air > 1\"\nwho = [\"manager\"]\nprivate = true\n"+
		"again = \"5min\"\npriority = 2\n"), "prompt", "alert", 1)+
		"[limit.calls_an_hour]\nvalue = 3\nlow = 1\nhigh = 12\nwhy = \"x\"\n")
	d.say("1 08:00 p1 add 2000\n1 09:00 d1 load p1\n1 10:00 d1 air_c 50")
	check := func(at state.Instant) {
		t.Helper()
		for _, s := range d.w.Step(d.m, []state.Subject{d.of("d1")}, at) {
			if !slices.Equal(s.To, []state.PersonID{boss}) {
				t.Errorf("at %s it goes to %v", clocked(at), s.To)
			}
			d.by(0, at, s)
		}
	}
	for i := range 8 {
		check(on(1, "10:00").Add(time.Duration(5*i) * time.Minute))
	}
	if n := d.m.Rings(boss, on(1, "10:36")); n < 5 {
		t.Errorf("it rang %d times", n)
	}
	d.by(boss, on(1, "10:40"), state.Reach{Person: boss})
	check(on(1, "10:41"))
}
