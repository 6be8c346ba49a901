package rules

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"lotbell/rules/record"
)

// series reads committed records.
func series(t *testing.T, kind record.Kind, pattern string) []record.Sheet {
	t.Helper()
	names, err := filepath.Glob("../testdata/" + pattern)
	if err != nil || len(names) == 0 {
		t.Fatalf("no %s: %v", pattern, err)
	}
	var out []record.Sheet
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		s, err := record.Read(kind, filepath.Base(name), f, time.Time{})
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return out
}

func TestX(t *testing.T) {
	for _, s := range []Scores{
		ScoreDrums(series(t, record.Drum, "series/made-up-drum/*.csv"), 10.5),
		ScoreTanks(series(t, record.Tank, "ferment/made-up-season/*.csv")),
		ScorePatios(series(t, record.Patio, "series/sticks-bc1/*.csv"), 12.28),
		ScorePatios(series(t, record.Patio, "series/sticks-bc2/*.csv"), 12.28),
		ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 10.5),
		ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 9.28),
		ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 7.4),
		ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 6.32),
	} {
		t.Logf("%s %v without %v", s.Kind, s.Target, s.Without)
		for _, l := range s.Leads {
			t.Logf("%3.0f h  %2d %2d held %.2f  %.2f | alone %.2f %d/%d | line %.2f %d/%d | fixed %.2f %d/%d %v", l.Lead, l.Cases, l.Answered, l.HeldShare(), l.Error, l.Alone.Error, l.Alone.Nearer, l.Alone.Answered,
				l.Line.Error, l.Line.Nearer, l.Line.Answered, l.Fixed.Error, l.Fixed.Nearer, l.Fixed.Answered, l.Beats())
		}
	}
}
