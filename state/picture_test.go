package state

import (
	"strings"
	"testing"
)

// pictured is a short made-up day with one of nearly everything, and what its picture is, worked
// out by hand.
func pictured(t *testing.T) *day {
	d := &day{t, NewMill()}
	say := d.say
	say("05:00", Staff{Person: 2, Roles: []Role{Worker}, Posts: []Kind{Tank}, Lang: "es"}) // #1
	say("05:01", SetPlace{Name: "t1", Kind: Tank, Capacity: Kg(6000)})                     // #2
	say("05:02", SetPlace{Name: "p1", Kind: Patio, Area: 80.5})                            // #3
	say("05:03", SetPlace{Name: "d1", Kind: Drum, DialWhere: "inlet", DialUnit: "F"})      // #4
	say("05:04", SetPlace{Name: "d1", Gone: true})                                         // #5
	say("05:05", Set{Name: SetZone, Text: "America/Bogota"})                               // #6
	say("05:06", SetMeasure{Word: "lata", Product: "cherry", Mass: Kg(12)})                // #7
	say("05:07", Adopt{Version: 1, Text: "a book"})                                        // #8
	say("05:08", Blind{From: at("04:00"), To: at("05:00")})                                // #9
	say("05:09", Duty{Person: 2, On: true})                                                // #10
	say("06:00", add("t1", 1, 1000))                                                       // #11
	say("06:30", Reading{Place: "t1", What: MassC, Value: 21.5, Digits: 1, Depth: "top"})  // #12
	d.m.Apply(Event{Seq: 13, Msg: 12, At: at("06:40"), Heard: at("06:41"), By: 2,
		Body: Note{Place: "t1", What: Full}}) // #13
	say("06:50", Tag{Place: "t1", Name: "owner", Value: "a"}) // #14
	say("08:00", move(ActWash, all("t1"),
		Part{Place: "p1", Mass: Kg(600), Moisture: 52}, Part{Place: "x9"})) // #15
	say("09:00", Note{Place: Whole, What: PowerOut})                                        // #16
	say("09:10", Reading{Place: "p1", Lot: 77, What: Moisture, Value: 50, Method: "meter"}) // #17
	say("09:20", CallStep{Rule: "turn", Of: d.only("p1").Subject(), What: Rang, Number: 1,
		Priority: 3, To: []PersonID{2}}) // #18
	say("09:30", Amend{Of: 400}) // #19
	return d
}

const picturedText = `site
  zone = 0 America/Bogota
  measure lata of cherry = 12.000 kg
  book 1
  blind 2026-05-01 04:00 to 2026-05-01 05:00
  power out 2026-05-01 09:00, water out -, rain -
place d1: drum, holds ?, 0 m2, dial inlet F, closed #5
place mill
  2026-05-01 09:00 power-out by 2 #16
place p1: patio, holds ?, 80.5 m2 #3
  stay of (2026-05-01 08:00/0) #15: 2026-05-01 08:00 to -, 600.000 kg, from t1, 52 %
    load 2026-05-01 08:00 600.000 kg #15
  2026-05-01 09:10 hum_pct 50 (0) meter lot 77 by 2 #17
place t1: tank, holds 6000.000 kg, 0 m2 #2
  stay of 1 #11: 2026-05-01 06:00 to 2026-05-01 08:00, 1000.000 kg, from outside
    full 2026-05-01 06:40, ordered -
    left by wash
    load 2026-05-01 06:00 1000.000 kg #11
  2026-05-01 06:30 mass_c 21.5 (1) top by 2 #12  in 1
  2026-05-01 06:40 full by 2 #13 in line 12, heard 2026-05-01 06:41  in 1
place x9: not named
  stay of (2026-05-01 08:00/1) #15: 2026-05-01 08:00 to -, 400.000 kg, from t1
    load 2026-05-01 08:00 400.000 kg #15
lots
  lot 1: born 2026-05-01 06:00, found 0.000, owner=a
  lot (2026-05-01 08:00/0): born 2026-05-01 06:00, found 0.000, owner=a
    parent 1 600.000 kg
  lot (2026-05-01 08:00/1): born 2026-05-01 06:00, found 0.000, owner=a
    parent 1 400.000 kg
moves
  2026-05-01 06:00 add [outside 1000.000 kg] to [t1 lot 1 1000.000 kg] by 2 #11
    taken 1000 + found 0 = arrived 1000 + lost 0 (water 0)
  2026-05-01 06:50 tag t1 owner=a by 2 #14
  2026-05-01 08:00 wash [t1 ? all] to [p1 600.000 kg 52 %] [x9 ?] by 2 #15
    taken 1000 + found 0 = arrived 1000 + lost 0 (water 0)
conflicts
  not-ordered: 2026-05-01 08:00 at t1 lot 1, said ?, fits ? #15
  no-such-place: 2026-05-01 08:00 at x9, said ?, fits ? #15
  nothing-to-amend: - at , said ?, fits ? #19
people
  person 2: [worker] at [tank], es, on since 2026-05-01 05:09
calls
  call 1: turn on stay p1 lot (2026-05-01 08:00/0) since 2026-05-01 08:00 #18
    unacknowledged, priority 3, rang 2026-05-01 09:20, rung 0 at 2026-05-01 09:20, told [2]
`

func TestPicture(t *testing.T) {
	d := pictured(t)
	if diff := differ(picturedText, d.m.Picture(true)); diff != "" {
		t.Error(diff)
	}
	bare := d.m.Picture(false)
	if strings.Contains(bare, "#") || strings.Contains(bare, "heard") {
		t.Errorf("names are left:\n%s", bare)
	}
	d.say("09:40", Amend{Of: 11, Body: add("t1", 1, 1001)})
	if d.m.Picture(false) == bare {
		t.Error("1 kg more is not seen")
	}
}

func TestLinesOfChat(t *testing.T) {
	d := newDay(t)
	tell := func(msg Seq, by PersonID, clock string) Seq {
		s := d.m.Next()
		if msg == 0 {
			msg = s
		}
		d.m.Apply(Event{Seq: s, Msg: msg, By: by, At: at(clock), Heard: at(clock),
			Body: Note{Place: "t1", What: Rough}})
		return s
	}
	same(t, "none yet", d.m.LastLine(1), Seq(0))
	first := tell(0, 1, "07:00")
	tell(first, 1, "07:00")
	second := tell(0, 2, "08:00")
	third := tell(0, 1, "09:00")
	same(t, "first line", len(d.m.Said(first)), 2)
	same(t, "last of 1", d.m.LastLine(1), third)
	d.say("09:10", Amend{Of: third})
	same(t, "last that counts", d.m.LastLine(1), first)
	same(t, "withdrawn", d.m.Event(third), (*Event)(nil))
	same(t, "no event", d.m.Event(4000), (*Event)(nil))
	any := func(*Event) bool { return true }
	same(t, "since", []*Event{d.m.LastAlike(2, any, at("08:00")), d.m.LastAlike(2, any, at("08:30"))},
		[]*Event{d.m.Event(second), nil})
}
