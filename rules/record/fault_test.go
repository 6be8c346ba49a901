package record

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

const first = "2026-01-12 06:00,48,50,20,70,on\n"

// Each bad file is refused with its line, the reason and what would be right.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		name, text string
		kind       FaultKind
		line       int
		says       []string
	}{
		{"empty", "", Empty, 0, []string{"nothing in it", "moisture_pct"}},
		{"remarks only", "# a\n# b\n", Empty, 0, nil},
		{"header only", drumHead, NoRows, 0, []string{"no row follows", "2026-01-12 18:00,38.5"}},
		{"missing column", "time,moisture_pct,air_c,ambient_c,fire\n" + first, MissingColumn, 1,
			[]string{"ambient_rh_pct", "missing", "time,moisture_pct,air_c"}},
		{"no header", first, MissingColumn, 1, []string{"the first line names the columns"}},
		{"column twice", "time,fire," + drumHead + first, TwiceColumn, 1, []string{"time", "twice"}},
		{"semicolons", strings.ReplaceAll(drumHead, ",", ";") + "2026-01-12 06:00;48,5;50;20;70;on\n",
			Separator, 1, []string{"semicolons", "commas", "2026-01-12 18:00,38.5"}},
		{"tabs", strings.ReplaceAll(drumHead, ",", "\t"), Separator, 1, []string{"tabs"}},
		{"workbook", "PK\x03\x04\x00\xff\xfe", NotText, 1, []string{"CSV UTF-8"}},
		{"UTF-16", "\xff\xfet\x00i\x00", NotText, 1, []string{"UTF-16", "CSV UTF-8"}},
		{"latin", drumHead + "2026-01-12 06:00,48,50,20,70,s\xed\n", NotText, 2, nil},
		{"wrong form", drumHead + "12/01/2026 18:00,48,50,20,70,on\n", BadTime, 2,
			[]string{`"12/01/2026 18:00"`, "YYYY-MM-DD HH:MM", "2026-01-12 18:00"}},
		{"seconds", drumHead + "2026-01-12 18:00:00,48,50,20,70,on\n", BadTime, 2, nil},
		{"no time", drumHead + ",48,50,20,70,on\n", BadTime, 2, nil},
		{"no such day", drumHead + "2026-02-30 18:00,48,50,20,70,on\n", BadTime, 2,
			[]string{"no such day"}},
		{"another age", drumHead + "0026-01-12 18:00,48,50,20,70,on\n", BadTime, 2, nil},
		{"decimal comma", drumHead + first + "2026-01-12 08:00,\"45,5\",50,20,70,on\n", DecimalComma, 3,
			[]string{"d.csv:3: moisture_pct", `"45,5"`, "write 45.5"}},
		{"thousands", "weight_kg," + drumHead + "\"1,850\"," + first, DecimalComma, 2,
			[]string{"1850 where thousands"}},
		{"bare decimal comma", drumHead + "2026-01-12 06:00,45,5,50,20,70,on\n", FieldCount, 2,
			[]string{"7 fields where the header has 6", "12.5 for 12,5"}},
		{"few fields", drumHead + "2026-01-12 06:00,45\n", FieldCount, 2, []string{"every comma"}},
		{"unit", drumHead + "2026-01-12 06:00,45 %,50,20,70,on\n", NotANumber, 2,
			[]string{"the figure alone", "38.5"}},
		{"no number", drumHead + "2026-01-12 06:00,NaN,50,20,70,on\n", NotANumber, 2, nil},
		{"hexadecimal", drumHead + "2026-01-12 06:00,0x1p5,50,20,70,on\n", NotANumber, 2, nil},
		{"a fraction", drumHead + "2026-01-12 06:00,48,50,20,0.7,on\n", OutOfRange, 2,
			[]string{"ambient_rh_pct", "2 to 100", "as in 70"}},
		{"Fahrenheit", drumHead + "2026-01-12 06:00,48,50,68,70,on\n", OutOfRange, 2,
			[]string{"ambient_c", "-10 to 60"}},
		{"order", drumHead + first + "2026-01-12 05:00,45,50,20,70,on\n", OutOfOrder, 3,
			[]string{"earlier than line 2, 2026-01-12 06:00", "in order"}},
		{"one instant", drumHead + first + "2026-01-12 06:00,45,50,20,70,on\n", SameInstant, 3,
			[]string{"line 2", "one row"}},
		{"another year", drumHead + first + "2027-01-12 06:00,45,50,20,70,on\n", LongGap, 3, nil},
		{"rise", drumHead + first + "2026-01-12 08:00,,50,20,70,\n2026-01-12 10:00,56,50,20,70,\n",
			Rises, 4, []string{`moisture_pct "56"`, "8.0 points wetter than line 2"}},
		{"word", drumHead + "2026-01-12 06:00,48,50,20,70,hot\n", BadWord, 2,
			[]string{`fire "hot"`, "on, out or nothing"}},
		{"two words", drumHead + "2026-01-12 06:00,48,50,20,70,on out\n", BadWord, 2, nil},
		{"quotes", drumHead + first + "2026-01-12 08:00,4\"5,50,20,70,on\n", Quotes, 3, nil},
		{"open quotes", drumHead + "2026-01-12 08:00,\"45,50,20,70,on\n", Quotes, 2, nil},
	} {
		_, err := Read(Drum, "d.csv", strings.NewReader(c.text), time.Time{})
		checkFault(t, c.name, err, c.kind, c.line, c.says)
	}
}

func checkFault(t *testing.T, name string, err error, kind FaultKind, line int, says []string) {
	t.Helper()
	var f *Fault
	if !errors.As(err, &f) || f.Kind != kind || f.Line != line || f.Why == "" || f.Example == "" {
		t.Errorf("%s: %v (%+v)", name, err, f)
		return
	}
	place := "d.csv: "
	if line > 0 {
		place = fmt.Sprintf("d.csv:%d: ", line)
	}
	if !strings.HasPrefix(err.Error(), place) {
		t.Errorf("%s: %v", name, err)
	}
	for _, s := range says {
		if !strings.Contains(err.Error(), s) {
			t.Errorf("%s says %q and not %q", name, err, s)
		}
	}
}

// A tank's record has faults of its own.
func TestTankFaults(t *testing.T) {
	head := "time,mass_c,ambient_c,ph,hand,add_kg\n"
	for _, c := range []struct {
		row  string
		kind FaultKind
		says string
	}{
		{"2026-01-12 18:00,20.5,19,5.5,,", NoLoad, "add_kg"},
		{"2026-01-12 18:00,20.5,19,5.5,,0", NoLoad, "add_kg"},
		{"2026-01-12 18:00,20.5,19,5.5,,-5", OutOfRange, "0 to 100000"},
		{"2026-01-12 18:00,20.5,19,14,,1200", OutOfRange, "2 to 9"},
		{"2026-01-12 18:00,20.5,19,5,gritty,1200", BadWord, "rough, slippery or nothing"},
	} {
		_, err := Read(Tank, "d.csv", strings.NewReader(head+c.row+"\n"), time.Time{})
		checkFault(t, c.row, err, c.kind, 2, []string{c.says})
	}
}

// A patio that rises without rain is as wrong as a drum.
func TestPatioRise(t *testing.T) {
	_, err := Read(Patio, "d.csv", strings.NewReader(
		"time,moisture_pct,ambient_c,ambient_rh_pct,rain_mm\n"+
			"2026-01-12 09:00,30,22,60,4\n2026-01-12 12:00,38,22,60,0\n"), time.Time{})
	checkFault(t, "rise", err, Rises, 3, []string{"8.0 points wetter"})
}

// A file of more than one load is refused before it is all in memory.
func TestHuge(t *testing.T) {
	row := ",48,50,20,70,\n"
	var rows strings.Builder
	rows.WriteString(drumHead)
	start := at("2026-01-12 06:00")
	for i := range MaxRows + 1 {
		rows.WriteString(start.Add(time.Duration(i)*time.Minute).Format(Layout) + row)
	}
	_, err := Read(Drum, "d.csv", strings.NewReader(rows.String()), time.Time{})
	checkFault(t, "rows", err, TooBig, MaxRows+2, []string{"one load"})
	if _, err := Read(Drum, "d.csv", strings.NewReader(rows.String()), start); err != nil {
		t.Error("rows after the instant were looked at:", err)
	}
	_, err = Read(Drum, "d.csv", strings.NewReader(strings.Repeat("x", MaxBytes+9)), time.Time{})
	checkFault(t, "bytes", err, TooBig, 1, []string{"4 MB"})
}

// Whatever is in a file, it is read with rows in order or refused with a fault.
func FuzzRead(f *testing.F) {
	f.Add(drumHead+first, "drum")
	f.Add(Example(Tank)+"\n2026-01-12 19:00,,,,rough,\n", "tank")
	f.Add("\ufeff# x\r\n"+Example(Patio)+"\r\n", "patio")
	f.Fuzz(func(t *testing.T, text, kind string) {
		s, err := Read(Kind(kind), "d.csv", strings.NewReader(text), time.Time{})
		var fault *Fault
		if err != nil {
			if !errors.As(err, &fault) {
				t.Fatal(err)
			}
			return
		}
		for i := 1; i < len(s.Rows); i++ {
			if !s.Rows[i].At.After(s.Rows[i-1].At) || s.Rows[i].Line <= s.Rows[i-1].Line {
				t.Fatalf("rows %+v", s.Rows)
			}
		}
		if len(s.Rows) == 0 {
			t.Fatal("no rows and no fault")
		}
	})
}
