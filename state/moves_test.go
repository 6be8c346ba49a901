package state

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// day is the made-up mill of [yard] that is told things by hand. Clock times are those of its
// first day, "30:15" being 06:15 of the second; what is told after a later thing is heard late.
type day struct {
	*testing.T
	m *Mill
}

func newDay(t *testing.T) *day { return &day{t, Load(yard())} }

// at is a clock time of the made-up day.
func at(clock string) Instant {
	h, m, _ := strings.Cut(clock, ":")
	hours, err := strconv.Atoi(h)
	minutes, err2 := strconv.Atoi(m)
	if err != nil || err2 != nil {
		panic("clock time " + clock)
	}
	midnight := day0.Add(-6 * time.Hour)
	return midnight.Add(time.Duration(hours)*time.Hour + time.Duration(minutes)*time.Minute)
}

// say tells one thing and returns its journal number.
func (d *day) say(clock string, b Body) Seq {
	s := d.m.Next()
	d.m.Apply(Event{Seq: s, Msg: s, At: at(clock), Heard: max(at(clock), d.m.Heard()+1), By: 2,
		Body: b})
	return s
}

// only is the one stay of a place.
func (d *day) only(place string) *Stay {
	d.Helper()
	stays := d.m.StaysAt(place)
	if len(stays) != 1 {
		d.Fatalf("%d stays at %s, want 1\n%s", len(stays), place, d.m.Picture(true))
	}
	return stays[0]
}

// doubts fails unless the kinds of doubt about an event are these, in order.
func (d *day) doubts(s Seq, want ...ConflictKind) {
	d.Helper()
	var got []ConflictKind
	for _, c := range d.m.ConflictsOf(s) {
		got = append(got, c.Kind)
	}
	if !slices.Equal(got, want) {
		d.Fatalf("doubts %v, want %v\n%s", got, want, d.m.Picture(true))
	}
}

func (d *day) sum(s Seq, want Sum) {
	d.Helper()
	if got, ok := d.m.SumOf(s); !ok || got != want {
		d.Fatalf("sum %+v, want %+v", got, want)
	}
}

// same fails unless two values are deeply equal.
func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("%s: %+v, want %+v", what, got, want)
	}
}

// all is everything at a place, some a weighed part of it, into an arrival; kilograms.
func all(place string) Part              { return Part{Place: place, All: true} }
func some(place string, kg float64) Part { return Part{Place: place, Mass: Kg(kg)} }
func into(place string, lot LotID, kg float64) Part {
	return Part{Place: place, Lot: lot, Mass: Kg(kg)}
}

// add is fruit into a tank; a mass of 0 was not weighed.
func add(tank string, lot LotID, kg float64) Move {
	return Move{Act: ActAdd, Out: []Part{some(Outside, kg)}, In: []Part{into(tank, lot, kg)}}
}

func move(act string, from Part, to ...Part) Move {
	return Move{Act: act, Out: []Part{from}, In: to}
}

func TestTankIsFilledOverHours(t *testing.T) {
	d := newDay(t)
	first := d.say("06:00", add("t1", 1, 2000))
	d.say("09:30", add("t1", 2, 1500))
	d.say("10:00", Note{Place: "t1", What: Full})
	s := d.only("t1")
	same(t, "stay", s.ID, StayID{first, 1})
	same(t, "mass", s.Mass, Kg(3500))
	same(t, "oldest fruit", s.FirstIn(), at("06:00"))
	same(t, "youngest at 08:00", s.LastIn(at("08:00")), at("06:00"))
	same(t, "youngest at 12:00", s.LastIn(at("12:00")), at("09:30"))
	same(t, "full", s.Full, at("10:00"))
	same(t, "second number", d.m.Lot(2), (*Lot)(nil))
	same(t, "conflicts", d.m.Conflicts(), []Conflict(nil))
}

func TestFirstLoadHeardSecond(t *testing.T) {
	d := newDay(t)
	d.say("09:30", add("t1", 2, 1500))
	first := d.say("06:00", add("t1", 1, 2000))
	s := d.only("t1")
	same(t, "stay", s.ID, StayID{first, 1})
	same(t, "since", s.From, at("06:00"))
	same(t, "loads", len(s.Loads), 2)
	same(t, "youngest", s.LastIn(at("12:00")), at("09:30"))
	same(t, "mass", s.Mass, Kg(3500))
}

// An amendment moves its event to another instant or leaves it where it was; a fill keeps its stay.
func TestAmendedInstantCounts(t *testing.T) {
	d := newDay(t)
	fill := d.say("06:00", add("t1", 1, 1000))
	again := func(c float64) Body { return Reading{Place: "t1", What: MassC, Value: c} }
	read := d.say("07:00", again(20))
	full := d.say("09:00", Note{Place: "t1", What: Full})
	d.say("09:10", Note{Place: "t1", What: Full}) // said twice: full since the first
	d.say("10:00", move(ActWash, all("t1"), into("w1", 2, 0)))
	tank := func() *Stay { return d.m.Stay(StayID{fill, 1}) }
	events := func() int { return len(d.m.During(tank(), at("20:00"))) }
	same(t, "as told", []any{events(), tank().Full}, []any{3, at("09:00")})
	d.say("11:00", Amend{Of: read, At: at("10:30"), Body: again(20)})
	same(t, "read after the wash", events(), 2)
	d.say("11:10", Amend{Of: read, Body: again(21)})
	same(t, "another figure", []any{events(), d.m.Event(read).At}, []any{2, at("10:30")})
	d.say("11:20", Amend{Of: fill, At: at("05:00"), Body: add("t1", 1, 1200)})
	same(t, "fill", []any{tank().FirstIn(), tank().From, tank().Mass},
		[]any{at("05:00"), at("05:00"), Kg(1200)})
	d.say("11:30", Amend{Of: full, Body: Note{Place: "t1", What: Rough}})
	same(t, "full since the second", tank().Full, at("09:10"))
}

func TestSpreadFromTankByWayOfTheFloor(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t3", 1, 3000))
	d.say("21:50", Note{Place: "t3", What: WashOrdered})
	wash := d.say("22:00", Move{Act: ActWash, Out: []Part{all("t3")}})
	floor := d.only(Floor)
	same(t, "on the floor", []any{floor.ID, floor.Came, floor.Kind, floor.Mass},
		[]any{StayID{wash, 1}, "t3", Waiting, Kg(3000)})
	spread := d.say("23:00", move(ActSpread, all("t3"), into("p1", 9, 0)))
	s := d.only("p1")
	same(t, "keeps its lot", s.ID, StayID{spread, 1})
	same(t, "floor left", []any{floor.To, floor.Left}, []any{at("23:00"), ActSpread})
	same(t, "conflicts", d.m.Conflicts(), []Conflict(nil))
}

func TestWashHeardAfterTheSpread(t *testing.T) {
	d := newDay(t)
	tank := d.say("06:00", add("t3", 1, 3000))
	d.say("21:50", Note{Place: "t3", What: WashOrdered})
	spread := d.say("23:00", move(ActSpread, all("t3"), into("p1", 9, 0)))
	same(t, "left by", d.m.Stay(StayID{tank, 1}).Left, ActSpread)
	id := d.only("p1").ID
	wash := d.say("22:00", Move{Act: ActWash, Out: []Part{all("t3")}})
	s := d.m.Stay(StayID{tank, 1})
	same(t, "tank", []any{s.To, s.Left}, []any{at("22:00"), ActWash})
	floor := d.m.Stay(StayID{wash, 1})
	same(t, "floor", []any{floor.From, floor.To}, []any{at("22:00"), at("23:00")})
	same(t, "patio", []any{id, d.only("p1").ID}, []any{StayID{spread, 1}, StayID{spread, 1}})
	same(t, "conflicts", d.m.Conflicts(), []Conflict(nil))
}

func TestPartGetsANumberAndTheRestKeepsItsOwn(t *testing.T) {
	d := newDay(t)
	first := d.say("06:00", add("t1", 1, 4000))
	part := d.say("08:00", move(ActMove, some("t1", 1500), into("t2", 2, 0)))
	same(t, "rest", []any{d.only("t1").ID, d.only("t1").Mass}, []any{StayID{first, 1}, Kg(2500)})
	same(t, "part", []any{d.only("t2").ID, d.only("t2").Mass}, []any{StayID{part, 2}, Kg(1500)})
	l := d.m.Lot(2)
	same(t, "parents", l.Parents, []Share{{1, Kg(1500)}})
	same(t, "born", l.Born, at("06:00"))
	// the same mass out again is all of it, and goes under its own number
	d.say("09:00", move(ActMove, some("t2", 1500), into("w1", 3, 0)))
	same(t, "whole", d.only("w1").ID.Lot, LotID(2))
	// a part that comes home is no blend, and nobody's own forebear
	d.say("10:00", move(ActMove, all("w1"), into("t1", 4, 0)))
	same(t, "home", []any{d.only("t1").Mass, d.m.Lot(1).Parents}, []any{Kg(4000), []Share(nil)})
	same(t, "conflicts", d.m.Conflicts(), []Conflict(nil))
}

func TestBlendKnowsItsShares(t *testing.T) {
	d := newDay(t)
	d.say("06:00", move(ActMove, some(Outside, 1200), into("p1", 1, 1200)))
	d.say("07:00", move(ActMove, some(Outside, 800), into("p3", 2, 800)))
	load := d.say("30:00", Move{Act: ActLoad, Out: []Part{all("p1"), all("p3")},
		In: []Part{into("d1", 3, 1900)}})
	same(t, "parents", d.m.Lot(3).Parents, []Share{{1, Kg(1200)}, {2, Kg(800)}})
	same(t, "born", d.m.Lot(3).Born, at("06:00"))
	d.sum(load, Sum{Taken: Kg(2000), Arrived: Kg(1900), Lost: Kg(100)})
	d.doubts(load)
	// one weight for several lots that lie together is shared by what each had
	d.say("31:00", move(ActMove, some(Outside, 300), into("w1", 4, 300)))
	d.say("31:10", move(ActMove, some(Outside, 100), into("w1", 5, 100)))
	d.say("32:00", move(ActMove, some("w1", 200), into("p1", 6, 0)))
	same(t, "shares", d.m.Lot(6).Parents, []Share{{4, Kg(150)}, {5, Kg(50)}})
	// into a drum that turns: the lot in it keeps its number and gains a parent
	d.say("32:30", move(ActLoad, all("p1"), into("d1", 7, 0)))
	same(t, "gained", d.m.Lot(3).Parents, []Share{{1, Kg(1200)}, {2, Kg(800)}, {6, Kg(200)}})
}

func TestClassesShareTheirParent(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	d.say("21:50", Note{Place: "t1", What: WashOrdered})
	first, second := into("p1", 2, 600), into("p2", 3, 300)
	first.Class, second.Class = "1", "2"
	wash := d.say("22:00", move(ActWash, all("t1"), first, second, into(Floor, 4, 0)))
	d.sum(wash, Sum{Taken: Kg(1000), Arrived: Kg(1000)})
	for i, kg := range []float64{600, 300, 100} {
		l := d.m.Lot(LotID(i + 2))
		same(t, "parents", l.Parents, []Share{{1, Kg(kg)}})
		same(t, "class", l.Tag("class"), []string{"1", "2", ""}[i])
	}
	same(t, "unweighed", d.only(Floor).Mass, Kg(100))
}

// What a move takes, finds and loses, when one side or the other was not weighed.
func TestSums(t *testing.T) {
	for _, c := range []struct {
		name  string
		loads []float64 // into t1; 0 was not weighed
		out   Part
		in    Part
		want  Sum
		left  Grams // in the tank after it; -1: the stay is over
	}{
		{"weighed on arrival", []float64{0}, all("t1"), into("w1", 9, 3800),
			Sum{Taken: Kg(3800), Arrived: Kg(3800)}, -1},
		{"one load unweighed", []float64{1000, 0}, all("t1"), into("w1", 9, 2500),
			Sum{Taken: Kg(2500), Arrived: Kg(2500)}, -1},
		{"never weighed", []float64{0}, all("t1"), into("w1", 9, 0), Sum{}, -1},
		{"less arrives", []float64{4000}, all("t1"), into("w1", 9, 3000),
			Sum{Taken: Kg(4000), Arrived: Kg(3000), Lost: Kg(1000)}, -1},
		{"more arrives", []float64{4000}, all("t1"), into("w1", 9, 4100),
			Sum{Taken: Kg(4000), Found: Kg(100), Arrived: Kg(4100)}, -1},
		{"weighed on leaving", []float64{4000}, Part{Place: "t1", All: true, Mass: Kg(3900)},
			into("w1", 9, 0), Sum{Taken: Kg(4000), Arrived: Kg(3900), Lost: Kg(100)}, -1},
		{"more said to leave", []float64{2000}, some("t1", 3000), into("w1", 9, 0),
			Sum{Taken: Kg(2000), Found: Kg(1000), Arrived: Kg(3000)}, -1},
		{"nothing there", nil, some("t1", 500), into("w1", 9, 0),
			Sum{Found: Kg(500), Arrived: Kg(500)}, -1},
		{"part of what was not weighed", []float64{0}, some("t1", 500), into("w1", 9, 0),
			Sum{Taken: Kg(500), Arrived: Kg(500)}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newDay(t)
			for i, kg := range c.loads {
				d.say("06:00", add("t1", LotID(i+1), kg))
			}
			s := d.say("08:00", move(ActMove, c.out, c.in))
			d.sum(s, c.want)
			same(t, "arrived", d.only("w1").Mass, c.want.Arrived)
			if c.left >= 0 {
				same(t, "left", d.only("t1").Mass, c.left)
			} else if n := len(d.m.StaysAt("t1")); n > 0 {
				t.Fatalf("%d stays are left", n)
			}
		})
	}
}

func TestNothingLeavesTwice(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	twice := d.say("08:00", Move{Act: ActMove, In: []Part{into("w1", 2, 0)},
		Out: []Part{some("t1", 50), some("t1", 70), all("t1"), all("t1")}})
	s, _ := d.m.SumOf(twice)
	same(t, "taken", s.Taken, Kg(1000))
	same(t, "closed once", len(d.m.Closed(Tank)), 1)
	d.say("09:00", add("t2", 3, 1000))
	d.say("10:00", Move{Act: ActMove, In: []Part{into("w1", 4, 0)},
		Out: []Part{some("t2", 50), some("t2", 70)}})
	same(t, "rest", d.only("t2").Mass, Kg(880))
}

// 3 000 kg at 50 % hold 1 500 kg dry; at 11 % that weighs 1 500/0.89 = 1 685.393 kg.
func TestWaterIsToldFromLoss(t *testing.T) {
	for _, c := range []struct{ arrived, water float64 }{
		{1600, 1314.607}, {1700, 1300}, {3100, 0},
	} {
		d := newDay(t)
		d.say("06:00", move(ActMove, some(Outside, 3000), into("p1", 1, 3000)))
		out, in := all("p1"), into("s1", 2, c.arrived)
		out.Moisture, in.Moisture = 50, 11
		s, _ := d.m.SumOf(d.say("80:00", move(ActStore, out, in)))
		same(t, "water", s.Water, Kg(c.water))
	}
}

// What was not weighed when it came weighs what is left of its dry matter: 3 000 kg at 50 % are
// 1 685.393 kg at 11 %, and what went is water.
func TestUnweighedCoffeeHasDried(t *testing.T) {
	for _, c := range []struct{ out, in, arrived, water float64 }{
		{50, 11, 1685.393, 1314.607}, {50, 0, 3000, 0}, {0, 11, 3000, 0}, {11, 50, 3000, 0},
	} {
		d := newDay(t)
		d.say("06:00", move(ActMove, some(Outside, 3000), into("p1", 1, 3000)))
		out, in := all("p1"), into("s1", 2, 0)
		out.Moisture, in.Moisture = c.out, c.in
		s, _ := d.m.SumOf(d.say("80:00", move(ActStore, out, in)))
		same(t, "arrived", s.Arrived, Kg(c.arrived))
		same(t, "water", s.Water, Kg(c.water))
		same(t, "held", d.only("s1").Mass, Kg(c.arrived))
	}
}

func TestTagsAreInheritedWhereParentsAgree(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	d.say("06:10", add("t2", 2, 1000))
	tag := func(clock, place, name, value string) Seq {
		return d.say(clock, Tag{Place: place, Name: name, Value: value})
	}
	tag("07:00", "t1", "owner", "a")
	tag("07:00", "t2", "owner", "a")
	tag("07:00", "t1", "claim", "organic")
	tag("07:00", "t1", "process", "washed")
	both := []Part{all("t1"), all("t2")}
	blend := d.say("08:00", Move{Act: ActMove, Out: both, In: []Part{into("w1", 3, 0)}})
	same(t, "tags", d.m.Lot(3).Tags, map[string]string{"owner": "a"})
	d.doubts(blend, MixedTags)
	tag("07:30", "t2", "claim", "organic") // heard late: now they agree
	same(t, "claim", d.m.Lot(3).Tag("claim"), "organic")
	d.doubts(blend)
	// another lot that joins takes away what it does not share
	d.say("09:00", add("d1", 4, 500))
	tag("09:05", "d1", "owner", "b")
	join := d.say("10:00", move(ActLoad, all("w1"), into("d1", 5, 0)))
	same(t, "tags", d.m.Lot(4).Tags, map[string]string{})
	d.doubts(join, MixedTags, Blend)
}

// TestStaysKeepTheirTags: what became one with another lot in the drum is honey no longer; the tank
// it came from held honey all the same, and so it is told of it as long as it is in one piece.
func TestStaysKeepTheirTags(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	d.say("06:10", add("t2", 2, 1000))
	ids := []StayID{d.only("t1").ID, d.only("t2").ID}
	d.say("20:00", move(ActLoad, all("t1"), into("d1", 9, 0)))
	ids = append(ids, d.only("d1").ID)
	processes := func() (out []string) {
		for _, id := range ids {
			out = append(out, d.m.Stay(id).Tag("process"))
		}
		return append(out, d.m.Lot(1).Tag("process"))
	}
	d.say("20:10", Tag{Place: "d1", Name: "process", Value: "honey"})
	d.say("20:15", Tag{Place: "t2", Name: "process", Value: "washed"})
	same(t, "told later", processes(), []string{"honey", "washed", "honey", "honey"})
	d.say("20:20", move(ActLoad, all("t2"), into("d1", 9, 0)))
	same(t, "after they became one", processes(), []string{"honey", "washed", "", ""})
	d.say("20:30", Tag{Place: "d1", Name: "process", Value: "natural"})
	same(t, "told of both", processes(), []string{"honey", "washed", "natural", "natural"})
	d.m.Apply(Event{Seq: d.m.Next(), At: at("05:00"), Heard: at("21:00"),
		Body: move(ActAdd, some(Outside, 9), into("t3", 9, 9))}) // late: all is worked out anew
	same(t, "replayed", processes(), []string{"honey", "washed", "natural", "natural"})
}

// TestAClassHoldsFromHereOn: what goes on by another class was of none in the tank it left.
func TestAClassHoldsFromHereOn(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	tank := d.only("t1").ID
	to := into("w1", 9, 0)
	to.Class = "1"
	d.say("20:00", move(ActWash, all("t1"), to))
	same(t, "classes", []string{d.m.Stay(tank).Tag("class"), d.only("w1").Tag("class"),
		d.m.Lot(1).Tag("class")}, []string{"", "1", "1"})
}

// TestMassAtAnInstant: what was there before half of it left, and before the second load came.
func TestMassAtAnInstant(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 3000))
	d.say("07:00", add("t1", 2, 1000))
	d.say("20:00", move(ActWash, some("t1", 1500), into("w1", 3, 0)))
	d.say("20:30", move(ActWash, some("t1", 500), into("w1", 4, 0)))
	tank := d.only("t1")
	for clock, want := range map[string]float64{"06:30": 3000, "07:00": 4000, "19:59": 4000,
		"20:00": 2500, "20:29": 2500, "20:30": 2000, "40:00": 2000} {
		same(t, clock, tank.MassAt(at(clock)), Kg(want))
	}
	d.say("21:00", move(ActWash, all("t1"), into("w1", 5, 0)))
	same(t, "the closed tank", tank.MassAt(at("20:10")), Kg(2500))
}

func TestTagFindsCoffeeOnTheFloorByItsTank(t *testing.T) {
	d := newDay(t)
	d.say("06:00", add("t1", 1, 1000))
	d.say("20:00", Move{Act: ActWash, Out: []Part{all("t1")}})
	d.doubts(d.say("20:10", Tag{Place: "t1", Name: "process", Value: "washed"}))
	same(t, "process", d.m.Lot(1).Tag("process"), "washed")
	d.doubts(d.say("20:20", Tag{Place: "t2", Name: "owner", Value: "a"}), NothingThere)
	d.doubts(d.say("20:30", Tag{Place: Floor, Lot: 7, Name: "owner", Value: "a"}), NothingThere)
}

func TestNotesOfOneLotLeaveTheOthers(t *testing.T) {
	d := newDay(t)
	d.say("06:00", move(ActMove, some(Outside, 300), into("w1", 1, 300)))
	d.say("06:10", move(ActMove, some(Outside, 100), into("w1", 2, 100)))
	d.say("07:00", Note{Place: "w1", Lot: 2, What: WashOrdered})
	stays := d.m.StaysAt("w1")
	same(t, "ordered", []Instant{stays[0].Ordered, stays[1].Ordered}, []Instant{0, at("07:00")})
}

func TestClosedPlaceKeepsItsPast(t *testing.T) {
	d := newDay(t)
	before := d.say("06:00", add("t1", 1, 1000))
	d.say("07:00", SetPlace{Name: "t1", Gone: true})
	_, known := d.m.Place("t1")
	same(t, "known", known, false)
	same(t, "listed", slices.ContainsFunc(d.m.Places(), func(p Place) bool { return p.Name == "t1" }),
		false)
	same(t, "kind", d.only("t1").Kind, Tank)
	d.doubts(before)
	d.doubts(d.say("08:00", add("t1", 2, 100)), NoSuchPlace)
}

// At the instant of a move the journal decides: what was said before it belongs to the stay that
// ends, what was said after it to the one that begins.
func TestBordersAtOneInstant(t *testing.T) {
	d := newDay(t)
	old := d.m.Stay(StayID{d.say("06:00", move(ActLoad, some(Outside, 900), into("d1", 1, 900))), 1})
	d.say("06:30", move(ActMove, some(Outside, 800), into("p1", 2, 800)))
	read := func(place string) Seq {
		return d.say("30:00", Reading{Place: place, What: Moisture, Value: 10.6, Digits: 1})
	}
	last := read("d1")
	d.say("30:00", move(ActUnload, all("d1"), into("s1", 3, 0)))
	between := read("d1")
	d.say("30:00", move(ActLoad, all("p1"), into("d1", 4, 0)))
	first, stored := read("d1"), read("s1")
	during := func(s *Stay) (out []Seq) {
		for _, e := range d.m.During(s, at("40:00")) {
			out = append(out, e.Seq)
		}
		return out
	}
	same(t, "old run", during(old), []Seq{last})
	same(t, "new run", during(d.only("d1")), []Seq{first})
	same(t, "silo", during(d.only("s1")), []Seq{stored})
	same(t, "line", len(d.m.Line("d1", at("30:00"))), 3)
	same(t, "before", len(d.m.Line("d1", at("29:59"))), 0)
	same(t, "the empty drum", d.m.Event(between).At, at("30:00"))
	same(t, "open then", []bool{old.OpenAt(at("29:59")), old.OpenAt(at("30:00"))},
		[]bool{true, false})
}
