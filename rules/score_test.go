package rules

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/record"
)

// sixAM is when the records of these tests begin.
var sixAM = time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)

func hoursOn(hours float64) time.Time {
	return sixAM.Add(time.Duration(math.Round(hours*60)) * time.Minute)
}

func readSheet(t *testing.T, kind record.Kind, text string) record.Sheet {
	t.Helper()
	s, err := record.Read(kind, "test.csv", strings.NewReader(text), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A drum's rows become readings with their method's error, air, weights and stops.
func TestRunOf(t *testing.T) {
	r := RunOf(readSheet(t, record.Drum,
		"time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire,method,weight_kg\n"+
			"2026-01-12 06:00,48,50,20,70,on,,2000\n"+
			"2026-01-12 07:00,,,,,out,,\n"+
			"2026-01-12 08:00,30,30,20,70,out,hot-meter,\n"+
			"2026-01-12 09:00,,,,,on,,\n"+
			"2026-01-12 10:00,28,51,,,,oven,\n"+
			"2026-01-12 11:00,,,,,out,,\n"), nil, 11)
	if len(r.Readings) != 3 || r.Target != 11 || len(r.Weights) != 1 || r.Weights[0].Kg != 2000 {
		t.Fatalf("%+v", r)
	}
	if a, b, c := r.Readings[0], r.Readings[1], r.Readings[2]; a.Sigma != 0 || !b.Hot ||
		b.Sigma != drying.Sigma("hot-meter", 30) || c.Sigma != drying.Sigma("oven", 28) {
		t.Errorf("%+v", r.Readings)
	}
	if len(r.Air) != 3 || r.Air[0].RH != .7 || !math.IsNaN(r.Air[2].Ambient) {
		t.Errorf("%+v", r.Air)
	}
	want := []drying.Stop{{From: hoursOn(1), To: hoursOn(3)}, {From: hoursOn(5)}}
	if !slices.Equal(r.Stops, want) {
		t.Errorf("%v", r.Stops)
	}
	if f := r.Forecast(); f.Status != drying.FireOut {
		t.Errorf("an open stop: %s", f.Status)
	}
}

func TestTankOf(t *testing.T) {
	tank := TankOf(readSheet(t, record.Tank, "time,mass_c,ambient_c,ph,hand,add_kg\n"+
		"2026-01-12 06:00,,,,,1200\n2026-01-12 08:00,20.5,18,5.5,,800\n"+
		"2026-01-12 20:00,,,,slippery,\n2026-01-12 23:00,,,,rough,\n"), nil)
	if len(tank.Loads) != 2 || tank.Loads[1].Kg != 800 || len(tank.Readings) != 3 || tank.Past != nil {
		t.Fatalf("%+v", tank)
	}
	if r := tank.Readings; r[0].Mass != 20.5 || r[0].PH != 5.5 || r[1].Hand != ferment.Slippery ||
		r[2].Hand != ferment.Rough || !math.IsNaN(r[1].Mass) {
		t.Errorf("%+v", r)
	}
}

func TestPatioOf(t *testing.T) {
	p := PatioOf(readSheet(t, record.Patio,
		"time,moisture_pct,ambient_c,ambient_rh_pct,rain_mm,depth_cm,covered,turned\n"+
			"2026-01-12 06:00,48,20,70,,3,,\n2026-01-12 08:00,,,,5,,yes,\n"+
			"2026-01-12 09:00,,,,,,,yes\n2026-01-12 12:00,45,22,60,,2.5,no,\n"), nil, 12)
	if len(p.Readings) != 2 || p.DepthCm != 2.5 || p.Target != 12 || len(p.Weather) != 3 ||
		!slices.Equal(p.Turned, []time.Time{hoursOn(3)}) ||
		!slices.Equal(p.Covers, []drying.Stop{{From: hoursOn(2), To: hoursOn(6)}}) {
		t.Fatalf("%+v", p)
	}
	if w := p.Weather[1]; w.Rain != 5 || w.TempC != 20 {
		t.Errorf("rain without a look at the air: %+v", w)
	}
}

// Past records reach the forecasts.
func TestRecordsTeach(t *testing.T) {
	drums := series(t, record.Drum, "series/made-up-drum/*.csv")
	if r := RunOf(drums[5], drums[:5], 10.5); r.Past.Taught != 5 {
		t.Errorf("%+v", r.Past)
	}
	sticks := series(t, record.Patio, "series/sticks-bc1/*.csv")
	if p := PatioOf(sticks[5], sticks[:5], 12.28); p.Past.Taught == 0 {
		t.Errorf("%+v", p.Past)
	}
	tanks := series(t, record.Tank, "ferment/made-up-season/*.csv")
	if f := TankOf(tanks[5], tanks[:5]).Forecast(); f.Reason.PastStays != 5 {
		t.Errorf("%+v", f.Reason)
	}
}

// The line is exact on a straight line, and gives no answer where nothing falls.
func TestHindcastLine(t *testing.T) {
	reading := func(hour, m float64) drying.Reading {
		return drying.Reading{At: hoursOn(hour), Moisture: m}
	}
	straight := []drying.Reading{reading(0, 99), reading(1, 20), reading(2, 18), reading(4, 14)}
	if at := hindcastLine(straight, 10); !at.Equal(hoursOn(6)) {
		t.Errorf("%v", at)
	}
	for _, rs := range [][]drying.Reading{straight[:2], nil,
		{reading(0, 12), reading(1, 12), reading(2, 12)},
		{reading(0, 12), reading(1, 13), reading(2, 14)},
		{reading(0, 12), reading(1, 12), reading(2, 11.9999)}} {
		if at := hindcastLine(rs, 10); !at.IsZero() {
			t.Errorf("%v: %v", rs, at)
		}
	}
}

// The rival for a tank takes the last three temperatures, in the mass or beside it.
func TestHindcastPace(t *testing.T) {
	tank := ferment.Tank{}
	for i, c := range []float64{30, 19, 20, 21} {
		r := ferment.NewReading(hoursOn(float64(i)))
		r.Mass = c
		tank.Readings = append(tank.Readings, r)
	}
	if at := hindcastPace(tank, sixAM); at.Sub(hoursOn(ferment.HoursAt20)).Abs() > time.Second {
		t.Errorf("%v", at)
	}
	air := ferment.NewReading(hoursOn(1))
	air.Ambient = 20 - ferment.SelfHeating
	if at := hindcastPace(ferment.Tank{Readings: []ferment.Reading{air}}, sixAM); at.Sub(
		hoursOn(ferment.HoursAt20)).Abs() > time.Second {
		t.Errorf("%v", at)
	}
	if at := hindcastPace(ferment.Tank{}, sixAM); !at.IsZero() {
		t.Errorf("%v", at)
	}
}

// The end of a tank lies in the middle between the last slippery test and the first rough one.
func TestHindcastLoose(t *testing.T) {
	for _, c := range []struct {
		name   string
		hand   string // a test every hour from the third on: s, r or -
		washed float64
		want   float64 // hours; 0: no end
	}{
		{"both", "sssr", 0, 5.5},
		{"rough stays rough", "sssrr", 0, 5.5},
		{"a rough one not believed", "srssr", 0, 6.5},
		{"washed", "ssss", 8, 7},
		{"rough before the washing", "sssr", 9, 5.5},
		{"washed while it slipped", "ssss", 5, 0},
		{"never rough", "ss--", 0, 0},
		{"never slippery", "----r", 0, 6},                      // not before 7/1.4 h
		{"long before", "s-----------r", 0, (15/1.4 + 15) / 2}, // the same
	} {
		tank := ferment.Tank{Loads: []ferment.Load{{At: sixAM}}}
		for i, h := range c.hand {
			r := ferment.NewReading(hoursOn(float64(i + 3)))
			r.Hand = map[rune]ferment.Hand{'s': ferment.Slippery, 'r': ferment.Rough}[h]
			tank.Readings = append(tank.Readings, r)
		}
		washed := time.Time{}
		if c.washed > 0 {
			washed = hoursOn(c.washed)
		}
		end := hindcastLoose(tank, sixAM, washed)
		if c.want == 0 != end.IsZero() || c.want > 0 && end.Sub(sixAM).Hours()-c.want > .01 ||
			c.want > 0 && end.Sub(sixAM).Hours()-c.want < -.01 {
			t.Errorf("%s: %v, want %.2f h", c.name, end, c.want)
		}
	}
}

// Fixed hours are the median of the loads that were over, and the stated ones before.
func TestFixedHours(t *testing.T) {
	n := math.NaN()
	for _, c := range []struct {
		hours []float64
		want  float64
	}{{nil, 30}, {[]float64{n}, 30}, {[]float64{20, n}, 20}, {[]float64{20, n, 24, 60}, 24},
		{[]float64{20, 24}, 22}} {
		if got := scoreFixed(c.hours, 30); got != c.want {
			t.Errorf("%v: %g", c.hours, got)
		}
	}
}

// The sums of a few cases, worked by hand.
func TestScoreTally(t *testing.T) {
	n := math.NaN()
	s := Scores{Kind: record.Drum, Cases: []Hindcast{
		{Lead: 6, Own: 1, Alone: 2, Line: 3, Fixed: .5, Held: true},
		{Lead: 6, Own: 2, Alone: 2, Line: n, Fixed: 4, Held: true},
		{Lead: 6, Own: 4, Alone: n, Line: 1, Fixed: 9},
		{Lead: 6, Own: n, Alone: n, Line: 0, Fixed: 0},
		{Lead: 3, Own: n, Alone: n, Line: 1, Fixed: 1},
	}}
	s.scoreTally()
	six := s.Leads[1]
	if six.Lead != 6 || six.Cases != 4 || six.Answered != 3 || six.Held != 2 || six.Error != 2 ||
		six.Alone != (RivalScore{2, 2, 1}) || six.Line != (RivalScore{2, 2, 1}) ||
		six.Fixed != (RivalScore{3, 4, 2}) || math.Abs(six.HeldShare()-2.0/3) > 1e-12 {
		t.Errorf("%+v", six)
	}
	if six.Beats() { // as good as the line is not better
		t.Error("2 h against 2 h counts as better")
	}
	if three := s.Leads[2]; three.Cases != 1 || three.Answered != 0 || three.Beats() ||
		!math.IsNaN(three.Error) || three.Line.Answered != 0 {
		t.Errorf("%+v", three)
	}
	none := LeadScore{Answered: 1, Error: 1, Line: RivalScore{0, n, 0}, Fixed: RivalScore{1, 2, 1}}
	if !none.Beats() {
		t.Error("a rival without an answer is no better")
	}
}

// No forecast knows what came after it: neither the rest of its own record nor records that were
// not over, whatever they say.
func TestHindcastsKnowNothingLater(t *testing.T) {
	drums := series(t, record.Drum, "series/made-up-drum/*.csv")[:6]
	base := ScoreDrums(drums, 10.5)
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(drums)-1).Draw(t, "record")
		other := slices.Clone(drums)
		other[i].Rows = slices.Clone(drums[i].Rows)
		run := scoreRun(drums[i], 10.5)
		end, _ := run.Reached()
		lead := rapid.SampledFrom(scoreLeads(record.Drum)).Draw(t, "lead")
		at := end.Add(-time.Duration(lead * float64(time.Hour)))
		for k := range other[i].Rows {
			row := &other[i].Rows[k]
			next := k+1 < len(drums[i].Rows) && drums[i].Rows[k+1].At.After(end)
			if row.At.After(at) && row.At.Before(end) && !next { // the crossing itself stays
				row.Moisture = rapid.Float64Range(11, 40).Draw(t, "moisture")
				row.Inlet = rapid.Float64Range(20, 80).Draw(t, "air")
			}
		}
		for k, c := range ScoreDrums(other, 10.5).Cases {
			was := base.Cases[k]
			earlier := c.Name < drums[i].Name || c.Name == drums[i].Name && c.Lead >= lead
			if earlier && (c.Own != was.Own || c.Line != was.Line || c.Held != was.Held) &&
				!math.IsNaN(was.Own) && !math.IsNaN(was.Line) {
				t.Fatalf("%+v, was %+v", c, was)
			}
		}
	})
}

// The order in which records are given does not matter, and they teach in the order they ended.
func TestScoreOrder(t *testing.T) {
	tanks := series(t, record.Tank, "ferment/made-up-season/*.csv")[:8]
	forth := ScoreTanks(tanks)
	back := slices.Clone(tanks)
	slices.Reverse(back)
	again := ScoreTanks(back)
	if len(forth.Cases) == 0 || !slices.Equal(forth.Cases, again.Cases) {
		t.Error("another order, another score")
	}
	if back[0].Name != tanks[7].Name {
		t.Error("the caller's records were moved")
	}
	for i, c := range forth.Cases {
		if i > 0 && c.Past < forth.Cases[i-1].Past && c.Name != forth.Cases[i-1].Name {
			t.Errorf("%+v after %+v", c, forth.Cases[i-1])
		}
	}
	if last := forth.Cases[len(forth.Cases)-1]; last.Past < 5 {
		t.Errorf("%+v", last)
	}
}

// A record that never reached its target teaches and is not scored.
func TestWithoutEnd(t *testing.T) {
	drums := series(t, record.Drum, "series/made-up-drum/*.csv")[:2]
	s := ScoreDrums(drums, 5)
	if len(s.Without) != 2 || len(s.Cases) != 0 || s.Leads[0].Beats() {
		t.Errorf("%+v", s)
	}
	if s := ScoreDrums(nil, 10.5); len(s.Cases) != 0 || len(s.Leads) != 4 {
		t.Errorf("%+v", s)
	}
}

// anySheet is a record with anything in it that the reader would let pass, and much that is odd.
func anySheet(t *rapid.T, kind record.Kind) record.Sheet {
	s := record.Sheet{Name: "any.csv", Kind: kind}
	at := sixAM
	figure := func(name string, low, high float64) float64 {
		if !rapid.Bool().Draw(t, "has "+name) {
			return math.NaN()
		}
		return rapid.Float64Range(low, high).Draw(t, name)
	}
	mark := rapid.SampledFrom([]record.Mark{record.Unsaid, record.Unsaid, record.Yes, record.No})
	for range rapid.IntRange(1, 25).Draw(t, "rows") {
		r := record.Row{At: at, Moisture: figure("moisture", 2, 80), Inlet: figure("air", -10, 160),
			Mass: figure("mass", 0, 60), Ambient: figure("ambient", -10, 60), RH: figure("rh", .02, 1),
			Weight: figure("weight", 1, 1e5), Rain: figure("rain", 0, 300), PH: figure("ph", 2, 9),
			Depth: figure("depth", .5, 30), Added: figure("add", 0, 1e5), Fire: mark.Draw(t, "fire"),
			Covered: mark.Draw(t, "covered"), Turned: mark.Draw(t, "turned"),
			Method: rapid.SampledFrom([]string{"", "oven", "hot-meter", "bite", "stick"}).Draw(t, "by"),
			Hand:   rapid.SampledFrom([]string{"", record.Rough, record.Slippery}).Draw(t, "hand")}
		s.Rows = append(s.Rows, r)
		at = at.Add(time.Duration(rapid.IntRange(1, 3000).Draw(t, "minutes")) * time.Minute)
	}
	s.Rows[0].Added = 1000
	return s
}

// Whatever a record holds, forecasts come with their window in order and scores with sane sums.
func TestAnyRecordIsForecast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		target := rapid.Float64Range(3, 50).Draw(t, "target")
		drum, patio := anySheet(t, record.Drum), anySheet(t, record.Patio)
		d := RunOf(drum, []record.Sheet{drum}, target).Forecast()
		p := PatioOf(patio, []record.Sheet{patio}, target).Forecast()
		tank := TankOf(drum, []record.Sheet{patio}).Forecast()
		for _, w := range []hindcastWindow{{d.Early, d.Likely, d.Late}, {p.Early, p.Likely, p.Late},
			{tank.Early, tank.Likely, tank.Late}} {
			if w.likely.Before(w.early) || !w.late.IsZero() && w.late.Before(w.likely) {
				t.Fatalf("%+v", w)
			}
		}
		both := []record.Sheet{drum, patio}
		for _, s := range []Scores{ScoreDrums(both, target), ScorePatios(both, target),
			ScoreTanks(both)} {
			for _, l := range s.Leads {
				if l.Held > l.Answered || l.Answered > l.Cases || l.Line.Answered > l.Answered ||
					l.Line.Nearer > l.Line.Answered || l.Answered > 0 && !(l.Error >= 0) {
					t.Fatalf("%+v", l)
				}
			}
		}
	})
}
