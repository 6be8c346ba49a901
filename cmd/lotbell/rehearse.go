package main

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// rehearseCommand says what a book would have rung over a journal, against what rang. Without a
// book each stretch runs under the one then in force, which must show no difference.
func rehearseCommand(e env, args []string) int {
	flags := newFlags(e, "rehearse", "-db FILE [-days N] [BOOK]")
	file := flags.String("db", "lotbell.db", "the mill's journal, or a copy of it")
	days := flags.Int("days", 30, "how many days back")
	files, ok := parse(flags, args)
	if !ok || len(files) > 1 || *days < 1 {
		flags.Usage()
		return exitUsage
	}
	var book *rules.Book
	if len(files) == 1 {
		text, err := optionalFile(files[0])
		if err != nil {
			return e.fail(err, "lotbell check -default > book.toml")
		}
		if book, err = rules.Parse(text); err != nil {
			return e.fail(fmt.Errorf("%s:\n%w", files[0], err), "lotbell check "+files[0])
		}
	}
	es, err := eventsOf(*file)
	if err != nil {
		if held(err) {
			return e.fail(err, "the copy that serve writes beside it: "+*file+".backup")
		}
		return e.fail(err, "lotbell verify "+*file)
	}
	return e.compare(es, book, *days)
}

// eventsOf reads a whole journal.
func eventsOf(file string) ([]state.Event, error) {
	db, err := journal.Open(file, journal.Options{Program: version})
	if err != nil {
		return nil, err
	}
	defer db.Close()
	return db.Load()
}

// compare prints what would have rung more, less, earlier and later, and whom it would have rung.
func (e env) compare(es []state.Event, book *rules.Book, days int) int {
	would, err := rules.Rehearse(es, book, rules.Parse)
	if err != nil {
		return e.fail(err, "lotbell check BOOK")
	}
	from := state.Instant(0)
	if len(es) > 0 {
		from = es[len(es)-1].Heard.Add(-time.Duration(days) * 24 * time.Hour)
	}
	rang, m := rules.Rang(es), state.Load(es)
	clock := func(i state.Instant) string {
		if i == 0 {
			return "-"
		}
		return i.Time().In(m.Zone()).Format("2006-01-02 15:04")
	}
	differ := rules.Differ(rang, would.Steps, from)
	for _, d := range differ {
		fmt.Fprintf(e.out, "%-8s %-18s %-8s rang %-16s would %s\n", d.What, d.Rule, d.Of.Name,
			clock(d.Rang), clock(d.Would))
	}
	shifts := rules.ShiftsIn(es)
	was := map[state.PersonID]rules.Load{}
	for _, l := range rules.Loads(rang, from, shifts) {
		was[l.Person] = l
	}
	for _, l := range rules.Loads(would.Steps, from, shifts) {
		fmt.Fprintf(e.out, "person %d: %d rings, would be %d, at most %d in an hour, %d in a shift\n",
			l.Person, was[l.Person].Rings, l.Rings, l.MostHour, l.MostShift)
	}
	e.alone(es, book, would, m, from)
	e.assumed(would)
	fmt.Fprintf(e.out, "%d differences in %d days. Guidance: at most about 6 rings an hour for a "+
		"person with a phone; EEMUA 191 and ISA-18.2 name 12 for a console operator.\n",
		len(differ), days)
	if len(differ) > 0 && book == nil {
		return exitNo
	}
	return exitDone
}

// alone prints what each call that is new or rings for something else would have done by itself.
func (e env) alone(es []state.Event, book *rules.Book, would rules.Rehearsal, m *state.Mill,
	from state.Instant) {
	text, _ := m.Book()
	inForce, err := rules.Parse(text)
	if book == nil || err != nil {
		return
	}
	for _, x := range book.Try(es, would, book.Changed(inForce, m.Heard()), from) {
		switch {
		case !x.Tells():
			fmt.Fprintf(e.out, "%s: cannot tell yet, %d stays of its kind are over\n", x.Rule, x.Closed)
		case x.Never():
			fmt.Fprintf(e.out, "%s: would never have rung, on %d stays\n", x.Rule, x.Closed)
		case x.Always():
			fmt.Fprintf(e.out, "%s: would have rung nearly all the time, %.0f %%\n", x.Rule, 100*x.Share)
		default:
			fmt.Fprintf(e.out, "%s: %d calls, on %d stays\n", x.Rule, x.Rings, x.Closed)
		}
		if x.Like != "" {
			fmt.Fprintf(e.out, "%s: would have rung each time with %s\n", x.Rule, x.Like)
		}
	}
}

// assumed prints how calls count as answered that nobody could answer then.
func (e env) assumed(would rules.Rehearsal) {
	for _, post := range slices.Sorted(maps.Keys(would.Usual)) {
		fmt.Fprintf(e.out, "%s: a call that did not ring then counts as answered after %v, the median\n",
			post, would.Usual[post].Round(time.Second))
	}
	if would.Never > 0 {
		fmt.Fprintf(e.out, "%d calls count as never answered: nobody has answered any yet\n",
			would.Never)
	}
}
