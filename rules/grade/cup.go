package grade

import (
	"fmt"
	"math"
)

// Cup is what a mill log needs of a cupping. Scores of two protocols are not compared: the form
// of 2004 was replaced from 2023 on (from memory, verify), so a record keeps the protocol's name.
// The file is cup.toml:
//
//	class = [{from = 80, name = "very good"}, {from = 0, name = "not speciality"}]
type Cup struct {
	Mark     Mark       `toml:"mark"`
	Source   string     `toml:"source"`
	Protocol string     `toml:"protocol"`   // a score without its protocol means nothing
	DoseG    float64    `toml:"dose_g"`     // whole bean
	DoseTolG float64    `toml:"dose_tol_g"` // either way
	PerMl    float64    `toml:"per_ml"`     // of water, for both
	Classes  []CupClass `toml:"class"`      // best first
}

// CupClass is a span of scores from From up to the next class.
type CupClass struct {
	From float64 `toml:"from"`
	Name string  `toml:"name"`
}

// Class is the class of a total score, 0 to 100. It fails with a [RangeError].
func (c Cup) Class(score float64) (string, error) {
	if score >= 0 && score <= 100 {
		for _, x := range c.Classes {
			if score >= x.From {
				return x.Name, nil
			}
		}
	}
	return "", cannot("score", score, "points", "must be 0 to 100", "84.75")
}

// Dose is the ground coffee in g for ml of water, and how far it may be off, in g. It fails with
// a [RangeError].
func (c Cup) Dose(ml float64) (g, tol float64, err error) {
	if err := positive("water", ml, "ml", "200"); err != nil {
		return 0, 0, err
	}
	return c.DoseG * ml / c.PerMl, c.DoseTolG * ml / c.PerMl, nil
}

// check says whether the classes can be used; an error is a rowError.
func (c *Cup) check() error {
	last := math.Inf(1)
	for i, x := range c.Classes {
		if x.Name == "" || !(x.From >= 0 && x.From <= 100 && x.From < last) {
			why := fmt.Sprintf("class %q: classes go from the highest score down", x.Name)
			return rowError{"class", i, why, `{from = 80, name = "very good"}`}
		}
		last = x.From
	}
	if last != 0 {
		return rowError{"class", -1, "the last class must go from 0",
			`{from = 0, name = "not speciality"}`}
	}
	if !(c.DoseG > 0 && c.DoseTolG > 0 && c.PerMl > 0) || c.Protocol == "" {
		return rowError{"dose_g", -1, "protocol, dose_g, dose_tol_g and per_ml must be given",
			"dose_g = 8.25"}
	}
	return checkMark(c.Mark, "mark", -1)
}
