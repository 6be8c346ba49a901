package bot

import "strings"

// has says whether a quantity in one of these units is left.
func (a *calcWords) has(units ...string) bool {
	for _, q := range a.qs {
		for _, u := range units {
			if q.unit == u {
				return true
			}
		}
	}
	return false
}

// take takes the first quantity left in one of these units; what names it for the error, under
// sum.need in the voice.
func (a *calcWords) take(what string, units ...string) calcQuantity {
	for i, q := range a.qs {
		for _, u := range units {
			if q.unit == u {
				a.qs = append(a.qs[:i:i], a.qs[i+1:]...)
				return q
			}
		}
	}
	if a.err == nil {
		a.err = a.fault("", "sum.why.needs", "sum", a.called, "what",
			Sentence{Key: "sum.need." + what})
	}
	return calcQuantity{}
}

// celsius takes a temperature in °C, between low and high.
func (a *calcWords) celsius(what string, low, high float64) float64 {
	q := a.take(what, "C", "F")
	if q.unit == "F" {
		q.n = (q.n - 32) / 1.8
	}
	return a.within(q, low, high, "C")
}

// percent takes a percentage between low and high; above says what 100 % and more would be.
func (a *calcWords) percent(what string, low, high float64) float64 {
	return a.within(a.take(what, "%"), low, high, "%")
}

// moisture takes a moisture in percent wet basis, 0 to under 100.
func (a *calcWords) moisture(what string) float64 {
	q := a.take(what, "%", "%db")
	switch {
	case q.unit == "%db" && q.n >= 0:
		q.n = 100 * q.n / (100 + q.n)
	case q.n >= 100 && a.err == nil:
		a.err = a.fault(q.word, "sum.why.water-alone")
	case q.n < 0 && a.err == nil:
		a.err = a.fault(q.word, "sum.why.moisture-negative")
	}
	return q.n
}

// kg takes a mass above 0 in kg, and grams one in g.
func (a *calcWords) kg(what string) float64 {
	q := a.take(what, "kg", "g")
	if q.unit == "g" {
		q.n /= 1000
	}
	return a.positive(q)
}

func (a *calcWords) grams(what string) float64 {
	q := a.take(what, "g", "kg")
	if q.unit == "kg" {
		q.n *= 1000
	}
	return a.positive(q)
}

// positive keeps an error for a quantity that is not above 0.
func (a *calcWords) positive(q calcQuantity) float64 {
	if q.n <= 0 && a.err == nil {
		a.err = a.fault(q.word, "sum.why.mass-over-0")
	}
	return q.n
}

// within keeps an error for a quantity outside low to high.
func (a *calcWords) within(q calcQuantity, low, high float64, unit string) float64 {
	if !(q.n >= low && q.n <= high) && a.err == nil {
		a.err = a.fault(q.word, "sum.why.range", "low", low, "high", high, "unit", unit)
	}
	return q.n
}

// names takes the words that are left, joined by hyphens as typed ("dried cherry" is dried-cherry),
// and gives the tables' word for them.
func (a *calcWords) names() (typed, name string) {
	typed = strings.Join(a.words, "-")
	a.words = nil
	return typed, a.sums.mean(typed)
}

// done gives the first error, or one for the first word that this sum has no use for.
func (a *calcWords) done() error {
	switch {
	case a.err != nil:
		return a.err
	case len(a.qs) > 0:
		return a.fault(a.qs[0].word, "sum.why.too-many", "sum", a.called)
	case len(a.pairs) > 0:
		return a.fault(a.pairs[0].word, "sum.why.no-part", "sum", a.called)
	case len(a.words) > 0:
		return a.fault(a.words[0], "sum.why.no-part", "sum", a.called)
	}
	return nil
}
