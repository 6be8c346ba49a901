package rules

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lotbell/state"
)

// manyStays is a mill with a thousand open stays of all kinds, each with some dozen readings.
func manyStays(t testing.TB) (*rig, state.Instant) {
	r, rnd := newRig(t, ""), rand.New(rand.NewPCG(1, 1))
	var es []state.Event
	say := func(at state.Instant, b state.Body) {
		es = append(es, state.Event{At: at, Heard: at, By: tankHand, Body: b})
	}
	for i := range 60 {
		say(on(1, "00:00").Add(time.Duration(i)*time.Hour), state.Reading{Place: "yard",
			What: state.AmbientC, Value: 18 + rnd.Float64()*6})
	}
	for i := range 1000 {
		kind := []state.Kind{state.Tank, state.Drum, state.Patio, state.Silo, state.Waiting}[i%5]
		place, at := fmt.Sprintf("%s%d", kind, i), on(2, "06:00").Add(time.Duration(i)*time.Minute)
		say(at, state.SetPlace{Name: place, Kind: kind, DialWhere: "inlet", DialUnit: "C"})
		say(at, state.Move{Act: state.ActMove, Out: []state.Part{{Place: state.Outside,
			Mass: state.Kg(2000)}}, In: []state.Part{{Place: place, Lot: state.LotID(i + 1),
			Mass: state.Kg(2000)}}})
		what := map[state.Kind]string{state.Tank: state.MassC, state.Drum: state.AirC}[kind]
		for j := range 30 {
			b := state.Reading{Place: place, What: what, Value: 20 + 40*float64(i%2)}
			if what == "" || j%4 == 3 && kind == state.Drum {
				b.What, b.Value = state.Moisture, 45-float64(j)
			}
			say(at.Add(time.Duration(j*20)*time.Minute), b)
		}
	}
	slices.SortStableFunc(es, func(a, b state.Event) int { return int(a.At - b.At) })
	all := r.es
	for _, e := range es {
		e.Seq = state.Seq(len(all) + 1)
		e.Msg = e.Seq
		all = append(all, e)
	}
	r.m = state.Load(all)
	return r, r.m.Heard().Add(time.Minute)
}

// BenchmarkLook looks at a thousand open stays under the default book, as a step does that touches
// them all.
func BenchmarkLook(b *testing.B) {
	r, at := manyStays(b)
	var all []state.Subject
	for _, s := range r.m.OpenStays() {
		all = append(all, s.Subject())
	}
	b.Run("warm", func(b *testing.B) {
		k := NewKnowledge()
		b.ReportAllocs()
		for b.Loop() {
			for _, of := range all {
				r.book.Evaluate(r.m, k, of, at)
			}
		}
		b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/float64(len(all)), "µs/stay")
	})
	b.Run("cold", func(b *testing.B) { // every forecast made anew
		for b.Loop() {
			k := NewKnowledge()
			for _, of := range all {
				r.book.Evaluate(r.m, k, of, at)
			}
		}
		b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/float64(len(all)), "µs/stay")
	})
}

// busyDrum is a drum of whom every rule of the default book has something to read.
func busyDrum(t testing.TB) (*rig, state.Instant) {
	r := newRig(t, "")
	r.say("1 06:00 p1 add 3000\n1 08:00 d1 load p1\n1 08:00 d1 hum_pct 45")
	for i := range 40 {
		at := on(1, "08:05").Add(time.Duration(i*15) * time.Minute)
		r.by(drumHand, at, state.Reading{Place: "d1", What: state.AirC, Value: 55 + float64(i%4)})
		if i%4 == 3 {
			r.by(drumHand, at, state.Reading{Place: "d1", What: state.Moisture,
				Value: 45 - 0.7*float64(i)})
		}
	}
	return r, r.m.Heard().Add(10 * time.Minute)
}

// BenchmarkDefaultBook evaluates the whole default book for one stay, and its place, beside the
// same conditions written by hand.
func BenchmarkDefaultBook(b *testing.B) {
	r, at := busyDrum(b)
	stay, place := r.of("d1"), atPlace("d1")
	b.Run("book", func(b *testing.B) {
		k := NewKnowledge()
		b.ReportAllocs()
		for b.Loop() {
			r.book.Evaluate(r.m, k, stay, at)
			r.book.Evaluate(r.m, k, place, at)
		}
	})
	b.Run("by-hand", func(b *testing.B) {
		k := NewKnowledge()
		b.ReportAllocs()
		for b.Loop() {
			v := newView(r.m, r.book, k, stay, at)
			byHand(v, newView(r.m, r.book, k, place, at))
		}
	})
}

// byHand is the default book on a drum as a programmer would write it: the same facts, native
// comparisons, no reasons and no instants of change.
func byHand(v, p *View) (rings [12]bool) {
	const hour, minute = 3600e3, 60e3
	x := func(v *View, name string) float64 { return v.value(names["drum"][name]).Num }
	is := func(v *View, name string) bool { return v.value(names["drum"][name]).Is == state.Yes }
	air, age, airAge := x(p, "air"), x(v, "age"), x(p, "air_age")
	humAge, hum, target := x(v, "hum_age"), x(v, "hum"), x(v, "target")
	held, known, power := is(p, "held"), is(p, "dial_known"), is(v, "power_out")
	rings[0] = air >= 70 && airAge < 2*hour
	rings[1] = known && held && air > 60 && air < 70 && airAge < 2*hour
	rings[2] = known && held && air > 50 && air <= 60 && x(p, "hum_now") < 20 && airAge < 2*hour
	rings[3] = held && air > 52 && airAge > 45*minute && !is(p, "fire_out") && !power
	rings[4] = held && air > 0 && !is(p, "dial_told")
	rings[5] = x(v, "air_slope") > 10 && air > 45 && air < 70 && airAge < hour
	rings[6] = !is(v, "fire_out") && !power && (humAge > 2*hour || humAge > hour && hum < target+1.5)
	rings[7] = age > 30*minute && !is(v, "hum_known")
	rings[8] = x(v, "now") >= x(v, "ready_early")
	rings[9] = is(v, "fire_out") && !power && hum > target+1
	rings[10] = is(p, "smoke") && x(p, "smoke_age") < hour
	return rings
}

// bigSeason is a season of so many lots as the desk would have written it, people taking their
// calls after some minutes: about 300 events of the floor a lot, 2 % heard late, 1 % amended.
func bigSeason(t testing.TB, lots int) []state.Event {
	l := newLive(t, 5, shelf{}, DefaultText())
	es := lotsOf(l, lots)
	for _, e := range es {
		l.to(max(l.now, e.Heard))
		if a, ok := e.Body.(state.Amend); ok { // of what was said just before
			a.Of = state.Seq(len(l.es))
			if last := l.m.Event(a.Of); last != nil {
				b, _ := last.Body.(state.Reading)
				b.Value += 0.5
				if a.Body = b; b.What != "" {
					e.Body = a
				}
			}
			if a.Body == nil || e.Body.(state.Amend).Body == nil {
				continue
			}
		}
		in := []said{{by: e.By, at: e.At, body: e.Body}}
		for _, c := range l.m.Calls() {
			if c.State == state.Unacknowledged && l.now.Sub(c.RungAt) > 4*time.Minute {
				in = append(in, said{by: c.Told[0], body: state.CallStep{Rule: c.Rule, Of: c.Of,
					What: state.Taken, Number: c.Number, Priority: c.Priority}})
			}
		}
		l.step(in)
	}
	return l.es
}

// lotsOf are the floor's events of a season, in the order they are heard: a lot every seven hours
// by tank, patio and drum into one of 24 silos.
func lotsOf(l *live, lots int) []state.Event {
	var es []state.Event
	say := func(at state.Instant, b state.Body) {
		e := state.Event{At: at, Heard: at, By: tankHand, Body: b}
		switch b.(type) {
		case state.Reading, state.Note:
			if l.IntN(50) == 0 {
				e.Heard = at.Add(time.Duration(l.IntN(720)) * time.Minute)
			}
		}
		es = append(es, e)
		if _, reading := b.(state.Reading); reading && l.IntN(100) == 0 {
			es = append(es, state.Event{At: at, Heard: e.Heard + 1, By: tankHand, Body: state.Amend{}})
		}
	}
	move := func(at state.Instant, act, from, to string) {
		say(at, state.Move{Act: act, Out: []state.Part{{Place: from, All: true}},
			In: []state.Part{{Place: to, Lot: l.m.NextLot(), Mass: state.Kg(2000)}}})
	}
	read := func(at state.Instant, place, what string, x float64) {
		say(at, state.Reading{Place: place, What: what, Digits: 1,
			Value: float64(int(10*(x+l.Float64()))) / 10})
	}
	for i := range lots {
		at := on(1, "06:00").Add(time.Duration(i) * 7 * time.Hour)
		tank, patio := fmt.Sprint("t", i%3+1), fmt.Sprint("p", i%3+1)
		drum, silo := fmt.Sprint("d", i%2+1), fmt.Sprint("silo", i%24+1)
		if i < 24 {
			say(on(1, "06:00"), state.SetPlace{Name: silo, Kind: state.Silo})
		}
		for j := range 14 { // two readings of the air an hour
			read(at.Add(time.Duration(j)*30*time.Minute), "yard", []string{state.AmbientC,
				state.AmbientH}[j%2], []float64{20, 65}[j%2])
		}
		move(at, state.ActAdd, state.Outside, tank)
		for j := range 32 {
			read(at.Add(time.Duration(j)*30*time.Minute), tank, state.MassC, 22)
		}
		say(at.Add(14*time.Hour), state.Note{Place: tank, What: state.Slippery})
		at = at.Add(16 * time.Hour)
		say(at, state.Note{Place: tank, What: state.Rough})
		say(at.Add(10*time.Minute), state.Note{Place: tank, What: state.WashOrdered})
		at = at.Add(time.Hour)
		move(at, state.ActWash, tank, patio)
		for j := range 70 {
			when := at.Add(time.Duration(j) * 40 * time.Minute)
			switch h := when.Time().Hour(); {
			case h >= 17 || h < 7:
				say(when, state.Note{Place: patio, What: state.Covered})
			case j%4 == 0:
				read(when, patio, state.Moisture, 52-0.5*float64(j))
			default:
				say(when, state.Note{Place: patio, What: state.Turned})
			}
		}
		at = at.Add(48 * time.Hour)
		move(at, state.ActLoad, patio, drum)
		for j := range 112 {
			when := at.Add(time.Duration(j) * 7 * time.Minute)
			read(when, drum, state.AirC, 53)
			if j%8 == 0 {
				read(when, drum, state.Moisture, 10.5+float64(112-j)/7)
			}
		}
		at = at.Add(13 * time.Hour)
		move(at, state.ActUnload, drum, silo)
		for j := range 28 {
			read(at.Add(time.Duration(j)*12*time.Hour), silo, state.BeanC, 22)
		}
		move(at.Add(35*24*time.Hour), state.ActShip, silo, state.Outside)
	}
	slices.SortStableFunc(es, func(a, b state.Event) int { return int(a.Heard - b.Heard) })
	return es
}

// BenchmarkRehearseSeason rehearses the book in force over a season of 200 lots.
func BenchmarkRehearseSeason(b *testing.B) {
	es := bigSeason(b, 200)
	books := shelf{}
	book, err := books.parse(DefaultText())
	if err != nil {
		b.Fatal(err)
	}
	steps := 0
	for b.Loop() {
		again, err := Rehearse(es, book, books.parse)
		if err != nil {
			b.Fatal(err)
		}
		steps = len(again.Steps)
	}
	b.ReportMetric(float64(len(es)), "events")
	b.ReportMetric(float64(steps), "steps")
}

// BenchmarkScore makes the forecasts of a season of 200 lots again and scores them, as a manager
// asks for it by chat.
func BenchmarkScore(b *testing.B) {
	es := bigSeason(b, 200)
	m := state.NewMill()
	m.Apply(es...)
	book := mustRead(b, DefaultText())
	b.ReportAllocs()
	for b.Loop() {
		for _, kind := range []state.Kind{state.Tank, state.Patio, state.Drum} {
			Score(m, book, kind, m.Heard())
		}
	}
}
