package rules

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// floors are random histories of the made-up mill, of a day or two, with everything that the
// conditions of these tests read. All instants are odd milliseconds, so that no two facts change
// together by chance of round figures.
func randomFloor(t testing.TB, rnd *rand.Rand) *rig {
	r := newRig(t, "")
	at := on(1, "05:30")
	next := func() state.Instant {
		at = at.Add(time.Duration(rnd.IntN(50))*time.Minute +
			time.Duration(rnd.IntN(60_000))*time.Millisecond)
		return at
	}
	say := func(place, what string, more ...string) {
		r.by(tankHand, next(), r.body(place, what, more))
	}
	if rnd.IntN(2) == 0 {
		r.by(boss, next(), state.Set{Name: state.SetLat, Number: 5 + rnd.Float64()})
		r.by(boss, next(), state.Set{Name: state.SetLon, Number: -75})
	}
	r.by(boss, next(), state.Set{Name: state.SetZone, Text: []string{"America/Bogota", "UTC",
		"Asia/Kolkata", "America/Havana"}[rnd.IntN(4)]})
	say("t1", "add", "3000")
	say("p1", "add", "2000")
	say("d1", "load", "p1")
	say("p1", "add", "2000")
	say("s1", "add", "2000")
	figure := func(low, high float64) string {
		return fmt.Sprintf("%.1f", low+rnd.Float64()*(high-low))
	}
	for range 15 + rnd.IntN(25) {
		switch rnd.IntN(12) {
		case 0, 1:
			say("t1", "mass_c", figure(17, 28))
		case 2:
			say("t1", []string{"slippery", "rough"}[rnd.IntN(2)])
		case 3, 4:
			say("d1", "air_c", figure(40, 72))
		case 5, 6:
			say("d1", "hum_pct", figure(10, 40))
		case 7:
			say("d1", []string{"fire-out", "fire-lit", "smoke"}[rnd.IntN(3)])
		case 8:
			say("yard", []string{"ambient_c", "rh_pct"}[rnd.IntN(2)], figure(15, 70))
		case 9:
			say("p1", []string{"covered", "turned", "uncovered"}[rnd.IntN(3)])
		case 10:
			say("p1", "hum_pct", figure(12, 45))
		default:
			say("mill", []string{"rain-start", "rain-over", "power-out", "power-back",
				"water-out"}[rnd.IntN(5)])
		}
	}
	return r
}

// comparisons are the leaves of random conditions, by kind of subject. X stands for a span and N
// for a number.
var comparisons = map[string][]string{
	"tank": {"age > X", "X <= age", "temp_age < X", "rough_age >= X", "progress > 0.N",
		"spoil_in < X", "X > ready_in", "now >= ready_early - X", "now < spoil_warn + X",
		"rough", "hour >= N", "hour != N", "night", "power_out_age > X", "rain_age > X", "raining",
		"ambient > 2N", "now > sunset - X", "spoil - ready_early > X", "temp > 2N",
		"age > (rough ? X : X)", "now >= (night ? spoil : ready_late)"},
	"drum": {"air > 5N", "air_age > X", "hum_now < 1N", "hum_now >= 2N", "hum_age <= X", "fire_out",
		"fire_out_age > X", "air_slope > N", "ready_in <= X", "now >= next_reading", "smoke_age < X",
		"last_word_age > X", "drying == 'good'", "hour < N", "power_out", "age >= X"},
	"patio": {"covered", "covered_age > X", "turned_age > X", "hum_now < 2N", "wet", "night",
		"raining", "now >= sunset - X", "hour == N", "rh > 5N", "rh_age > X", "ambient_known"},
	"mill": {"open_patios > 0", "open_patios == 0", "tanks_due_4h > 0", "raining", "hour > N",
		"water_out_age > X", "lit_drums > 0", "power_out"},
	"silo": {"aw_now > 0.N", "emc > 1N", "age > X", "ambient > 2N", "rh_known", "now > sunset"},
}

// randomCondition is a random tree over them.
func randomCondition(rnd *rand.Rand, kind string, depth int) string {
	if depth == 0 || rnd.IntN(3) == 0 {
		leaves := comparisons[kind]
		s := leaves[rnd.IntN(len(leaves))]
		s = strings.ReplaceAll(s, "X", fmt.Sprintf("%dmin", 20+rnd.IntN(1500)))
		return strings.ReplaceAll(s, "N", fmt.Sprint(rnd.IntN(10)))
	}
	a, b := randomCondition(rnd, kind, depth-1), randomCondition(rnd, kind, depth-1)
	switch rnd.IntN(5) {
	case 0:
		return "not (" + a + ")"
	case 1, 2:
		return "(" + a + ") or (" + b + ")"
	}
	return "(" + a + ") and (" + b + ")"
}

// TestFlipsAreExact holds, over random conditions and mills, that a condition is the same at every
// millisecond before the instant it names: by looking at many instants between, at those next to
// every change of its parts, and at the last millisecond before. It also holds that the instants
// named are nearly all real changes of a part, so that "look again every millisecond" would fail.
func TestFlipsAreExact(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 1))
	named, changed, moved := 0, 0, map[string]int{}
	for range 70 {
		r := randomFloor(t, rnd)
		for range 60 {
			kinds := []string{"tank", "drum", "patio", "mill", "silo"}
			kind := kinds[rnd.IntN(len(kinds))]
			c := r.cond(kind, randomCondition(rnd, kind, rnd.IntN(3)))
			of := r.of(map[string]string{"tank": "t1", "drum": "d1", "patio": "p1", "mill": "mill",
				"silo": "s1"}[kind])
			at := r.m.Heard().Add(time.Duration(rnd.IntN(20*3600_000)) * time.Millisecond)
			v := r.view(of, at)
			was, flip := c.Truth(v), c.Flips(v)
			if flip != 0 && flip <= at {
				t.Fatalf("%s at %s flips in the past: %s", c, clocked(at), clocked(flip))
			}
			for _, x := range instantsTo(rnd, r, c, of, at, flip) {
				if is := c.Truth(r.view(of, x)); is != was {
					t.Fatalf("%s of %s is %v at %s and %v at %s, before its flip at %s", c, of.Name,
						was, clocked(at), is, clocked(x), clocked(flip))
				}
			}
			if flip != 0 && flip < at.Add(curveHorizon) {
				named++
				if c.Truth(r.view(of, flip)) != was {
					changed++
					moved[kind]++
				}
			}
		}
	}
	if changed*3 < named || changed < 300 {
		t.Errorf("of %d instants named only %d change the condition", named, changed)
	}
	for kind, n := range moved {
		if n < 40 {
			t.Errorf("conditions on a %s changed %d times only", kind, n)
		}
	}
}

// instantsTo lists instants after one and before a flip (for two days when there is none): the
// first and the last, some at random, and those about every change of a part of the condition.
func instantsTo(rnd *rand.Rand, r *rig, c *Cond, of state.Subject, at,
	flip state.Instant) []state.Instant {
	end := flip
	if end == 0 || end > at.Add(48*time.Hour) {
		end = at.Add(48 * time.Hour)
	}
	out := []state.Instant{at + 1, end - 1}
	for range 25 {
		out = append(out, at+1+state.Instant(rnd.Int64N(int64(end-at))))
	}
	for t, n := at, 0; n < 12; n++ { // the parts' own changes, one after another
		t = anyChange(c.root, r.view(of, t))
		if t == 0 || t >= end {
			break
		}
		out = append(out, t-1, t, t+1)
	}
	return slices.DeleteFunc(out, func(t state.Instant) bool { return t <= at || t >= end })
}

// anyChange is the next change of any comparison in a tree, whether or not it matters.
func anyChange(n *node, v *View) state.Instant {
	if len(n.kids) == 0 {
		return n.flips(v)
	}
	next := state.Instant(0)
	for _, k := range n.kids {
		next = sooner(next, anyChange(k, v))
	}
	return next
}

// TestFlipsByHand has flips that were worked out with pencil and paper.
func TestFlipsByHand(t *testing.T) {
	r := newRig(t, "")
	r.say(`
		1 08:00 t1 add 3000
		1 08:30 p1 add 900
		1 09:00 d1 load p1
		1 10:00 d1 air_c 57
		1 10:00 yard rh_pct 70
		1 10:30 mill rain-start
		1 11:00 p2 add 1000
		1 17:40 p2 covered`)
	for _, x := range []struct {
		place, text, at, want string
	}{
		{"d1", "air > 50", "1 12:00:00", "never"},
		{"d1", "age > 2h", "1 10:59:00", "1 11:00:00.001"},
		{"d1", "age >= 2h", "1 10:59:00", "1 11:00:00"},
		{"d1", "age < 2h", "1 10:59:00", "1 11:00:00"},
		{"d1", "age <= 2h", "1 11:00:00", "1 11:00:00.001"},
		{"d1", "age > 2h", "1 11:00:01", "never"},
		{"d1", "not (air_age > 45min)", "1 10:30:00", "1 10:45:00.001"},
		{"d1", "age > 3h and air_age > 3h", "1 10:30:00", "1 13:00:00.001"}, // both must come
		{"d1", "age > 3h or air_age > 3h", "1 10:30:00", "1 12:00:00.001"},
		{"d1", "smoke and age > 3h", "1 10:30:00", "never"}, // only a word can make it so
		{"d1", "held or age > 3h", "1 10:30:00", "never"},
		{"d1", "age > (air_age > 90min ? 30min : 9h)", "1 11:00:00", "1 11:30:00.001"},
		{"d1", "now >= came + 150min", "1 11:00:00", "1 11:30:00"},
		{"d1", "hour >= 16", "1 11:20:30", "1 12:00:00"},
		{"d1", "night", "1 11:00:00", "1 18:00:00"},
		{"d1", "night", "1 18:00:00", "2 06:00:00"},
		{"d1", "night", "1 23:59:59", "2 06:00:00"},
		{"d1", "now > sunset", "1 11:00:00", "1 18:00:00.001"},
		{"d1", "now > sunset", "1 18:30:00", "2 00:00:00"}, // the next day has another sunset
		{"d1", "raining", "1 11:00:00", "1 14:30:00"},
		{"d1", "raining", "1 14:30:00", "never"},
		{"d1", "rh > 60", "1 11:00:00", "1 16:00:00.001"}, // weather of six hours ago is none
		{"p2", "covered", "1 17:41:00", "2 07:00:00"},
		{"p2", "covered", "2 07:00:00", "never"},
		{"mill", "open_patios > 0", "1 17:41:00", "2 07:00:00"},
	} {
		var day int
		var clock string
		if _, err := fmt.Sscan(x.at, &day, &clock); err != nil {
			t.Fatal(err)
		}
		kind := string(r.m.KindOf(x.place))
		if kind == "" {
			kind = OnMill
		}
		v := r.view(r.of(x.place), on(day, clock))
		if got := clocked(r.cond(kind, x.text).Flips(v)); got != x.want {
			t.Errorf("%s at %s flips %s, want %s", x.text, x.at, got, x.want)
		}
	}
	if got := (*Cond)(nil).Flips(nil); got != 0 {
		t.Errorf("no condition flips at %v", got)
	}
}

// TestDaysBeginLate holds the step at midnight where the clock jumps at midnight: in Havana 8
// March 2026 begins at 01:00 and 1 November has midnight twice (tz database, rule Cuba).
func TestDaysBeginLate(t *testing.T) {
	r := newRig(t, "")
	r.by(boss, on(1, "05:01"), state.Set{Name: state.SetZone, Text: "America/Havana"})
	for _, x := range [][2]string{
		{"2026-03-07T22:30:00Z", "2026-03-08T05:00:00Z"},
		{"2026-03-08T04:59:59Z", "2026-03-08T05:00:00Z"},
		{"2026-10-31T22:00:00Z", "2026-11-01T04:00:00Z"},
		{"2026-11-01T04:30:00Z", "2026-11-02T05:00:00Z"},
	} {
		at, err := time.Parse(time.RFC3339, x[0])
		if err != nil {
			t.Fatal(err)
		}
		got := nextMidnight(r.view(r.of("mill"), state.At(at))).Time().Format(time.RFC3339)
		if got != x[1] {
			t.Errorf("the day after %s begins at %s, want %s", x[0], got, x[1])
		}
	}
}

// TestCurvesFlipToTheMillisecond bisects a curve whose crossing is known: a falling line.
func TestCurvesFlipToTheMillisecond(t *testing.T) {
	r := newRig(t, "")
	r.say("1 09:00 d1 load p1")
	at := on(1, "10:00")
	line := &Fact{Name: "line", Unit: Percent, Moves: Curve, index: maxFacts - 1}
	line.curve = func(v *View, x state.Instant) float64 { return 40 - float64(x-at)/1e6 }
	line.get = func(v *View) Value { return number(line.curve(v, v.at)) }
	for _, x := range []struct {
		cmp  string
		than float64
		want state.Instant
	}{
		{"<", 39, at + 1_000_001}, {"<=", 39, at + 1_000_000}, {">", 39, at + 1_000_000},
		{">=", 39, at + 1_000_001}, {"<", 40, at + 1}, {"<", 41, at.Add(curveHorizon)},
		{">", 39.9999995, at + 1}, {"<", math.NaN(), 0},
	} {
		c := &Cond{root: &node{op: opCompare, cmp: x.cmp, l: &side{op: 'f', fact: line, unit: Percent},
			r: &side{op: 'n', num: x.than, unit: Percent}}}
		if got := c.Flips(r.view(r.of("d1"), at)); got != x.want {
			t.Errorf("%s %g flips at %d, want %d", x.cmp, x.than, got-at, x.want-at)
		}
		mirror := &Cond{root: &node{op: opCompare, cmp: mirrored(x.cmp), r: c.root.l, l: c.root.r}}
		if got := mirror.Flips(r.view(r.of("d1"), at)); got != x.want {
			t.Errorf("mirrored, %s %g flips at %d, want %d", x.cmp, x.than, got-at, x.want-at)
		}
	}
}
