package record

import (
	"math"
	"strings"
)

// column is one column that a kind of record may have. One of number, mark and word says where its
// text goes; none does for the time.
type column struct {
	name      string              // as in the header, with the unit
	needed    bool                // the file must have it, if only with nothing in it
	example   string              // a value that would do
	low, high float64             // what is believed, both ends included
	number    func(*Row) *float64 // nil: not a number
	mark      func(*Row) *Mark    // nil: not a mark
	word      func(*Row, string) bool
}

// columnsOf lists the columns of a kind of record. Time is read before the others. The limits are
// common sense, no source: wide enough for any mill, narrow enough for a wrong unit.
func columnsOf(kind Kind) []column {
	at := column{name: "time", needed: true, example: "2026-01-12 18:00"}
	moisture := figure("moisture_pct", "38.5", 2, 80, func(r *Row) *float64 { return &r.Moisture })
	ambient := figure("ambient_c", "20.5", -10, 60, func(r *Row) *float64 { return &r.Ambient })
	rh := figure("ambient_rh_pct", "70", 2, 100, func(r *Row) *float64 { return &r.RH })
	method := column{name: "method", example: "meter", word: func(r *Row, text string) bool {
		r.Method = text
		return len(text) <= 40
	}}
	switch kind {
	case Drum:
		return []column{at, needed(moisture),
			needed(figure("air_c", "52", -10, 160, func(r *Row) *float64 { return &r.Inlet })),
			needed(ambient), needed(rh),
			needed(mark("fire", "on", func(r *Row) *Mark { return &r.Fire })), method,
			figure("weight_kg", "1850", 1, 100_000, func(r *Row) *float64 { return &r.Weight })}
	case Tank:
		return []column{at,
			needed(figure("mass_c", "20.5", 0, 60, func(r *Row) *float64 { return &r.Mass })),
			needed(ambient),
			needed(figure("ph", "4.5", 2, 9, func(r *Row) *float64 { return &r.PH })),
			{name: "hand", needed: true, example: "slippery", word: hand},
			needed(figure("add_kg", "1200", 0, 100_000, func(r *Row) *float64 { return &r.Added }))}
	case Patio:
		return []column{at, needed(moisture), needed(ambient), needed(rh), method,
			figure("rain_mm", "2", 0, 300, func(r *Row) *float64 { return &r.Rain }),
			figure("depth_cm", "3", 0.5, 30, func(r *Row) *float64 { return &r.Depth }),
			mark("covered", "yes", func(r *Row) *Mark { return &r.Covered }),
			mark("turned", "yes", func(r *Row) *Mark { return &r.Turned })}
	}
	return []column{at}
}

// needed is a column that the file must have.
func needed(c column) column {
	c.needed = true
	return c
}

// figure is a column of numbers.
func figure(name, example string, low, high float64, of func(*Row) *float64) column {
	return column{name: name, example: example, low: low, high: high, number: of}
}

// mark is a column of yes and no.
func mark(name, example string, of func(*Row) *Mark) column {
	return column{name: name, example: example, mark: of}
}

// hand reads a hand test, in either of the two languages of the floor.
func hand(r *Row, text string) bool {
	switch text {
	case Rough, "aspero", "áspero":
		r.Hand = Rough
	case Slippery, "baboso":
		r.Hand = Slippery
	default:
		return false
	}
	return true
}

// markWords are the words of a mark: of a fire, of a cover, of a rake, or plain.
const (
	yesWords = " yes y si sí 1 true x on lit burning encendido prendido covered tapado turned "
	noWords  = " no n 0 false off out apagado open destapado "
)

// marked reads a yes or no.
func marked(text string) (Mark, bool) {
	switch {
	case strings.ContainsRune(text, ' '):
		return Unsaid, false
	case strings.Contains(yesWords, " "+text+" "):
		return Yes, true
	case strings.Contains(noWords, " "+text+" "):
		return No, true
	}
	return Unsaid, false
}

// words lists what a column of marks or hand tests takes.
func (c column) words() string {
	switch c.name {
	case "hand":
		return "rough, slippery or nothing"
	case "fire":
		return "on, out or nothing"
	case "method":
		return "one word, such as oven, cylinder, meter, hot-meter, bite or hand"
	}
	return "yes, no or nothing"
}

// blank is a row with nothing written in it.
func blank() Row {
	n := math.NaN()
	return Row{Moisture: n, Weight: n, Inlet: n, Mass: n, Ambient: n, RH: n, Rain: n, Depth: n,
		PH: n, Added: n}
}
