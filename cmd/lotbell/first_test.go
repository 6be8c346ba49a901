package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// TestFirstCode: the first keeper's code is printed on a terminal and stands nowhere else. Without
// one it is in a file for the owner's eyes, and in no log; whoever joins with it ends both.
func TestFirstCode(t *testing.T) {
	for _, onTerminal := range []bool{true, false} {
		at := time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC)
		m := &made{t, t.Context(), farSide(t, at, 0), &hands{shows: at, moved: make(chan struct{})},
			filepath.Join(t.TempDir(), "mill.db"), &lockedLines{}}
		var out bytes.Buffer
		s := m.server()
		s.out, s.first.onTerminal = &out, onTerminal
		file := m.path + ".code"
		if !onTerminal { // one that others could read is not written into
			if err := os.WriteFile(file, []byte("old"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		stop := m.run(s)
		text := out.String()
		if !onTerminal {
			is, err := os.Stat(file)
			if err != nil || is.Mode().Perm() != 0o600 {
				t.Fatalf("the file: %v, %v", is, err)
			}
			body, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			text = string(body)
		} else if _, err := os.Stat(file); err == nil {
			t.Error("there is a file beside a terminal")
		}
		code := regexp.MustCompile(`join ([a-z2-7]{10})\n`).FindStringSubmatch(text)
		if code == nil || !strings.Contains(text, "?start="+code[1]) {
			t.Fatalf("on a terminal %t: %q", onTerminal, text)
		}
		if !onTerminal && out.Len() > 0 || m.log.has(code[1]) || m.log.has("mill.db.code") == onTerminal {
			t.Errorf("on a terminal %t: printed %q, logged %q", onTerminal, out.String(),
				m.log.text.String())
		}
		m.until("they have joined", m.answered(m.far.Say(77, "join "+code[1])))
		m.until("the file is gone", func() bool { _, err := os.Stat(file); return err != nil })
		stop()
		out.Reset()
		again := m.server()
		again.out, again.first.onTerminal = &out, onTerminal
		m.run(again)()
		if _, err := os.Stat(file); err == nil || out.Len() > 0 {
			t.Errorf("a code is shown again: %q", out.String())
		}
	}
}

// TestTerminal: a file, a pipe, a buffer and nowhere are none.
func TestTerminal(t *testing.T) {
	f, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	if terminal(f) || terminal(null) || terminal(w) || terminal(&bytes.Buffer{}) {
		t.Error("something that is no terminal was taken for one")
	}
	if tty, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0); err == nil {
		defer tty.Close()
		if !terminal(tty) {
			t.Error("a terminal was not known")
		}
	}
}
