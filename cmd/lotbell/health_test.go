package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"lotbell/bot"
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

// asked opens a port, answers its questions with one answer (none when nil), and gives what GET of a
// path brings.
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
