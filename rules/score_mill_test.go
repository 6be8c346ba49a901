package rules

import (
	"fmt"
	"math"
	"testing"
	"time"

	"lotbell/rules/record"
	"lotbell/state"
)

// diary tells a mill what stands in records, as people would have.
type diary struct{ m *state.Mill }

func (d *diary) say(at time.Time, b state.Body) {
	s, i := d.m.Next(), state.At(at)
	d.m.Apply(state.Event{Seq: s, Msg: s, At: i, Heard: max(i, d.m.Heard()), By: 1, Body: b})
}

// read tells a figure, unless nothing was written.
func (d *diary) read(at time.Time, place, what string, x float64) {
	if !math.IsNaN(x) {
		d.say(at, state.Reading{Place: place, What: what, Value: x})
	}
}

func (d *diary) move(at time.Time, act, from, to string, lot state.LotID) {
	out := state.Part{Place: from, All: true}
	if from == state.Outside {
		out = state.Part{Place: from, Mass: state.Kg(1000)}
	}
	d.say(at, state.Move{Act: act, Out: []state.Part{out}, In: []state.Part{{Place: to, Lot: lot}}})
}

// newDiary names the places of a made-up mill.
func newDiary() *diary {
	d := &diary{state.NewMill()}
	for name, kind := range map[string]state.Kind{"d1": state.Drum, "t0": state.Tank, "t1": state.Tank,
		"t2": state.Tank, "t3": state.Tank, "p1": state.Patio, "s1": state.Silo, "yard": state.Air,
		"hill": state.Waiting} {
		d.say(sixAM.Add(-time.Hour), state.SetPlace{Name: name, Kind: kind})
	}
	d.say(sixAM.Add(-time.Hour), state.Set{Name: state.SetTarget, Number: 10.5})
	return d
}

// dry tells of one load in a drum or on a patio.
func (d *diary) dry(s record.Sheet, place, in, out string) {
	lot := d.m.NextLot()
	began := false
	for _, r := range s.Rows {
		d.read(r.At, "yard", state.AmbientC, r.Ambient)
		d.read(r.At, "yard", state.AmbientH, 100*r.RH)
		if !began && !math.IsNaN(r.Moisture) {
			d.move(r.At, in, state.Outside, place, lot)
			began = true
		}
		d.read(r.At, place, state.Moisture, r.Moisture)
		d.read(r.At, place, state.AirC, r.Inlet)
		switch r.Fire {
		case record.No:
			d.say(r.At, state.Note{Place: place, What: state.FireOut})
		case record.Yes:
			d.say(r.At, state.Note{Place: place, What: state.FireLit})
		}
	}
	d.move(s.To().Add(time.Minute), out, place, "s1", 0)
}

// Records told to a mill, line by line, are scored as from their files.
func TestScoreOfMillIsThatOfItsRecords(t *testing.T) {
	d := newDiary()
	sheets := series(t, record.Drum, "series/made-up-drum/*.csv")
	for _, s := range sheets {
		d.dry(s, "d1", state.ActLoad, state.ActUnload)
	}
	b, err := Parse(DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	want := ScoreDrums(sheets, 10.5)
	got := Score(d.m, b, state.Drum, state.At(sheets[len(sheets)-1].To().Add(time.Hour)))
	if len(got.Cases) != len(want.Cases) || got.Target != 10.5 || got.Kind != record.Drum {
		t.Fatalf("%d cases, from files %d", len(got.Cases), len(want.Cases))
	}
	for i, w := range want.Cases {
		g := got.Cases[i]
		same := fmt.Sprintf("%.3f %.3f %.3f %.3f", w.Own, w.Alone, w.Line, w.Fixed)
		if is := fmt.Sprintf("%.3f %.3f %.3f %.3f", g.Own, g.Alone, g.Line, g.Fixed); is != same ||
			g.Held != w.Held || g.Past != w.Past {
			t.Errorf("%s, %g h: %s, from the file %s", w.Name, w.Lead, is, same)
		}
	}
	half := Score(d.m, b, state.Drum, state.At(sheets[11].To().Add(time.Hour)))
	if len(half.Cases) != 48 || half.Cases[47] != got.Cases[47] {
		t.Errorf("at half the season %d cases", len(half.Cases))
	}
}

// Tanks and patios of a mill are scored too, and nothing else is.
func TestScoreOfOtherKinds(t *testing.T) {
	d := newDiary()
	for i, s := range series(t, record.Tank, "ferment/made-up-season/*.csv") {
		place, lot := fmt.Sprintf("t%d", i%4), d.m.NextLot()
		for _, r := range s.Rows {
			if r.Added > 0 {
				d.move(r.At, state.ActAdd, state.Outside, place, lot)
			}
			d.read(r.At, place, state.MassC, r.Mass)
			d.read(r.At, place, state.AmbientC, r.Ambient)
			d.read(r.At, place, state.PH, r.PH)
			if r.Hand != "" {
				d.say(r.At, state.Note{Place: place, What: r.Hand})
			}
		}
		d.move(s.To().Add(time.Minute), state.ActWash, place, "hill", 0)
	}
	for _, s := range series(t, record.Patio, "series/sticks-bc1/*.csv")[:3] {
		d.dry(s, "p1", state.ActSpread, state.ActGather)
	}
	b, err := Parse(DefaultText())
	if err != nil {
		t.Fatal(err)
	}
	end := state.At(sixAM.AddDate(1, 0, 0))
	tanks := Score(d.m, b, state.Tank, end)
	for _, l := range tanks.Leads {
		t.Logf("%2.0f h: %d of %d, %.0f %% held, error %.2f h, alone %.2f, line %.2f, fixed %.2f", l.Lead,
			l.Answered, l.Cases, 100*l.HeldShare(), l.Error, l.Alone.Error, l.Line.Error, l.Fixed.Error)
		if l.Cases != 24 || !l.Beats() {
			t.Errorf("tanks, %g h: %+v", l.Lead, l)
		}
	}
	patios := Score(d.m, b, state.Patio, end)
	if len(patios.Cases) == 0 || patios.Target != 15 || patios.Leads[0].Lead != 24 {
		t.Errorf("%+v", patios)
	}
	if s := Score(d.m, b, state.Silo, end); len(s.Leads) != 0 || s.Kind != "" {
		t.Errorf("%+v", s)
	}
	if s := Score(d.m, b, state.Tank, state.At(sixAM)); len(s.Cases) != 0 {
		t.Errorf("%d cases before anything was over", len(s.Cases))
	}
}
