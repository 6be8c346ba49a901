package mass

import "math"

// Tolerances of a balance, in percent of what went in. They are the mill's own habit (common
// practice, no source): a gain inside AskPct is taken for the error of the scales.
const (
	AskPct      = 1 // beyond it the weights are asked back
	ConflictPct = 5 // beyond it a gain stays on the lot as a conflict until settled
)

// Weighing is coffee on a scale: its mass in kg and its moisture. The zero value is nothing.
type Weighing struct {
	Kg       float64
	Moisture WetBasis
}

// Loss is what went between two weighings, in kg; negative figures are gains. Water and
// Unexplained add up to Total.
type Loss struct {
	Total       float64
	Water       float64 // explained by the two moistures
	Unexplained float64 // the rest, at the moisture of the later weighing
	Pct         float64 // Unexplained in percent of what was expected; 0 when nothing was
}

// Between splits the loss between two weighings of one lot into the water its moistures explain
// and the rest. Both are put on the basis of the later weighing, so that a point of moisture is
// never taken for coffee gone. It fails with a [RangeError].
func Between(before, after Weighing) (Loss, error) {
	due, err := At(before.Kg, before.Moisture, after.Moisture)
	if err != nil {
		return Loss{}, err
	}
	if _, err := DryMatter(after.Kg, after.Moisture); err != nil {
		return Loss{}, err
	}
	l := Loss{
		Total:       before.Kg - after.Kg,
		Water:       before.Kg - due,
		Unexplained: due - after.Kg,
	}
	if due > 0 {
		l.Pct = 100 * l.Unexplained / due
	}
	return l, nil
}

// Blend is several weighings as one: masses add, and so do dry matters. Nothing blended is the
// zero value. It fails with a [RangeError].
func Blend(parts ...Weighing) (Weighing, error) {
	var kg, dry float64
	for _, p := range parts {
		d, err := DryMatter(p.Kg, p.Moisture)
		if err != nil {
			return Weighing{}, err
		}
		kg, dry = kg+p.Kg, dry+d
	}
	if kg == 0 {
		return Weighing{}, nil
	}
	// Rounding may leave a hair below zero when every part is bone dry.
	return Weighing{kg, WetBasis(max(0, 100*(kg-dry)/kg))}, nil
}

// Balance is a lot's account on one moisture basis, in kg.
type Balance struct {
	Basis       WetBasis
	In, Out     float64
	Unexplained float64 // In − Out; negative: more came out than went in
	Pct         float64 // Unexplained in percent of In; 0 when nothing went in
	Verdict     Verdict
}

// Close draws up the account of a lot: everything that went in against everything that came out
// (export, lower grades, husk, samples, known loss), all brought to one basis first. It fails with
// a [RangeError].
func Close(in, out []Weighing, basis WetBasis) (Balance, error) {
	b := Balance{Basis: basis}
	var err error
	if b.In, err = total(in, basis); err != nil {
		return Balance{}, err
	}
	if b.Out, err = total(out, basis); err != nil {
		return Balance{}, err
	}
	b.Unexplained = b.In - b.Out
	if b.In > 0 {
		b.Pct = 100 * b.Unexplained / b.In
	}
	b.Verdict = Judge(b.In, b.Out)
	return b, nil
}

// total is the mass of several weighings at one moisture.
func total(ws []Weighing, basis WetBasis) (float64, error) {
	var sum float64
	for _, w := range ws {
		kg, err := At(w.Kg, w.Moisture, basis)
		if err != nil {
			return 0, err
		}
		sum += kg
	}
	return sum, nil
}

// Verdict is what a mill does about a balance.
type Verdict int

// The verdicts. A loss is never a conflict: coffee does get lost, and whoever answers for it is
// asked; but nothing grows on the way.
const (
	Closes   Verdict = iota // within the error of the scales
	Ask                     // more than AskPct off either way: asked back
	Conflict                // a gain of more than ConflictPct: kept on the lot until settled
)

// String is the verdict in one word, for records and tests.
func (v Verdict) String() string {
	return [...]string{"closes", "ask", "conflict"}[v]
}

// Judge compares what left with what arrived, both in kg on one basis. Something out of nothing is
// a conflict.
func Judge(left, arrived float64) Verdict {
	gain, slack := arrived-left, 1e-9*math.Max(left, arrived) // arithmetic is not a gain
	switch {
	case gain > left*ConflictPct/100+slack:
		return Conflict
	case math.Abs(gain) > left*AskPct/100+slack:
		return Ask
	}
	return Closes
}
