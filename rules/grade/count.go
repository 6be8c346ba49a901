package grade

import (
	"fmt"
	"math"
)

// Found is how much of one class a sample held: beans or items for a counting table, grams for
// one by mass. The class is any of its names in the table.
type Found struct {
	Class  string
	Amount float64
}

// Sample is one sample as sorted. The zero value is refused: it has no mass.
type Sample struct {
	Grams    float64
	Found    []Found
	Quakers  *int     // in 100 g roasted; nil: not counted
	Moisture *float64 // % wet basis; nil: not measured
}

// CountRow is one class of a counted sample.
type CountRow struct {
	Class    string
	Category int
	Amount   int
	Full     int     // full defects, rounded down
	Raw      float64 // the same before rounding
}

// Count is a sample in full defects, and its grade.
type Count struct {
	Table   string
	SampleG float64
	Rows    []CountRow
	Full    int // Primary and Secondary and what has no category
	Primary int
	// Secondary is 0 in tables without categories.
	Secondary int
	Raw       float64
	Verdict   string // name of the grade, or what the table says when none fits
	Fits      bool   // a grade fitted
	Points    *float64
	// RawVerdict is the grade before rounding. Where it differs from Verdict the rounding decided,
	// and a person should look.
	RawVerdict string
	Unchecked  []string // limits of the grade that nobody measured
	Source     string
	Mark       Mark // the worst of table, classes and grade
}

// Count turns what was found into full defects. Each class is divided and rounded down, then the
// classes are added (SCA Protocols & Best Practices: "integers, rounded down"; that it is per class
// is our reading), with the raw fraction kept beside it. One bean counts once, under the fault
// that hurts the cup most: that is for the sorter.
//
// It fails with a [MixError] when the sample is of another mass than the table's, with an
// [UnknownError] for a class the table does not have, and with a [RangeError] for an amount that is
// no whole number from 0 up, for a class given twice and for a table by mass.
func (d *DefectTable) Count(s Sample) (Count, error) {
	if err := d.accepts("count", s); err != nil {
		return Count{}, err
	}
	c := Count{Table: d.Key(), SampleG: d.SampleG, Source: d.Source, Mark: d.Mark}
	var rawPrimary, rawSecondary float64
	err := d.each(s, func(class *DefectClass, amount float64) error {
		if amount != math.Trunc(amount) || amount > 1e9 {
			return cannot(class.Name, amount, "beans", "is counted in whole beans or items",
				"4")
		}
		row := CountRow{Class: class.Name, Category: class.Category, Amount: int(amount)}
		if class.Full > 0 {
			row.Full = row.Amount * class.Full
			row.Raw = float64(row.Full)
		} else {
			row.Full = row.Amount / class.Per
			row.Raw = amount / float64(class.Per)
		}
		switch c.Full += row.Full; class.Category {
		case 1:
			c.Primary, rawPrimary = c.Primary+row.Full, rawPrimary+row.Raw
		case 2:
			c.Secondary, rawSecondary = c.Secondary+row.Full, rawSecondary+row.Raw
		}
		c.Raw += row.Raw
		c.Rows = append(c.Rows, row)
		c.Mark = Worst(c.Mark, class.Mark)
		return nil
	})
	if err != nil {
		return Count{}, err
	}
	c.RawVerdict, _ = d.verdict(d.grade(rawPrimary, rawSecondary, c.Raw, s))
	d.judge(&c, s)
	return c, nil
}

// judge sets the grade of a count.
func (d *DefectTable) judge(c *Count, s Sample) {
	g := d.grade(float64(c.Primary), float64(c.Secondary), float64(c.Full), s)
	c.Verdict, c.Fits = d.verdict(g)
	if g == nil {
		return // the table's other word rests on its source alone
	}
	c.Points, c.Mark = g.Points, Worst(c.Mark, g.Mark)
	if g.QuakersMost != nil && s.Quakers == nil {
		c.Unchecked = append(c.Unchecked, "quakers")
	}
	if (g.MoistureLow != nil || g.MoistureHigh != nil) && s.Moisture == nil {
		c.Unchecked = append(c.Unchecked, "moisture")
	}
}

// verdict names a grade; nil is the table's other word.
func (d *DefectTable) verdict(g *Limit) (name string, fits bool) {
	if g == nil {
		return d.Otherwise, false
	}
	return g.Name, true
}

// grade is the first grade whose limits hold, or nil. What was not measured limits nothing here,
// and is named in [Count.Unchecked].
func (d *DefectTable) grade(primary, secondary, total float64, s Sample) *Limit {
	const hair = 1e-9 // a sum of thirds is not a fault
	over := func(v float64, most *int) bool { return most != nil && v > float64(*most)+hair }
	for i := range d.Grades {
		g := &d.Grades[i]
		if over(primary, g.PrimaryMost) || over(secondary, g.SecondaryMost) ||
			over(total, g.TotalMost) ||
			s.Quakers != nil && over(float64(*s.Quakers), g.QuakersMost) ||
			s.Moisture != nil && outside(*s.Moisture, g.MoistureLow, g.MoistureHigh) {
			continue
		}
		return g
	}
	return nil
}

// outside says whether v is below low or above high, each only where given.
func outside(v float64, low, high *float64) bool {
	return low != nil && v < *low || high != nil && v > *high
}

// MassRow is one class of a weighed sample, in percent of the sample by mass.
type MassRow struct {
	Class   string
	Pct     float64
	Loss    float64 // Pct times the coefficient for loss of mass
	Sensory float64 // Pct times that for sensory concern
	// SensoryMost is Sensory at the upper end where the table gives a span, else the same.
	SensoryMost float64
	Mark        Mark
}

// Weighed is a sample judged by mass: the sums of its rows.
type Weighed struct {
	Table                           string
	Rows                            []MassRow
	Pct, Loss, Sensory, SensoryMost float64
	Source                          string
	Mark                            Mark
}

// Weigh judges a sample by mass: w = 100·m0/m for each class (ISO 4149:2005), times the table's
// two coefficients (ISO 10470). It fails as [DefectTable.Count] does, for a table that counts, and
// when the classes weigh more than the sample; amounts are grams.
func (d *DefectTable) Weigh(s Sample) (Weighed, error) {
	if err := d.accepts("mass", s); err != nil {
		return Weighed{}, err
	}
	w := Weighed{Table: d.Key(), Source: d.Source}
	err := d.each(s, func(class *DefectClass, grams float64) error {
		r := MassRow{Class: class.Name, Pct: 100 * grams / s.Grams}
		if r.Mark = class.Mark; r.Mark == "" {
			r.Mark = d.Mark
		}
		r.Loss, r.Sensory = r.Pct**class.Loss, r.Pct**class.Sensory
		if r.SensoryMost = r.Sensory; class.SensoryMost != nil {
			r.SensoryMost = r.Pct * *class.SensoryMost
		}
		w.Rows, w.Mark = append(w.Rows, r), Worst(w.Mark, r.Mark)
		w.Pct, w.Loss = w.Pct+r.Pct, w.Loss+r.Loss
		w.Sensory, w.SensoryMost = w.Sensory+r.Sensory, w.SensoryMost+r.SensoryMost
		return nil
	})
	if err == nil && w.Pct > 100+1e-9 {
		err = cannot("defects", w.Pct, "% of the sample",
			"the classes weigh more than the sample", "blotchy=3.0 in 300 g")
	}
	if err != nil {
		return Weighed{}, err
	}
	if w.Mark == "" {
		w.Mark = d.Mark // nothing found, so no row to be sure of
	}
	return w, nil
}

// accepts refuses a sample that this table, used in this way, cannot judge.
func (d *DefectTable) accepts(kind string, s Sample) error {
	if d.Kind != kind {
		return UnknownError{What: "way to " + kind, Word: d.Key(), Known: []string{d.Kind}}
	}
	if err := positive("sample", s.Grams, "g", fmt.Sprintf("%g", d.SampleG)); err != nil {
		return err
	}
	if !d.takes(s.Grams) {
		return MixError{Table: d.Key(), WantG: d.SampleG, GotG: s.Grams}
	}
	if s.Quakers != nil && *s.Quakers < 0 {
		return cannot("quakers", float64(*s.Quakers), "beans", "must be 0 or more", "0")
	}
	if m := s.Moisture; m != nil && !(*m >= 0 && *m < 100) {
		return cannot("moisture", *m, "% wet basis", "must be 0 to under 100", "11.2")
	}
	return nil
}

// each calls f for every class found, after the checks that any table needs.
func (d *DefectTable) each(s Sample, f func(*DefectClass, float64) error) error {
	seen := map[*DefectClass]bool{}
	for _, x := range s.Found {
		class, err := d.class(x.Class)
		if err != nil {
			return err
		}
		if seen[class] {
			return RangeError{What: x.Class, Value: x.Amount, Why: "class {of} is given twice",
				Example: "{of} once, with all of them", Of: class.Name}
		}
		seen[class] = true
		if err := notNegative(x.Class, x.Amount, "", "4"); err != nil {
			return err
		}
		if err := f(class, x.Amount); err != nil {
			return err
		}
	}
	return nil
}
