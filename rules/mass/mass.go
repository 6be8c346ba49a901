// Package mass is the arithmetic of coffee that gains and loses water: the two moisture bases, the
// mass at another moisture, dry matter, shrink, what two weighings of one lot say about water and
// about the rest, and the splitting of grams.
//
// Read [WetBasis] and [DryBasis] first, then [At] and [Weighing]; [Between], [Blend] and [Close]
// weigh lots against each other, [Split] shares grams out, [Judge] says what a mill does about a
// difference.
//
// One equation carries it all: dry matter stays, so W1·(100−w1) = W2·(100−w2) with w in percent
// wet basis. It holds for 0 ≤ w < 100 and for water only: handling loss, and dry matter breathed
// away in slow drying, are not in it and come out as unexplained. Masses are kg (grams where they
// are whole), moistures percent; no mass is finer than its scale, which the caller rounds to.
//
// Sources: the definition of the bases; FAO/ICO Good Hygiene Practices along the coffee chain,
// "Determination of moisture content"; Oliveros et al. 2010, Cenicafé 61(2):108-118. It was checked
// against the worked examples of both and against published shrink tables for maize.
//
// It knows no lots, keeps nothing, and never rounds a share so that grams appear or vanish.
package mass

import (
	"fmt"
	"math"
)

// WetBasis is moisture in percent wet basis: kg of water in 100 kg of the whole. This is what
// meters show and what the trade means by moisture. Zero is bone dry.
type WetBasis float64

// DryBasis is moisture in percent dry basis: kg of water beside 100 kg of dry matter. Sorption
// and drying laws are written in it. Zero is bone dry.
type DryBasis float64

// What becomes of fruit on the way, by weight: pulped coffee out of fruit, and washed, drained
// coffee out of pulped. 1000 kg of fruit give 564.2 kg pulped and 415.7 kg washed (Montilla et al.
// 2008, Cenicafé 59(2):120-142, as later bulletins quote it); 10 % apart from mill to mill.
const (
	PulpedOfFruit  = 0.5642
	WashedOfPulped = 415.7 / 564.2
)

// RangeError is a figure that no mass or moisture can have.
type RangeError struct {
	What    string // "moisture" or "mass"
	Value   float64
	Unit    string
	Why     string
	Example string // a figure that works
}

// Error says what was wrong, why, and a figure that works.
func (e RangeError) Error() string {
	return fmt.Sprintf("%s %g %s: %s, for example %s", e.What, e.Value, e.Unit, e.Why, e.Example)
}

// Dry is the same moisture on the dry basis, M = 100·w/(100−w). At 100 % it is +Inf.
func (w WetBasis) Dry() DryBasis { return DryBasis(100 * float64(w) / (100 - float64(w))) }

// Wet is the same moisture on the wet basis, w = 100·M/(100+M).
func (d DryBasis) Wet() WetBasis { return WetBasis(100 * float64(d) / (100 + float64(d))) }

// Check refuses a moisture below 0 %, of 100 % or more, or one that is no number, with a
// [RangeError].
func (w WetBasis) Check() error {
	switch v := float64(w); {
	case math.IsNaN(v) || v < 0:
		return RangeError{"moisture", v, "% wet basis", "must be 0 or more", "10.5"}
	case v >= 100:
		return RangeError{"moisture", v, "% wet basis", "100 % would be water alone", "53"}
	}
	return nil
}

// DryMatter is the mass in kg of what is not water in kg at moisture w. A mass that is negative or
// not finite and an impossible moisture are refused with a [RangeError].
func DryMatter(kg float64, w WetBasis) (float64, error) {
	if err := w.Check(); err != nil {
		return 0, err
	}
	if math.IsNaN(kg) || math.IsInf(kg, 0) || kg < 0 {
		return 0, RangeError{"mass", kg, "kg", "must be a number from 0 up", "1000"}
	}
	return kg * (100 - float64(w)) / 100, nil
}

// At is what kg of coffee at moisture from weighs at moisture to, in kg, when nothing but water
// comes or goes: W2 = W1·(100−w1)/(100−w2) (FAO/ICO, Determination of moisture content). It fails
// as [DryMatter] does.
func At(kg float64, from, to WetBasis) (float64, error) {
	dry, err := DryMatter(kg, from)
	if err == nil {
		err = to.Check()
	}
	if err != nil {
		return 0, err
	}
	return dry * 100 / (100 - float64(to)), nil
}

// Shrink is the loss of mass in percent of the first weighing when coffee dries from one moisture
// to another: 100·(w1−w2)/(100−w2). It is negative when coffee takes up water, and fails with a
// [RangeError]. It is more than the difference of the two moistures, which is the usual error.
func Shrink(from, to WetBasis) (float64, error) {
	kg, err := At(100, from, to)
	return 100 - kg, err
}

// ShrinkPerPoint is the loss of mass in percent for each point of moisture taken off on the way to
// the moisture to: 100/(100−w2). To must be possible ([WetBasis.Check]).
func ShrinkPerPoint(to WetBasis) float64 { return 100 / (100 - float64(to)) }
