package bot

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"lotbell/state"
	"lotbell/state/journal"
)

// benchRig is a desk on a real file, synced at every commit.
func benchRig(b *testing.B) (*Desk, *journal.DB, state.Instant) {
	db, err := journal.Open(filepath.Join(b.TempDir(), "mill.db"), journal.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	d, err := Open(db, Options{Program: "bench", Bind: "script",
		Decode: map[string]Decode{"script": DecodeJSON}})
	if err != nil {
		b.Fatal(err)
	}
	now := state.At(time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC))
	if err := d.Start(now); err != nil {
		b.Fatal(err)
	}
	if err := d.Setup(benchMill(), now); err != nil {
		b.Fatal(err)
	}
	return d, db, now
}

// benchMill has 20 tanks, 20 patios, 10 drums and a person for each of 64 senders.
func benchMill() string {
	text := "zone UTC\n"
	for i := 1; i <= 20; i++ {
		text += fmt.Sprintf("place t%d tank 6000\nplace p%d patio 6000\n", i, i)
	}
	for i := 1; i <= 10; i++ {
		text += fmt.Sprintf("place d%d drum 3500 inlet C\n", i)
	}
	for i := range 64 {
		text += fmt.Sprintf("person who%d worker tank drum patio en\n", i)
	}
	return text + "person boss manager keeper en\n"
}

// line is the i-th message of the mix: 80 % readings, the rest notes and moves.
func benchLine(i int) string {
	drum, tank := i/7%10+1, i/11%20+1
	switch i % 10 {
	case 0:
		return fmt.Sprintf("t%d add %d", tank, 1000+i%3000)
	case 1:
		return fmt.Sprintf("p%d turned", tank)
	case 2, 3, 4:
		return fmt.Sprintf("d%d hum %.1f", drum, 34-float64(i%200)/10)
	case 5, 6, 7:
		return fmt.Sprintf("d%d air %.1f", drum, 45+float64(i%120)/10)
	}
	return fmt.Sprintf("t%d mass %.1f", tank, 18+float64(i%50)/10)
}

func benchMessage(b *testing.B, i int, at state.Instant, text string) journal.In {
	who := fmt.Sprintf("who%d", i%64)
	raw, err := json.Marshal(Message{From: Address{"script", who}, ID: fmt.Sprint(i), At: at,
		Kind: Text, Text: text, Name: who})
	if err != nil {
		b.Fatal(err)
	}
	return journal.In{Via: "script", ID: fmt.Sprint(i), Raw: raw, Got: at}
}

// BenchmarkStoreAndAnswer handles messages that touch no rule, on disk, from 1 and from 64 senders
// at once; beside it bare commits of the same bytes by the library's own group commit, so that the
// ratio can be read from one run.
func BenchmarkStoreAndAnswer(b *testing.B) {
	for _, senders := range []int{1, 64} {
		b.Run(fmt.Sprintf("desk-%d", senders), func(b *testing.B) {
			d, db, now := benchRig(b)
			i := 0
			for b.Loop() {
				var all sync.WaitGroup
				for range senders {
					in := benchMessage(b, i, now.Add(time.Duration(i)*time.Second), "yard mass?")
					i++
					all.Go(func() {
						if _, err := db.Receive([]journal.In{in}, nil); err != nil {
							b.Error(err)
						}
					})
				}
				all.Wait()
				if err := d.Run(now.Add(time.Duration(i) * time.Second)); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(i)/b.Elapsed().Seconds(), "messages/s")
		})
		b.Run(fmt.Sprintf("bare-%d", senders), func(b *testing.B) { bare(b, senders) })
	}
}

// bare commits as many bytes as a message and its answer take, twice as the desk does: stored,
// then answered.
func bare(b *testing.B, senders int) {
	db, err := bbolt.Open(filepath.Join(b.TempDir(), "bare.db"), 0o600, nil)
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	n := 0
	put := func(rows int) {
		if err := db.Update(func(tx *bbolt.Tx) error {
			x, err := tx.CreateBucketIfNotExists([]byte("x"))
			for range rows {
				n++
				if err == nil {
					err = x.Put(fmt.Appendf(nil, "%09d", n), make([]byte, 300))
				}
			}
			return err
		}); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		put(senders)
		put(senders)
	}
	b.ReportMetric(float64(n/2)/b.Elapsed().Seconds(), "messages/s")
}

// BenchmarkWholePath handles the mix with the default book and forecasts on, in one goroutine and
// without waiting for the disk: the time of one operation is the CPU of one message.
func BenchmarkWholePath(b *testing.B) {
	db, err := journal.Open(filepath.Join(b.TempDir(), "mill.db"), journal.Options{NoSync: true})
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	d, err := Open(db, Options{Program: "bench", Bind: "script",
		Decode: map[string]Decode{"script": DecodeJSON}})
	if err != nil {
		b.Fatal(err)
	}
	now := state.At(time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC))
	if err := d.Start(now); err != nil {
		b.Fatal(err)
	}
	if err := d.Setup(benchMill(), now); err != nil {
		b.Fatal(err)
	}
	i := 0
	for b.Loop() {
		now = now.Add(20 * time.Second)
		if _, err := db.Receive([]journal.In{benchMessage(b, i, now, benchLine(i))}, nil); err != nil {
			b.Fatal(err)
		}
		if err := d.Run(now); err != nil {
			b.Fatal(err)
		}
		i++
	}
}

// BenchmarkLoad opens a journal of many events from disk and folds it.
func BenchmarkLoad(b *testing.B) {
	const n = 1_000_000
	path := filepath.Join(b.TempDir(), "mill.db")
	db, err := journal.Open(path, journal.Options{NoSync: true})
	if err != nil {
		b.Fatal(err)
	}
	es := benchSeason(n)
	for len(es) > 0 {
		k := min(len(es), 20_000)
		if err := db.Commit(&journal.Batch{Events: es[:k]}); err != nil {
			b.Fatal(err)
		}
		es = es[k:]
	}
	db.Close()
	for b.Loop() {
		db, err := journal.Open(path, journal.Options{NoSync: true})
		if err != nil {
			b.Fatal(err)
		}
		es, err := db.Load()
		if err != nil {
			b.Fatal(err)
		}
		if m := state.Load(es); m.Next() != n+1 {
			b.Fatalf("%d events", m.Next())
		}
		db.Close()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/event")
}

// benchSeason is n events: 5 % moves, 2 % late by up to 12 h, 1 % amended, the rest readings.
func benchSeason(n int) []state.Event {
	es := make([]state.Event, 0, n)
	at := state.At(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
	for i := range n {
		at = at.Add(7 * time.Second)
		s := state.Seq(i + 1)
		e := state.Event{Seq: s, Msg: s, At: at, Heard: at, By: 1}
		place := fmt.Sprintf("d%d", i%30+1)
		switch {
		case i%20 == 0:
			e.Body = state.Move{Act: state.ActLoad, Out: []state.Part{{Place: state.Outside,
				Mass: state.Kg(2000)}}, In: []state.Part{{Lot: state.LotID(i + 1), Place: place,
				Mass: state.Kg(2000)}}}
			if i%40 == 0 {
				e.Body = state.Move{Act: state.ActShip, Out: []state.Part{{Place: place, All: true}},
					In: []state.Part{{Lot: state.LotID(i + 1), Place: state.Outside}}}
			}
		case i%100 == 1:
			e.Body = state.Amend{Of: s - 3, Body: state.Reading{Place: place, What: state.AirC,
				Value: 50}}
		default:
			e.Body = state.Reading{Place: place, What: state.Moisture, Value: float64(10 + i%40)}
		}
		if i%50 == 7 {
			e.At = e.At.Add(-time.Duration(i%720) * time.Minute)
		}
		es = append(es, e)
	}
	return es
}
