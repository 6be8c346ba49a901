package bot

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"lotbell/state"
)

// TestExportIsTheMill exports the first story and counts it against the mill.
func TestExportIsTheMill(t *testing.T) {
	text, err := os.ReadFile("../testdata/chats/first.chat")
	if err != nil {
		t.Fatal(err)
	}
	run, err := Play(string(text), Beside("../testdata/chats"), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	es := run.Events
	m := state.Load(es)
	sheet := func(name string) [][]string {
		var b strings.Builder
		if err := Export(m, es, name, &b); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return rows
	}
	if rows := sheet("lots"); len(rows) != len(m.Lots())+1 {
		t.Errorf("%d lots in the sheet, %d in the mill", len(rows)-1, len(m.Lots()))
	}
	first := sheet("moves")[1]
	if first[0] != "2026-01-12 12:30" || first[1] != "add" || first[5] != "3600" || first[7] != "3600" {
		t.Errorf("the first move is %v", first)
	}
	if rows := sheet("stays"); rows[1][0] != "t3" || rows[1][8] != "wash" {
		t.Errorf("the first stay is %v", rows[1])
	}
	rough := false
	for _, r := range sheet("readings") {
		rough = rough || r[1] == "t3" && r[2] == "rough"
	}
	if !rough {
		t.Error("the rough test is not in the sheet")
	}
	if err := Export(m, es, "calls", &strings.Builder{}); err == nil {
		t.Error("a sheet that there is not was written")
	}
}
