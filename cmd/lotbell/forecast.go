package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/rules/record"
)

const forecastUse = `drum|tank|patio FILE.csv [-target 10.5] [-at "2026-01-12 18:00"] ` +
	"[-past FILE]… [-json]"

// forecastAsked is what was asked for on the command line.
type forecastAsked struct {
	kind   record.Kind
	file   string
	target float64 // percent wet basis; a tank has none
	at     time.Time
	past   []string
	asJSON bool
}

// forecastCommand says what would be predicted from a record, and when the next reading would
// tell something. Rows after -at are not looked at; -past gives earlier records to learn from.
func forecastCommand(e env, args []string) int {
	q, ok := e.forecastFlags(args)
	if !ok {
		return exitUsage
	}
	sheet, ok := e.record(q.kind, q.file, q.at)
	if !ok {
		return exitNo
	}
	if q.at.IsZero() {
		q.at = sheet.To()
	}
	past, ok := e.pastRecords(q)
	if !ok {
		return exitNo
	}
	var a forecastAnswer
	switch q.kind {
	case record.Drum:
		a = driedAnswer(q, rules.RunOf(sheet, past, q.target).Forecast())
	case record.Patio:
		a = driedAnswer(q, rules.PatioOf(sheet, past, q.target).Forecast())
	case record.Tank:
		a = tankAnswer(q, rules.TankOf(sheet, past).Forecast())
	}
	if err := a.print(e.out, q); err != nil {
		return e.fail(err, "")
	}
	return exitDone
}

// forecastFlags reads the command line; not ok means wrong use, and that it was said.
func (e env) forecastFlags(args []string) (q forecastAsked, ok bool) {
	flags := newFlags(e, "forecast", forecastUse)
	flags.Float64Var(&q.target, "target", 10.5, "moisture to reach, % wet basis; a tank has none")
	at := flags.String("at", "", "look no further than this instant; \"\": all rows")
	flags.Func("past", "an earlier record of the same mill to learn from; may stand often",
		func(name string) error {
			q.past = append(q.past, name)
			return nil
		})
	flags.BoolVar(&q.asJSON, "json", false, "one object for a program to read")
	words, ok := parse(flags, args)
	if !ok {
		return q, false
	}
	var kind string
	if len(words) == 2 {
		kind, q.file = words[0], words[1]
	}
	q.kind = record.Kind(kind)
	if len(words) != 2 || !slices.Contains(recordKinds(), q.kind) {
		fmt.Fprintln(e.err, "lotbell forecast: a kind and one file are needed")
		flags.Usage()
		return q, false
	}
	if !e.soundTarget("forecast", q.target) {
		return q, false
	}
	if *at != "" {
		var err error
		if q.at, err = time.Parse(record.Layout, *at); err != nil {
			fmt.Fprintf(e.err, "lotbell forecast: -at %q: not written YYYY-MM-DD HH:MM\n"+
				"Try: lotbell forecast %s %s -at \"2026-01-12 18:00\"\n", *at, kind, q.file)
			return q, false
		}
	}
	return q, true
}

// recordKinds are the words that both commands take.
func recordKinds() []record.Kind { return []record.Kind{record.Drum, record.Tank, record.Patio} }

// soundTarget says whether a target can be one, and if not what would be.
func (e env) soundTarget(command string, target float64) bool {
	if target >= 3 && target <= 50 {
		return true
	}
	fmt.Fprintf(e.err, "lotbell %s: -target %g: must be 3 to 50 %% wet basis\n"+
		"Try: -target 10.5\n", command, target)
	return false
}

// record reads one record up to an instant, and says what is wrong with it. A column that is not
// known may be a slip in the name of one that is, and so is named.
func (e env) record(kind record.Kind, name string, until time.Time) (record.Sheet, bool) {
	f, err := os.Open(name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = fmt.Errorf("no file %s", name)
		}
		e.fail(err, "lotbell forecast drum testdata/series/tray-dryer.csv")
		return record.Sheet{}, false
	}
	defer f.Close()
	s, err := record.Read(kind, name, f, until)
	if err != nil {
		e.fail(err, "")
		return record.Sheet{}, false
	}
	if len(s.Unread) > 0 {
		fmt.Fprintf(e.err, "%s: columns that are not known are left out: %s\n", name,
			strings.Join(s.Unread, ", "))
	}
	return s, true
}

// pastRecords reads the records to learn from, in the order in which they were over. One that was
// not over before the instant looked at would know too much: it is left out, and that is said.
func (e env) pastRecords(q forecastAsked) ([]record.Sheet, bool) {
	var past []record.Sheet
	for _, name := range q.past {
		s, ok := e.record(q.kind, name, time.Time{})
		switch {
		case !ok:
			return nil, false
		case !s.To().Before(q.at):
			fmt.Fprintf(e.err, "%s: goes on to %s and was not over by %s: nothing is learned from it\n",
				name, minute(s.To()), minute(q.at))
		default:
			past = append(past, s)
		}
	}
	slices.SortStableFunc(past, func(a, b record.Sheet) int { return a.To().Compare(b.To()) })
	return past, true
}

// forecastAnswer is what forecast prints. The JSON names carry the units; what is absent is null.
type forecastAnswer struct {
	At         string   `json:"at"`
	Target     *float64 `json:"target_pct"`
	Early      *string  `json:"early"`
	Likely     *string  `json:"likely"`
	Late       *string  `json:"late"`
	Confidence float64  `json:"confidence"`
	Status     string   `json:"status"`
	Slope      *float64 `json:"slope_pp_h"`
	Next       *string  `json:"next_reading"`
	Reason     string   `json:"reason"`
	*spoiling           // a tank's
	first      string   // the short line for people
}

// spoiling is what a tank's answer has besides.
type spoiling struct {
	Warn  *string `json:"spoil_warn"`
	Spoil *string `json:"spoil"`
}

// newAnswer fills in what all kinds have.
func newAnswer(q forecastAsked, early, likely, late, next time.Time, sure float64) forecastAnswer {
	return forecastAnswer{At: minute(q.at), Early: instant(early), Likely: instant(likely),
		Late: instant(late), Next: instant(next), Confidence: math.Round(100*sure) / 100}
}

// minute is an instant to the minute, as records have it.
func minute(at time.Time) string { return at.Round(time.Minute).Format(record.Layout) }

// instant is the same for JSON; nil for the zero time.
func instant(at time.Time) *string {
	if at.IsZero() {
		return nil
	}
	text := minute(at)
	return &text
}

// print writes the answer, for a person or for a program. For a person the one thing asked for stands
// in the first line, and what it rests on below.
func (a forecastAnswer) print(w io.Writer, q forecastAsked) error {
	if q.asJSON {
		flat := json.NewEncoder(w)
		flat.SetEscapeHTML(false)
		return flat.Encode(a)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", a.first)
	line := func(name, text string) { fmt.Fprintf(&b, "%-14s%s\n", name, text) }
	line("seen until", a.At)
	line("status", a.Status)
	if a.Slope != nil {
		line("slope", fmt.Sprintf("%.2f points an hour", *a.Slope))
	}
	next := "reading"
	if a.spoiling != nil {
		next = "hand test"
		if a.Spoil != nil {
			line("oldest fruit", "late from "+*a.Warn+", spoils from "+*a.Spoil)
		}
	}
	if a.Next != nil {
		text := *a.Next
		if text < a.At {
			text = "now; it was due " + text
		}
		line("next "+next, text)
	}
	line("because", a.Reason)
	_, err := io.WriteString(w, b.String())
	return err
}

// window is the three instants in words: the days are not said twice.
func (a forecastAnswer) window() string {
	if a.Early == nil || a.Late == nil {
		return "likely " + *a.Likely + ", and how sure that is cannot be told"
	}
	short := func(text string) string {
		if day, clock, _ := strings.Cut(text, " "); strings.HasPrefix(*a.Likely, day) {
			return clock
		}
		return text
	}
	was := ""
	if *a.Likely <= a.At {
		was = "was "
	}
	return fmt.Sprintf("%slikely %s; %s to %s holds it in %.0f of 10 cases", was, *a.Likely,
		short(*a.Early), short(*a.Late), 10*a.Confidence)
}
