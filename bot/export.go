package bot

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/state"
)

// Sheets lists the sheets of an export, in order.
func Sheets() []string { return []string{"lots", "stays", "moves", "readings"} }

// Export writes one sheet of a mill's book as comma-separated values (RFC 4180): times on the
// mill's clock, masses in kilograms, moisture in % wet basis; an empty field is not known. People
// stand in it by number only.
func Export(m *state.Mill, es []state.Event, sheet string, w io.Writer) error {
	x := exporter{m: m, zone: m.Zone(), w: csv.NewWriter(w)}
	switch sheet {
	case "lots":
		x.lots()
	case "stays":
		x.stays()
	case "moves":
		x.moves(es)
	case "readings":
		x.readings(es)
	default:
		return fmt.Errorf("no sheet %q; there are: %s", sheet, strings.Join(Sheets(), ", "))
	}
	x.w.Flush()
	return x.w.Error()
}

type exporter struct {
	m    *state.Mill
	zone *time.Location
	w    *csv.Writer
}

// row writes a row; the writer keeps the first error.
func (x exporter) row(fields ...string) { _ = x.w.Write(fields) }

func (x exporter) time(i state.Instant) string {
	if i == 0 {
		return ""
	}
	return i.Time().In(x.zone).Format("2006-01-02 15:04")
}

// grams writes a mass in kilograms, "" when it was not weighed.
func (x exporter) grams(g state.Grams) string {
	if g == 0 {
		return ""
	}
	return strconv.FormatFloat(g.Kg(), 'f', -1, 64)
}

// known writes a number, "" for 0.
func known(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func (x exporter) lots() {
	tags := []string{"class", "process", "owner", "claim", "hold"}
	x.row(append([]string{"lot", "born", "parents", "found_kg"}, tags...)...)
	for _, l := range x.m.Lots() {
		var parents []string
		for _, p := range l.Parents {
			parents = append(parents, fmt.Sprintf("%d:%s", p.Lot, x.grams(p.Mass)))
		}
		fields := []string{strconv.Itoa(int(l.ID)), x.time(l.Born), strings.Join(parents, " "),
			x.grams(l.Found)}
		for _, tag := range tags {
			fields = append(fields, l.Tag(tag))
		}
		x.row(fields...)
	}
}

func (x exporter) stays() {
	x.row("place", "kind", "lot", "from", "to", "kg", "moisture_pct", "came_from", "left_by")
	var all []*state.Stay
	for _, k := range state.Kinds() {
		all = append(all, x.m.Closed(k)...)
	}
	all = append(all, x.m.OpenStays()...)
	slices.SortStableFunc(all, func(a, b *state.Stay) int { return int(a.From - b.From) })
	for _, s := range all {
		x.row(s.Place, string(s.Kind), strconv.Itoa(int(s.ID.Lot)), x.time(s.From), x.time(s.To),
			x.grams(s.Mass), known(s.Moist), s.Came, s.Left)
	}
}

// moves writes every move that counts with its balance: taken + found = arrived + lost.
func (x exporter) moves(es []state.Event) {
	x.row("at", "act", "from", "to", "said", "taken_kg", "found_kg", "arrived_kg", "lost_kg",
		"water_kg", "person")
	x.counting(es, func(e *state.Event) {
		b, ok := e.Body.(state.Move)
		if !ok {
			return
		}
		sum, _ := x.m.SumOf(e.Seq)
		x.row(x.time(e.At), b.Act, placeList(b.Out), placeList(b.In), b.Said, x.grams(sum.Taken),
			x.grams(sum.Found), x.grams(sum.Arrived), x.grams(sum.Lost), x.grams(sum.Water),
			strconv.Itoa(int(e.By)))
	})
}

func placeList(ps []state.Part) string {
	var out []string
	for _, p := range ps {
		out = append(out, p.Place)
	}
	return strings.Join(out, " ")
}

func (x exporter) readings(es []state.Event) {
	x.row("at", "place", "what", "value", "said", "method", "depth", "person")
	x.counting(es, func(e *state.Event) {
		switch b := e.Body.(type) {
		case state.Reading:
			x.row(x.time(e.At), b.Place, b.What, strconv.FormatFloat(b.Value, 'f', -1, 64), b.Said,
				b.Method, b.Depth, strconv.Itoa(int(e.By)))
		case state.Note:
			x.row(x.time(e.At), b.Place, b.What, "", "", "", "", strconv.Itoa(int(e.By)))
		}
	})
}

// counting calls f with every floor event as it counts now, in the order they were heard.
func (x exporter) counting(es []state.Event, f func(e *state.Event)) {
	for i := range es {
		if e := x.m.Event(es[i].Seq); e != nil {
			f(e)
		}
	}
}
