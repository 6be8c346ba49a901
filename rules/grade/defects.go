package grade

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// DefectTable is one edition of one way to judge defects, for one sample mass: a file under
// defects/, whose keys are its fields.
//
//	table = "sca"
//	edition = "2018"
//	sample_g = 350
//	kind = "count"
//	mark = "read-c"
//	source = "…"
//	otherwise = "not speciality"
//	class = [{name = "broken", category = 2, per = 5, also = ["chipped"]}]
//	grade = [{name = "speciality", primary_most = 0, secondary_most = 5}]
//
// A table by mass has kind = "mass", and classes with loss and sensory; it has no grades.
type DefectTable struct {
	Table     string        `toml:"table"`
	Edition   string        `toml:"edition"`
	Also      []string      `toml:"also"` // other names of this table and edition
	Title     string        `toml:"title"`
	SampleG   float64       `toml:"sample_g"`
	Kind      string        `toml:"kind"` // "count" (beans, items) or "mass" (grams)
	Mark      Mark          `toml:"mark"`
	Source    string        `toml:"source"`
	Note      string        `toml:"note"`
	Otherwise string        `toml:"otherwise"` // the verdict when no grade fits
	Classes   []DefectClass `toml:"class"`
	Grades    []Limit       `toml:"grade"` // best first; the first that fits is the grade

	file string
}

// DefectClass is one kind of defect. A class of a counting table has either Per or Full, one of a
// weighing table has Loss and Sensory. Where a standard gives a span for judgement ("2 to 5 by
// severity") a counting table has two classes or the stricter figure, and says so in Note.
type DefectClass struct {
	Name        string   `toml:"name"`
	Also        []string `toml:"also"`
	No          string   `toml:"no"`           // the table's own number
	Category    int      `toml:"category"`     // 1 primary, 2 secondary, 0 the table has none
	Per         int      `toml:"per"`          // so many make one full defect
	Full        int      `toml:"full"`         // each makes so many full defects
	Loss        *float64 `toml:"loss"`         // coefficient for loss of mass, 0 to 1
	Sensory     *float64 `toml:"sensory"`      // coefficient for sensory concern, 0 to 1
	SensoryMost *float64 `toml:"sensory_most"` // where the table gives a span: its upper end
	Mark        Mark     `toml:"mark"`         // empty: the table's
	Note        string   `toml:"note"`
}

// Limit is one grade with the most it allows, in full defects; what is nil is not limited. What a
// grade asks for besides (screens, the cup) is in Note, for a person.
type Limit struct {
	Name          string   `toml:"name"`
	PrimaryMost   *int     `toml:"primary_most"`
	SecondaryMost *int     `toml:"secondary_most"`
	TotalMost     *int     `toml:"total_most"`
	QuakersMost   *int     `toml:"quakers_most"` // in 100 g roasted
	MoistureLow   *float64 `toml:"moisture_low"`
	MoistureHigh  *float64 `toml:"moisture_high"`
	Points        *float64 `toml:"points"`
	Mark          Mark     `toml:"mark"` // empty: the table's
	Note          string   `toml:"note"`
}

// MixError is a sample of one mass beside a table for another. Numbers are never scaled from one
// mass to the other: the editions differ in more than the mass.
type MixError struct {
	Table       string
	WantG, GotG float64
	Fits        []string // tables for a sample of GotG
}

// Error names both masses and the tables that would fit.
func (e MixError) Error() string {
	s := fmt.Sprintf("%s counts a sample of %g g, not %g g: its numbers hold for no other mass",
		e.Table, e.WantG, e.GotG)
	if len(e.Fits) > 0 {
		s += fmt.Sprintf("; for %g g there is %s", e.GotG, strings.Join(e.Fits, ", "))
	}
	return s
}

// sampleSlack is how far a sample may be off its nominal mass, as a fraction (common practice, no
// source: a bean or two either way).
const sampleSlack = 0.005

// Key is table and edition in one word, as people type it: sca-2018.
func (d *DefectTable) Key() string { return d.Table + "-" + d.Edition }

// For finds a defect table by its key (any case, hyphens optional), by another of its names, or by
// the name of its table when there is one edition only, for a sample of g grams. It fails with an
// [UnknownError], or with a [MixError] when the table is for another mass.
func (t *Tables) For(key string, g float64) (*DefectTable, error) {
	if err := positive("sample", g, "g", "350"); err != nil {
		return nil, err
	}
	found, err := t.named(key)
	if err != nil {
		return nil, err
	}
	var fits []string
	for i := range t.Defects {
		d := &t.Defects[i]
		if !d.takes(g) {
			continue
		}
		fits = append(fits, d.Key())
		if slices.Contains(found, d) {
			return d, nil
		}
	}
	return nil, MixError{found[0].Key(), found[0].SampleG, g, fits}
}

// named lists the tables a key can mean: one, or one for each sample mass. It fails with an
// [UnknownError] for none, and where a bare table name has several editions.
func (t *Tables) named(key string) (found []*DefectTable, err error) {
	var keys, editions []string
	var table []*DefectTable
	for i := range t.Defects {
		d := &t.Defects[i]
		keys = append(keys, d.Key())
		names := append([]string{d.Key()}, d.Also...)
		if slices.ContainsFunc(names, func(n string) bool { return plain(n) == plain(key) }) {
			found = append(found, d)
		}
		if plain(d.Table) == plain(key) {
			table, editions = append(table, d), append(editions, d.Key())
		}
	}
	switch {
	case len(found) > 0:
		return found, nil
	case len(slices.Compact(editions)) > 1:
		// Which edition is never guessed: their numbers differ.
		return nil, UnknownError{What: "single edition of", Word: key, Known: editions}
	case len(table) > 0:
		return table, nil
	}
	return nil, unknown("defect table", key, "", keys)
}

// takes says whether a sample of g grams is near enough to the table's.
func (d *DefectTable) takes(g float64) bool {
	return math.Abs(g-d.SampleG) <= sampleSlack*d.SampleG
}

// class finds a class by one of its names.
func (d *DefectTable) class(word string) (*DefectClass, error) {
	var known []string
	for i := range d.Classes {
		c := &d.Classes[i]
		for _, n := range append([]string{c.Name}, c.Also...) {
			if plain(n) == plain(word) {
				return c, nil
			}
			known = append(known, n)
		}
	}
	return nil, unknown("class", word, d.Key(), known)
}

// check says whether the table can be used; an error is a rowError.
func (d *DefectTable) check() error {
	switch {
	case d.Table == "" || d.Edition == "" || d.Source == "":
		return rowError{"table", -1, "table, edition and source must be given", `edition = "2018"`}
	case !(d.SampleG > 0) || math.IsInf(d.SampleG, 1):
		return rowError{"sample_g", -1, "sample_g must be more than 0", "sample_g = 350"}
	case d.Kind != "count" && d.Kind != "mass":
		return rowError{"kind", -1, "kind must be count or mass", `kind = "count"`}
	case len(d.Classes) == 0:
		return rowError{"class", -1, "no class of defects",
			`class = [{name = "broken", per = 5}]`}
	case len(d.Grades) > 0 && d.Otherwise == "":
		return rowError{"otherwise", -1, "otherwise must name the verdict when no grade fits",
			`otherwise = "off grade"`}
	}
	if err := checkMark(d.Mark, "mark", -1); err != nil {
		return err
	}
	seen := map[string]bool{}
	for i := range d.Classes {
		if err := d.Classes[i].check(d.Kind, i, seen); err != nil {
			return err
		}
	}
	return d.checkGrades()
}

// check looks at one class; seen holds the names met so far, plain, because two names that people
// would take for one must not mean two classes.
func (c *DefectClass) check(kind string, row int, seen map[string]bool) error {
	fault := func(why, example string) error { return rowError{"class", row, why, example} }
	for _, n := range append([]string{c.Name}, c.Also...) {
		if plain(n) == "" || seen[plain(n)] {
			return fault(fmt.Sprintf("name %q is empty or stands twice", n), `name = "broken"`)
		}
		seen[plain(n)] = true
	}
	if c.Category < 0 || c.Category > 2 {
		return fault("category must be 1 (primary), 2 (secondary) or left out", "category = 2")
	}
	if c.Mark != "" {
		if err := checkMark(c.Mark, "class", row); err != nil {
			return err
		}
	}
	if kind == "count" {
		if c.Per < 0 || c.Full < 0 || (c.Per > 0) == (c.Full > 0) || c.Loss != nil ||
			c.Sensory != nil {
			return fault(c.Name+": a counted class has either per or full, a number from 1 up",
				"per = 5")
		}
		return nil
	}
	if c.Per != 0 || c.Full != 0 || !coefficient(c.Loss) || !coefficient(c.Sensory) ||
		c.SensoryMost != nil && !(coefficient(c.SensoryMost) && *c.SensoryMost >= *c.Sensory) {
		return fault(c.Name+": a weighed class has loss and sensory, each 0 to 1", "sensory = 0.5")
	}
	return nil
}

// coefficient says whether a coefficient is there and can be. ISO 10470:2004 knows 0, 0.5 and 1
// only; the 1993 edition and a mill's own table have others.
func coefficient(v *float64) bool { return v != nil && *v >= 0 && *v <= 1 }

// checkGrades refuses grades without a name, and ladders that get stricter on the way down: the
// first grade that fits is taken, so such a step could never be reached.
func (d *DefectTable) checkGrades() error {
	most := -1
	for i, g := range d.Grades {
		switch {
		case g.Name == "":
			return rowError{"grade", i, "a grade needs a name", `name = "speciality"`}
		case d.Kind == "mass":
			return rowError{"grade", i, "a table by mass has no grades of full defects", ""}
		case g.TotalMost != nil && *g.TotalMost < most:
			return rowError{"grade", i, g.Name + ": total_most falls below the grade before it",
				fmt.Sprintf("total_most = %d", most)}
		}
		if g.TotalMost != nil {
			most = *g.TotalMost
		}
		if g.Mark != "" {
			if err := checkMark(g.Mark, "grade", i); err != nil {
				return err
			}
		}
	}
	return nil
}
