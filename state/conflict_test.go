package state

import "testing"

// told is one line by hand: a clock time and what was said.
type told struct {
	clock string
	body  Body
}

// Each row is doubted, if at all, about its last line.
func TestConflicts(t *testing.T) {
	ordered := told{"07:00", Note{Place: "t1", What: WashOrdered}}
	fill := told{"06:00", add("t1", 1, 4000)}
	wash := func(kg float64) told {
		return told{"08:00", move(ActWash, all("t1"), into("w1", 2, kg))}
	}
	dry := func(kg float64) told { // off the patio at 11 %, onto it at 50 %
		out, in := all("p1"), into("s1", 2, kg)
		out.Moisture, in.Moisture = 50, 11
		return told{"80:00", move(ActStore, out, in)}
	}
	wet := told{"06:00", move(ActMove, some(Outside, 3000), into("p1", 1, 3000))}
	for _, c := range []struct {
		name  string
		lines []told
		want  []Conflict // Of is the last line
	}{
		{"an empty drum is unloaded",
			[]told{{"06:00", move(ActUnload, some("d1", 500), into("s1", 1, 500))}},
			[]Conflict{{Kind: NothingThere, Place: "d1", Mass: Kg(500)}}},
		{"coffee from nowhere", []told{{"06:00", Move{Act: ActSpread, In: []Part{into("p1", 1, 400),
			into("p2", 2, 100)}}}}, []Conflict{{Kind: NothingThere, Place: "p1", Mass: Kg(500)}}},
		{"a lot that is elsewhere", []told{fill, ordered, {"08:00", Move{Act: ActWash,
			Out: []Part{{Place: "t1", Lot: 7, All: true}}}}},
			[]Conflict{{Kind: NothingThere, Place: "t1", Lot: 7}}},
		{"just what fits", []told{fill, {"07:00", add("t1", 2, 2000)}}, nil},
		{"1 kg more than fits", []told{fill, {"07:00", add("t1", 2, 2001)}},
			[]Conflict{{Kind: MoreThanFits, Place: "t1", Mass: Kg(6001), Fits: Kg(6000)}}},
		{"two lots in a place for one", []told{{"05:00", SetPlace{Name: "p1", Kind: Patio,
			Capacity: Kg(3000)}}, wet, {"07:00", move(ActMove, some(Outside, 100), into("p1", 2, 100))}},
			[]Conflict{{Kind: MoreThanFits, Place: "p1", Mass: Kg(3100), Fits: Kg(3000)}}},
		{"1 % heavier is within error", []told{fill, ordered, wash(4040)}, nil},
		{"heavier by more than 1 %", []told{fill, ordered, wash(4041)},
			[]Conflict{{Kind: Heavier, Place: "t1", Mass: Kg(4041), Fits: Kg(4000)}}},
		// 1 500 kg dry weigh 1 685.393 kg at 11 %: 1 715 are 1.8 % more, 1 700 are 0.9 % more. The
		// weights are told as they were said, at the moisture that arrived.
		{"heavier when dry", []told{wet, dry(1715)},
			[]Conflict{{Kind: Heavier, Place: "p1", Mass: Kg(1715), Fits: 1685393}}},
		{"within error when dry", []told{wet, dry(1700)}, nil},
		{"a load after full", []told{fill, {"07:00", Note{Place: "t1", What: Full}},
			{"08:00", add("t1", 2, 500)}},
			[]Conflict{{Kind: AfterFull, Place: "t1", Lot: 1, Mass: Kg(500)}}},
		{"a late load before full", []told{fill, {"09:00", Note{Place: "t1", What: Full}},
			{"08:00", add("t1", 2, 500)}}, nil},
		{"another lot into a tank", []told{fill, {"06:30", add("t2", 2, 700)},
			{"08:00", move(ActMove, all("t2"), into("t1", 3, 0))}},
			[]Conflict{{Kind: Blend, Place: "t1", Lot: 1, Mass: Kg(700)}}},
		{"lots side by side on a patio", []told{wet,
			{"07:00", move(ActMove, some(Outside, 100), into("p1", 2, 100))}}, nil},
		{"two owners in one drum", []told{
			{"06:00", move(ActMove, some(Outside, 100), into("p1", 1, 100))},
			{"06:10", move(ActMove, some(Outside, 200), into("p2", 2, 200))},
			{"07:00", Tag{Place: "p1", Name: "owner", Value: "a"}},
			{"07:10", Tag{Place: "p2", Name: "owner", Value: "b"}},
			{"08:00", Move{Act: ActLoad, Out: []Part{all("p1"), all("p2")},
				In: []Part{into("d1", 3, 0)}}}},
			[]Conflict{{Kind: MixedTags, Place: "d1", Lot: 3}}},
		{"a wash nobody ordered", []told{fill, wash(0)},
			[]Conflict{{Kind: NotOrdered, Place: "t1", Lot: 1}}},
		{"a wash that was ordered", []told{fill, ordered, wash(0)}, nil},
		{"ordered, for the coffee before", []told{fill, ordered, wash(0),
			{"09:00", add("t1", 3, 100)}, {"10:00", move(ActWash, all("t1"), into("w1", 4, 0))}},
			[]Conflict{{Kind: NotOrdered, Place: "t1", Lot: 3}}},
		{"a place nobody named", []told{fill, {"08:00", move(ActMove, all("t1"), into("x9", 2, 0))}},
			[]Conflict{{Kind: NoSuchPlace, Place: "x9"}}},
		{"an amendment of nothing", []told{{"06:00", Amend{Of: 400}}},
			[]Conflict{{Kind: NothingToAmend}}},
		{"an amendment of a keeper's line", []told{{"06:00", Amend{Of: 3}}},
			[]Conflict{{Kind: NothingToAmend}}},
		{"an amendment into a keeper's line",
			[]told{fill, {"06:00", Amend{Of: Seq(len(yard()) + 1), Body: Set{Name: SetZone}}}},
			[]Conflict{{Kind: NothingToAmend}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, s, may := newDay(t), Seq(0), []Conflict(nil)
			for _, l := range c.lines {
				may = d.m.May(Event{At: at(l.clock), Body: l.body})
				s = d.say(l.clock, l.body)
			}
			for i := range c.want {
				c.want[i].Of = s
			}
			same(t, "doubts", d.m.ConflictsOf(s), c.want)
			same(t, "May", may, c.want)
			same(t, "all doubts", len(d.m.Conflicts()), len(c.want))
		})
	}
}

func TestSeriousConflicts(t *testing.T) {
	for _, c := range []struct {
		c    Conflict
		want bool
	}{
		{Conflict{Kind: Heavier, Mass: Kg(1050), Fits: Kg(1000)}, false},
		{Conflict{Kind: Heavier, Mass: Kg(1051), Fits: Kg(1000)}, true},
		{Conflict{Kind: MoreThanFits, Mass: Kg(2000), Fits: Kg(1000)}, false},
	} {
		same(t, string(c.c.Kind), c.c.Serious(), c.want)
	}
}

// A doubt goes when what settles it is heard, and comes back when that is withdrawn.
func TestDoubtIsSettledByALateLine(t *testing.T) {
	d := newDay(t)
	unload := d.say("20:00", move(ActUnload, all("d1"), into("s1", 1, 900)))
	d.doubts(unload, NothingThere)
	same(t, "found", d.m.Lot(1).Found, Kg(900))
	load := d.say("08:00", move(ActLoad, some(Outside, 1500), into("d1", 2, 1500)))
	d.doubts(unload)
	d.sum(unload, Sum{Taken: Kg(1500), Arrived: Kg(900), Lost: Kg(600)})
	same(t, "lot", d.only("s1").ID, StayID{unload, 2})
	d.say("21:00", Amend{Of: load})
	d.doubts(unload, NothingThere)
}
