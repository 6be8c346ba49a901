package grade

import (
	"fmt"
	"math"
)

// Methods is the ways to measure moisture: the file moisture.toml.
//
//	method = [{id = "iso-1446", offset = 1.0, sigma = 0.15, mark = "read", source = "…"}]
//
// A mill sets the offset of its own meter there, once it has measured it.
type Methods struct {
	List []Method `toml:"method"`
}

// Method is one way to measure moisture. Readings of two methods are compared on one scale only,
// because a point of difference between methods is larger than the band a mill aims at.
type Method struct {
	ID     string   `toml:"id"`
	Name   string   `toml:"name"`
	Offset *float64 `toml:"offset"` // points it reads above ISO 6673; nil: not known
	Sigma  float64  `toml:"sigma"`  // one standard error of a reading, points
	High   float64  `toml:"high"`   // not to be trusted above, % wet basis; 0: no limit known
	Mark   Mark     `toml:"mark"`
	Source string   `toml:"source"`
}

// OffsetError is a reading of a method whose offset nobody knows.
type OffsetError struct{ Method string }

// Error says how the offset is found.
func (e OffsetError) Error() string {
	return fmt.Sprintf("how %s reads against ISO 6673 is not known: measure one sample both ways,"+
		" for example 5 times, and set its offset", e.Method)
}

// Find is the method of an id. It fails with an [UnknownError].
func (m Methods) Find(id string) (Method, error) {
	var known []string
	for _, x := range m.List {
		if plain(x.ID) == plain(id) {
			return x, nil
		}
		known = append(known, x.ID)
	}
	return Method{}, unknown("method", id, "moisture.toml", known)
}

// Convert is what a reading in % wet basis by method from would be by method to, and the standard
// error of that, in points. It fails with an [UnknownError], with an [OffsetError] where either
// offset is not known, and with a [RangeError] where the method is not to be trusted.
func (m Methods) Convert(pct float64, from, to string) (value, sigma float64, err error) {
	a, err := m.Find(from)
	if err != nil {
		return 0, 0, err
	}
	b, err := m.Find(to)
	if err != nil {
		return 0, 0, err
	}
	if !(pct >= 0 && pct < 100) {
		return 0, 0, cannot("moisture", pct, "% wet basis", "must be 0 to under 100", "11.2")
	}
	if a.High > 0 && pct > a.High {
		return 0, 0, RangeError{What: "moisture", Value: pct, Unit: "% wet basis",
			Why: "{of} is erratic above {limit} %", Example: "11.2", Of: a.ID, Limit: a.High}
	}
	if a.ID == b.ID {
		return pct, a.Sigma, nil
	}
	for _, x := range []Method{a, b} {
		if x.Offset == nil {
			return 0, 0, OffsetError{x.ID}
		}
	}
	return pct - *a.Offset + *b.Offset, math.Hypot(a.Sigma, b.Sigma), nil
}

// check says whether the methods can be used; an error is a rowError. The bounds are wide: they
// catch a slip of the comma and leave a mill its own meter.
func (m *Methods) check() error {
	seen := map[string]bool{}
	for i, x := range m.List {
		why := ""
		switch {
		case plain(x.ID) == "" || seen[plain(x.ID)]:
			why = fmt.Sprintf("id %q is empty or stands twice", x.ID)
		case !(x.Sigma > 0 && x.Sigma < 10):
			why = x.ID + ": sigma must be over 0 and under 10 points"
		case x.Offset != nil && !(math.Abs(*x.Offset) < 10):
			why = x.ID + ": offset must be under 10 points either way"
		case x.High < 0 || x.High > 100:
			why = x.ID + ": high must be 0 to 100 %"
		}
		if why != "" {
			return rowError{"method", i, why, `{id = "meter", sigma = 0.3, mark = "practice"}`}
		}
		seen[plain(x.ID)] = true
		if err := checkMark(x.Mark, "method", i); err != nil {
			return err
		}
	}
	return nil
}
