package console

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"lotbell/bot"
	"lotbell/state"
	"lotbell/state/journal"
)

func TestTypeAndPrint(t *testing.T) {
	db, err := journal.Open(filepath.Join(t.TempDir(), "mill.db"), journal.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, line := range []string{"t1 add 4200", "t1?", "t1?"} { // the last once more
		if err := Type(db, "nina", line, 1000); err != nil {
			t.Fatal(err)
		}
	}
	rows, err := db.Inbox(10)
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	m, err := bot.DecodeJSON(rows[0].Raw)
	if err != nil || m.Text != "t1 add 4200" || m.From.String() != "terminal:nina" || m.At != 1000 {
		t.Errorf("%+v, %v", m, err)
	}
	body, _ := json.Marshal(bot.Outgoing{Text: "first\nsecond"})
	out := []journal.Out{{Via: Via, To: "nina", Body: body}, {Via: Via, To: "tom", Body: body}}
	if err := db.Commit(&journal.Batch{Out: out}); err != nil {
		t.Fatal(err)
	}
	var w bytes.Buffer
	if err := Print(db, &w, "nina", state.Instant(2000)); err != nil {
		t.Fatal(err)
	}
	want := "first\n    second\n[to tom] first\n    second\n"
	if w.String() != want {
		t.Errorf("printed %q, want %q", w.String(), want)
	}
	w.Reset()
	body, _ = json.Marshal(bot.Outgoing{Text: "d1: 13 %",
		Picture: &bot.Picture{Name: "curve d1", Wide: 720, High: 400, Body: []byte{1}}})
	shown := []journal.Out{{Via: Via, To: "nina", Body: body}}
	if err := db.Commit(&journal.Batch{Out: shown}); err != nil {
		t.Fatal(err)
	}
	want = "d1: 13 %\n    [picture: curve d1, 720x400]\n"
	if err := Print(db, &w, "nina", 2500); err != nil || w.String() != want {
		t.Errorf("printed %q, want %q, %v", w.String(), want, err)
	}
	w.Reset()
	if err := Print(db, &w, "nina", 3000); err != nil || strings.TrimSpace(w.String()) != "" {
		t.Errorf("printed again: %q, %v", w.String(), err)
	}
}
