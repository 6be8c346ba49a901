package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

// running is the real serve at work for some workers, with the double it talks to.
type running struct {
	t       *testing.T
	ctx     context.Context
	program string
	path    string
	far     *fake.Server
}

// newRunning makes a mill and its far side; nothing is started yet.
func newRunning(t *testing.T, program string, workers int) *running {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
	t.Cleanup(cancel)
	r := &running{t, ctx, program, filepath.Join(t.TempDir(), "mill.db"),
		farSide(t, time.Now(), workers)}
	go r.tick()
	serveMill(t, r.path, workers, time.Now())
	return r
}

// tick lets the far side's clock go with this machine's: the double's stands still by itself.
func (r *running) tick() {
	const step = 100 * time.Millisecond
	for wait(r.ctx, step) == nil {
		r.far.Advance(step)
	}
}

// start starts serve and waits until its poll stands open.
func (r *running) start() *exec.Cmd {
	r.t.Helper()
	cmd := startServe(r.t, r.program, r.path, r.far.URL())
	r.until("a poll stands open", r.far.Polling)
	return cmd
}

// until waits until the far side sees something.
func (r *running) until(what string, ok func() bool) {
	r.t.Helper()
	if err := r.far.Until(r.ctx, ok); err != nil {
		sent := r.far.Sent()
		r.t.Fatalf("%s: %v; sent at the end: %+v", what, err, sent[max(0, len(sent)-5):])
	}
}

// got says whether a chat has got a message with these words.
func got(far *fake.Server, chat int64, words string) func() bool {
	return func() bool {
		return slices.ContainsFunc(far.Sent(), func(m fake.Sent) bool {
			return m.Chat == chat && strings.Contains(m.Text, words)
		})
	}
}

// TestServeFaults are faults that the real program meets on a real disk and a real clock.
func TestServeFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the real program")
	}
	program := builtProgram(t)
	t.Run("stop", func(t *testing.T) { stopInTime(t, program) })
	t.Run("quiet", func(t *testing.T) { tellsNothing(t, program) })
	t.Run("second", func(t *testing.T) { secondProcess(t, program) })
	t.Run("full disk", func(t *testing.T) { fullDisk(t, program) })
	t.Run("thousand", func(t *testing.T) { thousandAtOnce(t, program) })
	t.Run("memory", func(t *testing.T) { idleMemory(t, program) })
}

// stopInTime: the program has ended 3 s after it is told to, with a poll that waits and with a
// message that nobody answers; the copy is there, and the next start goes on.
func stopInTime(t *testing.T, program string) {
	r := newRunning(t, program, 1)
	cmd := r.start()
	t.Logf("during a long poll: %v", stopped(t, cmd).Round(time.Millisecond))
	if _, err := journal.Verify(r.path + ".backup"); err != nil {
		t.Errorf("the copy: %v", err)
	}
	cmd = r.start()
	r.far.Fail("sendMessage", -1, fake.Stall())
	r.far.Say(1000, "t1 add 3000")
	r.until("the answer hangs", got(r.far, 1000, "3000 kg"))
	t.Logf("while a request hangs: %v", stopped(t, cmd).Round(time.Millisecond))
	r.far.Mend()
	cmd = r.start()
	r.far.Say(1000, "t1 add 770")
	r.until("it goes on", got(r.far, 1000, "770 kg"))
	stopped(t, cmd)
}

// secondProcess: another serve on the same journal says what is the matter and ends; the first
// goes on.
func secondProcess(t *testing.T, program string) {
	r := newRunning(t, program, 1)
	cmd := r.start()
	began := time.Now()
	second := exec.CommandContext(r.ctx, program, "serve", "-db", r.path, "-api", r.far.URL())
	second.Env = append(os.Environ(), tokenName+"="+testToken)
	said, err := second.CombinedOutput()
	if err == nil || second.ProcessState.ExitCode() != exitNo ||
		!strings.Contains(string(said), r.path+".backup") {
		t.Errorf("the second: %v, %s", err, said)
	}
	t.Logf("the second ended after %v: %s", time.Since(began).Round(time.Millisecond),
		strings.ReplaceAll(strings.TrimSpace(string(said)), r.path, "mill.db"))
	r.far.Say(1000, "t1 add 3000")
	r.until("the first goes on", got(r.far, 1000, "3000 kg"))
	stopped(t, cmd)
}

// thousandAtOnce: after a cut a thousand updates wait. All are applied, each once.
func thousandAtOnce(t *testing.T, program string) {
	const workers, lines = 40, 25
	r := newRunning(t, program, workers)
	cmd := r.start()
	r.far.Down()
	for n := range lines {
		for i := range workers {
			r.far.Say(int64(1000+i), lineOf(i, n))
		}
	}
	if err := r.far.Up(); err != nil {
		t.Fatal(err)
	}
	r.until("the first is asked for", func() bool { return len(r.far.Confirmed()) > 0 })
	began := time.Now()
	r.until("all are stored", func() bool { return len(r.far.Confirmed()) == workers*lines })
	stored := time.Since(began)
	rss := memory(t, cmd, "VmHWM")
	stop := stopped(t, cmd) // with what is in the inbox by then: that is finished first
	applied := time.Since(began)
	db, err := journal.Open(r.path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	left, err := db.Inbox(0)
	if err != nil || len(left) > 0 {
		t.Errorf("%d messages were left behind, %v", len(left), err)
	}
	if err := db.Close(); err != nil {
		t.Error(err)
	}
	cmd = r.start() // and what is answered goes out
	r.until("the first answers", func() bool { return len(r.far.Sent()) > 2*workers })
	stopped(t, cmd)
	checkLines(t, r.path, workers, lines)
	t.Logf("%d updates stored in %.2f s, applied in %.2f s, of which %.2f s after SIGTERM; "+
		"%d MB at most", workers*lines, stored.Seconds(), applied.Seconds(), stop.Seconds(), rss>>10)
	if rss > 200<<10 {
		t.Errorf("%d kB of memory", rss)
	}
}

// idleMemory is what the program holds when it waits, with an empty journal and with a season.
func idleMemory(t *testing.T, program string) {
	const events = 60_000
	for _, n := range []int{0, events} {
		r := newRunning(t, program, 40)
		readings(t, r.path, 40, n)
		began := time.Now()
		cmd := r.start()
		started := time.Since(began)
		rss, most := memory(t, cmd, "VmRSS"), memory(t, cmd, "VmHWM")
		stopped(t, cmd)
		t.Logf("journal of %d events and %d people: polling after %.2f s, %d MB resident, "+
			"%d MB at most", n, 41, started.Seconds(), rss>>10, most>>10)
		if rss > 250<<10 {
			t.Errorf("%d kB of memory with %d events", rss, n)
		}
	}
}

// readings writes events into a mill's journal, ending now: a tank in ten minutes, all the season.
func readings(t *testing.T, path string, tanks, n int) {
	t.Helper()
	db, err := journal.Open(path, journal.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	at := state.At(time.Now())
	for n > 0 {
		b := journal.Batch{}
		first := db.Next()
		for i := range min(n, 1000) {
			seq := first + state.Seq(i)
			b.Events = append(b.Events, state.Event{Seq: seq, Msg: seq, At: at, Heard: at, By: 1,
				Body: state.Reading{Place: fmt.Sprintf("t%d", i%tanks+1), What: "ph",
					Value: 4 + float64(i%90)/100, Digits: 2}})
		}
		if err := db.Commit(&b); err != nil {
			t.Fatal(err)
		}
		n -= len(b.Events)
	}
}

// memory reads a line of the system's about a process, in kB; 0 where the system tells none.
func memory(t *testing.T, cmd *exec.Cmd, name string) int {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid))
	if os.IsNotExist(err) {
		return 0
	}
	m := regexp.MustCompile(name + `:\s*(\d+) kB`).FindSubmatch(text)
	if m == nil {
		t.Fatalf("no %s in %s", name, bytes.TrimSpace(text))
	}
	kB, err := strconv.Atoi(string(m[1]))
	if err != nil {
		t.Fatal(err)
	}
	return kB
}
