package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"lotbell/state"
)

// soon is a wait for a lock that is never let go.
const soon = 10 * time.Millisecond

// filled is the path of a closed journal with n events and a few rows in every box.
func filled(t testing.TB, n int) string {
	t.Helper()
	d := fresh(t)
	fillBoxes(t, d, n)
	must(t, d.Close())
	return d.Path()
}

// fillBoxes commits n events in steps of ten, each with what goes with it.
func fillBoxes(t testing.TB, d *DB, n int) {
	t.Helper()
	for d.Next() <= state.Seq(n) {
		no := uint64(d.Next())/10 + 1
		_, err := d.Receive([]In{{Via: "v", ID: string(number(no)), Raw: []byte("t3 slippery")}},
			map[string]string{"v": string(number(no))})
		must(t, err)
		first := d.Next()
		b := Batch{Words: map[state.Seq]string{first: "t3 slippery"},
			Out:     []Out{{Via: "v", To: "a", Cause: first, Body: []byte("t3: have it")}},
			Cards:   []Card{{Person: state.PersonID(no), Name: "A. Mill"}},
			Pending: map[string][]byte{string(number(no % 7)): {1}},
			Lines:   map[string]state.Seq{string(number(no)): first}}
		for i := range min(10, state.Seq(n)-first+1) {
			b.Events = append(b.Events, note(first+i))
		}
		switch no % 3 {
		case 0:
			b.Handled = []uint64{no}
		case 1:
			b.Aside = map[uint64]string{no: "unreadable"}
		}
		must(t, d.Commit(&b))
		if no%2 == 0 {
			must(t, d.Sent(no, 5))
		}
	}
}

// TestBadFiles opens what is no journal: each is told apart, named with what to do, by Open and
// by Verify, and left as it was.
func TestBadFiles(t *testing.T) {
	good, err := os.ReadFile(filled(t, 100))
	must(t, err)
	cut := func(n int) []byte { return good[:n] }
	for name, c := range map[string]struct {
		content []byte
		want    error
		says    string
	}{
		"empty":           {nil, &Empty{}, "is empty"},
		"text":            {[]byte(strings.Repeat("t3 ph 4.2\n", 2000)), &Foreign{}, "not begin like"},
		"short text":      {[]byte("t3 ph"), &Foreign{}, "too short"},
		"cut in the head": {cut(2000), &Truncated{}, "cut short"},
		"one head":        {cut(4096), &Truncated{}, "cut short"},
		"two heads":       {cut(8192), &Truncated{}, "8192 bytes of"},
		"cut in the tree": {cut(20000), &Truncated{}, "20000 bytes of"},
		"other":           {otherDatabase(t, "pages", 2), &Foreign{}, `a database with "pages"`},
		"no head": {append(make([]byte, 8192), good[8192:]...), &Foreign{},
			"not begin like"},
		"zeroed page": {append(append(append([]byte{}, good[:8192]...), make([]byte, 8192)...),
			good[16384:]...), &Damaged{}, "page"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "mill.db")
			must(t, os.WriteFile(path, c.content, 0o600))
			_, err1 := Open(path, Options{})
			_, err2 := Verify(path)
			for _, err := range []error{err1, err2} {
				if reflect.TypeOf(err) != reflect.TypeOf(c.want) {
					t.Fatalf("%T %v, want %T", err, err, c.want)
				}
				for _, say := range []string{path, "lotbell verify BACKUP", "cp BACKUP " + path} {
					if !strings.Contains(err.Error(), say) {
						t.Errorf("%q does not say %q", err, say)
					}
				}
			}
			if !strings.Contains(err1.Error(), c.says) {
				t.Errorf("%q does not say %q", err1, c.says)
			}
			if now, err := os.ReadFile(path); err != nil || string(now) != string(c.content) {
				t.Errorf("the file was changed (%v)", err)
			}
			must(t, os.WriteFile(path, good, 0o600)) // no lock was left behind
			must(t, open(t, path).Close())
		})
	}
}

// otherDatabase is somebody else's bbolt file.
func otherDatabase(t *testing.T, bucket string, format int) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "other.db")
	b, err := bbolt.Open(path, 0o600, nil)
	must(t, err)
	must(t, b.Update(func(tx *bbolt.Tx) error {
		x, err := tx.CreateBucket([]byte(bucket))
		if err != nil {
			return err
		}
		return x.Put([]byte("format"), []byte{byte(format)})
	}))
	must(t, b.Close())
	content, err := os.ReadFile(path)
	must(t, err)
	return content
}

// TestUnfinished goes on where the making of a file was broken off before its first box.
func TestUnfinished(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mill.db")
	b, err := bbolt.Open(path, 0o600, nil)
	must(t, err)
	must(t, b.Close())
	d := open(t, path)
	must(t, d.Commit(&Batch{Events: []state.Event{note(1)}}))
	must(t, d.Close())
	_, err = Verify(path)
	must(t, err)
}

// TestLocked refuses a file that is in use, to open and to verify, and takes it afterwards.
func TestLocked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mill.db")
	d := open(t, path)
	must(t, d.Commit(&Batch{Events: []state.Event{note(1)}}))
	var locked *Locked
	for _, err := range []error{second(Open(path, Options{Timeout: soon})), second(Verify(path)),
		CheckPages(path)} {
		if !errors.As(err, &locked) || !strings.Contains(err.Error(), path) {
			t.Fatalf("%v, want it held", err)
		}
	}
	must(t, d.Close())
	must(t, open(t, path).Close())
}

// TestNewer refuses a file of a later program, or with one record of it, and names the program.
func TestNewer(t *testing.T) {
	put := func(path, bucket string, key, val []byte, fix func(*standing)) {
		t.Helper()
		b, err := bbolt.Open(path, 0o600, nil)
		must(t, err)
		must(t, b.Update(func(tx *bbolt.Tx) error {
			var s standing
			must(t, readStanding(path, tx, &s))
			fix(&s)
			must(t, tx.Bucket([]byte(bucket)).Put(key, seal(bucket, key, val)))
			return putAbout(tx, "standing", s.encode())
		}))
		must(t, b.Close())
	}
	var newer *Newer

	path := filled(t, 10)
	put(path, about, []byte("format"), []byte(`{"format":2,"program":"lotbell 9.1"}`),
		func(*standing) {})
	for _, err := range []error{second(Open(path, Options{})), second(Verify(path))} {
		if !errors.As(err, &newer) || !strings.Contains(err.Error(), "lotbell 9.1") ||
			!strings.Contains(err.Error(), "format is 2") {
			t.Fatalf("%v", err)
		}
	}

	path = filled(t, 10)
	key, rec := number(11), []byte("z\x03\x00\x00\x00\x00{}")
	put(path, "events", key, rec, func(s *standing) {
		s.last++
		s.tally[events].n++
		s.tally[events].crc ^= sum("events", key, rec)
	})
	put(path, about, []byte("format"), []byte(`{"format":1,"program":"lotbell 9.2"}`),
		func(*standing) {})
	d, err := Open(path, Options{})
	must(t, err)
	_, err = d.Load()
	must(t, d.Close())
	for _, err := range []error{err, second(Verify(path))} {
		if !errors.As(err, &newer) || newer.Seq != 11 || newer.Program != "lotbell 9.2" {
			t.Fatalf("%v", err)
		}
	}
}

// TestOlder opens a file from before its last box was thought of: it gets the box and keeps what
// it has.
func TestOlder(t *testing.T) {
	path := filled(t, 100)
	last := boxNames()[boxCount-1]
	b, err := bbolt.Open(path, 0o600, nil)
	must(t, err)
	must(t, b.Update(func(tx *bbolt.Tx) error {
		var s standing
		must(t, readStanding(path, tx, &s))
		old := s.encode()
		must(t, putAbout(tx, "standing", old[:len(old)-12]))
		return tx.DeleteBucket([]byte(last))
	}))
	must(t, b.Close())
	d, err := Open(path, Options{})
	must(t, err)
	must(t, d.Commit(&Batch{Cursors: map[string]string{"v": "5"}}))
	if got, err := d.Load(); len(got) != 100 || err != nil {
		t.Fatalf("%d events, %v", len(got), err)
	}
	must(t, d.Close())
	r, err := Verify(path)
	must(t, err)
	if r.Rows[last] != 1 {
		t.Fatalf("%v", r.Rows)
	}
}

// TestMode makes files that only their owner reads.
func TestMode(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no file modes")
	}
	d := fresh(t)
	copied := filepath.Join(t.TempDir(), "copy.db")
	must(t, d.Backup(copied))
	for _, path := range []string{d.Path(), copied} {
		if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o600 {
			t.Fatalf("%s: %v, %v", path, st.Mode(), err)
		}
	}
}

// TestBackup copies a journal again and again while it is written: every copy is whole and is the
// mill at one commit, and the last one is the mill.
func TestBackup(t *testing.T) {
	d := fresh(t)
	copied := filepath.Join(t.TempDir(), "copy.db")
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		for n := 10; ; n += 10 {
			select {
			case <-stop:
				return
			default:
				fillBoxes(t, d, n)
			}
		}
	}()
	last := 0
	for range 10 {
		must(t, d.Backup(copied))
		got := loadAt(t, copied)
		if len(got) < last || len(got)%10 != 0 {
			t.Fatalf("%d events, no commit has so many, or fewer than %d", len(got), last)
		}
		last = len(got)
		got, err := d.Load() // and so is what is read while the writer writes
		must(t, err)
		for i, e := range got {
			if !reflect.DeepEqual(e, note(state.Seq(i+1))) {
				t.Fatalf("event %d is %v", i+1, e)
			}
		}
		if len(got) < last || len(got)%10 != 0 {
			t.Fatalf("%d events while writing, after %d", len(got), last)
		}
	}
	close(stop)
	<-stopped
	must(t, d.Backup(copied))
	got, err := d.Load()
	must(t, err)
	if again := loadAt(t, copied); len(got) == 0 || !reflect.DeepEqual(got, again) {
		t.Fatalf("%d events, %d in the copy, or otherwise", len(got), len(again))
	}
	if _, err := os.Stat(copied + ".part"); !os.IsNotExist(err) {
		t.Fatalf("part left behind: %v", err)
	}
}

// loadAt is what a journal holds.
func loadAt(t testing.TB, path string) []state.Event {
	t.Helper()
	d := open(t, path)
	got, err := d.Load()
	must(t, err)
	must(t, d.Close())
	return got
}

// TestBackupFails keeps the older backup and says where the new one was to go.
func TestBackupFails(t *testing.T) {
	d := fresh(t)
	dir := t.TempDir()
	for _, path := range []string{d.Path(), filepath.Join(dir, "none", "copy.db"), dir} {
		if err := d.Backup(path); err == nil || !strings.Contains(err.Error(), path) {
			t.Errorf("backup to %s: %v", path, err)
		}
	}
	if left, err := filepath.Glob(dir + "*.part"); len(left) > 0 || err != nil {
		t.Errorf("left behind: %v, %v", left, err)
	}
	must(t, d.Commit(&Batch{Events: []state.Event{note(1)}}))
}

// TestBackupOfDamage does not put a copy of a damaged file in the place of a good backup, and says
// so; reading and folding the damaged part fail too, while the process lives on.
func TestBackupOfDamage(t *testing.T) {
	d, copied := fresh(t), filepath.Join(t.TempDir(), "copy.db")
	fillBoxes(t, d, 300)
	must(t, d.Backup(copied))
	good, err := os.ReadFile(copied)
	must(t, err)
	content, err := os.ReadFile(d.Path())
	must(t, err)
	f, err := os.OpenFile(d.Path(), os.O_RDWR, 0)
	must(t, err)
	defer func() { must(t, f.Close()) }()
	for at := 0; at < len(content); { // in every copy of what all events and words say
		i := strings.Index(string(content[at:]), "slippery")
		if i < 0 {
			break
		}
		at += i + 1
		_, err := f.WriteAt([]byte("P"), int64(at+3))
		must(t, err)
	}
	var damaged *Damaged
	for name, err := range map[string]error{"backup": d.Backup(copied), "load": second(d.Load()),
		"words": second(d.Words(1))} {
		if !errors.As(err, &damaged) {
			t.Errorf("%s: %v, want it damaged", name, err)
		}
	}
	_, err = d.Load()
	if !errors.As(err, &damaged) || damaged.Found[0].Record != "event 1" {
		t.Errorf("%v, want the first of them named", err)
	}
	if now, err := os.ReadFile(copied); err != nil || string(now) != string(good) {
		t.Errorf("the good backup was touched (%v)", err)
	}
	if n := d.Next(); n != 301 {
		t.Errorf("next is %d", n)
	}
	must(t, d.Commit(&Batch{Events: []state.Event{note(301)}}))
}

// TestCutUnderneath shortens the file under an open journal, so that its map reaches past the end:
// reads and commits fail with damage named, and the process lives on.
func TestCutUnderneath(t *testing.T) {
	d := fresh(t)
	fillBoxes(t, d, 1000)
	must(t, os.Truncate(d.Path(), 3*int64(os.Getpagesize())))
	var damaged *Damaged
	for name, err := range map[string]error{"load": second(d.Load()), "words": second(d.Words(1)),
		"inbox": second(d.Inbox(0)), "commit": d.Commit(&Batch{Events: []state.Event{note(1001)}}),
		"receive": second(d.Receive([]In{{Via: "v", ID: "x"}}, nil))} {
		if !errors.As(err, &damaged) {
			t.Errorf("%s: %v, want it damaged", name, err)
		}
	}
	if err := d.Close(); !errors.As(err, &damaged) {
		t.Errorf("closing: %v, want it damaged", err)
	}
	if _, err := d.Inbox(0); !errors.Is(err, ErrClosed) {
		t.Errorf("after closing: %v", err)
	}
}

// TestVerifyReports says what a whole file holds.
func TestVerifyReports(t *testing.T) {
	path := filled(t, 100)
	must(t, open(t, path).Close()) // signs it
	r, err := Verify(path, CheckPages)
	must(t, err)
	if r.Events != 100 || r.Rows["words"] != 10 || r.Program != "lotbell test" || r.Format != 1 {
		t.Fatalf("%+v", r)
	}
	if s := r.String(); !strings.Contains(s, "whole: 100 events") || !strings.Contains(s, path) {
		t.Fatal(s)
	}
	r, err = Verify(path, func(string) error { return errors.New("page 3: odd") })
	var damaged *Damaged
	if !errors.As(err, &damaged) || !strings.Contains(r.String(), "page 3: odd") {
		t.Fatalf("%v, %v", err, r)
	}
}

// TestOwnWalk reads the same pairs as bbolt's own cursor, from a tree of several levels with
// pages that run on, after rows have gone.
func TestOwnWalk(t *testing.T) {
	d := fresh(t)
	fillBoxes(t, d, 3000)
	must(t, d.Commit(&Batch{Events: []state.Event{{Seq: 3001, Body: state.Adopt{Version: 1,
		Text: strings.Repeat("[rule]\n", 5000)}}}}))
	for no := uint64(1); no <= 300; no += 2 {
		must(t, d.Commit(&Batch{Drop: []uint64{no}, Words: map[state.Seq]string{state.Seq(no): ""}}))
	}
	want := everything(t, d)
	must(t, d.Close())
	f, err := os.Open(d.Path())
	must(t, err)
	defer func() { must(t, f.Close()) }()
	h, err := newestHead(d.Path(), f)
	must(t, err)
	w := newWalk(f, h)
	all, err := w.buckets()
	must(t, err)
	got := map[string]string{"standing": want["standing"], "next": want["next"]}
	for _, name := range boxNames() {
		must(t, w.leaves(all[name], func(_ uint64, pairs []pair) error {
			for _, p := range pairs {
				got[fmt.Sprintf("%s %q", name, p.key)] = string(p.val[4:])
			}
			return nil
		}))
	}
	if len(want) < 3500 || !reflect.DeepEqual(got, want) {
		t.Fatalf("%d pairs, bbolt has %d, or otherwise", len(got), len(want))
	}
	must(t, w.leaves(all[about], func(uint64, []pair) error { return nil }))
	must(t, w.unused())
}
