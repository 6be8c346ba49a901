package rules

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// minuteFloor is a random history in whole minutes, told in any order, so that what conditions in
// whole minutes make of it changes at a whole minute or the millisecond after one.
func minuteFloor(t testing.TB, rnd *rand.Rand, book string) *rig {
	r := newRig(t, book)
	r.say("1 06:00 p1 add 2000\n1 06:30 d1 load p1\n1 06:40 p1 add 900\n1 07:00 t1 add 3000")
	for range 10 + rnd.IntN(30) {
		at := on(1, "07:00").Add(time.Duration(rnd.IntN(24*60)) * time.Minute)
		lines := []string{"d1 air_c", "d1 air_c", "d1 hum_pct", "d1 fire-out", "d1 fire-lit",
			"d1 smoke", "mill power-out", "mill power-back", "mill rain-start", "mill rain-over",
			"p1 covered", "p1 turned", "yard rh_pct", "t1 rough", "t1 slippery", "p2 add"}
		w := strings.Fields(lines[rnd.IntN(len(lines))])
		figure := []string{fmt.Sprint(10 + rnd.IntN(60))}
		r.by(tankHand, at, r.body(w[0], w[1], figure))
	}
	return r
}

// minuteLeaves are comparisons that change with whole minutes only: X is a time, N a number.
var minuteLeaves = map[string][]string{
	"drum": {"age > X", "age <= X", "air > 5N", "air_age > X", "air_age <= X", "hum_age >= X",
		"fire_out", "fire_out_age > X", "not smoke", "power_out", "not power_out", "hour != N",
		"night", "raining", "rh > 3N", "last_word_age < X", "now < sunset - X"},
	"patio": {"covered", "not covered", "turned_age > X", "held", "raining", "hour > N", "night",
		"power_out_age > X", "age > X"},
	"mill": {"open_patios > 0", "open_patios < 2", "lit_drums > 0", "raining", "not power_out",
		"hour != 1N", "water_out", "held_drums > 0", "hot_drums == 0"},
}

func minuteCondition(rnd *rand.Rand, kind string) string {
	leaf := func() string {
		s := minuteLeaves[kind][rnd.IntN(len(minuteLeaves[kind]))]
		s = strings.ReplaceAll(s, "X", fmt.Sprintf("%dmin", 5+rnd.IntN(400)))
		return strings.ReplaceAll(s, "N", fmt.Sprint(rnd.IntN(10)))
	}
	switch rnd.IntN(4) {
	case 0:
		return leaf()
	case 1:
		return leaf() + " or " + leaf()
	case 2:
		return "not (" + leaf() + " and " + leaf() + ")"
	}
	return leaf() + " and " + leaf()
}

// heldByHand is the definition of a delay: true now and at every instant of the time before,
// while the coffee was there. Nothing here changes but at whole minutes and a millisecond after.
func heldByHand(r *rig, c *Cond, of state.Subject, at state.Instant, d time.Duration,
	want state.Truth) bool {
	if v := r.view(of, at); v.stay != nil && v.stay.From > at.Add(-d) {
		return false
	}
	for x := at.Add(-d); x <= at; x += 60_000 - x%60_000 {
		for _, y := range []state.Instant{x, x + 1} {
			if y <= at && c.Truth(r.view(of, y)) != want {
				return false
			}
		}
	}
	return true
}

// TestDelaysByTheirDefinition compares on-delays and off-delays with their definition, over random
// conditions and histories with late readings, and holds that a finding stays what it is until
// the instant it names.
func TestDelaysByTheirDefinition(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 3))
	seen, kept := map[string]int{}, 0
	for range 250 {
		kind := []string{"drum", "patio", "mill"}[rnd.IntN(3)]
		wait, off := 10+rnd.IntN(150), 10+rnd.IntN(90)
		rings, stops := minuteCondition(rnd, kind), minuteCondition(rnd, kind)
		lines := fmt.Sprintf("rings = %q\nwait = \"%dmin\"\noff = \"%dmin\"\n", rings, wait, off)
		if rnd.IntN(2) == 0 {
			lines += fmt.Sprintf("stops = %q\n", "("+stops+") and hour >= 0")
		}
		text := strings.Replace(sample(lines), `on = "drum"`, `on = "`+kind+`"`, 1)
		r := minuteFloor(t, rnd, text)
		rule, of := r.book.Rule("sample"), r.of(map[string]string{"drum": "d1", "patio": "p1",
			"mill": "mill"}[kind])
		r.by(0, r.m.Heard()+1, state.CallStep{Rule: "sample", Of: of, What: state.Rang, Number: 1})
		for range 12 {
			at := on(1, "09:00").Add(time.Duration(rnd.IntN(24*60)) * time.Minute)
			at += state.Instant(rnd.IntN(2) * rnd.IntN(60_000))
			f := r.finding("sample", of, at)
			if f.Is != state.CannotTell {
				want := heldByHand(r, rule.When, of, at, rule.Wait, state.Yes)
				if want != (f.Is == state.Yes) {
					t.Fatalf("%s for %d min at %s: %v, want %v", rings, wait, clocked(at), f.Is, want)
				}
				seen[fmt.Sprint("rings ", f.Is)]++
			}
			if f.Over != state.CannotTell {
				c, truth := rule.When, state.No
				if rule.Clear != nil {
					c, truth = rule.Clear, state.Yes
				}
				want := heldByHand(r, c, of, at, rule.Off, truth)
				if want != (f.Over == state.Yes) {
					t.Fatalf("off %d min at %s: %v, want %v\n%s", off, clocked(at), f.Over, want, text)
				}
				seen[fmt.Sprint("over ", f.Over)]++
			}
			kept += r.stays(rnd, of, at, f)
		}
	}
	for _, what := range []string{"rings yes", "rings no", "over yes", "over no"} {
		if seen[what] < 100 {
			t.Errorf("%s only %d times", what, seen[what])
		}
	}
	if kept < 150 {
		t.Errorf("only %d findings changed at the instant they named", kept)
	}
}

// stays checks that a finding is the same until the instant it names; 1 when it changes then.
func (r *rig) stays(rnd *rand.Rand, of state.Subject, at state.Instant, f Finding) int {
	end := f.Flips
	if end == 0 {
		end = at.Add(24 * time.Hour)
	}
	if end <= at {
		r.Fatalf("at %s it flips at %s", clocked(at), clocked(end))
	}
	for _, e := range r.es { // what happens is another matter
		if e.At > at {
			end = min(end, e.At)
		}
	}
	xs := []state.Instant{at + 1, end - 1}
	for range 6 {
		x := at + state.Instant(rnd.Int64N(int64(end-at)))
		xs = append(xs, x, x-x%60_000, x-x%60_000+1)
	}
	for _, x := range xs {
		if x <= at || x >= end {
			continue
		}
		if g := r.finding("sample", of, x); g.Is != f.Is || g.Over != f.Over {
			r.Fatalf("%v/%v at %s is %v/%v at %s, before it flips at %s: %s", f.Is, f.Over, clocked(at),
				g.Is, g.Over, clocked(x), clocked(f.Flips), f.Rule.When)
		}
	}
	if g := r.finding("sample", of, end); end == f.Flips && (g.Is != f.Is || g.Over != f.Over) {
		return 1
	}
	return 0
}

// TestDelaysByHand has delays that were worked out with pencil and paper. The fire is out from
// 10:00; the coffee at 30 % is far from dry. It rings 20 minutes later.
func TestDelaysByHand(t *testing.T) {
	r := newRig(t, "")
	r.say("1 08:00 d1 load p1\n1 09:00 d1 hum_pct 30\n1 10:00 d1 fire-out")
	d1 := r.of("d1")
	is := func(clock string, want state.Truth, flips string) {
		t.Helper()
		f := r.finding("fire-out", d1, on(1, clock))
		if f.Is != want || clocked(f.Flips) != flips {
			t.Errorf("at %s %v until %s, want %v until %s", clock, f.Is, clocked(f.Flips), want, flips)
		}
	}
	is("10:00:00", state.No, "1 10:20:00")
	is("10:19:59", state.No, "1 10:20:00")
	is("10:20:00", state.Yes, "never")
	// Readings in between do not begin it anew.
	r.say("1 10:05 d1 air_c 48\n1 10:15 d1 hum_pct 29")
	is("10:19:00", state.No, "1 10:20:00")
	is("10:20:00", state.Yes, "never")
	// The power was out from 10:04 to 10:10, and that is a reason of its own: 20 minutes from 10:10.
	r.say("1 10:04 mill power-out\n1 10:10 mill power-back")
	is("10:20:00", state.No, "1 10:30:00")
	is("10:30:00", state.Yes, "never")
	// Told late: the fire burned for a minute at 10:25.
	r.say("1 10:25 d1 fire-lit\n1 10:26 d1 fire-out")
	is("10:30:00", state.No, "1 10:46:00")
	is("10:46:00", state.Yes, "never")
	if got := clocked(r.book.Since(r.m, r.know, r.finding("fire-out", d1, on(1, "10:50")), d1,
		on(1, "10:50"))); got != "1 10:26:00" {
		t.Errorf("true since %s", got)
	}
	// Lit again: over at once, for the rule has no off-delay.
	r.by(0, on(1, "10:46"), state.CallStep{Rule: "fire-out", Of: d1, What: state.Rang, Number: 1})
	r.say("1 10:50 d1 fire-lit")
	if f := r.finding("fire-out", d1, on(1, "10:50")); f.Over != state.Yes {
		t.Errorf("lit again, and over is %v", f.Over)
	}
}

// TestADelayIsNotLongerThanTheStay: what is true since the coffee came is not true for longer.
func TestADelayIsNotLongerThanTheStay(t *testing.T) {
	r := newRig(t, sample("rings = \"not smoke\"\nwait = \"30min\"\n"))
	r.say("1 08:00 d1 load p1")
	f := r.finding("sample", r.of("d1"), on(1, "08:29"))
	if f.Is != state.No || clocked(f.Flips) != "1 08:30:00" {
		t.Errorf("%v until %s", f.Is, clocked(f.Flips))
	}
	if f = r.finding("sample", r.of("d1"), on(1, "08:30")); f.Is != state.Yes {
		t.Errorf("after half an hour %v", f.Is)
	}
}

// TestADelayKnowsWhatLeft: half of the coffee left at 10:00, and from then on there is little of it.
func TestADelayKnowsWhatLeft(t *testing.T) {
	r := newRig(t, sample("rings = \"mass_kg < 2500\"\nwait = \"30min\"\n"))
	r.by(tankHand, on(1, "08:00"), state.Move{Act: state.ActLoad, Out: []state.Part{
		{Place: state.Outside, Mass: state.Kg(3000)}}, In: []state.Part{{Place: "d1",
		Lot: r.m.NextLot(), Mass: state.Kg(3000)}}})
	d1 := r.of("d1")
	r.by(tankHand, on(1, "10:00"), state.Move{Act: state.ActUnload, Out: []state.Part{{Place: "d1",
		Mass: state.Kg(1000)}}, In: []state.Part{{Place: "s1", Lot: r.m.NextLot()}}})
	for clock, want := range map[string]state.Truth{"09:59": state.No, "10:29": state.No,
		"10:30": state.Yes} {
		if f := r.finding("sample", d1, on(1, clock)); f.Is != want {
			t.Errorf("at %s %v, want %v", clock, f.Is, want)
		}
	}
	if f := r.finding("sample", d1, on(1, "10:10")); clocked(f.Flips) != "1 10:30:00" {
		t.Errorf("at 10:10 it will be so at %s", clocked(f.Flips))
	}
}
