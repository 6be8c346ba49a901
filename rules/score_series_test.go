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

// On every committed series of drums and tanks the median error is below the line's and below
// fixed hours' at 12, 6, 3 and 1 h before the end, wherever there is an answer.
func TestScoreCommittedSeries(t *testing.T) {
	for name, s := range map[string]Scores{
		"drums":             ScoreDrums(series(t, record.Drum, "series/made-up-drum/*.csv"), 10.5),
		"tanks":             ScoreTanks(series(t, record.Tank, "ferment/made-up-season/*.csv")),
		"tray dryer 11.2 %": ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 11.22),
		"tray dryer 10.5 %": ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 10.5),
		"tray dryer 9.3 %":  ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 9.28),
		"tray dryer 7.4 %":  ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 7.4),
		"tray dryer 6.3 %":  ScoreDrums(series(t, record.Drum, "series/tray-dryer.csv"), 6.32),
	} {
		if len(s.Without) > 0 || len(s.Cases) == 0 {
			t.Errorf("%s: %d cases, without an end: %v", name, len(s.Cases), s.Without)
		}
		for _, l := range s.Leads {
			t.Logf("%-18s %2.0f h: %2d of %2d answered, %3.0f %% held, error %.2f h, alone %.2f, "+
				"line %.2f, fixed %.2f", name, l.Lead, l.Answered, l.Cases, 100*l.HeldShare(), l.Error, l.Alone.Error,
				l.Line.Error, l.Fixed.Error)
			if l.Answered > 0 && !l.Beats() {
				t.Errorf("%s, %g h: %.2f h is no better than %.2f and %.2f", name, l.Lead, l.Error,
					l.Line.Error, l.Fixed.Error)
			}
		}
	}
}

// Sticks outdoors take up dew at night, and nobody covers them: the patio's forecast is nearer than
// the straight line, and from half a day before the end on nearer than fixed hours. A day before,
// fixed hours are as near at one site: that is in the table of testdata/series/score.txt.
func TestScoreSticks(t *testing.T) {
	for _, site := range []string{"bc1", "bc2"} {
		s := ScorePatios(series(t, record.Patio, "series/sticks-"+site+"/*.csv"), 12.28)
		for _, l := range s.Leads {
			t.Logf("%s %2.0f h: %2d of %2d answered, %3.0f %% held, error %.1f h, line %.1f (%d), "+
				"fixed %.1f",
				site, l.Lead, l.Answered, l.Cases, 100*l.HeldShare(), l.Error, l.Line.Error, l.Line.Answered,
				l.Fixed.Error)
			if !(l.Error < l.Line.Error) || l.Lead < 24 && !l.Beats() || l.HeldShare() < .7 {
				t.Errorf("%s, %g h: %.1f h, line %.1f, fixed %.1f, held %.0f %%", site, l.Lead, l.Error,
					l.Line.Error, l.Fixed.Error, 100*l.HeldShare())
			}
		}
	}
}
