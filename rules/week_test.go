package rules

import (
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// wanted are the rules a mill wants in its first week, in plain words and as the book says them. The
// sixteenth, the limit of calls an hour, is a setting of the engine and no rule.
const wanted = `
[limit.air_wet]
value = 60
unit = "C"
low = 30
high = 75
[limit.air_dry]
value = 50
unit = "C"
low = 30
high = 75

[[call]] # washed coffee must be spread or under water within 4 h
name = "spread-soon"
kind = "alert"
on = "waiting"
rings = "age >= 4h and not soak_start and wet"
say.en = "x"
[[call]] # the drier, the cooler
name = "cooler"
kind = "alert"
on = "drum"
rings = "air > (hum_now < 20 ? limit.air_dry : limit.air_wet)"
say.en = "x"
[[call]] # before sunset every patio over 12 % is covered; cloth over 25 %
name = "cover"
kind = "prompt"
on = "patio"
due = "sunset - 45min"
until = "covered"
only = "hum_now > 12"
say.en = "x"
[[call]] # power gone for 5 minutes and a drum hot
name = "power"
kind = "alert"
on = "mill"
rings = "power_out_age >= 5min and hot_drums > 0"
say.en = "x"
[[call]] # at 4 p.m. the fuel will not last the night
name = "fuel"
kind = "alert"
on = "mill"
rings = "hour == 16 and fuel_h < drum_hours"
say.en = "x"
[[call]] # night post silent for 90 minutes with something running
name = "silent"
kind = "alert"
on = "post"
rings = "silent_age > 90min and running > 0 and night"
say.en = "x"
[[call]] # between drum and silo more than 2 % lost: the manager alone
name = "loss"
kind = "alert"
on = "silo"
private = true
who = ["manager"]
rings = "loss_pct > 2"
say.en = "x"
[[call]] # fruit older than 8 h, or more waiting than room
name = "fruit"
kind = "alert"
on = "intake"
rings = "oldest_age > 8h or waiting_kg > room_kg"
say.en = "x"
[[call]] # the moisture meter was not compared for 14 days
name = "meter"
kind = "prompt"
on = "meter"
due = "last_check + 14d"
say.en = "x"

[[guard]] # close a tank when its first fruit is too far ahead of its last
name = "fill-span"
on = ["add"]
stop = "ask"
when = "fill_span > 0.3 * ready_time"
say.en = "x"
[[guard]] # no filling of what was not cleaned since it was emptied
name = "clean"
on = ["add", "load", "store"]
stop = "ask"
when = "not cleaned_here and not here_held"
say.en = "x"
[[guard]] # the deputy may order when the manager has not answered in 20 minutes
name = "deputy"
on = ["wash-ordered"]
stop = "pass-on"
when = "not by_manager and not (by_deputy and unanswered >= 20min)"
say.en = "x"
[[guard]] # certified, owners and classes never mix without the manager
name = "mix"
on = ["add", "load", "store"]
stop = "ask"
when = "here_held and (claim != claim_here or owner != owner_here or class != class_here) and not by_manager"
say.en = "x"
[[guard]] # what a buyer has sampled is not moved before the answer
name = "sampled"
on = ["move", "ship", "prepare"]
stop = "ask"
when = "sample_open and not by_manager"
say.en = "x"
[[guard]] # a sack more than 15 % off that post's usual
name = "sack"
on = ["receipt"]
stop = "ask"
when = "abs(kg_each / kg_each_usual - 1) > 0.15"
say.en = "x"
`

// TestFirstWeekRings has of each wanted call a floor on which it rings, at an instant worked out by
// hand, and one a step below on which it does not.
func TestFirstWeekRings(t *testing.T) {
	const drum = "1 08:00 p1 add 2000\n1 09:00 d1 load p1\n"
	const wash = "1 06:00 t1 add 900\n1 12:00 w1 wash t1\n"
	for _, c := range []struct{ rule, floor, rings, quiet, until string }{
		{"spread-soon", wash, "1 16:00:00", wash + "1 15:59 w1 soak-start", ""},
		{"cooler", drum + "1 10:00 d1 hum_pct 19\n1 10:01 d1 air_c 50.1", "1 10:01:00",
			drum + "1 10:00 d1 hum_pct 21\n1 10:01 d1 air_c 60", "1 10:30"},
		{"cover", "1 08:00 p1 add 900\n1 16:30 p1 hum_pct 12.1", "1 17:15:00",
			"1 08:00 p1 add 900\n1 16:30 p1 hum_pct 12", ""},
		{"power", drum + "1 10:00 d1 air_c 41\n1 10:10 mill power-out", "1 10:15:00",
			drum + "1 10:00 d1 air_c 40\n1 10:10 mill power-out", ""},
		{"fuel", drum + dryingRun() + "1 15:30 mill fuel_h 0.5", "1 16:00:00",
			drum + dryingRun() + "1 15:30 mill fuel_h 90", ""},
		{"silent", drum + "1 17:30 d1 air_c 50\n1 19:00 d1 air_c 50", "1 20:30:00.001",
			"1 08:00 p1 add 2000\n1 19:00 d1 air_c 50", ""},
		{"fruit", "1 06:00 r1 add 900", "1 14:00:00.001", "1 06:00 r1 add 900\n1 14:00 t1 add 500", ""},
		{"meter", "1 06:00 t1 add 900", "15 05:00:00", "9 06:00 m1 compared", "23 05:59:59"},
	} {
		if _, at := ringsUnder(t, wanted, c.rule, c.floor, "70 00:00"); clocked(at) != c.rings {
			t.Errorf("%s rings %s, want %s", c.rule, clocked(at), c.rings)
		}
		if _, at := ringsUnder(t, wanted, c.rule, c.quiet, c.until); at != 0 {
			t.Errorf("a step below it %s rings %s", c.rule, clocked(at))
		}
	}
}

// TestFirstWeekGuards has of each wanted guard an act it stands against and one it does not.
func TestFirstWeekGuards(t *testing.T) {
	// Hours at 17.6 to completion make 5.3 the longest fill: 0.3 of them.
	const tank = "1 05:10 mill set usual_h 17.6\n1 06:00 t1 add 900\n"
	const held = "1 06:00 t2 add 900\n1 06:01 t2 tag claim org\n1 07:00 w1 add 90\n"
	add := Act{What: state.ActAdd, To: "t1"}
	store := Act{What: state.ActStore, To: "t2"}
	wash := Act{What: state.WashOrdered, Asked: on(1, "10:00")}
	five := strings.Repeat("1 05:30 r1 receipt 500 10 sack\n", 5)
	for _, c := range []struct {
		guard, floor, of string
		act              Act
		by               state.PersonID
		at               string
		stands           bool
	}{
		{"fill-span", tank + "1 11:30 t1 add 90", "t1", add, tankHand, "1 12:00", true},
		{"fill-span", tank + "1 10:30 t1 add 90", "t1", add, tankHand, "1 12:00", false},
		{"clean", "1 06:00 t1 add 90\n1 07:00 w1 wash t1", "w1", add, tankHand, "1 12:00", true},
		{"clean", "1 06:00 t1 add 90\n1 07:00 w1 wash t1\n1 08:00 t1 cleaned", "w1", add, tankHand,
			"1 12:00", false},
		{"deputy", tank, "t1", wash, deputy, "1 10:19", true},
		{"deputy", tank, "t1", wash, deputy, "1 10:20", false},
		{"mix", held, "w1", store, tankHand, "1 12:00", true},
		{"mix", held + "1 08:00 w1 tag claim org", "w1", store, tankHand, "1 12:00", false},
		{"mix", held, "w1", store, boss, "1 12:00", false},
		{"sack", five, "r1", counted(1152), tankHand, "1 12:00", true}, // 57.6 each, usually 50
		{"sack", five, "r1", counted(1149), tankHand, "1 12:00", false},
	} {
		r := newRig(t, wanted)
		r.say(c.floor)
		at, _ := r.line(c.at)
		c.act.By = r.m.Person(c.by)
		stands := false
		for _, v := range r.book.Guard(r.m, r.know, r.of(c.of), c.act, at) {
			stands = stands || v.Guard.Name == c.guard
		}
		if stands != c.stands {
			t.Errorf("%s at %s on\n%sstands: %v", c.guard, c.at, c.floor, stands)
		}
	}
}

// counted is a delivery of twenty sacks.
func counted(kg float64) Act {
	return Act{What: state.ActIntake, To: "r1", Move: &state.Move{Act: state.ActIntake,
		Said: "20 sack", In: []state.Part{{Place: "r1", Mass: state.Kg(kg)}}}}
}

// TestFirstWeek reads the wanted rules and lets three of the new facts ring in a made-up mill.
func TestFirstWeek(t *testing.T) {
	r := newRig(t, wanted)
	if n := len(r.book.Calls) + len(r.book.Guards); n != 15 {
		t.Fatalf("%d rules were read", n)
	}
	at := state.At(time.Date(2026, 5, 1, 6, 0, 0, 0, time.UTC))
	m := state.NewMill()
	seq := state.Seq(0)
	say := func(d time.Duration, b state.Body) {
		seq++
		m.Apply(state.Event{Seq: seq, Msg: seq, At: at.Add(d), Heard: at.Add(d), By: 1, Body: b})
	}
	for name, kind := range map[string]state.Kind{"d1": state.Drum, "s1": state.Silo} {
		say(0, state.SetPlace{Name: name, Kind: kind})
	}
	say(1, state.Move{Act: state.ActLoad, Out: []state.Part{{Place: state.Outside,
		Mass: state.Kg(1000), Moisture: 12}}, In: []state.Part{{Lot: 1, Place: "d1",
		Mass: state.Kg(1000), Moisture: 12}}})
	say(time.Hour, state.Move{Act: state.ActStore, Out: []state.Part{{Place: "d1", All: true,
		Moisture: 12}}, In: []state.Part{{Lot: 2, Place: "s1", Mass: state.Kg(960), Moisture: 11}}})
	say(2*time.Hour, state.Tag{Place: "s1", Name: "sample", Value: "sent"})
	silo := m.StaysAt("s1")[0]
	v := r.book.Look(m, NewKnowledge(), silo.Subject(), at.Add(3*time.Hour))
	// 1000 kg at 12 % are 880 kg dry, 988.76 kg at 11 %: 28.76 kg of the 40 lost are no water,
	// 2.909 % of what was due, both at 11 %.
	if x, _, _ := v.Read("loss_pct"); x.Num < 2.905 || x.Num > 2.912 {
		t.Errorf("loss_pct is %v, by hand 2.909", x.Num)
	}
	var rang []string
	for _, f := range r.book.Evaluate(m, NewKnowledge(), silo.Subject(), at.Add(3*time.Hour)) {
		if f.Is == state.Yes {
			rang = append(rang, f.Rule.Name)
		}
	}
	if strings.Join(rang, " ") != "loss" {
		t.Errorf("rang: %v", rang)
	}
	verdicts := r.book.Guard(m, NewKnowledge(), silo.Subject(),
		Act{What: state.ActShip, To: state.Outside}, at.Add(3*time.Hour))
	if len(verdicts) != 1 || verdicts[0].Guard.Name != "sampled" {
		t.Errorf("shipping what is sampled: %+v", verdicts)
	}
}
