package journal

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

// childJob names the variable that makes this test binary do one job and end: it is how a test
// has a process of its own.
const childJob = "JOURNAL_TEST_CHILD"

func TestMain(m *testing.M) {
	var err error
	path := os.Args[len(os.Args)-1]
	switch os.Getenv(childJob) {
	case "":
		os.Exit(m.Run())
	case "commit":
		err = commitForEver(path)
	case "flip":
		err = flipAsTold(path)
	case "check":
		err = CheckPages(path)
	case "hang":
		for { // as bbolt's check can on damage
			runtime.Gosched()
		}
	}
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
}

// child is this binary, told to do a job with a file.
func child(job, path string) *exec.Cmd {
	c := exec.Command(os.Args[0], path)
	c.Env = append(os.Environ(), childJob+"="+job)
	c.Stderr = os.Stderr
	return c
}

// commitForEver commits steps of up to five events with all that goes with them, receives and
// sends meanwhile, and says after each commit how far the mill is on disk.
func commitForEver(path string) error {
	d, err := Open(path, Options{})
	if err != nil {
		return err
	}
	go func() {
		for i := 0; err == nil; i++ {
			_, err = d.Receive([]In{{Via: "v", ID: fmt.Sprint(d.Next(), "-", i)}}, nil)
		}
	}()
	for n := 0; ; n++ {
		first := d.Next()
		b := Batch{Words: map[state.Seq]string{first: "x"}, Out: []Out{{Via: "v", Cause: first}}}
		for i := range state.Seq(n%5 + 1) {
			b.Events = append(b.Events, note(first+i))
		}
		in, err := d.Inbox(3)
		if err != nil {
			return err
		}
		for _, r := range in {
			b.Handled = append(b.Handled, r.No)
		}
		if err := d.Commit(&b); err != nil {
			return err
		}
		fmt.Println(d.Next() - 1)
	}
}

// TestKilled kills a process that commits, several times in a row over the same file: whatever it
// said is on disk is there, each step is whole, and the file needs no repair.
func TestKilled(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mill.db")
	acked := 0
	for round := range 8 {
		c := child("commit", path)
		out, err := c.StdoutPipe()
		must(t, err)
		must(t, c.Start())
		lines := bufio.NewScanner(out)
		for range 20 + 37*round {
			if !lines.Scan() {
				t.Fatalf("the child ended by itself: %v", c.Wait())
			}
			acked, err = strconv.Atoi(lines.Text())
			must(t, err)
		}
		must(t, c.Process.Kill())
		for lines.Scan() { // what it said before it died counts too
			if n, err := strconv.Atoi(lines.Text()); err == nil {
				acked = max(acked, n)
			}
		}
		_ = c.Wait() // killed
		r, err := Verify(path)
		must(t, err)
		got := loadAt(t, path)
		if len(got) < acked || r.Events != len(got) {
			t.Fatalf("%d events on disk (%d verified), %d were acknowledged", len(got), r.Events,
				acked)
		}
		for i, e := range got {
			if !reflect.DeepEqual(e, note(state.Seq(i+1))) {
				t.Fatalf("event %d is %v", i+1, e)
			}
		}
		wholeSteps(t, path, r)
	}
}

// wholeSteps checks that the words and the outbox row of each step came with its events.
func wholeSteps(t *testing.T, path string, r Report) {
	t.Helper()
	d := open(t, path)
	defer func() { must(t, d.Close()) }()
	rows, err := d.Outbox("v", 0)
	must(t, err)
	for _, o := range rows {
		if w, err := d.Words(o.Cause); w != "x" || err != nil {
			t.Fatalf("row %d has no words: %q, %v", o.No, w, err)
		}
	}
	if len(rows) != r.Rows["words"] || len(rows) < r.Events/5 {
		t.Fatalf("%d rows, %d words, %d events", len(rows), r.Rows["words"], r.Events)
	}
}

// TestInChild runs bbolt's own check in a process of its own.
func TestInChild(t *testing.T) {
	path := filled(t, 100)
	t.Setenv(childJob, "check")
	_, err := Verify(path, InChild(time.Minute, os.Args[0]))
	must(t, err)
	t.Setenv(childJob, "hang")
	r, err := Verify(path, InChild(100*time.Millisecond, os.Args[0]))
	must(t, err)
	if len(r.Notes) != 1 || !strings.Contains(r.String(), "did not end in 100ms") {
		t.Fatalf("%v", r)
	}
	t.Setenv(childJob, "check")
	if err := InChild(time.Minute, os.Args[0])(path + ".none"); err == nil {
		t.Fatal("no complaint about a file that is not there")
	}
}
