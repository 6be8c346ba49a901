package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram/fake"
)

func TestHealthPortIsLoopbackOnly(t *testing.T) {
	for _, bad := range []string{"0.0.0.0:8077", "192.168.1.5:8077", ":8077", "[::]:8077", "8077",
		"localhost:8077", "example.org:80", "127.0.0.1", "127.0.0.1:99999", "10.0.0.1:0"} {
		l, err := listenHere(bad)
		if err == nil {
			l.Close()
			t.Errorf("%s is taken", bad)
		} else if !strings.Contains(err.Error(), "127.0.0.1:8077") {
			t.Errorf("%s: no example in %q", bad, err)
		}
	}
	for _, good := range []string{"127.0.0.1:0", "127.9.9.9:0"} {
		l, err := listenHere(good)
		if err != nil {
			t.Errorf("%s: %v", good, err)
			continue
		}
		l.Close()
	}
}

// asked opens a port, answers its questions with one answer (none when nil), and gives what GET of
// a path brings.
func asked(t *testing.T, path string, answer *counted) (int, string) {
	t.Helper()
	l, err := listenHere("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	h := &health{asks: make(chan chan<- counted), wait: 200 * time.Millisecond}
	ended := make(chan error, 1)
	go func() { ended <- h.serve(ctx, l) }()
	defer func() {
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("the port ended with %v", err)
		}
	}()
	if answer != nil {
		go func() { (<-h.asks) <- *answer }()
	}
	resp, err := http.Get("http://" + l.Addr().String() + path)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(body)
}

func TestHealth(t *testing.T) {
	well := &counted{Counts: bot.Counts{Events: 12, Calls: 3, Unheard: 2, Urgent: 1, Heard: 1500}}
	for _, x := range []struct {
		path   string
		answer *counted
		code   int
		want   []string
	}{
		{"/health", well, 200, []string{"ok\n"}},
		{"/health", &counted{failing: true}, 503, []string{"could not finish"}},
		{"/health", &counted{err: fmt.Errorf("read the inbox: gone")}, 503, []string{"gone"}},
		{"/health", nil, 503, []string{"does not answer"}},
		{"/metrics", well, 200, []string{"# TYPE lotbell_events gauge\nlotbell_events 12\n",
			"lotbell_calls 3\n", "lotbell_calls_unheard 2\n", "lotbell_calls_urgent 1\n",
			"lotbell_heard_seconds 1.5\n", "lotbell_well 1\n"}},
		{"/metrics", nil, 503, []string{"does not answer"}},
		{"/", well, 404, nil},
	} {
		code, body := asked(t, x.path, x.answer)
		if code != x.code {
			t.Errorf("%s: %d, want %d: %s", x.path, code, x.code, body)
		}
		for _, want := range x.want {
			if !strings.Contains(body, want) {
				t.Errorf("%s: no %q in:\n%s", x.path, want, body)
			}
		}
	}
}

// TestServeHealth starts the real serve with a port, and asks it over a mill with people: numbers
// come back, and no name, chat or token. Menus are set on the way.
func TestServeHealth(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the real program")
	}
	program, path := builtProgram(t), filepath.Join(t.TempDir(), "mill.db")
	at := time.Now()
	serveMill(t, path, 3, at)
	far, err := fake.New(testToken, at)
	if err != nil {
		t.Fatal(err)
	}
	defer far.Close()
	for _, id := range append([]int64{900}, chats(3)...) {
		far.Meet(id)
	}
	cmd := exec.Command(program, "serve", "-db", path, "-api", far.URL(), "-health", "127.0.0.1:0")
	cmd.Env = append(os.Environ(), tokenName+"="+testToken)
	log, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() {
		cmd.Process.Signal(syscall.SIGTERM)
		cmd.Wait()
	}()
	tellsNumbers(t, addressIn(t, log))
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	if err := far.Until(ctx, func() bool {
		n := 0
		for _, m := range far.Sent() {
			if m.Method == "setMyCommands" {
				n++
			}
		}
		return n >= 4+2 // four chats, and strangers in two languages
	}); err != nil {
		t.Errorf("the menus were not set: %v", err)
	}
}

// tellsNumbers asks the port of the mill above.
func tellsNumbers(t *testing.T, address string) {
	t.Helper()
	if got := fetched(t, "http://"+address+"/health"); got != "ok\n" {
		t.Errorf("health says %q", got)
	}
	got := fetched(t, "http://"+address+"/metrics")
	for _, want := range []string{"lotbell_people 4\n", "lotbell_well 1\n", "lotbell_inbox 0\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in:\n%s", want, got)
		}
	}
	for _, no := range []string{"1000", "900", "telegram", testToken} {
		if strings.Contains(got, no) {
			t.Errorf("%q is told:\n%s", no, got)
		}
	}
}

// TestServeRefusesAnOpenPort starts nothing on a port that others could ask.
func TestServeRefusesAnOpenPort(t *testing.T) {
	var said strings.Builder
	for _, bad := range []string{"0.0.0.0:8077", "nonsense"} {
		path := filepath.Join(t.TempDir(), "mill.db")
		code := serveCommand(env{err: &said, out: &said, now: time.Now,
			getenv: func(string) string { return testToken }}, []string{"-db", path, "-health", bad})
		if code != exitNo || !strings.Contains(said.String(), "127.0.0.1:8077") {
			t.Errorf("-health %s: %d, %s", bad, code, said.String())
		}
		if _, err := os.Stat(path); err == nil {
			t.Errorf("-health %s: a journal was made all the same", bad)
		}
	}
}

// addressIn reads the log until it tells the port's address, and lets the rest run off.
func addressIn(t *testing.T, log io.Reader) string {
	t.Helper()
	lines := bufio.NewScanner(log)
	for lines.Scan() {
		if _, rest, ok := strings.Cut(lines.Text(), `"address":"`); ok {
			go io.Copy(io.Discard, log)
			address, _, _ := strings.Cut(rest, `"`)
			return address
		}
	}
	t.Fatal("serve did not say where it tells its health")
	return ""
}

func fetched(t *testing.T, url string) string {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body)
}
