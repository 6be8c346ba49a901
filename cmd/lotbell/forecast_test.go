package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/rules/record"
)

const (
	drumFile   = "../../testdata/series/made-up-drum/drum-01.csv"
	tankFolder = "../../testdata/ferment/made-up-season/"
)

// said is what a command writes and its exit code.
func said(command func(env, []string) int, line ...string) (out, errs string, code int) {
	var o, e strings.Builder
	code = command(env{out: &o, err: &e}, line)
	return o.String(), e.String(), code
}

// recordFile writes a record of the test.
func recordFile(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "r.csv")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// answered is the JSON of a forecast.
func answered(t *testing.T, line ...string) map[string]any {
	t.Helper()
	out, errs, code := said(forecastCommand, append(line, "-json")...)
	var a map[string]any
	if err := json.Unmarshal([]byte(out), &a); err != nil || code != exitDone {
		t.Fatalf("%v: %d %q %q (%v)", line, code, out, errs, err)
	}
	return a
}

func TestForecastJSON(t *testing.T) {
	a := answered(t, "drum", drumFile, "-target", "11", "-at", "2026-01-13 00:00")
	keys := []string{"at", "confidence", "early", "late", "likely", "next_reading", "reason",
		"slope_pp_h", "status", "target_pct"}
	var got []string
	for k := range a {
		got = append(got, k)
	}
	if slices.Sort(got); !slices.Equal(got, keys) {
		t.Errorf("keys %v", got)
	}
	early, likely, late := a["early"].(string), a["likely"].(string), a["late"].(string)
	for _, x := range []string{early, likely, late, a["next_reading"].(string)} {
		if _, err := time.Parse(record.Layout, x); err != nil {
			t.Error(err)
		}
	}
	// The record crosses 11 % between 05:31 (11.6) and 06:34 (10.8).
	if a["at"] != "2026-01-13 00:00" || a["target_pct"] != 11.0 || a["status"] != "good" ||
		a["confidence"] != .8 || !(a["slope_pp_h"].(float64) < 0) ||
		!(early < likely && likely < late) || early > "2026-01-13 06:20" || late < "2026-01-13 06:20" {
		t.Errorf("%v", a)
	}
	a = answered(t, "drum", drumFile, "-at", "2026-01-12 08:00")
	for _, k := range []string{"early", "likely", "late", "slope_pp_h"} {
		if v, ok := a[k]; v != nil || !ok {
			t.Errorf("%s is %v", k, v)
		}
	}
	if a["status"] != "few-readings" || a["confidence"] != 0.0 || a["next_reading"] == nil {
		t.Errorf("%v", a)
	}
}

// Each status is reached, by a record of which it is plainly true.
func TestForecastStatuses(t *testing.T) {
	const head = "time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire\n"
	falling := func(air float64, from, share float64, hours int) string {
		text, m := head, from
		for h := range hours {
			text += fmt.Sprintf("2026-01-12 %02d:00,%.1f,%.0f,20,70,\n", h, m, air)
			m = 5 + (m-5)*share
		}
		return text
	}
	good := falling(52, 40, .87, 10)
	for status, text := range map[string]string{
		"good":          good,
		"few-readings":  falling(52, 40, .87, 3),
		"surface-water": falling(52, 54, .99, 6),
		"fire-out":      good + "2026-01-12 10:30,,,,,out\n",
		"unreachable":   falling(22, 30, .97, 10),
		"stalling": good + "2026-01-12 11:00,14.3,52,20,70,\n2026-01-12 13:00,14.2,52,20,70,\n" +
			"2026-01-12 15:00,14.1,52,20,70,\n2026-01-12 17:00,14.0,52,20,70,\n",
		"heating-quick": good + "2026-01-12 10:00,14.0,75,20,70,\n",
	} {
		a := answered(t, "drum", recordFile(t, text))
		windowed := status == "good" || status == "stalling" || status == "heating-quick"
		if a["status"] != status || (a["likely"] != nil) != windowed || a["reason"] == "" {
			t.Errorf("%s: %v", status, a)
		}
		out, _, _ := said(forecastCommand, "drum", recordFile(t, text))
		if first, _, _ := strings.Cut(out, "\n"); len(first) > 110 || !strings.Contains(first, "10.5 %") {
			t.Errorf("%s: first line %q", status, first)
		}
	}
}

// Rows after -at are not looked at: the answer is that of the file as it was then, garbage and
// all, and asking later without new rows moves nothing but the instant of asking.
func TestForecastSeesNothingLater(t *testing.T) {
	text, err := os.ReadFile(drumFile)
	if err != nil {
		t.Fatal(err)
	}
	head, _, ok := strings.Cut(string(text), "2026-01-13 01:42")
	if !ok {
		t.Fatal("the committed record has changed")
	}
	was := answered(t, "drum", recordFile(t, head))
	for name, file := range map[string]string{"whole": drumFile,
		"garbage": recordFile(t, head+"2026-01-13 02:00,wet,,\n\"\x00;")} {
		for _, at := range []string{"2026-01-12 23:49", "2026-01-13 01:41"} {
			is := answered(t, "drum", file, "-at", at)
			if is["at"] != at {
				t.Errorf("%v", is)
			}
			is["at"] = was["at"]
			if fmt.Sprint(is) != fmt.Sprint(was) {
				t.Errorf("%s at %s: %v, then %v", name, at, is, was)
			}
		}
	}
}

func TestForecastTank(t *testing.T) {
	a := answered(t, "tank", tankFolder+"tank-03.csv", "-at", "2026-01-14 00:00", "-target", "10.5")
	if a["target_pct"] != nil || a["slope_pp_h"] != nil || a["status"] != "good" ||
		!(a["likely"].(string) < a["spoil_warn"].(string)) ||
		!(a["spoil_warn"].(string) < a["spoil"].(string)) ||
		!(a["next_reading"].(string) < a["likely"].(string)) {
		t.Errorf("%v", a)
	}
	if a = answered(t, "tank", tankFolder+"tank-03.csv"); a["status"] != "rough" ||
		a["next_reading"] != nil {
		t.Errorf("%v", a)
	}
	cold := recordFile(t, "time,mass_c,ambient_c,ph,hand,add_kg\n2026-01-12 18:00,9,8,,,1200\n")
	if a = answered(t, "tank", cold); a["status"] != "too-cold" || a["likely"] != nil ||
		a["spoil"] != nil || a["next_reading"] == nil || a["confidence"] != 0.0 {
		t.Errorf("%v", a)
	}
	out, _, _ := said(forecastCommand, "tank", tankFolder+"tank-03.csv", "-at", "2026-01-14 00:00")
	if !strings.HasPrefix(out, "Ready likely 2026-01-14 ") ||
		!strings.Contains(out, "next hand test") || !strings.Contains(out, "spoils from") {
		t.Error(out)
	}
}

func TestForecastPatio(t *testing.T) {
	a := answered(t, "patio", "../../testdata/series/sticks-bc1/stick-01.csv", "-target", "12.28",
		"-at", "2014-05-20 17:00")
	_, clock, _ := strings.Cut(a["early"].(string), " ")
	if a["status"] != "good" || a["likely"] == nil || a["target_pct"] != 12.28 ||
		clock != "06:00" && clock != "12:00" {
		t.Errorf("no half-days: %v", a)
	}
}

// Earlier records teach, in whatever order they are given; one that was not over by then does not.
func TestForecastPast(t *testing.T) {
	line := []string{"tank", tankFolder + "tank-06.csv", "-at", "2026-01-16 20:00"}
	alone := answered(t, line...)
	taught := slices.Clone(line)
	for _, n := range []string{"04", "01", "03", "02"} {
		taught = append(taught, "-past", tankFolder+"tank-"+n+".csv")
	}
	out, errs, _ := said(forecastCommand, append(taught, "-json")...)
	if !strings.Contains(out, "by 4 earlier tanks of this mill") || errs != "" ||
		strings.Contains(out, fmt.Sprintf(`"likely":"%s"`, alone["likely"])) {
		t.Errorf("%s%s", out, errs)
	}
	slices.Reverse(taught[4:])
	for i := 4; i < len(taught); i += 2 {
		taught[i], taught[i+1] = taught[i+1], taught[i]
	}
	if again, _, _ := said(forecastCommand, append(taught, "-json")...); again != out {
		t.Errorf("another order: %s, %s", again, out)
	}
	for _, later := range []string{"tank-06.csv", "tank-07.csv"} {
		out, errs, code := said(forecastCommand, append(line, "-json", "-past", tankFolder+later)...)
		if code != exitDone || !strings.Contains(errs, "was not over by 2026-01-16 20:00") ||
			!strings.Contains(out, "no earlier tanks") {
			t.Errorf("%s: %d %q %q", later, code, out, errs)
		}
	}
	if _, errs, code := said(forecastCommand, append(line, "-past", drumFile)...); code != exitNo ||
		!strings.Contains(errs, "drum-01.csv:2: ") {
		t.Errorf("%d %q", code, errs)
	}
}

// Wrong use is told from a bad file, and both say what would be right.
func TestForecastRefusals(t *testing.T) {
	bad := recordFile(t, "time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire\n"+
		"2026-01-12 06:00,\"48,5\",50,20,70,on\n")
	for _, c := range []struct {
		line []string
		code int
		says string
	}{
		{nil, exitUsage, "use: lotbell forecast drum|tank|patio"},
		{[]string{"drum"}, exitUsage, "one file"},
		{[]string{"kiln", drumFile}, exitUsage, "a kind and one file"},
		{[]string{"drum", drumFile, drumFile}, exitUsage, "one file"},
		{[]string{"drum", drumFile, "-at", "12/01/2026"}, exitUsage, "-at \"2026-01-12 18:00\""},
		{[]string{"drum", drumFile, "-target", "105"}, exitUsage, "3 to 50"},
		{[]string{"drum", drumFile, "-target", "NaN"}, exitUsage, "3 to 50"},
		{[]string{"drum", drumFile, "-tarjet", "10"}, exitUsage, "tarjet"},
		{[]string{"drum", "nowhere.csv"}, exitNo, "no file nowhere.csv"},
		{[]string{"drum", t.TempDir()}, exitNo, "directory"},
		{[]string{"drum", bad}, exitNo, "r.csv:2: moisture_pct \"48,5\": a decimal comma; write 48.5"},
		{[]string{"tank", drumFile}, exitNo, "drum-01.csv:2: \"mass_c,ph,hand,add_kg\": missing"},
		{[]string{"drum", drumFile, "-at", "2026-01-12 05:00"}, exitNo, "look at 2026-01-12 06:00"},
	} {
		out, errs, code := said(forecastCommand, c.line...)
		if code != c.code || out != "" || !strings.Contains(errs, c.says) {
			t.Errorf("%v: %d, %q, %q", c.line, code, out, errs)
		}
	}
	notes := recordFile(t, "time,moisture_pct,air_c,ambient_c,ambient_rh_pct,fire,who\n"+
		"2026-01-12 06:00,48.5,50,20,70,on,ana\n")
	if _, errs, code := said(forecastCommand, "drum", notes); code != exitDone ||
		!strings.Contains(errs, "left out: who") {
		t.Errorf("%d %q", code, errs)
	}
	if code := forecastCommand(env{out: failing{}, err: &strings.Builder{}},
		[]string{"drum", drumFile}); code != exitNo {
		t.Error("an answer that could not be written was taken for done")
	}
}

// A hundredth is the finest that is said, and nothing is -0.
func TestFigure(t *testing.T) {
	if x := figure(-.001); *x != 0 || math.Signbit(*x) {
		t.Error(*x)
	}
	if figure(math.NaN()) != nil || figure(math.Inf(1)) != nil || *figure(1.235) != 1.24 {
		t.Error("figure")
	}
}
