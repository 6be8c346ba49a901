package bot

import (
	"math"
	"strings"
	"testing"
	"time"
)

// TestFuelLasts: by hand. Two drums that end after 4 and 10 hours need 14 drum-hours.
func TestFuelLasts(t *testing.T) {
	for _, c := range []struct {
		have  float64
		needs []float64
		blind int
		lasts float64
		short bool
	}{
		{14, []float64{4, 10}, 0, 10, false},
		{8, []float64{4, 10}, 0, 4, true},    // both until the first ends, then nothing
		{11, []float64{4, 10}, 0, 7, true},   // 8 for both, 3 for the one that is left
		{6, []float64{4, 10}, 0, 3, true},    // two burn three hours
		{20, []float64{4, 10}, 0, 16, false}, // six over, for one drum
		{0, []float64{4}, 0, 0, true},
		{9, nil, 3, 3, false}, // three drums whose end nobody knows
		{9, nil, 0, math.NaN(), false},
		{math.NaN(), []float64{4}, 0, math.NaN(), false},
	} {
		s := stock{have: c.have, needs: c.needs, blind: make([]string, c.blind)}
		if got := s.lasts(); math.Abs(got-c.lasts) > 1e-9 || got != got && c.lasts == c.lasts {
			t.Errorf("%v for %v and %d blind lasts %v, want %v", c.have, c.needs, c.blind, got, c.lasts)
		}
		if s.short() != c.short {
			t.Errorf("%v for %v: short is %v", c.have, c.needs, s.short())
		}
	}
}

// TestFuelIsLearned: 12 sacks in 3 hours of one drum and 6 of two are 0.8 an hour; a delivery in
// between, and hours without fire, do not count.
func TestFuelIsLearned(t *testing.T) {
	r := newRig(t)
	if err := r.desk.Setup("place d2 drum 3500 inlet C", r.now); err != nil {
		t.Fatal(err)
	}
	r.sent()
	r.say("luis", "d1 load 2800kg hum 30")
	r.say("luis", "husk 40 sacks left")
	r.wait(3 * time.Hour)
	r.say("luis", "d2 load 2800kg hum 30")
	r.say("luis", "husk 36 sacks left")
	r.say("luis", "husk 60 sacks left") // a delivery
	r.wait(6 * time.Hour)
	r.say("luis", "d1 fire out")
	r.say("luis", "d2 fire out")
	r.wants(r.say("marta", "husk 52 sacks left"), "A drum burns 0.8 sacks an hour, from your counts",
		"Fuel for 65 drum-hours") // 52 / 0.8
	r.wait(5 * time.Hour) // nothing burns
	r.wants(r.say("marta", "fuel?"), "Fuel for 65 drum-hours")
}

// TestFuelAsTold: until it is learned, what the set-up told counts.
func TestFuelAsTold(t *testing.T) {
	r := newRig(t)
	r.wants(r.say("marta", "fuel?"), "Nobody told how much fuel is left")
	r.say("marta", "set fuel husk")
	r.say("marta", "set sack_h 0.5")
	r.say("luis", "d1 load 2800kg hum 30")
	r.wants(r.say("marta", "husk 20 sacks left"), "Husk 10 h", "The end is not foreseen for: d1",
		"2 sacks an hour, as told")
	r.wait(time.Hour)
	r.wants(r.say("marta", "fuel?"), "Husk 9 h")
	r.wants(r.say("marta", "no husk"), "Husk 0 h")
}

func TestWaterOrder(t *testing.T) {
	r := newRig(t)
	r.wants(r.say("marta", "water?"), "Water runs. No tank waits")
	r.say("marta", "set usual_h 20")
	r.say("ana", "t2 add 4000")
	r.wait(4 * time.Hour)
	r.say("ana", "t1 add 4000")
	r.say("ana", "water out")
	got := r.say("marta", "¿Agua?")
	r.wants(got, "No water since 12:00. Wash in this order: t2 t1.", "t2: late from",
		"Yours to decide")
	if strings.Index(got, "t2: late") > strings.Index(got, "t1: late") {
		t.Errorf("the younger tank is told first: %s", got)
	}
}

func TestRoom(t *testing.T) {
	r := newRig(t) // two tanks of 6 t, a patio of 4 t, a drum of 3.5 t
	r.wants(r.say("marta", "room?"), "tanks 12 t, patios 4 t, drums 3.5 t.")
	r.say("ana", "t1 add 3000")
	r.wants(r.say("marta", "room?"), "tanks 9 t", "In today 3 t since 08:00. Stop at 12 t.")
	r.wait(2 * time.Hour) // 1.5 t an hour: 9 t more in six hours
	r.wants(r.say("marta", "room?"), "Tanks full at 16:00; stop at 12 t.")
	r.say("marta", "place t3 tank")
	r.wants(r.say("marta", "room?"), "tanks 9+ t")
}

// TestRoomOfFruit: where fruit is weighed, 1000 kg of it are 564 kg in the tank.
func TestRoomOfFruit(t *testing.T) {
	r := newRig(t)
	r.say("marta", "place r1 intake")
	r.say("marta", "r1 5642 kg")
	r.wait(2 * time.Hour)
	// 12 t of room are 21.27 t of fruit (12 / 0.5642), those 5.64 t among them that wait at r1.
	r.wants(r.say("marta", "room?"), "In today 5.6 t", "stop at 21.3 t",
		"Waits: r1, 5642 kg since 08:00 (2 h)")
}

func TestJam(t *testing.T) {
	r := newRig(t)
	r.say("marta", "set usual_h 20")
	r.say("ana", "t1 add 6000")
	r.say("ana", "t2 add 6000")
	r.wait(12 * time.Hour)
	// 12 t pulped are 8.84 t washed (415.7 / 564.2); patio and drum take 7.5 t.
	r.wants(r.say("marta", "room?"), "8.8 t of washed coffee come within a day, patios and drums "+
		"take 7.5 t")
}

// TestDayQuestionsAreQuestions: the words alone, and what begins like them, stay what they were.
func TestDayQuestionsAreQuestions(t *testing.T) {
	r := newRig(t)
	r.say("ana", "t1 add 4000")
	r.wants(r.say("ana", "water out"), "mill: no water")
	r.wants(r.say("ana", "rain"), "mill: rain")
	r.wants(r.say("ana", "t1?"), "t1: lot 1")
	for _, line := range []string{"?", "??", "¿?", "water ??? now?", "rain\x00?"} {
		if got := r.say("ana", line); !strings.Contains(got, "ana< ") {
			t.Errorf("%q is not answered: %s", line, got)
		}
	}
}

// TestWatchmanIsSentAtNightOnly: to those who did not answer, not to who was rung just now.
func TestWatchmanIsSentAtNightOnly(t *testing.T) {
	for _, hour := range []int{10, 22} {
		r := crew(t)
		r.wait(time.Duration(hour-8) * time.Hour)
		r.say("ana", "t1 add 4000")
		r.say("ana", "t1 rough")
		early, late := r.wait(30*time.Minute), r.wait(time.Hour)
		if strings.Contains(early, "nico<") {
			t.Errorf("%d h: the watchman is sent before the ladder's end: %s", hour, early)
		}
		const knock = "nico< Nobody answers: t1 wash. Knock at the door: marta, tom."
		if sent := strings.Contains(late, knock); sent != (hour == 22) {
			t.Errorf("%d h: the watchman was sent: %v\n%s", hour, sent, late)
		}
	}
}

// TestSilentPost: the drum hand is on shift and writes last at 20:00; at 21:30 the rule has rung,
// and it is over as soon as he writes.
func TestSilentPost(t *testing.T) {
	script := "mill testdata/mills/small.chat\nmill testdata/mills/badday-crew.chat\n" +
		"@ 2026-01-12 20:00\nluis> shift in\nluis> d1 load 2800 kg hum 30\n@ 21:29\nslate\n@ 21:31\n" +
		"luis> d1 55\n@ 21:35\n"
	run, err := Play(script, Beside("../testdata/chats"), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	before, after, _ := strings.Cut(run.Text, "= Mon 21:30")
	if strings.Contains(before, "nobody has written") {
		t.Errorf("it rang before 90 minutes:\n%s", before)
	}
	for _, want := range []string{"tom< (", "nico< (", "drum: nobody has written for 1 h 30",
		"over."} {
		if !strings.Contains(after, want) {
			t.Errorf("no %q after 90 minutes:\n%s", want, after)
		}
	}
}
