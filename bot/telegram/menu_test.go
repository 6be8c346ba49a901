package telegram

import (
	"errors"
	"strings"
	"testing"

	"lotbell/bot"
	"lotbell/state"
)

// TestTyping: the sign goes to the chat that waits; one that it cannot reach is told of.
func TestTyping(t *testing.T) {
	r := newRig(t)
	r.srv.Meet(7)
	if err := r.link.Typing(r.ctx, "7"); err != nil {
		t.Fatal(err)
	}
	if sent := r.srv.Sent(); len(sent) != 1 || sent[0].Chat != 7 || sent[0].Text != "typing" {
		t.Errorf("the double took %+v", sent)
	}
	var no *Refused
	if err := r.link.Typing(r.ctx, "8"); !errors.As(err, &no) || no.Code != 400 {
		t.Errorf("a chat nobody knows: %v", err)
	}
}

// TestSetMenu sets the menus of every role and language, which the double takes only in the form
// of the manual (BotCommand), and is told of one that it refuses.
func TestSetMenu(t *testing.T) {
	r := newRig(t)
	r.srv.Meet(7)
	n := 0
	for _, lang := range []string{"en", "es"} {
		for _, role := range append(state.Roles(), "") {
			if err := r.link.SetMenu(r.ctx, "7", bot.Menu(lang, role)); err != nil {
				t.Fatalf("%s %s: %v", lang, role, err)
			}
			n++
		}
	}
	if err := r.link.SetStrangersMenu(r.ctx, "es", bot.Menu("es", "")); err != nil {
		t.Fatal(err)
	}
	sent := r.srv.Sent()
	if len(sent) != n+1 || !strings.Contains(sent[n].Text, `"ayuda"`) ||
		strings.Contains(sent[n].Text, "pizarra") {
		t.Errorf("the double took %d menus, the last %+v", len(sent), sent[len(sent)-1])
	}
	err := r.link.SetMenu(r.ctx, "7", []bot.Command{{Name: "Two Words", Text: "x"}})
	var no *Refused
	if !errors.As(err, &no) {
		t.Errorf("a bad name: %v", err)
	}
	if err := r.link.SetMenu(r.ctx, "rosa", nil); err == nil || !strings.Contains(err.Error(), "4711") {
		t.Errorf("a chat that is no number: %v", err)
	}
}
