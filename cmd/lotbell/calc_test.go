package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// calcRun is what the command writes and its exit code.
func calcRun(line ...string) (out, errs string, code int) {
	var o, e strings.Builder
	code = calcCommand(env{out: &o, err: &e}, line)
	return o.String(), e.String(), code
}

func TestCalcCommand(t *testing.T) {
	for _, c := range []struct {
		line      string
		code      int
		out, errs string // a piece of each; empty: nothing is written there
	}{
		{"factor 250g 195.5g", exitDone, "89.51 kg of dry parchment", ""},
		{"defects sca-2018 350g partial-black=4 broken=9", exitDone, "2 full defects", ""},
		{"defects sca-2018 350g severe-insect=5", exitNo, "not speciality", ""},
		{"ico 87 12.5%", exitNo, "fails on defects (XD)", ""},
		{"screens 18=50 pan=49", exitNo, "", "weigh again"},
		{"dry 30% to 10.5% 20C 65%", exitNo, "never in air", ""},
		{"emc -5C 60%", exitUsage, "", `"-5c": must be 0 to 80 C`},
		{"emc 25C 160%", exitUsage, "", "Try: calc emc 25C 60%"},
		{"emk", exitUsage, "", "perhaps emc"},
		{"", exitUsage, "", "calc emc 25C 60%"},
		{"help", exitDone, "calc patio 60kg 3cm", ""},
		{"--help", exitDone, "does one of the trade's sums", ""},
		{"bags 100kg 60kg -tables", exitUsage, "", "needs a folder"},
		{"bags 100kg 60kg -tables nowhere", exitNo, "", "nowhere"},
	} {
		out, errs, code := calcRun(strings.Fields(c.line)...)
		if code != c.code || (c.out == "") != (out == "") || (c.errs == "") != (errs == "") ||
			!strings.Contains(out, c.out) || !strings.Contains(errs, c.errs) {
			t.Errorf("calc %s: code %d, out %q, err %q", c.line, code, out, errs)
		}
	}
}

// TestCalcFirstLine: the short line comes first, the source last, with how far it was verified.
func TestCalcFirstLine(t *testing.T) {
	out, _, _ := calcRun("green", "75kg", "parchment")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if len(lines) != 3 || !strings.HasPrefix(lines[0], "75 kg of parchment are 60.00 kg") ||
		!strings.HasPrefix(lines[2], "Source: ICO factors") ||
		!strings.HasSuffix(lines[2], "(read in the source)") {
		t.Errorf("%q", out)
	}
}

// TestCalcJSON: the flag may stand before or after the words; the names carry the units.
func TestCalcJSON(t *testing.T) {
	for _, line := range []string{"-json bags 7643.4kg 60kg", "bags 7643.4kg 60kg --json"} {
		out, errs, code := calcRun(strings.Fields(line)...)
		var got struct {
			Bags        int     `json:"bags"`
			RemainderKg float64 `json:"remainder_kg"`
		}
		if err := json.Unmarshal([]byte(out), &got); err != nil || code != exitDone ||
			got.Bags != 127 || got.RemainderKg != 23.4 {
			t.Errorf("%s: %d, %q, %q (%v)", line, code, out, errs, err)
		}
	}
	if out, _, code := calcRun("ico", "87", "12.5%", "-json"); code != exitNo ||
		!strings.Contains(out, `"code":"XD"`) {
		t.Errorf("a no keeps its figures: %d, %q", code, out)
	}
}

// TestCalcTables: a mill's own folder of tables is used, and a fault in it is said with its line.
func TestCalcTables(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "defects"), 0o700); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "defects", "house.toml")
	write := func(per string) {
		text := "table = \"house\"\nedition = \"1\"\nsample_g = 100\nkind = \"count\"\n" +
			"mark = \"practice\"\nsource = \"made up\"\n" +
			"class = [{name = \"broken\", per = " + per + "}]\n"
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("3")
	line := []string{"defects", "house-1", "100g", "broken=7", "-tables", dir}
	if out, errs, _ := calcRun(line...); !strings.Contains(out, "2 full defects") {
		t.Errorf("%q, %q", out, errs)
	}
	write("0")
	if _, errs, code := calcRun(line...); code != exitNo ||
		!strings.Contains(errs, "defects/house.toml:7: broken") {
		t.Errorf("%d, %q", code, errs)
	}
}

// TestCalcFullDisk: an answer that could not be written is not taken for done.
func TestCalcFullDisk(t *testing.T) {
	var errs strings.Builder
	code := calcCommand(env{out: failing{}, err: &errs}, []string{"cup", "85"})
	if code != exitNo || !strings.Contains(errs.String(), "disk full") {
		t.Errorf("%d, %q", code, errs.String())
	}
}

// failing is a full disk.
type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errFull }

const errFull = fullError("disk full")

type fullError string

func (e fullError) Error() string { return string(e) }
