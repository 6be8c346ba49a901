package grade

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Sieves is the round-hole screens known, largest first: the file screens.toml.
//
//	screen = [{number = 17, iso_mm = 6.70, tol_mm = 0.08}]
//	sold_as = [{mm = 5.00, number = 13, where = "India, Vietnam"}]
//
// Slotted screens for peaberry are not in it: ISO's table of them could not be read. Their width is
// commonly n/64 inch as well ([ExactMm]; common practice, no source).
type Sieves struct {
	Mark        Mark         `toml:"mark"`
	Source      string       `toml:"source"`
	ClosurePct  float64      `toml:"closure_pct"` // most a screening may miss its start by
	ClosureMark Mark         `toml:"closure_mark"`
	Screens     []Screen     `toml:"screen"`
	SoldAs      []SoldScreen `toml:"sold_as"`
}

// Screen is a round-hole screen. Number n is n/64 inch.
type Screen struct {
	Number float64 `toml:"number"`
	IsoMm  float64 `toml:"iso_mm"` // hole of the ISO sieve; 0: ISO has none
	TolMm  float64 `toml:"tol_mm"`
}

// SoldScreen is a hole that is sold under a number somewhere. Where that number is not the ISO
// one, two people who both say "screen 13" mean two sieves.
type SoldScreen struct {
	Mm     float64 `toml:"mm"`
	Number float64 `toml:"number"`
	Where  string  `toml:"where"`
}

// ExactMm is n/64 inch in mm, n·25.4/64: what the number says. The ISO hole is a rounded metric
// size up to 0.06 mm off, and a sieve is bought by its hole.
func ExactMm(number float64) float64 { return number * 25.4 / 64 }

// ExactMm is that of the screen's number.
func (s Screen) ExactMm() float64 { return ExactMm(s.Number) }

// Number finds a screen by its number. It fails with an [UnknownError].
func (v Sieves) Number(n float64) (Screen, error) {
	var known []string
	for _, s := range v.Screens {
		if s.Number == n {
			return s, nil
		}
		known = append(known, fmt.Sprintf("%g", s.Number))
	}
	return Screen{}, UnknownError{What: "screen", Word: fmt.Sprintf("%g", n), Known: known}
}

// Hole finds the ISO screen of a hole in mm, within that sieve's tolerance, and every other number
// such a hole is sold under: the 5.00 mm hole is screen 12 1/2 in ISO and is sold as 13. Where ISO
// has no such hole the screen is the zero value; where nobody has, it fails with an [UnknownError].
func (v Sieves) Hole(mm float64) (Screen, []SoldScreen, error) {
	var iso Screen
	var known []string
	for _, s := range v.Screens {
		if s.IsoMm == 0 {
			continue
		}
		known = append(known, fmt.Sprintf("%.2f", s.IsoMm))
		if math.Abs(s.IsoMm-mm) <= s.TolMm+1e-9 &&
			(iso.IsoMm == 0 || math.Abs(s.IsoMm-mm) < math.Abs(iso.IsoMm-mm)) {
			iso = s
		}
	}
	var other []SoldScreen
	for _, s := range v.SoldAs {
		if math.Abs(s.Mm-mm) < 0.005 && s.Number != iso.Number {
			other = append(other, s)
		}
	}
	if iso.IsoMm == 0 && other == nil {
		return iso, nil, UnknownError{What: "hole", Word: fmt.Sprintf("%g mm", mm), Known: known}
	}
	return iso, other, nil
}

// SoldHoles lists the holes in mm, other than the ISO one, that are sold under a number.
func (v Sieves) SoldHoles(number float64) []SoldScreen {
	var holes []SoldScreen
	s, _ := v.Number(number) // an unknown screen has no ISO hole, so nothing is left out
	for _, x := range v.SoldAs {
		if x.Number == number && x.Mm != s.IsoMm {
			holes = append(holes, x)
		}
	}
	return holes
}

// Held is what one screen held, in grams or in percent.
type Held struct {
	Screen float64 // number; 0 is the pan
	G      float64 // grams going in, percent coming out
}

// Screening is a sample by size, in percent of the recovered mass (not of the start: what was lost
// on the bench belongs to no screen). The zero value is no sample.
type Screening struct {
	On         []Held  // percent on each screen, largest first; the pan, if any, last
	SumG       float64 // recovered mass
	ClosurePct float64 // (recovered − start) in percent of start; NaN when no start mass is known
}

// ClosureError is a screening whose parts do not add up to what it began with.
type ClosureError struct {
	StartG, SumG, Pct, MostPct float64
}

// Error gives both masses and what is allowed.
func (e ClosureError) Error() string {
	return fmt.Sprintf("the screens hold %.6g of %.6g, %+.2f %%: more than %g %% off, weigh again",
		e.SumG, e.StartG, e.Pct, e.MostPct)
}

// Sieve works out a screening from what each screen held. StartG is the mass before screening;
// NaN: not weighed, and then closure is not judged. The base is the recovered mass, and a
// screening that misses its start by more than the table's tolerance is refused with a
// [ClosureError] (ISO 4150 as recalled: 0.5 %). It fails with a [RangeError] for a screen given
// twice, a negative mass, and when nothing was held.
func (v Sieves) Sieve(held []Held, startG float64) (Screening, error) {
	s := Screening{ClosurePct: math.NaN()}
	for i, h := range held {
		e := cannot("screen {of}", h.G, "g", "must be 0 or more", "18=32")
		e.Of = ScreenName(h.Screen)
		if !fromZero(h.G) {
			return Screening{}, e
		}
		if slices.ContainsFunc(held[:i], func(o Held) bool { return o.Screen == h.Screen }) {
			e.Why = "is given twice"
			return Screening{}, e
		}
		s.SumG += h.G
	}
	if err := positive("held on all screens", s.SumG, "g", "18=32 17=41 pan=27"); err != nil {
		return Screening{}, err
	}
	if !math.IsNaN(startG) {
		if err := positive("start mass", startG, "g", "300"); err != nil {
			return Screening{}, err
		}
		s.ClosurePct = 100 * (s.SumG - startG) / startG
		if math.Abs(s.ClosurePct) > v.ClosurePct+1e-9 {
			return Screening{}, ClosureError{startG, s.SumG, s.ClosurePct, v.ClosurePct}
		}
	}
	for _, h := range held {
		s.On = append(s.On, Held{h.Screen, 100 * h.G / s.SumG})
	}
	slices.SortFunc(s.On, func(a, b Held) int { return int(math.Copysign(1, b.Screen-a.Screen)) })
	return s, nil
}

// UpPct is the percentage on screen n and all larger ones; with [Screening.BelowPct] it makes 100.
func (s Screening) UpPct(n float64) float64 {
	var up float64
	for _, h := range s.On {
		if h.Screen >= n {
			up += h.G
		}
	}
	return up
}

// BelowPct is the percentage that passed screen n: what is not on it or above.
func (s Screening) BelowPct(n float64) float64 { return max(0, 100-s.UpPct(n)) }

// ScreenName is a screen as people write it: 17, 12 1/2, pan.
func ScreenName(n float64) string {
	switch whole, half := math.Modf(n); {
	case n == 0:
		return "pan"
	case half == 0.5:
		return fmt.Sprintf("%g 1/2", whole)
	}
	return fmt.Sprintf("%g", n)
}

// check says whether the screens can be used; an error is a rowError. A rounded hole lies within
// 0.1 mm of what its number says (the widest in ISO is 0.06), so a slip of a row is caught.
func (v *Sieves) check() error {
	if !(v.ClosurePct > 0 && v.ClosurePct <= 5) {
		return rowError{"closure_pct", -1, "closure_pct must be over 0 and at most 5",
			"closure_pct = 0.5"}
	}
	if err := checkMark(v.Mark, "mark", -1); err != nil {
		return err
	}
	if err := checkMark(v.ClosureMark, "closure_mark", -1); err != nil {
		return err
	}
	last := math.Inf(1)
	for i, s := range v.Screens {
		why := ""
		switch {
		case !(s.Number > 0 && s.Number < last):
			why = "screens go from the largest number down, each once"
		case s.IsoMm != 0 && math.Abs(s.IsoMm-s.ExactMm()) > 0.1:
			why = fmt.Sprintf("hole %g mm is not screen %g (%.3f mm)", s.IsoMm, s.Number,
				s.ExactMm())
		case (s.IsoMm > 0) != (s.TolMm > 0):
			why = "iso_mm and tol_mm go together"
		}
		if why != "" {
			return rowError{"screen", i, why, "{number = 17, iso_mm = 6.70, tol_mm = 0.08}"}
		}
		last = s.Number
	}
	for i, s := range v.SoldAs {
		if !(s.Mm > 0 && s.Number > 0) || strings.TrimSpace(s.Where) == "" {
			return rowError{"sold_as", i, "a hole sold needs mm, number and where",
				`{mm = 5.00, number = 13, where = "India"}`}
		}
	}
	return nil
}
