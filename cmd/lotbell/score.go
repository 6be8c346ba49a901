package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/rules/record"
)

const scoreUse = "drum|tank|patio FILE.csv… [-target 10.5] [-json]"

// scoreCommand says how well forecasts would have done on records that are over, beside two simple
// rivals. Each forecast knows the records that were over by then, and no other.
func scoreCommand(e env, args []string) int {
	flags := newFlags(e, "score", scoreUse)
	target := flags.Float64("target", 10.5, "moisture to reach, % wet basis; a tank has none")
	asJSON := flags.Bool("json", false, "one object for a program to read")
	words, ok := parse(flags, args)
	if !ok {
		return exitUsage
	}
	if len(words) < 2 || !slices.Contains(recordKinds(), record.Kind(words[0])) {
		fmt.Fprintln(e.err, "lotbell score: a kind and at least one file are needed")
		flags.Usage()
		return exitUsage
	}
	if !e.soundTarget("score", *target) {
		return exitUsage
	}
	kind := record.Kind(words[0])
	var sheets []record.Sheet
	for _, name := range words[1:] {
		s, ok := e.record(kind, name, time.Time{})
		if !ok {
			return exitNo
		}
		sheets = append(sheets, s)
	}
	s := scored(kind, sheets, *target)
	for _, name := range s.Without {
		fmt.Fprintf(e.err, "%s: not scored, %s\n", name, noEnd(s))
	}
	if len(s.Cases) == 0 {
		return e.fail(fmt.Errorf("none of %d records can be scored", len(sheets)),
			"records that go on to the end, or another -target")
	}
	var err error
	if *asJSON {
		err = json.NewEncoder(e.out).Encode(scoreOf(s, len(sheets)))
	} else {
		_, err = io.WriteString(e.out, scoreTable(s, len(sheets)))
	}
	if err != nil {
		return e.fail(err, "")
	}
	return exitDone
}

// scored has the records scored by their kind.
func scored(kind record.Kind, sheets []record.Sheet, target float64) rules.Scores {
	switch kind {
	case record.Drum:
		return rules.ScoreDrums(sheets, target)
	case record.Patio:
		return rules.ScorePatios(sheets, target)
	}
	return rules.ScoreTanks(sheets)
}

// noEnd says why a record has no end.
func noEnd(s rules.Scores) string {
	if s.Kind == record.Tank {
		return "no rough test after the last slippery one"
	}
	return fmt.Sprintf("its readings do not cross %g %% for good", s.Target)
}

// scoreTable is the score for people: errors are median hours, with what each column means below. A
// lead at which a rival did as well is marked, so that nobody has to look for it.
func scoreTable(s rules.Scores, files int) string {
	var b strings.Builder
	goal, line := "", "a straight line through the last 3 readings"
	if s.Kind == record.Tank {
		line = "the published pace at the last 3 temperatures"
	} else {
		goal = fmt.Sprintf(" to %g %%", s.Target)
	}
	fmt.Fprintf(&b, "%s%s, %d of %d records have an end. Errors are median hours.\n\n", s.Kind, goal,
		files-len(s.Without), files)
	b.WriteString("before the end  cases  answered         held  forecast  unlearned    line   " +
		"fixed\n")
	for _, l := range s.Leads {
		fmt.Fprintf(&b, "%12s h  %5d  %8d  %11s  %8s  %9s  %6s  %6s%s\n", fmt.Sprintf("%g", l.Lead),
			l.Cases, l.Answered, share(l), hours(l.Error), hours(l.Alone.Error), hours(l.Line.Error),
			hours(l.Fixed.Error), worse(l))
	}
	fmt.Fprintf(&b, "\nheld       by windows that are said to hold the truth in 80 %%\n"+
		"unlearned  the same forecast, knowing no other record\nline       %s\n"+
		"fixed      the median hours of the records over by then, %g h before any was\n", line, s.Usual)
	if s.Kind == record.Tank {
		b.WriteString("The end lies between the last slippery and the first rough test; errors are to " +
			"the middle.\n")
	} else {
		b.WriteString("The end is where the readings crossed the target for good.\n")
	}
	return b.String()
}

// share is the share of windows that held the truth; they are to hold 80 %.
func share(l rules.LeadScore) string {
	if l.Answered == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*l.HeldShare())
}

// hours is an error in the table, to the hundredth; - for none.
func hours(x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return fmt.Sprintf("%.2f", x)
}

// worse marks a lead at which a rival did as well or better.
func worse(l rules.LeadScore) string {
	var by []string
	if l.Line.Error <= l.Error {
		by = append(by, "line")
	}
	if l.Fixed.Error <= l.Error {
		by = append(by, "fixed")
	}
	if len(by) == 0 {
		return ""
	}
	return "  no better than " + strings.Join(by, " and ")
}

// The score for programs. Errors are median hours; null where nothing was answered.
type (
	scoreJSON struct {
		Kind    string     `json:"kind"`
		Target  *float64   `json:"target_pct"`
		Records int        `json:"records"`
		Scored  int        `json:"scored"`
		Usual   float64    `json:"fixed_before_any_h"`
		Leads   []leadJSON `json:"leads"`
		Cases   []caseJSON `json:"cases"`
		Without []string   `json:"without_end"`
	}
	leadJSON struct {
		Lead      float64  `json:"lead_h"`
		Cases     int      `json:"cases"`
		Answered  int      `json:"answered"`
		Held      *float64 `json:"coverage"`
		Error     *float64 `json:"error_h"`
		Unlearned *float64 `json:"unlearned_error_h"`
		Line      *float64 `json:"line_error_h"`
		LineN     int      `json:"line_answered"`
		LineNear  int      `json:"nearer_than_line"`
		Fixed     *float64 `json:"fixed_error_h"`
		FixedN    int      `json:"fixed_answered"`
		FixedNear int      `json:"nearer_than_fixed"`
	}
	caseJSON struct {
		Record    string   `json:"record"`
		Lead      float64  `json:"lead_h"`
		Past      int      `json:"records_over"`
		Error     *float64 `json:"error_h"`
		Held      bool     `json:"held"`
		Unlearned *float64 `json:"unlearned_error_h"`
		Line      *float64 `json:"line_error_h"`
		Fixed     *float64 `json:"fixed_error_h"`
	}
)

// scoreOf puts a score into the names that programs read.
func scoreOf(s rules.Scores, files int) scoreJSON {
	out := scoreJSON{Kind: string(s.Kind), Target: figure(s.Target), Records: files,
		Scored: files - len(s.Without), Usual: s.Usual, Without: append([]string{}, s.Without...)}
	for _, l := range s.Leads {
		out.Leads = append(out.Leads, leadJSON{l.Lead, l.Cases, l.Answered, figure(l.HeldShare()),
			figure(l.Error), figure(l.Alone.Error), figure(l.Line.Error), l.Line.Answered, l.Line.Nearer,
			figure(l.Fixed.Error), l.Fixed.Answered, l.Fixed.Nearer})
	}
	for _, c := range s.Cases {
		out.Cases = append(out.Cases, caseJSON{c.Name, c.Lead, c.Past, figure(c.Own), c.Held,
			figure(c.Alone), figure(c.Line), figure(c.Fixed)})
	}
	return out
}

// figure is a number for JSON, to the hundredth; nil for none.
func figure(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	x = math.Round(100*x) / 100
	if x == 0 {
		x = 0 // not -0
	}
	return &x
}
