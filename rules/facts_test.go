package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lotbell/rules/drying"
	"lotbell/state"
)

// TestFactsByHand has what a fact is at an instant on a floor of the little language.
func TestFactsByHand(t *testing.T) {
	const drum = "1 08:00 p1 add 2000\n1 09:00 d1 load p1\n"
	const tank = "1 06:00 t1 add 2000\n1 08:30 t1 add 1000\n"
	const silo = "1 09:00 s1 add 2000\n"
	for _, x := range []struct{ floor, place, at, fact, want string }{
		{drum, "d1", "1 09:30", "held", "yes"},
		{drum, "d1", "1 09:30", "age", "30m0s"},
		{drum, "d1", "1 09:30", "came", "1 09:00:00"},
		{drum, "d1", "1 09:30", "capacity_kg", "3500"},
		{drum, "d1", "1 09:30", "dial_told", "yes"},
		{"1 08:00 d2 load p1", "d2", "1 09:30", "dial_told", "no"},
		{"1 08:00 d2 load p1", "d2", "1 09:30", "dial_known", "?"},
		{tank, "t1", "1 08:00", "mass_kg", "2000"}, // the second load was not there yet
		{tank, "t1", "1 09:00", "mass_kg", "3000"},
		{tank, "t1", "1 08:00", "fill_span", "0s"},
		{tank, "t1", "1 09:00", "fill_span", "2h30m0s"},
		{tank, "t1", "1 09:00", "last_in", "1 08:30:00"},
		{tank + "1 09:00 t1 full", "t1", "1 08:59", "closed", "no"},
		{tank + "1 09:00 t1 full", "t1", "1 09:00", "closed", "yes"},
		{tank, "t1", "1 09:00", "process", "washed"},
		{tank + "1 09:00 t1 tag process honey", "t1", "1 10:00", "process", "honey"},
		{tank, "t1", "1 09:00", "owner", "mill"},
		{tank, "t1", "1 09:00", "claim", "none"},
		{tank + "1 09:00 t1 tag hold mould", "t1", "1 10:00", "on_hold", "yes"},
		{tank + "1 09:00 t1 tag hold no", "t1", "1 10:00", "on_hold", "no"},
		{tank, "t1", "1 10:00", "last_word_age", "4h0m0s"},
		{tank + "1 09:00 t1 ph 4.5", "t1", "1 10:00", "last_word_age", "1h0m0s"},
		{tank + "1 09:00 t1 ph 4.5", "t1", "1 10:00", "ph", "4.5"},
		{tank + "1 09:00 t1 mass_c 20\n1 09:00 t1 mass_c 23", "t1", "1 10:00", "temp", "23"},
		{tank, "t1", "1 10:00", "temp", "?"},
		{tank, "t1", "1 10:00", "temp_age", "?"},
		{tank, "t1", "1 10:00", "temp_known", "no"},
		{drum + "1 10:00 d1 air_c 50\n1 10:10 d1 air_c 52\n1 10:20 d1 air_c 54", "d1", "1 10:30",
			"air_slope", "12"}, // 54 against 50, twenty minutes before: not against 52
		{drum + "1 10:00 d1 air_c 50\n1 10:10 d1 air_c 52", "d1", "1 10:30", "air_slope", "?"},
		{drum + "1 10:00 d1 air_c 50", "d1", "1 09:59", "air", "?"}, // not read yet
		{drum + "1 10:00 d1 air_c 50", "d1", "1 10:30", "air_age", "30m0s"},
		// The air comes from the yard while it is young, and its age is told all the same.
		{drum + "1 10:00 yard ambient_c 21", "d1", "1 16:00", "ambient", "21"},
		{drum + "1 10:00 yard ambient_c 21", "d1", "1 16:00:01", "ambient", "?"},
		{drum + "1 10:00 yard ambient_c 21", "d1", "1 18:00", "ambient_age", "8h0m0s"},
		{silo + "1 10:00 s1 rh_pct 66\n1 11:00 yard rh_pct 80", "s1", "2 18:00", "rh", "66"},
		{drum, "d1", "1 10:00", "wet", "yes"},
		{drum + "1 10:00 d1 hum_pct 20", "d1", "1 10:00", "wet", "no"},
		{drum + "1 10:00 d1 hum_pct 20.1", "d1", "1 10:00", "wet", "yes"},
		{drum + "1 12:00 s1 store d1", "s1", "1 13:00", "wet", "no"},
		// A place without coffee knows what was read since it was emptied, not before.
		{drum + "1 10:00 d1 air_c 72\n1 11:00 s1 unload d1", "place d1", "1 11:30", "air", "?"},
		{drum + "1 10:00 d1 air_c 72\n1 11:00 s1 unload d1\n1 11:10 d1 air_c 41", "place d1",
			"1 11:30", "air", "41"},
		{drum + "1 10:00 d1 air_c 72\n1 11:00 s1 unload d1", "place d1", "1 10:30", "air", "72"},
		{drum + "1 11:00 s1 unload d1", "place d1", "1 11:30", "held", "no"},
		{drum + "1 10:00 d1 fire-out\n1 10:30 d1 fire-lit", "d1", "1 10:29", "fire_out", "yes"},
		{drum + "1 10:00 d1 fire-out\n1 10:30 d1 fire-lit", "d1", "1 10:30", "fire_out", "no"},
		{drum + "1 10:00 d1 fire-out\n1 10:30 d1 fire-lit", "d1", "1 11:00", "fire_out_age", "1h0m0s"},
		{drum, "d1", "1 11:00", "fire_out_age", "?"},
		{drum + "1 10:00 d1 smoke\n1 10:30 d1 clear", "d1", "1 11:00", "smoke", "no"},
		{"1 08:00 p1 add 900", "p1", "1 09:30", "turned_age", "1h30m0s"},
		{"1 08:00 p1 add 900", "p1", "1 09:30", "turned", "no"},
		{"1 08:00 p1 add 900\n1 18:00 p1 covered", "p1", "2 06:59", "covered", "yes"},
		{"1 08:00 p1 add 900\n1 18:00 p1 covered", "p1", "2 07:00", "covered", "no"},
		{"1 08:00 p1 add 900\n1 18:00 p1 covered\n1 19:00 p1 turned", "p1", "1 20:00", "covered", "no"},
		{"1 10:00 mill power-out\n1 11:00 mill power-out", "mill", "1 12:00", "power_out_age", "2h0m0s"},
		{"1 10:00 mill power-out\n1 11:00 mill power-back", "mill", "1 12:00", "power_out", "no"},
		{"1 10:00 mill rain-start\n1 13:00 mill rain-start", "mill", "1 16:59", "raining", "yes"},
		{"1 10:00 mill rain-start\n1 13:00 mill rain-start", "mill", "1 17:00", "raining", "no"},
		{"1 10:00 mill rain-start", "mill", "1 17:00", "rain_age", "7h0m0s"},
		{"1 10:00 mill fuel_h 9", "mill", "1 17:00", "fuel_h", "9"},
		{drum + "1 08:00 d2 load p2\n1 10:00 d2 fire-out", "mill", "1 11:00", "held_drums", "2"},
		{drum + "1 08:00 d2 load p2\n1 10:00 d2 fire-out", "mill", "1 11:00", "lit_drums", "1"},
		{drum + "1 10:00 d1 air_c 40.1", "mill", "1 11:00", "hot_drums", "1"},
		{drum + "1 10:00 d1 air_c 40", "mill", "1 11:00", "hot_drums", "0"},
		{drum + "1 10:00 s1 unload d1", "mill", "1 09:30", "held_drums", "1"}, // as it was then
		{drum + "1 10:00 s1 unload d1", "mill", "1 10:00", "held_drums", "0"},
		{tank, "mill", "1 11:00", "held_tanks", "1"},
		{tank, "mill", "1 11:00", "tank_room_kg", "12000"},
		{tank + "1 12:00 w1 wash t1", "mill", "1 13:00", "waiting_kg", "3000"},
		{tank + "1 12:00 w1 wash t1", "mill", "1 11:00", "waiting_kg", "0"},
		{"1 05:10 mill set usual_h 20\n1 06:00 t1 add 900", "mill", "1 21:59", "tanks_due_4h", "0"},
		{"1 05:10 mill set usual_h 20\n1 06:00 t1 add 900", "mill", "1 22:00", "tanks_due_4h", "1"},
		{"1 05:10 mill set usual_h 20\n1 06:00 t1 add 900", "t1", "2 01:00", "ready_time", "20h0m0s"},
		{"1 05:10 mill set usual_h 20\n1 06:00 t1 add 900", "t1", "2 09:00", "spoil_in", "1h0m0s"},
		{"1 05:10 mill set usual_h 20\n1 06:00 t1 add 900", "t1", "2 11:00", "spoil_in", "-1h0m0s"},
		{"1 06:00 t1 add 900", "t1", "1 07:00", "tank_status", "no-basis"},
		{silo + "1 10:00 s1 aw 0.6", "s1", "1 11:00", "aw_now", "0.6"},
		{silo + "1 10:00 s1 bean_c 20\n9 10:00 s1 bean_c 21\n9 12:00 s1 bean_c 25", "s1", "9 13:00",
			"temp_rise", "4"}, // against the week before, not the first day
		{drum + "1 10:00 d1 hum_pct 30", "d1", "1 13:00", "hum_now", "30"},
		{drum + "1 10:00 d1 hum_pct 30", "d1", "1 13:00:01", "hum_now", "?"},
		{drum, "d1", "1 13:00", "target", "10.5"},
		{drum + "1 09:30 mill set target_pct 11.5", "d1", "1 13:00", "target", "11.5"},
		{"", "mill", "1 13:59:59", "hour", "13"},
		{"", "mill", "1 17:59:59", "night", "no"},
		{"", "mill", "1 18:00", "night", "yes"},
	} {
		r := newRig(t, "")
		r.say(x.floor)
		of, ok := atPlace(strings.TrimPrefix(x.place, "place ")), strings.HasPrefix(x.place, "place ")
		if !ok {
			of = r.of(x.place)
		}
		at, _ := r.line(x.at)
		got := "no such fact"
		if v, u, ok := r.view(of, at).Read(x.fact); ok {
			got = written(v, u)
		}
		if got != x.want {
			t.Errorf("%s of %s at %s is %s, want %s, on\n%s", x.fact, x.place, x.at, got, x.want, x.floor)
		}
	}
}

// written is a value as the tests write it; "?" when it cannot be told.
func written(v Value, u Unit) string {
	switch {
	case u == YesNo && v.Is != state.CannotTell:
		return v.Is.String()
	case u == Word && v.Word != "":
		return v.Word
	case u == YesNo || u == Word || isNaN(v.Num):
		return "?"
	case u == Moment:
		return clocked(state.Instant(v.Num))
	case u == Span:
		return (time.Duration(v.Num) * time.Millisecond).String()
	}
	return fmt.Sprintf("%.6g", v.Num)
}

// TestMeansAreOfOneLine: several values of one line are its mean, of two lines the later one counts.
func TestMeansAreOfOneLine(t *testing.T) {
	r := newRig(t, "")
	r.say("1 06:00 t1 add 2000")
	at := on(1, "09:00")
	for i, c := range []float64{10, 20, 23, 26} {
		e := state.Event{Seq: r.m.Next(), Msg: 900, At: at, Heard: at + 1, By: tankHand,
			Body: state.Reading{Place: "t1", What: state.MassC, Value: c}}
		if i == 0 {
			e.Msg = 800 // a line of its own
		}
		r.m.Apply(e)
	}
	if v, _, _ := r.view(r.of("t1"), on(1, "10:00")).Read("temp"); v.Num != 23 {
		t.Errorf("temp %v", v.Num)
	}
}

// TestMoistureThatCame: what a load came with counts as a reading made as it came, and once when it
// was also read.
func TestMoistureThatCame(t *testing.T) {
	at := on(1, "09:00")
	for _, read := range []bool{false, true} {
		r := newRig(t, "")
		r.by(drumHand, at, state.Move{Act: state.ActLoad, Out: []state.Part{{Place: "p1", All: true}},
			In: []state.Part{{Place: "d1", Lot: 7, Moisture: 34}}})
		if read {
			r.by(drumHand, at, state.Reading{Place: "d1", What: state.Moisture, Value: 34})
		}
		v := r.view(r.of("d1"), on(1, "10:00"))
		want := []drying.Reading{{At: at.Time(), Moisture: 34, Sigma: drying.Sigma("meter", 34)}}
		if got := v.moistures(v.stay, v.at); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("read %v: %v, want %v", read, got, want)
		}
		if age, _, _ := v.Read("hum_age"); age.Num != 3600e3 {
			t.Errorf("read %v: it is %v old", read, written(age, Span))
		}
	}
}

// TestPosts counts the people of a post and how long they have been silent.
func TestPosts(t *testing.T) {
	r := newRig(t, "")
	post := state.Subject{Kind: state.OfPost, Name: "drum"}
	is := func(at, fact, want string) {
		t.Helper()
		i, _ := r.line(at)
		if v, u, _ := r.view(post, i).Read(fact); written(v, u) != want {
			t.Errorf("%s at %s is %s, want %s", fact, at, written(v, u), want)
		}
	}
	is("1 07:00", "silent_age", "?")
	r.say("1 08:00 d1 load p1") // by the hand of the tanks
	is("1 09:00", "silent_age", "?")
	is("1 09:00", "running", "1")
	r.by(drumHand, on(1, "09:30"), state.Duty{Person: drumHand, On: true})
	is("1 10:00", "silent_age", "30m0s")
	is("1 10:00", "on_duty", "1")
	is("1 23:29:59", "on_duty", "1")
	is("1 23:30", "on_duty", "0") // a forgotten shift ends after 14 hours
}

// TestStops: a stretch without fire counts from the load on, and one that was over before the load
// not at all; stretches that overlap are one.
func TestStops(t *testing.T) {
	r := newRig(t, "")
	r.say(`
		1 06:00 mill power-out
		1 06:30 mill power-back
		1 07:00 mill power-out
		1 08:00 d1 load p1
		1 08:20 mill power-back
		1 09:00 d1 fire-out
		1 09:10 d1 stopped
		1 09:20 d1 fire-lit
		1 09:40 d1 running
		1 10:00 mill power-out
		1 10:05 d1 fire-out`)
	v := r.view(r.of("d1"), on(1, "11:00"))
	want := []drying.Stop{{From: on(1, "08:00").Time(), To: on(1, "08:20").Time()},
		{From: on(1, "09:00").Time(), To: on(1, "09:40").Time()}, {From: on(1, "10:00").Time()}}
	if got := v.stops(v.stay, v.at); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
}

// TestForecastsFollow: whatever bears on a forecast changes it at once, also for who has worked it
// out before, and what bears on nothing leaves it alone.
func TestForecastsFollow(t *testing.T) {
	floor := "1 06:00 t2 add 3000\n1 06:10 t2 mass_c 24\n1 06:30 p1 add 900\n1 07:00 d1 load p1\n" +
		"1 20:00 w1 wash t2\n2 07:45 yard ambient_c 20\n2 07:45 yard rh_pct 70\n"
	for i := range 8 {
		floor += fmt.Sprintf("2 %02d:00 d1 hum_pct %d\n2 %02d:30 d1 air_c 52\n", 8+i, 30-2*i, 8+i)
	}
	floor += "2 09:00 t1 add 3000\n2 10:00 t1 mass_c 22\n"
	amend := func(r *rig, what string, by float64) {
		for _, e := range r.es {
			if b, ok := e.Body.(state.Reading); ok && b.Place+" "+b.What == what {
				b.Value += by
				r.by(boss, r.m.Heard()+1, state.Amend{Of: e.Seq, Body: b})
				return
			}
		}
		t.Fatalf("nothing was read of %s", what)
	}
	for _, x := range []struct {
		what, place string
		do          func(r *rig)
		changes     bool
	}{
		{"a reading", "d1", func(r *rig) { r.say("2 16:00 d1 hum_pct 15.5") }, true},
		{"a reading set right", "d1", func(r *rig) { amend(r, "d1 hum_pct", -2) }, true},
		{"the air of the yard set right", "d1", func(r *rig) { amend(r, "yard ambient_c", 9) }, true},
		{"power told late", "d1", func(r *rig) { r.say("2 12:10 mill power-out\n2 12:50 mill power-back") },
			true},
		{"another target", "d1", func(r *rig) { r.say("2 16:00 mill set target_pct 12") }, true},
		{"another book", "d1", func(r *rig) {
			r.book = mustRead(t, strings.Replace(DefaultText(), "value = 10.5", "value = 12", 1))
		}, true},
		{"a reading elsewhere", "d1", func(r *rig) { r.say("2 16:00 t1 mass_c 25") }, false},
		{"a tank's reading", "t1", func(r *rig) { r.say("2 16:00 t1 mass_c 26") }, true},
		{"a tank's reading set right", "t1", func(r *rig) { amend(r, "t1 mass_c", 3) }, true},
		{"another load", "t1", func(r *rig) { r.say("2 12:00 t1 add 900") }, true},
		{"what a past tank was", "t1", func(r *rig) { amend(r, "t2 mass_c", 4) }, true},
		{"a drum's reading", "t1", func(r *rig) { r.say("2 16:00 d1 hum_pct 15.5") }, false},
	} {
		r := newRig(t, "")
		r.say(floor)
		shown := func(k *Knowledge) string {
			v := newView(r.m, r.book, k, r.of(x.place), on(2, "16:30"))
			early, likely, late := v.window()
			return fmt.Sprint(early, likely, late)
		}
		was := shown(r.know)
		x.do(r)
		old, fresh := shown(r.know), shown(NewKnowledge())
		if old != fresh {
			t.Errorf("%s: who knew before sees %s, others %s", x.what, old, fresh)
		}
		if (fresh != was) != x.changes {
			t.Errorf("%s: %s became %s", x.what, was, fresh)
		}
	}
}
