package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/rules"
)

// play runs the demo under a book and gives the conversation.
func playDemo(t *testing.T, book string) string {
	t.Helper()
	got, err := bot.Play(demoScript, func(string) (string, error) { return demoMill, nil }, book, nil)
	if err != nil {
		t.Fatal(err)
	}
	return got.Text
}

// TestEveryRuleMattersToTheDemo takes each call and each guard out of the default book in turn: the
// demo must then go another way.
func TestEveryRuleMattersToTheDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("some 35 runs of the demo")
	}
	want := playDemo(t, "")
	text := rules.DefaultText()
	for _, head := range []string{"[[call]]", "[[guard]]"} {
		parts := strings.Split(text, head)
		for i := 1; i < len(parts); i++ {
			name, _, _ := strings.Cut(strings.SplitN(parts[i], `name = "`, 2)[1], `"`)
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				without := append(append([]string(nil), parts[:i]...), parts[i+1:]...)
				// What follows the rule in the file, such as a heading, stays.
				_, rest, ok := strings.Cut(parts[i], "\n\n")
				if !ok {
					rest = ""
				}
				without[i-1] += rest
				if playDemo(t, strings.Join(without, head)) == want {
					t.Errorf("the demo is the same without %s", name)
				}
			})
		}
	}
}

func TestDemoSpeaksSpanish(t *testing.T) {
	var out, errs bytes.Buffer
	e := env{in: strings.NewReader(""), out: &out, err: &errs, now: time.Now}
	if code := demoCommand(e, []string{"-lang", "es"}); code != exitDone {
		t.Fatalf("exit %d: %s", code, errs.String())
	}
	if s := out.String(); strings.Contains(s, "I take it") || !strings.Contains(s, "Lo tomo") {
		t.Error("the demo in Spanish speaks English")
	}
	if code := demoCommand(e, []string{"-lang", "xx"}); code != exitNo {
		t.Errorf("a language nobody speaks: exit %d", code)
	}
}
