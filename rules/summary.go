package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// summaryFile is a summary as it is written.
type summaryFile struct {
	Name, At, Why string
	To, Shows     []string
}

// Summary is what is pushed at fixed hours.
type Summary struct {
	Name  string
	To    []string // as in a ladder
	Shows []string // parts, in order: see [Parts]
	at    cron.Schedule
	Spec  string
}

// Parts lists what a summary may show.
func Parts() []string {
	return []string{"decide", "next", "night", "free", "room", "patios", "fuel", "intake", "crew",
		"season", "picture"}
}

// Next is the first instant after one at which the summary is due, by the clock of that
// instant's zone; zero for never.
func (s *Summary) Next(after time.Time) time.Time { return s.at.Next(after) }

// schedule reads a cron line of five fields. The reader of the library panics on some input and
// takes zones that the mill's own zone must decide, so those are refused first.
func schedule(spec string) (s cron.Schedule, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("cannot be read: %v", r)
		}
	}()
	if len(strings.Fields(spec)) != 5 || strings.Contains(spec, "=") {
		return nil, fmt.Errorf("five fields are needed: minute hour day month weekday")
	}
	return cron.ParseStandard(spec)
}

// summary reads one summary.
func (l *loader) summary(i int, f summaryFile) {
	where := "summary " + short(cmp.Or(f.Name, strconv.Itoa(i+1)))
	bad := func(k MistakeKind, key, word, hint string) {
		l.add(&Mistake{Kind: k, In: where, Line: l.lineOf("summary", i, key), Word: word,
			Hint: hint})
	}
	switch {
	case f.Name == "":
		bad(Missing, "name", "name", `name = "morning"`)
	case slices.ContainsFunc(l.book.Summaries, func(o *Summary) bool { return o.Name == f.Name }):
		bad(Twice, "name", "the name "+strconv.Quote(short(f.Name)), "")
	}
	at, err := schedule(f.At)
	if err != nil {
		bad(BadValue, "at", fmt.Sprintf("at %q: %v", short(f.At), err), `at = "0 5 * * *"`)
	}
	for _, p := range f.Shows {
		if !slices.Contains(Parts(), p) {
			bad(BadValue, "shows", fmt.Sprintf("shows %q", short(p)), strings.Join(Parts(), ", "))
		}
	}
	if len(f.To) == 0 {
		bad(Missing, "to", "to", `to = ["manager"]`)
	}
	l.whom(where, l.lineOf("summary", i, "to"), f.To)
	l.book.Summaries = append(l.book.Summaries, &Summary{Name: f.Name, To: f.To, Shows: f.Shows,
		at: at, Spec: f.At})
}
