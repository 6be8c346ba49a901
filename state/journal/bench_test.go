package journal

import (
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"lotbell/state"
)

// contest measures ways of writing by turns, so that a busy machine slows all of them alike: each
// does b.N things in eight rounds, from one sender or from 64, and its rate is kept by name.
func contest(b *testing.B, ways map[string]func(i int64) error) {
	b.Helper()
	var done [8]map[string]time.Duration
	next := map[string]*atomic.Int64{}
	for name := range ways {
		next[name] = new(atomic.Int64)
	}
	for round := range done {
		done[round] = map[string]time.Duration{}
		end := int64(b.N) * int64(round+1) / int64(len(done))
		for name, do := range ways {
			n := 1
			if strings.HasSuffix(name, "64") {
				n = 64
			}
			from := b.Elapsed()
			senders(b, n, next[name], end, do)
			done[round][name] = b.Elapsed() - from
		}
	}
	rate := map[string]float64{}
	for name := range ways {
		var all time.Duration
		for _, d := range done {
			all += d[name]
		}
		rate[name] = float64(b.N) / all.Seconds()
	}
	report(b, rate)
}

// senders has n goroutines do what is left up to end.
func senders(b *testing.B, n int, next *atomic.Int64, end int64, do func(i int64) error) {
	var all sync.WaitGroup
	for range n {
		all.Go(func() {
			for {
				i := next.Load()
				if i >= end {
					return
				}
				if !next.CompareAndSwap(i, i+1) {
					continue
				}
				if err := do(i + 1); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	all.Wait()
}

// raw is a message as it comes from a transport: about 200 bytes.
func raw(i int64) In {
	return In{Via: "tg", ID: fmt.Sprint(i), Got: 1,
		Raw: fmt.Appendf(nil, "%0200d", i)}
}

// bareBytes is what one bbolt commit of the same bytes is: a key and a value in one bucket.
func bareBytes(b *testing.B, put func(x *bbolt.Bucket, i int64) error) func(i int64) error {
	b.Helper()
	bare, err := bbolt.Open(filepath.Join(b.TempDir(), "bare.db"), 0o600, nil)
	must(b, err)
	b.Cleanup(func() { _ = bare.Close() })
	return func(i int64) error {
		return bare.Update(func(tx *bbolt.Tx) error {
			x, err := tx.CreateBucketIfNotExists([]byte("x"))
			if err != nil {
				return err
			}
			return put(x, i)
		})
	}
}

// BenchmarkReceive puts messages on disk from one sender and from 64, and the same bytes with bare
// bbolt commits, in the same run. The figures are ratios: of 64 senders to one, and of each to
// the bare commits of as many.
func BenchmarkReceive(b *testing.B) {
	put := func(x *bbolt.Bucket, i int64) error { return x.Put(number(uint64(i)), raw(i).Raw) }
	receive := func() func(i int64) error {
		d := open(b, filepath.Join(b.TempDir(), "mill.db"))
		return func(i int64) error {
			_, err := d.Receive([]In{raw(i)}, nil)
			return err
		}
	}
	contest(b, map[string]func(i int64) error{"1": receive(), "64": receive(),
		"bare 1": bareBytes(b, put), "bare 64": bareBytes(b, put)})
}

// report gives the rates of one and 64 senders, and their ratios.
func report(b *testing.B, rate map[string]float64) {
	b.ReportMetric(rate["1"], "1/s")
	b.ReportMetric(rate["64"], "64/s")
	b.ReportMetric(rate["bare 1"], "bare1/s")
	b.ReportMetric(rate["bare 64"], "bare64/s")
	b.ReportMetric(rate["64"]/rate["1"], "64:1")
	b.ReportMetric(rate["1"]/rate["bare 1"], "1:bare")
	b.ReportMetric(rate["64"]/rate["bare 64"], "64:bare")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkCommit does the same with the batch of one message: two events, its words, an answer
// and a cursor.
func BenchmarkCommit(b *testing.B) {
	batch := func(first state.Seq) *Batch {
		return &Batch{Events: []state.Event{note(first), note(first + 1)},
			Words:   map[state.Seq]string{first: "t3 slippery 21"},
			Out:     []Out{{Via: "tg", To: "1", Cause: first, Body: []byte("t3: have it, 05:10")}},
			Cursors: map[string]string{"tg": fmt.Sprint(first)}}
	}
	put := func(x *bbolt.Bucket, i int64) error {
		for k := range uint64(5) {
			if err := x.Put(number(uint64(i)*5+k), make([]byte, 60)); err != nil {
				return err
			}
		}
		return nil
	}
	commit := func() func(i int64) error {
		d := open(b, filepath.Join(b.TempDir(), "mill.db"))
		var turn sync.Mutex
		seq := state.Seq(1)
		return func(int64) error {
			turn.Lock()
			j, err := d.prepareBatch(batch(seq))
			seq += 2
			if err == nil {
				err = d.send(j)
			}
			turn.Unlock()
			if err != nil {
				return err
			}
			return d.wait(j)
		}
	}
	contest(b, map[string]func(i int64) error{"1": commit(), "64": commit(),
		"bare 1": bareBytes(b, put), "bare 64": bareBytes(b, put)})
}

// season is n events as they come on a floor: four in five are readings.
func season(n int) []state.Event {
	all := make([]state.Event, n)
	for i := range all {
		e := note(state.Seq(i + 1))
		place := fmt.Sprint("t", i%20)
		switch {
		case i%20 == 0:
			e.Body = state.Move{Act: state.ActLoad, Out: []state.Part{{Place: place, All: true}},
				In: []state.Part{{Place: "d1", Lot: state.LotID(i), Mass: 2_500_000}}}
		case i%5 != 0:
			e.Body = state.Reading{Place: place, What: state.MassC,
				Value: 18 + float64(i%90)/10, Digits: 1}
		}
		e.At += 1_700_000_000_000
		e.Heard = e.At + 1500
		all[i] = e
	}
	return all
}

// BenchmarkLoad reads a season of events from disk: time and memory for one event.
func BenchmarkLoad(b *testing.B) {
	const n = 200_000
	d := fresh(b)
	all := season(n)
	for i := 0; i < n; i += 1000 {
		must(b, d.Commit(&Batch{Events: all[i : i+1000]}))
	}
	all = nil
	size := 0
	must(b, d.bolt.View(func(tx *bbolt.Tx) error { size = int(tx.Size()); return nil }))
	var before, after runtime.MemStats
	var kept []state.Event
	runtime.GC()
	runtime.ReadMemStats(&before)
	for b.Loop() {
		var err error
		kept, err = d.Load()
		must(b, err)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/n, "µs/event")
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/n, "B/event")
	b.ReportMetric(float64(size)/n, "diskB/event")
	if len(kept) != n {
		b.Fatal("events are missing")
	}
}

// BenchmarkDecode decodes one reading on one core.
func BenchmarkDecode(b *testing.B) {
	e := season(4)[1]
	rec, err := encodeEvent(&e)
	must(b, err)
	v := vocabulary{}
	for b.Loop() {
		if _, err := decodeEvent(e.Seq, rec, v); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportAllocs()
}

// BenchmarkEncode encodes one reading.
func BenchmarkEncode(b *testing.B) {
	e := season(4)[1]
	for b.Loop() {
		if _, err := encodeEvent(&e); err != nil {
			b.Fatal(err)
		}
	}
}
