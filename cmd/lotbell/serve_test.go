package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
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

// farSide is a server double that knows the manager and the workers.
func farSide(t *testing.T, at time.Time, workers int) *fake.Server {
	t.Helper()
	far, err := fake.New(testToken, at)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(far.Close)
	for _, id := range append([]int64{900}, chats(workers)...) {
		far.Meet(id)
	}
	return far
}

// chats are the chats of some workers.
func chats(n int) []int64 {
	var out []int64
	for i := range n {
		out = append(out, int64(1000+i))
	}
	return out
}

// killed ends a program at once, as a power cut does.
func killed(t *testing.T, cmd *exec.Cmd) {
	t.Helper()
	if err := cmd.Process.Kill(); err != nil {
		t.Error(err)
	}
	_ = cmd.Wait() // it says that it was killed
}

// stopped tells a program to stop and says how long that took: 3 s at most, and no error.
func stopped(t *testing.T, cmd *exec.Cmd) time.Duration {
	t.Helper()
	began := time.Now()
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
	end := time.AfterFunc(20*time.Second, func() { _ = cmd.Process.Kill() }) // else it has ended
	defer end.Stop()
	if err := cmd.Wait(); err != nil {
		t.Errorf("serve ended with %v", err)
	}
	took := time.Since(began)
	if took > 3*time.Second {
		t.Errorf("it took %v to stop", took)
	}
	return took
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
