package main

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var updateScore = flag.Bool("update-score", false, "write testdata/series/score.txt anew")

const testdata = "../../testdata/"

// committed are the scores that are kept as a table: what is asked, with a pattern of files.
func committed() [][]string {
	return [][]string{
		{"drum", "series/made-up-drum/*.csv"},
		{"tank", "ferment/made-up-season/*.csv"},
		{"drum", "series/tray-dryer.csv", "-target", "9.28"},
		{"drum", "series/tray-dryer.csv", "-target", "7.4"},
		{"patio", "series/sticks-bc1/*.csv", "-target", "12.28"},
		{"patio", "series/sticks-bc2/*.csv", "-target", "12.28"},
	}
}

// scoreLine is a command line with its pattern laid out.
func scoreLine(t *testing.T, asked []string) []string {
	t.Helper()
	files, err := filepath.Glob(testdata + asked[1])
	if err != nil || len(files) == 0 {
		t.Fatalf("no %s: %v", asked[1], err)
	}
	return append(append([]string{asked[0]}, files...), asked[2:]...)
}

// The printed table of every committed series is the committed one, so that a change of a model
// shows what it does to them.
func TestCommittedScores(t *testing.T) {
	var all strings.Builder
	for _, asked := range committed() {
		out, errs, code := said(scoreCommand, scoreLine(t, asked)...)
		if code != exitDone || errs != "" {
			t.Fatalf("%v: %d %q", asked, code, errs)
		}
		shown := append([]string{asked[0], "testdata/" + asked[1]}, asked[2:]...)
		all.WriteString("$ lotbell score " + strings.Join(shown, " ") + "\n" + out + "\n")
	}
	name := filepath.Join(testdata, "series", "score.txt")
	if *updateScore {
		if err := os.WriteFile(name, []byte(all.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != all.String() {
		t.Errorf("the committed series score otherwise now; look at it, then go test "+
			"./cmd/lotbell -run CommittedScores -update-score\n%s", all.String())
	}
}

func TestScoreJSON(t *testing.T) {
	line := scoreLine(t, []string{"drum", "series/made-up-drum/*.csv", "-json"})
	out, errs, code := said(scoreCommand, line...)
	var s scoreJSON
	if err := json.Unmarshal([]byte(out), &s); err != nil || code != exitDone || errs != "" {
		t.Fatalf("%d %q %v", code, errs, err)
	}
	if s.Kind != "drum" || *s.Target != 10.5 || s.Records != 24 || s.Scored != 24 ||
		len(s.Leads) != 4 || len(s.Cases) != 96 || len(s.Without) != 0 {
		t.Fatalf("%+v", s)
	}
	for i, lead := range []float64{12, 6, 3, 1} {
		l := s.Leads[i]
		if l.Lead != lead || l.Answered > l.Cases || *l.Held < .6 || *l.Held > 1 ||
			*l.Error >= *l.Line || *l.Error >= *l.Fixed || l.LineNear*2 < l.LineN ||
			l.FixedNear*2 < l.FixedN {
			t.Errorf("%+v", l)
		}
	}
	if first := s.Cases[0]; first.Past != 0 || *first.Unlearned != *first.Error {
		t.Errorf("the first record learned: %+v", first)
	}
	if last := s.Cases[95]; last.Past != 23 {
		t.Errorf("the last record knows %d", last.Past)
	}
}

func TestScoreRefusals(t *testing.T) {
	for _, c := range []struct {
		line []string
		code int
		says string
	}{
		{nil, exitUsage, "use: lotbell score drum|tank"},
		{[]string{"drum"}, exitUsage, "at least one file"},
		{[]string{"silo", drumFile}, exitUsage, "a kind"},
		{[]string{"drum", drumFile, "-target", "0"}, exitUsage, "3 to 50"},
		{[]string{"drum", drumFile, "-lead", "4"}, exitUsage, "lead"},
		{[]string{"drum", drumFile, "nowhere.csv"}, exitNo, "no file nowhere.csv"},
		{[]string{"tank", drumFile}, exitNo, "drum-01.csv:2: "},
		{[]string{"drum", drumFile, "-target", "5"}, exitNo,
			"drum-01.csv: not scored, its readings do not cross 5 % for good"},
	} {
		out, errs, code := said(scoreCommand, c.line...)
		if code != c.code || out != "" || !strings.Contains(errs, c.says) {
			t.Errorf("%v: %d, %q, %q", c.line, code, out, errs)
		}
	}
	open := recordFile(t, "time,mass_c,ambient_c,ph,hand,add_kg\n2026-01-12 18:00,20,18,,,1200\n"+
		"2026-01-13 09:00,,,,slippery,\n")
	out, errs, code := said(scoreCommand, "tank", open, tankFolder+"tank-01.csv")
	if code != exitDone || !strings.Contains(errs, "no rough test after the last slippery one") ||
		!strings.Contains(out, "1 of 2 records have an end") {
		t.Errorf("%d %q %q", code, out, errs)
	}
}
