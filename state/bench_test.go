package state

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"
)

// season makes a journal of n events as a mill would write it: tanks are filled twice, washed to a
// patio, gathered into a drum, stored and shipped; the rest is readings and a few notes. About
// 5 % are moves, 2 % are heard up to 12 h late, 1 % amend an earlier event.
func season(n int, seed uint64) []Event {
	r := rand.New(rand.NewPCG(seed, 1))
	es := yard()
	base, lot := es[len(es)-1].At, LotID(0)
	fresh := func() LotID { lot++; return lot }
	var heard []Event
	at := base
	say := func(b Body) {
		at = at.Add(time.Duration(30+r.IntN(60)) * time.Second)
		heard = append(heard, Event{At: at, Heard: at, By: 1, Body: b})
	}
	read := func(place, what string, low, high float64, times int) {
		for range times {
			say(Reading{Place: place, What: what, Value: low + r.Float64()*(high-low), Digits: 1})
		}
	}
	for i := 0; len(heard) < n; i++ {
		tank, patio := fmt.Sprintf("t%d", i%6+1), fmt.Sprintf("p%d", i%4+1)
		drum, silo := fmt.Sprintf("d%d", i%2+1), fmt.Sprintf("s%d", i%2+1)
		for range 2 {
			say(Move{Act: ActAdd, Out: []Part{{Place: Outside, Mass: 900_000}},
				In: []Part{{Place: tank, Lot: fresh(), Mass: 900_000}}})
			read(tank, MassC, 18, 26, 10)
		}
		say(Note{Place: tank, What: Full})
		read(tank, PH, 3.9, 5, 20)
		say(Note{Place: tank, What: WashOrdered})
		say(Move{Act: ActWash, Out: []Part{{Place: tank, All: true}},
			In: []Part{{Place: patio, Lot: fresh(), Mass: 1_500_000}}})
		read(patio, Moisture, 35, 52, 10)
		say(Move{Act: ActLoad, Out: []Part{{Place: patio, All: true}},
			In: []Part{{Place: drum, Lot: fresh(), Mass: 1_300_000}}})
		read(drum, AirC, 45, 60, 50)
		say(Move{Act: ActUnload, Out: []Part{{Place: drum, All: true}},
			In: []Part{{Place: silo, Lot: fresh(), Mass: 800_000}}})
		read(silo, AmbientH, 55, 70, 15)
		say(Move{Act: ActShip, Out: []Part{{Place: silo, All: true}},
			In: []Part{{Place: Outside, Mass: 800_000}}})
	}
	return late(es, heard[:n], r)
}

// late puts a season into the order it was heard in and amends a hundredth of it.
func late(es, heard []Event, r *rand.Rand) []Event {
	for i := range heard {
		if r.IntN(50) == 0 {
			heard[i].Heard = heard[i].At.Add(time.Duration(r.Int64N(int64(12 * time.Hour))))
		}
	}
	slices.SortStableFunc(heard, func(a, b Event) int { return int(a.Heard - b.Heard) })
	for i := range heard {
		e := heard[i]
		if i > 1000 && r.IntN(100) == 0 {
			of := es[len(es)-1-r.IntN(900)]
			if b, ok := of.Body.(Reading); ok {
				b.Value++
				e.Body = Amend{Of: of.Seq, Body: b}
			}
		}
		e.Seq = Seq(len(es) + 1)
		e.Msg = e.Seq
		es = append(es, e)
	}
	return es
}

// BenchmarkLoad tells the mill's own bytes apart from those it has with the bodies of the events,
// which the journal made: the second is what stays when the journal's slice is gone.
func BenchmarkLoad(b *testing.B) {
	var none, before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&none)
	es := season(1_000_000, 1)
	var m *Mill
	for b.Loop() {
		m = nil
		runtime.GC()
		runtime.ReadMemStats(&before)
		m = Load(es)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	n := float64(len(es))
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/event")
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/n, "B/event")
	b.ReportMetric(float64(len(m.books.sums)), "moves")
	runtime.KeepAlive(es)
	es = nil
	runtime.GC()
	runtime.ReadMemStats(&after)
	b.ReportMetric(float64(after.HeapAlloc-none.HeapAlloc)/n, "B/event-with-body")
	runtime.KeepAlive(m)
}

// bigMill is a mill after a season of 1,400 moves, and the instant after it.
func bigMill() (*Mill, Instant) {
	m := Load(season(28_000, 2))
	return m, m.Heard().Add(time.Minute)
}

func BenchmarkApplyReading(b *testing.B) {
	m, at := bigMill()
	b.ReportAllocs()
	for b.Loop() {
		at = at.Add(time.Second)
		m.Apply(Event{Seq: m.Next(), Msg: m.Next(), At: at, Heard: at,
			Body: Reading{Place: "d1", What: AirC, Value: 55}})
	}
}

func BenchmarkApplyLateMove(b *testing.B) {
	m, at := bigMill()
	early := at.Add(-12 * time.Hour)
	b.ReportAllocs()
	for b.Loop() {
		at = at.Add(time.Second)
		s := m.Next()
		m.Apply(Event{Seq: s, Msg: s, At: early, Heard: at, Body: Move{Act: ActAdd,
			Out: []Part{{Place: Outside, Mass: 1000}},
			In:  []Part{{Place: "t1", Lot: m.NextLot(), Mass: 1000}}}})
		m.Apply(Event{Seq: s + 1, Msg: s + 1, At: at, Heard: at, Body: Amend{Of: s}})
	}
}

func BenchmarkMay(b *testing.B) {
	m, at := bigMill()
	e := Event{Seq: m.Next(), At: at, Heard: at, Body: Move{Act: ActAdd,
		Out: []Part{{Place: Outside, Mass: 1000}},
		In:  []Part{{Place: "t1", Lot: m.NextLot(), Mass: 1000}}}}
	b.ReportAllocs()
	for b.Loop() {
		m.May(e)
	}
}
