package state

import (
	"slices"
	"testing"
	"time"
)

func TestDutyEndsByItself(t *testing.T) {
	d := newDay(t)
	on := func(clock string) bool { return d.m.Person(2).OnDuty(at(clock)) }
	same(t, "before", []bool{on("06:00"), d.m.Person(2).DutySaid}, []bool{false, false})
	d.say("06:00", Duty{Person: 2, On: true})
	same(t, "shift", []bool{on("05:59"), on("06:00"), on("19:59"), on("20:00")},
		[]bool{false, true, true, false})
	d.say("12:00", Duty{Person: 2})
	same(t, "off", []bool{on("12:00"), d.m.Person(2).DutySaid}, []bool{false, true})
	d.say("13:00", Duty{Person: 99, On: true})
	same(t, "a stranger", d.m.Person(99).OnDuty(at("13:00")), false)
}

func TestPeople(t *testing.T) {
	d := newDay(t)
	same(t, "posts", []bool{d.m.Person(2).At(Tank), d.m.Person(2).At(Drum), d.m.Person(9).At(Tank)},
		[]bool{true, false, false})
	same(t, "roles", []bool{d.m.Person(1).Is(Keeper), d.m.Person(2).Is(Keeper),
		d.m.Person(9).Is(Worker)}, []bool{true, false, false})
	d.say("06:00", Reach{Person: 2})
	same(t, "reachable", d.m.Person(2).Reachable, false)
	d.say("06:10", Staff{Person: 2, Roles: []Role{Worker, Lead}, Lang: "es"})
	same(t, "still not", []any{d.m.Person(2).Reachable, d.m.Person(2).Lang}, []any{false, "es"})
	d.say("06:20", Staff{Person: 2, Gone: true})
	same(t, "left", []any{d.m.Person(2), len(d.m.Persons())}, []any{(*Person)(nil), 1})
	same(t, "number not used again", d.m.NextPerson(), PersonID(3))
	same(t, "last from", []Instant{d.m.LastFrom(1), d.m.LastFrom(3)}, []Instant{yard()[17].Heard, 0})
}

// Power goes twice before it is back: it has been out since the first time.
func TestPowerWaterRain(t *testing.T) {
	d := newDay(t)
	for _, l := range []told{{"10:00", Note{Place: Whole, What: PowerOut}},
		{"08:00", Note{Place: Whole, What: PowerOut}}, // heard late
		{"11:00", Note{Place: Whole, What: PowerBack}},
		{"09:00", Note{Place: Whole, What: RainStart}},
		{"10:30", Note{Place: Whole, What: WaterOut}},
		{"12:00", Note{Place: Whole, What: PowerOut}}} {
		d.say(l.clock, l.body)
	}
	for _, c := range []struct{ clock, power, water, rain string }{
		{"07:00", "", "", ""}, {"08:00", "08:00", "", ""}, {"10:00", "08:00", "", "09:00"},
		{"11:00", "", "10:30", "09:00"}, {"13:00", "12:00", "10:30", "09:00"},
	} {
		var want [3]Instant
		for i, w := range []string{c.power, c.water, c.rain} {
			if w != "" {
				want[i] = at(w)
			}
		}
		now := at(c.clock)
		same(t, c.clock, [3]Instant{d.m.PowerOut(now), d.m.WaterOut(now), d.m.Raining(now)}, want)
	}
	same(t, "last", d.m.LastNote(Whole, at("10:29"), PowerOut, RainStart).At, at("10:00"))
	same(t, "none", d.m.LastNote("t1", at("10:29"), Rough), (*Event)(nil))
}

func TestSiteFacts(t *testing.T) {
	d := newDay(t)
	same(t, "zone unknown", d.m.Zone(), time.UTC)
	d.say("06:00", Set{Name: SetZone, Text: "no/where"})
	same(t, "zone wrong", d.m.Zone(), time.UTC)
	d.say("06:00", Set{Name: SetZone, Text: "America/Bogota"})
	same(t, "zone", d.m.Zone().String(), "America/Bogota")
	d.say("06:00", SetMeasure{Word: "lata", Mass: Kg(20)})
	d.say("06:00", SetMeasure{Word: "lata", Product: "cherry", Mass: Kg(12)})
	cherry, _ := d.m.Measure("lata", "cherry")
	wet, _ := d.m.Measure("lata", "wet")
	_, none := d.m.Measure("debe", "wet")
	same(t, "measures", []any{cherry, wet, none, len(d.m.Measures())}, []any{Kg(12), Kg(20), false, 2})
	text, version := d.m.Book()
	same(t, "no book", []any{text, version}, []any{"", 0})
	d.say("06:00", Adopt{Version: 1, Text: "one"})
	d.say("06:00", Adopt{Version: 2, Text: "two"})
	text, version = d.m.Book()
	same(t, "book", []any{text, version, len(d.m.Books())}, []any{"two", 2, 2})
	d.say("06:00", Blind{From: at("01:00"), To: at("02:00")})
	same(t, "blind", d.m.BlindUntil(), at("02:00"))
	d.say("06:00", Set{Name: SetFirstLot, Number: 210})
	same(t, "lots", []LotID{d.m.NextLot(), d.m.NextLot()}, []LotID{211, 212})
	same(t, "air", d.m.AirPlaces(), []string{"yard"})
	set, ok := d.m.Setting(SetFirstLot)
	same(t, "setting", []any{set.Number, ok}, []any{210.0, true})
}

func TestPlacesComeAlongTheWayOfTheCoffee(t *testing.T) {
	var got []string
	for _, p := range newDay(t).m.Places() {
		got = append(got, p.Name)
	}
	same(t, "places", got, []string{"t1", "t2", "t3", "t4", "t5", "t6", "w1", "p1", "p2", "p3", "p4",
		"d1", "d2", "s1", "s2", "yard"})
}

// Weather and the whole mill touch everything; what was read outside touches nothing.
func TestReachOfAReading(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	stay := d.only("t1").Subject()
	for place, want := range map[string]bool{"t1": true, "t2": false, "yard": true, Whole: true,
		Outside: false} {
		s := d.m.Next()
		touched := d.m.Apply(Event{Seq: s, Msg: s, At: at("07:00"), Heard: at("07:00"),
			Body: Reading{Place: place, What: AmbientH, Value: 80}})
		same(t, place, slices.Contains(touched, stay), want)
	}
}

// The past has a new revision when a stay ends or something is heard about one that is over, and
// keeps it under the readings of the present.
func TestRevisionOfThePast(t *testing.T) {
	d := newDay(t)
	read := func(place string) Body { return Reading{Place: place, What: MassC, Value: 20} }
	var old, last Seq // the late reading of t1 and the one of t2
	changes := func(clock string, b Body) bool {
		before := d.m.PastRevision()
		if a, ok := b.(Amend); ok {
			a.Of = map[Seq]Seq{1: old, 2: last}[a.Of]
			b = a
		}
		if s := d.say(clock, b); clock == "07:30" {
			old = s
		} else if b == read("t2") {
			last = s
		}
		return d.m.PastRevision() != before
	}
	for _, c := range []struct {
		what  string
		clock string
		body  Body
		want  bool
	}{
		{"a fill", "06:00", add("t1", 1, 1000), false},
		{"a reading", "07:00", read("t1"), false},
		{"the air", "07:10", read("yard"), false},
		{"a wash", "08:00", move(ActWash, all("t1"), into("w1", 2, 0)), true},
		{"a reading of an empty tank", "09:00", read("t1"), false},
		{"the air now", "09:10", read("yard"), false},
		{"a late reading", "07:30", read("t1"), true},
		{"the air of then", "07:40", read("yard"), true},
		{"a late reading elsewhere", "07:50", read("t2"), false},
		{"the last of them set right", "09:40", Amend{Of: 2, Body: read("t2")}, false},
		{"an old one set right", "09:40", Amend{Of: 1, Body: read("t1")}, true},
		{"an old one withdrawn", "09:40", Amend{Of: 1}, true},
		{"a tag", "09:30", Tag{Place: "w1", Name: "process", Value: "washed"}, true},
	} {
		same(t, c.what, changes(c.clock, c.body), c.want)
	}
}

func TestQuantities(t *testing.T) {
	for _, q := range Quantities() {
		got, ok := QuantityOf(q.Name)
		if !ok || got != q || q.Low >= q.High {
			t.Errorf("%s: %+v", q.Name, got)
		}
	}
	if _, ok := QuantityOf("colour"); ok {
		t.Error("colour is measured")
	}
}

func TestInstants(t *testing.T) {
	same(t, "nothing", []any{At(time.Time{}), Instant(0).Time()}, []any{Instant(0), time.Time{}})
	now := time.Date(2026, 5, 1, 6, 0, 0, 123e6, time.UTC)
	same(t, "there and back", At(now).Time(), now)
	same(t, "later", At(now).Add(90*time.Second).Sub(At(now)), 90*time.Second)
	same(t, "kg", []any{Kg(12.3456), Kg(1.5).Kg()}, []any{Grams(12346), 1.5})
	same(t, "truth", []string{CannotTell.String(), No.String(), Yes.String()},
		[]string{"cannot tell", "no", "yes"})
}

// TestRedone: a line that only grows is not redone; one into which something is put, or out of which
// something is taken, is.
func TestRedone(t *testing.T) {
	d := newDay(t)
	changes := func(clock string, b Body) bool {
		before := d.m.Redone("yard")
		d.say(clock, b)
		return d.m.Redone("yard") != before
	}
	read := Reading{Place: "yard", What: AmbientC, Value: 20}
	same(t, "first", changes("08:00", read), false)
	same(t, "next", changes("09:00", read), false)
	same(t, "late", changes("08:30", read), true)
	same(t, "elsewhere", changes("08:30", Reading{Place: "t1", What: MassC, Value: 20}), false)
	last := d.m.Next() - 2
	same(t, "set right", changes("10:00", Amend{Of: last, Body: read}), true)
	same(t, "withdrawn", changes("10:00", Amend{Of: last}), true)
	same(t, "a clock put right", changes("07:00", Clock{Was: at("10:00"), Is: at("07:00")}), true)
}
