package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram"
	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

const testToken = "123456:test-token-of-the-double"

// builtProgram is the real program, built once for the tests that start it.
func builtProgram(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "lotbell")
	if out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	return path
}

// serveMill makes a mill in a journal for as many workers as are wanted; worker i has chat 1000+i.
func serveMill(t *testing.T, path string, workers int, at time.Time) {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	desk, err := bot.Open(db, bot.Options{Program: version, Bind: telegram.Via})
	if err != nil {
		t.Fatal(err)
	}
	text := "zone UTC\nperson 900 manager keeper en\n"
	for i := range workers {
		text += fmt.Sprintf("place d%d drum 3500 inlet C\nplace t%d tank 6000\n", i+1, i+1)
		post := "tank"
		if i == 0 {
			post = "drum tank" // one drum hand, so that six alarms are six messages
		}
		text += fmt.Sprintf("person %d worker %s en\n", 1000+i, post)
	}
	if err := desk.Start(state.At(at)); err != nil {
		t.Fatal(err)
	}
	if err := desk.Setup(text, state.At(at)); err != nil {
		t.Fatal(err)
	}
}

// startServe starts the real serve against a server double.
func startServe(t *testing.T, program, path, url string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(program, "serve", "-db", path, "-api", url)
	cmd.Env = append(os.Environ(), tokenName+"="+testToken)
	log := &tail{t: t}
	cmd.Stderr = log
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("serve logged, at the end:\n%s", strings.Join(log.lines[max(0, len(log.lines)-12):], ""))
		}
	})
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd
}

// tail keeps what serve logs, and shows it when the test has failed.
type tail struct {
	t     *testing.T
	lines []string
}

func (w *tail) Write(p []byte) (int, error) {
	if strings.Contains(string(p), testToken) {
		w.t.Error("the token is in the log")
	}
	w.lines = append(w.lines, string(p))
	return len(p), nil
}

// lineOf is what worker i writes as the n-th message: all lines differ, and some ring.
func lineOf(i, n int) string {
	switch n {
	case 0:
		return fmt.Sprintf("t%d add %d", i+1, 3000+i)
	case 1:
		return fmt.Sprintf("d%d load 2%03dkg", i+1, 100+i)
	case 2:
		return fmt.Sprintf("d%d %d", i+1, 50+i%9)
	case 3:
		if i < 6 {
			return fmt.Sprintf("t%d rough", i+1) // the manager is called
		}
		return fmt.Sprintf("t%d slippery", i+1)
	}
	if i < 6 {
		return fmt.Sprintf("d%d %d", i+1, 71+i) // over 70 C: an alarm
	}
	return fmt.Sprintf("t%d ph %.1f", i+1, 4+float64(i%9)/10)
}

// TestServeKilled lets the real serve take 200 messages, some of them offered twice, and kills it
// three times at random. Nothing may be lost and nothing taken twice: each line stands once in the
// journal, each has its answer, every call that rang was sent, and the mill is that of a run that
// nobody killed.
func TestServeKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills the real program")
	}
	const workers, lines = 40, 5
	program, dir, at := builtProgram(t), t.TempDir(), time.Now()
	path := filepath.Join(dir, "mill.db")
	serveMill(t, path, workers, at)
	far, err := fake.New(testToken, at)
	if err != nil {
		t.Fatal(err)
	}
	defer far.Close()
	for _, id := range append([]int64{900}, chats(workers)...) {
		far.Meet(id)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Second)
	defer cancel()
	cmd := startServe(t, program, path, far.URL())
	sent := map[int64][]string{}
	for n := range lines {
		far.Advance(time.Second)
		for i := range workers {
			far.Say(int64(1000+i), lineOf(i, n))
			sent[int64(1000+i)] = append(sent[int64(1000+i)], lineOf(i, n))
		}
		if n == 1 || n == 2 || n == 3 {
			want := workers*n + rand.IntN(workers)
			if err := far.Until(ctx, func() bool { return len(far.Confirmed()) >= want }); err != nil {
				t.Fatal(err)
			}
			cmd.Process.Kill()
			cmd.Wait()
			far.Repeat(3)
			cmd = startServe(t, program, path, far.URL())
		}
	}
	answered := func() bool {
		return len(far.Confirmed()) >= workers*lines && far.Waiting() == 0 &&
			len(unanswered(far, sent)) == 0
	}
	if err := far.Until(ctx, answered); err != nil {
		t.Errorf("not answered: %v", unanswered(far, sent))
	}
	cmd.Process.Signal(syscall.SIGTERM)
	if err := cmd.Wait(); err != nil {
		t.Errorf("serve ended with %v", err)
	}
	checkJournal(t, path, far, workers, lines)
	calm := filepath.Join(dir, "calm.db")
	serveMill(t, calm, workers, at)
	a, b := slateOf(t, path), calmSlate(t, calm, workers, lines, at)
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) || a[i] != b[i] {
			t.Fatalf("the mill says %q, of a run that nobody killed %q", a[i:], b[i:])
		}
	}
}

func chats(n int) []int64 {
	var out []int64
	for i := range n {
		out = append(out, int64(1000+i))
	}
	return out
}

// unanswered counts the messages of each chat that no message of the bot answers.
func unanswered(far *fake.Server, sent map[int64][]string) map[int64]int {
	replies := map[int64]map[int]bool{}
	for _, m := range far.Sent() {
		if m.ReplyTo != 0 {
			if replies[m.Chat] == nil {
				replies[m.Chat] = map[int]bool{}
			}
			replies[m.Chat][m.ReplyTo] = true
		}
	}
	out := map[int64]int{}
	for chat, lines := range sent {
		if n := len(lines) - len(replies[chat]); n > 0 {
			out[chat] = n
		}
	}
	return out
}

// checkJournal holds the journal to what was sent: each line once, each call sent.
func checkJournal(t *testing.T, path string, far *fake.Server, workers, lines int) {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	es, err := db.Load()
	if err != nil {
		t.Fatal(err)
	}
	times, rang := map[string]int{}, map[string]bool{}
	for _, e := range es {
		if e.Seq == e.Msg && e.By != 0 {
			text, err := db.Words(e.Msg)
			if err != nil {
				t.Fatal(err)
			}
			times[text]++
		}
		if s, ok := e.Body.(state.CallStep); ok && s.What == state.Rang {
			for _, id := range s.To {
				rang[fmt.Sprintf("(%d)/%d", s.Number, id)] = true
			}
		}
	}
	for i := range workers {
		for n := range lines {
			if k := times[lineOf(i, n)]; k != 1 {
				t.Errorf("%q stands %d times in the journal", lineOf(i, n), k)
			}
		}
	}
	cards, err := db.Cards()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cards {
		for _, m := range far.Sent() {
			if slices.Contains(c.At, fmt.Sprintf("telegram:%d", m.Chat)) {
				number, _, _ := strings.Cut(m.Text, " ")
				delete(rang, fmt.Sprintf("%s/%d", number, c.Person))
			}
		}
	}
	if len(rang) > 0 {
		t.Errorf("calls that rang and were never sent: %v", rang)
	}
}

// timeless takes clock times and call numbers out of a slate: calls of one instant may be numbered
// in the order in which the messages came.
var timeless = regexp.MustCompile(`\d\d:\d\d|\(\d+\) |\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun) `)

// slateOf is the slate of a journal without times, in a fixed order.
func slateOf(t *testing.T, path string) []string {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	desk, err := bot.Open(db, bot.Options{})
	if err != nil {
		t.Fatal(err)
	}
	lines := desk.Slate("en", state.At(time.Now()))
	for i := range lines {
		lines[i] = timeless.ReplaceAllString(lines[i], "")
	}
	slices.Sort(lines)
	return lines
}

// calmSlate runs the same messages through a desk in this process that nobody kills.
func calmSlate(t *testing.T, path string, workers, lines int, at time.Time) []string {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	desk, err := bot.Open(db, bot.Options{Program: version, Decode: map[string]bot.Decode{
		telegram.Via: bot.DecodeJSON}})
	if err != nil {
		t.Fatal(err)
	}
	now := state.At(at)
	for n := range lines {
		now = now.Add(time.Second)
		for i := range workers {
			now = now.Add(time.Millisecond)
			raw := fmt.Appendf(nil, `{"From":{"Via":"telegram","ID":"%d"},"ID":"%d","At":%d,`+
				`"Kind":"text","Text":%q}`, 1000+i, n, now, lineOf(i, n))
			if _, err := db.Receive([]journal.In{{Via: telegram.Via, ID: fmt.Sprint(n, "-", i),
				Raw: raw, Got: now}}, nil); err != nil {
				t.Fatal(err)
			}
			if err := desk.Run(now); err != nil {
				t.Fatal(err)
			}
		}
	}
	db.Close()
	return slateOf(t, path)
}

// TestServeRefuses says clearly what keeps serve from starting.
func TestServeRefuses(t *testing.T) {
	program, path := builtProgram(t), filepath.Join(t.TempDir(), "mill.db")
	cmd := exec.Command(program, "serve", "-db", path)
	cmd.Env = append(os.Environ(), tokenName+"=")
	if out, err := cmd.CombinedOutput(); err == nil || !strings.Contains(string(out), tokenName) {
		t.Errorf("without a token: %v, %s", err, out)
	}
	serveMill(t, path, 1, time.Now())
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	cmd = exec.Command(program, "serve", "-db", path)
	cmd.Env = append(os.Environ(), tokenName+"="+testToken)
	if out, err := cmd.CombinedOutput(); err == nil || !strings.Contains(string(out), ".backup") {
		t.Errorf("while another holds the journal: %v, %s", err, out)
	}
}
