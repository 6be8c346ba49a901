package telegram

import (
	"context"
	"errors"
	"go/parser"
	"go/token"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lotbell/bot/telegram/fake"
	"lotbell/state"
)

func TestOptions(t *testing.T) {
	good := Options{Token: token4711, Now: noon,
		Wait: func(context.Context, time.Duration) error { return nil }}
	for _, x := range []struct {
		name  string
		token string
		url   string
		says  string // "" is taken
	}{
		{"as it should be", token4711, "", ""},
		{"with the line's end", token4711 + "\n", "", ""},
		{"on this machine", token4711, "http://127.0.0.1:8081", ""},
		{"on this machine, by name", token4711, "http://localhost:8081/", ""},
		{"another server", token4711, "https://bots.example", ""},
		{"none", "", "", "there is none"},
		{"no colon", "4711made-up", "", "these 11 characters are not one"},
		{"a slash", "4711:made/up", "", "are not one"},
		{"too long", "4711:" + strings.Repeat("x", 80), "", "are not one"},
		{"in the open", token4711, "http://bots.example", "unprotected"},
		{"on the mill's network", token4711, "http://192.168.1.5:8081", "unprotected"},
		{"no address", token4711, "bots.example", "no server address"},
		{"a name and a word in it", token4711, "https://a:b@bots.example", "no server address"},
	} {
		o := good
		o.Token, o.URL = x.token, x.url
		_, err := New(o, &box{})
		switch {
		case x.says == "" && err != nil:
			t.Errorf("%s: %v", x.name, err)
		case x.says != "" && (err == nil || !strings.Contains(err.Error(), x.says)):
			t.Errorf("%s: %v, want %q", x.name, err, x.says)
		case err != nil && strings.Contains(err.Error(), "made"):
			t.Errorf("%s: the token is in %v", x.name, err)
		}
	}
	good.Now = nil
	if _, err := New(good, &box{}); err == nil {
		t.Error("a link without a clock was made")
	}
}

func TestName(t *testing.T) {
	r := newRig(t)
	name, err := r.link.Name(r.ctx)
	if err != nil || name != "lotbell_test_bot" {
		t.Errorf("%q, %v", name, err)
	}
	r.srv.Fail("getMe", 1, fake.Refuse(401, "Unauthorized"))
	_, err = r.link.Name(r.ctx)
	var no *Refused
	if !errors.As(err, &no) || no.Code != 401 {
		t.Errorf("a dead token: %v", err)
	}
	r.srv.Fail("getMe", 1, fake.Garbage(200, `{"ok":true,"result":5}`))
	if _, err = r.link.Name(r.ctx); err == nil {
		t.Error("a number was taken for a bot")
	}
}

// TestTokenIsHushed: whatever a far side, or the way there, does, the token is in no error.
func TestTokenIsHushed(t *testing.T) {
	elsewhere := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		t.Errorf("a redirect was followed to %s", r.URL)
	}))
	defer elsewhere.Close()
	for name, h := range map[string]http.HandlerFunc{
		"redirect": func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, elsewhere.URL+r.URL.Path, http.StatusTemporaryRedirect)
		},
		"echo in a refusal": func(w http.ResponseWriter, r *http.Request) {
			_, _ = w.Write([]byte(`{"ok":false,"error_code":400,"description":"` + r.URL.Path + `"}`))
		},
		"echo as a page": func(w http.ResponseWriter, r *http.Request) {
			_, _ = w.Write([]byte(r.URL.Path))
		},
		"cut": func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) },
		"half sent": func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "9")
		},
	} {
		srv := httptest.NewServer(h)
		r := newRig(t)
		o := r.link.o
		o.URL = srv.URL
		link, err := New(o, r.box)
		if err != nil {
			t.Fatal(err)
		}
		_, first := link.Name(r.ctx)
		_, second := link.poll.call(r.ctx, "getUpdates", ask{})
		srv.Close()
		_, third := link.Name(r.ctx)
		for _, err := range []error{first, second, third} {
			if err == nil || strings.Contains(err.Error(), "made-up") {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

// TestTheFarSideTellsItsTime: with a yes and with a no, and never with a page from somewhere on the
// way.
func TestTheFarSideTellsItsTime(t *testing.T) {
	r := newRig(t)
	var told []time.Time
	o := r.link.o
	o.Asks = func() func(time.Time) { return func(at time.Time) { told = append(told, at) } }
	link, err := New(o, r.box)
	if err != nil {
		t.Fatal(err)
	}
	r.srv.Fail("getMe", 1, fake.Garbage(502, "<html>"))
	r.srv.Fail("getMe", 1, fake.Refuse(401, "Unauthorized"))
	for range 3 {
		_, _ = link.Name(r.ctx) // what comes of it is held elsewhere
		r.srv.Advance(time.Hour)
	}
	same(t, "told", told, []time.Time{noon().Add(time.Hour), noon().Add(2 * time.Hour)})
}

// TestLargeChatNumbers: 64 bits, also where the library's int has 32.
func TestLargeChatNumbers(t *testing.T) {
	r := newRig(t)
	r.srv.Migrate(-6, -1009999999999)
	_, err := r.link.wire.call(r.ctx, "sendMessage", map[string]any{"chat_id": -6, "text": "a"})
	var no *Refused
	if !errors.As(err, &no) || no.MovedTo != -1009999999999 {
		t.Errorf("%+v, %v", no, err)
	}
}

// TestHoldEndsWithItsClock: a clock set back ends a hold instead of lengthening it.
func TestHoldEndsWithItsClock(t *testing.T) {
	at := state.At(noon())
	h := hold{at, at.Add(30 * time.Second)}
	for at, want := range map[state.Instant]time.Duration{at: 30 * time.Second,
		at.Add(29 * time.Second): time.Second, at.Add(30 * time.Second): 0,
		at.Add(-time.Hour): 0, at.Add(time.Hour): 0} {
		same(t, at.Time().String(), h.left(at), want)
	}
	same(t, "none", hold{}.left(at), 0)
}

func TestBackoff(t *testing.T) {
	for n, want := range map[int]int{0: 1, 1: 1, 2: 2, 5: 16, 6: 30, 1000: 30} {
		same(t, "backoff", int(backoff(n)/time.Second), want)
	}
}

// TestPacerForgetsStrangers: the memory of chats is bounded.
func TestPacerForgetsStrangers(t *testing.T) {
	p := newPacer()
	for chat := range int64(3 * manyChats) {
		p.take(chat, noon())
	}
	if len(p.chats) > manyChats {
		t.Errorf("%d chats are remembered", len(p.chats))
	}
}

// TestFakeIsForTestsOnly: nothing but tests imports the fake server.
func TestFakeIsForTestsOnly(t *testing.T) {
	root := filepath.Join("..", "..")
	files := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		files++
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, i := range f.Imports {
			if i.Path.Value == `"lotbell/bot/telegram/fake"` {
				t.Errorf("%s imports the fake server", path)
			}
		}
		return nil
	})
	if err != nil || files < 10 {
		t.Errorf("looked at %d files: %v", files, err)
	}
}
