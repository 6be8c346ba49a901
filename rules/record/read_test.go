package record

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"
)

const drumHead = "time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire\n"

// at is an instant of the files below.
func at(text string) time.Time {
	when, err := time.Parse(Layout, text)
	if err != nil {
		panic(err)
	}
	return when
}

func TestReadDrum(t *testing.T) {
	text := "# Made up, after a \"quote that runs on, and on.\n" +
		"Fire,time,moisture_pct,air_c,ambient_c,ambient_rh_pct,method,weight_kg,remarks\n" +
		"on,2026-01-12 06:00,48.5,,20,70,hot-meter,1850.5,\"wet, still\"\n" +
		"\n" +
		",,,,,,,,\n" +
		"\"# a remark, quoted by a spreadsheet\",,,,,,,,\n" +
		"OUT,2026-01-12 7:10,,31,,,,,\n"
	s, err := Read(Drum, "d.csv", strings.NewReader(text), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Rows) != 2 || len(s.Unread) != 1 || s.Unread[0] != "remarks" || s.Kind != Drum ||
		s.From() != at("2026-01-12 06:00") || s.To() != at("2026-01-12 07:10") {
		t.Errorf("%+v", s)
	}
	a, b := s.Rows[0], s.Rows[1]
	if a.Line != 3 || a.Moisture != 48.5 || !math.IsNaN(a.Inlet) || a.Ambient != 20 || a.RH != .7 ||
		a.Fire != Yes || a.Method != "hot-meter" || a.Weight != 1850.5 || !math.IsNaN(a.Mass) {
		t.Errorf("%+v", a)
	}
	if b.Line != 7 || !math.IsNaN(b.Moisture) || b.Inlet != 31 || b.Fire != No || b.Method != "" ||
		!math.IsNaN(b.RH) {
		t.Errorf("%+v", b)
	}
}

func TestReadTankAndPatio(t *testing.T) {
	s, err := Read(Tank, "t.csv", strings.NewReader(
		"time,mass_c,ambient_c,ph,hand,add_kg\n"+
			"2026-01-12 18:00,20.5,19,5.5,,1200\n"+
			"2026-01-13 06:00,,,4.5,Slippery,0\n"+
			"2026-01-13 09:00,,,,áspero,\n"), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if r := s.Rows[0]; r.Mass != 20.5 || r.Added != 1200 || r.PH != 5.5 || r.Hand != "" {
		t.Errorf("%+v", r)
	}
	if s.Rows[1].Hand != Slippery || s.Rows[1].Added != 0 || s.Rows[2].Hand != Rough {
		t.Errorf("%+v", s.Rows)
	}
	s, err = Read(Patio, "p.csv", strings.NewReader(
		"time,moisture_pct,ambient_c,ambient_rh_pct,rain_mm,depth_cm,covered,turned\n"+
			"2026-01-12 09:00,30,22,60,,3,no,x\n"+
			"2026-01-12 18:00,,22,95,12,,sí,\n"+
			"2026-01-13 09:00,41.0,22,95,,,0,\n"), time.Time{})
	if err != nil {
		t.Fatal("a patio takes up rain:", err)
	}
	if r := s.Rows[0]; r.Depth != 3 || r.Covered != No || r.Turned != Yes || r.RH != .6 {
		t.Errorf("%+v", r)
	}
	if r := s.Rows[1]; r.Rain != 12 || r.Covered != Yes || r.Turned != Unsaid {
		t.Errorf("%+v", r)
	}
}

// What an example of the package says would be read is read.
func TestExamples(t *testing.T) {
	for _, k := range []Kind{Drum, Tank, Patio} {
		if s, err := Read(k, "e.csv", strings.NewReader(Example(k)), time.Time{}); err != nil ||
			len(s.Rows) != 1 {
			t.Errorf("%s: %v", k, err)
		}
	}
}

// A byte order mark and the line ends of another system change nothing.
func TestSpreadsheetHabits(t *testing.T) {
	plain := drumHead + "2026-01-12 06:00,48,50,20,70,on\n2026-01-12 08:00,45,50,20,70,\n"
	want, err := Read(Drum, "d", strings.NewReader(plain), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"mark":     "\ufeff" + plain,
		"line end": strings.ReplaceAll(plain, "\n", "\r\n"),
		"both":     "\ufeff" + strings.ReplaceAll(plain, "\n", "\r\n"),
		"no end":   strings.TrimSuffix(plain, "\n"),
		"spaces":   strings.ReplaceAll(plain, ",", ", "),
	} {
		got, err := Read(Drum, "d", strings.NewReader(text), time.Time{})
		if err != nil || len(got.Rows) != 2 || got.Rows[1].Moisture != want.Rows[1].Moisture ||
			got.Rows[1].At != want.Rows[1].At || len(got.Unread) > 0 {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
}

// Rows after the instant are not looked at, not even for faults: what is read is what the file
// was then.
func TestUntil(t *testing.T) {
	head := drumHead + "2026-01-12 06:00,48,50,20,70,on\n2026-01-12 08:00,45,50,20,70,\n"
	rest := "2026-01-12 10:00,eleven,,\nnonsense\n\"\n"
	for _, until := range []string{"2026-01-12 08:00", "2026-01-12 09:59"} {
		s, err := Read(Drum, "d", strings.NewReader(head+rest), at(until))
		if err != nil || len(s.Rows) != 2 {
			t.Errorf("until %s: %d rows, %v", until, len(s.Rows), err)
		}
	}
	var f *Fault
	if _, err := Read(Drum, "d", strings.NewReader(head+rest), at("2026-01-12 10:00")); !errors.As(
		err, &f) || f.Line != 4 {
		t.Errorf("%v", err)
	}
	if _, err := Read(Drum, "d", strings.NewReader(head), at("2026-01-12 05:59")); !errors.As(err,
		&f) || f.Kind != NothingYet || !strings.Contains(err.Error(), "2026-01-12 06:00") {
		t.Errorf("%v", err)
	}
}

// An error of the reader is handed on.
func TestBrokenReader(t *testing.T) {
	broken := errors.New("disk gone")
	from := iotest.TimeoutReader(strings.NewReader(drumHead))
	if _, err := Read(Drum, "d", from, time.Time{}); !errors.Is(err, iotest.ErrTimeout) {
		t.Error(err)
	}
	if _, err := Read(Drum, "d", iotest.ErrReader(broken), time.Time{}); !errors.Is(err, broken) {
		t.Error(err)
	}
}
