package state

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestClockThatWasAhead: of what a clock heard that was ahead nothing lies ahead any more, and its
// order stays; loaded or heard, the mill is the same, and goes on from the right instant.
func TestClockThatWasAhead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		es := histories(false).Draw(t, "es")
		g := newTeller(t, es, false)
		g.m = heardSingly(es)
		is := g.m.Heard().Add(-time.Duration(g.some(1, 72*60)) * time.Minute)
		was := map[Seq]Instant{}
		for _, e := range g.m.floor {
			if e != nil {
				was[e.Seq] = e.At
			}
		}
		clock := g.event(is, Clock{Was: g.m.Heard(), Is: is})
		clock.Heard = is
		g.say(clock)
		if g.m.Heard() != is {
			t.Fatalf("heard %v, want %v", g.m.Heard().Time(), is.Time())
		}
		for _, e := range g.m.floor {
			if e != nil && (e.At != min(was[e.Seq], is) || e.Heard > is) {
				t.Fatalf("%+v, it was %v, right is %v", e, was[e.Seq].Time(), is.Time())
			}
		}
		g.at = is
		for range g.some(0, 8) {
			g.line()
		}
		want := Load(g.es).Picture(true)
		must(t, "heard", want, g.m.Picture(true))
		must(t, "heard in steps", want, heardInSteps(t, g.es).Picture(true))
	})
}

// TestCallsOfAClockThatWasAhead: a call that it rang, took and put aside stands as of now; so does
// whoever came on or went off, and a gap.
func TestCallsOfAClockThatWasAhead(t *testing.T) {
	d := newDay(t)
	of := Subject{Kind: OfPlace, Name: "d1"}
	d.say("06:00", Staff{Person: 7, Roles: []Role{Worker}})
	d.say("06:30", CallStep{Rule: "early", Of: of, What: Rang, Number: 1})
	d.say("06:40", CallStep{Rule: "early", Of: of, What: Aside, Until: at("07:10")})
	d.say("20:00", CallStep{Rule: "late", Of: of, What: Rang, Number: 2, Since: at("19:00")})
	d.say("20:10", CallStep{Rule: "late", Of: of, What: Aside, Until: at("20:30")})
	d.say("20:20", Duty{Person: 7, On: true})
	d.say("20:30", Blind{From: at("06:50"), To: at("20:30")})
	d.say("20:40", Adopt{Version: 1})
	d.say("07:00", Clock{Was: at("20:40"), Is: at("07:00")})
	early, late := d.m.Standing(CallKey{"early", of}), d.m.Standing(CallKey{"late", of})
	same(t, "as it was", []Instant{early.Rang, early.Until}, []Instant{at("06:30"), at("07:10")})
	same(t, "put right", []Instant{late.Rang, late.Last, late.RungAt, late.Since, late.Until},
		slices.Repeat([]Instant{at("07:00")}, 5))
	same(t, "on since", d.m.Person(7).OnSince, at("07:00"))
	same(t, "blind", d.m.BlindUntil(), at("07:00"))
	same(t, "adopted", d.m.Books()[0].At, at("07:00"))
	same(t, "heard", d.m.Heard(), at("07:00"))
}
