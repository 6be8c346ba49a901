package journal

import (
	"errors"
	"fmt"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"lotbell/state"
)

// open opens a journal that is closed at the end of the test.
func open(t testing.TB, path string) *DB {
	t.Helper()
	d, err := Open(path, Options{Program: "lotbell test"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return d
}

// fresh is a journal of its own, without syncing.
func fresh(t testing.TB) *DB {
	t.Helper()
	d, err := Open(filepath.Join(t.TempDir(), "mill.db"), Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return d
}

// must fails the test on an error.
func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// note is an event that says little.
func note(seq state.Seq) state.Event {
	return state.Event{Seq: seq, Msg: seq, At: state.Instant(seq) * 1000,
		Heard: state.Instant(seq)*1000 + 5, By: 2,
		Body: state.Note{Place: fmt.Sprint("t", seq%4), What: state.Slippery}}
}

// TestReopen appends events of every kind, some steps at a time, and reads all of them back from
// the open file and from the file opened again.
func TestReopen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mill.db")
	rapid.Check(t, func(rt *rapid.T) {
		must(t, removeIfThere(path))
		d, err := Open(path, Options{NoSync: true})
		must(t, err)
		var all []state.Event
		for range rapid.IntRange(0, 5).Draw(rt, "steps") {
			var b Batch
			for range rapid.IntRange(0, 40).Draw(rt, "events") {
				b.Events = append(b.Events, anyEvent(rt, d.Next()+state.Seq(len(b.Events))))
			}
			must(t, d.Commit(&b))
			all = append(all, b.Events...)
		}
		for range 2 {
			got, err := d.Load()
			must(t, err)
			if len(got) != len(all) || len(all) > 0 && !reflect.DeepEqual(got, all) {
				rt.Fatalf("%d events came back as %d, or otherwise", len(all), len(got))
			}
			if want := state.Seq(len(all) + 1); d.Next() != want {
				rt.Fatalf("next is %d, want %d", d.Next(), want)
			}
			must(t, d.Close())
			d, err = Open(path, Options{NoSync: true})
			must(t, err)
		}
		must(t, d.Close())
		_, err = Verify(path)
		must(t, err)
	})
}

// TestRefused gives bad batches: each is told apart and leaves nothing, whatever else it brought.
func TestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		bad  Batch
		want string
	}{
		"gap":         {Batch{Events: []state.Event{note(4)}}, "event 4 where 3 is next"},
		"again":       {Batch{Events: []state.Event{note(2)}}, "event 2 where 3 is next"},
		"gap inside":  {Batch{Events: []state.Event{note(3), note(5)}}, "event 5 where 4 should"},
		"none":        {Batch{Events: []state.Event{note(0)}}, "event 0 where 1 should"},
		"no body":     {Batch{Events: []state.Event{{Seq: 3}}}, "cannot be stored"},
		"later msg":   {Batch{Events: []state.Event{{Seq: 3, Msg: 4}}}, "message 4, which is later"},
		"not there":   {Batch{Handled: []uint64{9}}, "row 9 is not there"},
		"not there 2": {Batch{Aside: map[uint64]string{9: "x"}}, "row 9 is not there"},
		"no address":  {Batch{Pending: map[string][]byte{"": {1}}}, `pending of ""`},
		"long key": {Batch{Lines: map[string]state.Seq{strings.Repeat("x", 40_000): 1}},
			"too large"},
		"no name": {Batch{Cursors: map[string]string{"": "x"}}, `cursor ""`},
	} {
		t.Run(name, func(t *testing.T) {
			d := fresh(t)
			must(t, d.Commit(&Batch{Events: []state.Event{note(1), note(2)}}))
			before := everything(t, d)
			b := c.bad
			if len(b.Events) == 0 {
				b.Events = []state.Event{note(3)}
			}
			b.Words = map[state.Seq]string{3: "x"}
			b.Out = []Out{{Via: "v", To: "a", Key: "k"}}
			b.Cards = []Card{{Person: 1, Name: "n"}}
			if len(b.Lines) == 0 {
				b.Lines = map[string]state.Seq{"l": 3}
			}
			err := d.Commit(&b)
			var refused *Refused
			if !errors.As(err, &refused) || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("%v, want it refused: %q", err, c.want)
			}
			if isSignalled(d.Queued()) {
				t.Error("senders were woken")
			}
			if after := everything(t, d); !reflect.DeepEqual(after, before) {
				t.Fatalf("left behind: %v, before %v", after, before)
			}
			must(t, d.Commit(&Batch{Events: []state.Event{note(3)}}))
		})
	}
}

// everything is every record of every box, and where the file stands.
func everything(t testing.TB, d *DB) map[string]string {
	t.Helper()
	all := map[string]string{"standing": fmt.Sprint(d.standing), "next": fmt.Sprint(d.Next())}
	for which, name := range boxNames() {
		must(t, d.each(which, 0, func(key, val []byte) (bool, error) {
			all[fmt.Sprintf("%s %q", name, key)] = string(val)
			return true, nil
		}))
	}
	return all
}

// still ends the writer and leaves the file open, so that a test can be the writer.
func still(t *testing.T, d *DB) {
	t.Helper()
	d.closing.Do(func() {
		close(d.quit)
		<-d.stopped
	})
	t.Cleanup(func() { _ = d.bolt.Close() })
}

// TestBadFailsAlone has the writer find a bad batch between good ones in one group.
func TestBadFailsAlone(t *testing.T) {
	d := fresh(t)
	var jobs []*job
	for _, b := range []Batch{
		{Events: []state.Event{note(1)}, Out: []Out{{Via: "v", To: "a"}}},
		{Events: []state.Event{note(2), note(3)}, Handled: []uint64{7}},
		{Events: []state.Event{note(2)}, Out: []Out{{Via: "v", To: "b"}}},
	} {
		j, err := d.prepareBatch(&b)
		must(t, err)
		j.done = make(chan error, 1)
		jobs = append(jobs, j)
	}
	still(t, d)
	d.finish(jobs)
	var refused *Refused
	for i, j := range jobs {
		if err := <-j.done; (i == 1) != errors.As(err, &refused) {
			t.Fatalf("batch %d: %v", i, err)
		}
	}
	must(t, d.bolt.Close())
	d = open(t, d.Path())
	got, err := d.Load()
	must(t, err)
	if want := []state.Event{note(1), note(2)}; !reflect.DeepEqual(got, want) {
		t.Fatalf("stands %v, want %v", got, want)
	}
	out, err := d.Outbox("v", 0)
	must(t, err)
	if len(out) != 2 || out[0].To != "a" || out[0].No != 1 || out[1].To != "b" || out[1].No != 2 {
		t.Fatalf("outbox %+v", out)
	}
}

// TestDiskFails takes the file away under a commit: it fails as a whole, is not tried again piece
// by piece, leaves the standing as it was, and the file opens with all that was there before.
func TestDiskFails(t *testing.T) {
	d := fresh(t)
	must(t, d.Commit(&Batch{Events: []state.Event{note(1)}}))
	before := d.standing
	must(t, d.file.Close())
	var refused *Refused
	if err := d.Commit(&Batch{Events: []state.Event{note(2)}}); err == nil ||
		errors.As(err, &refused) {
		t.Fatalf("%v", err)
	}
	tried := 0
	jobs := make([]*job, 3)
	for i := range jobs {
		jobs[i] = &job{done: make(chan error, 1), apply: func(t *txn) error {
			tried++
			return t.moveCursors(map[string]string{"v": "1"})
		}}
	}
	still(t, d)
	d.finish(jobs)
	for _, j := range jobs {
		if err := <-j.done; err == nil {
			t.Error("written without a file")
		}
	}
	if tried != len(jobs) || d.standing != before || d.Next() != 2 {
		t.Fatalf("%d tries, %v, next %d", tried, d.standing, d.Next())
	}
	_ = d.bolt.Close() // complains that the file is closed, and lets the map go
	if got := loadAt(t, d.Path()); !reflect.DeepEqual(got, []state.Event{note(1)}) {
		t.Fatalf("stands %v", got)
	}
}

// TestManySenders commits from 64 goroutines at once: all stand, in the order they were sent.
func TestManySenders(t *testing.T) {
	d := fresh(t)
	var turn sync.Mutex
	seq, each := state.Seq(0), 20
	var all sync.WaitGroup
	for range 64 {
		all.Go(func() {
			for range each {
				turn.Lock()
				seq++
				j, err := d.prepareBatch(&Batch{Events: []state.Event{note(seq)}})
				if err == nil {
					err = d.send(j)
				}
				turn.Unlock()
				if err == nil {
					err = d.wait(j)
				}
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	got, err := d.Load()
	must(t, err)
	for i, e := range got {
		if !reflect.DeepEqual(e, note(state.Seq(i+1))) {
			t.Fatalf("event %d is %v", i+1, e)
		}
	}
	if len(got) != 64*each {
		t.Fatalf("%d events of %d", len(got), 64*each)
	}
}

// TestClosed fails every call after Close, and loses none that was answered before.
func TestClosed(t *testing.T) {
	d := fresh(t)
	var acked sync.Map
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for k := 0; ; k++ {
				id := fmt.Sprint(i, "-", k)
				if _, err := d.Receive([]In{{Via: "v", ID: id}}, nil); err != nil {
					if !errors.Is(err, ErrClosed) {
						t.Error(err)
					}
					return
				}
				acked.Store(id, true)
			}
		})
	}
	<-d.Arrived()
	must(t, d.Close())
	all.Wait()
	must(t, d.Close())
	for _, err := range []error{d.Commit(&Batch{}), d.Sent(1, 1),
		second(d.Load()), second(d.Inbox(0)), second(d.Words(1))} {
		if !errors.Is(err, ErrClosed) {
			t.Errorf("after Close: %v", err)
		}
	}
	d, err := Open(d.Path(), Options{NoSync: true})
	must(t, err)
	defer func() { must(t, d.Close()) }()
	in, err := d.Inbox(0)
	must(t, err)
	for _, r := range in {
		acked.Delete(r.ID)
	}
	acked.Range(func(id, _ any) bool {
		t.Errorf("%v was answered and is lost", id)
		return true
	})
}

// second is the error of a pair.
func second[T any](_ T, err error) error { return err }
