package bot

import (
	"math"
	"strings"

	grading "lotbell/rules/grade"
)

// calcFactor is yield factor and outturn of a parchment sample, or one from the other.
//
//	factor 250g 195.5g       factor, outturn_pct
//	factor 94                the same, from a factor
//	factor 78.2%             the same, from an outturn
//
// A lower factor is better coffee, which people get wrong: the answer says it each time.
func calcFactor(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	var y grading.Yield
	var err error
	key, with := "sum.factor", []any{}
	switch {
	case a.has("g", "kg"):
		p, e := a.grams("parchment-sample"), a.grams("excelso")
		if a.err == nil {
			y, err = grading.YieldFactor(p, e)
		}
		key, with = "sum.factor.sample", []any{"parchment", p, "excelso", e}
	case a.has("%"):
		y, err = grading.FromOutturn(a.take("outturn", "%").n)
	default:
		if q := a.take("factor", ""); a.err == nil {
			y, err = grading.Outturn(q.n)
		}
	}
	if e := a.done(); e != nil {
		return s, e
	}
	if err != nil {
		return s, err
	}
	s.num("factor", y.Factor)
	s.num("outturn_pct", y.OutturnPct)
	s.say(key, append(with, "kg", fixed(y.Factor, 2), "pct", fixed(y.OutturnPct, 2))...)
	s.note("sum.note.factor")
	s.rests("FNC yield-factor purchase scheme, F = 70 p/e", grading.Read)
	return s, nil
}

// calcGreen is green bean equivalent by a fixed ratio of the tables.
//
//	green 75kg parchment     green_kg
//	green 120kg dried cherry the same
//
// Bare cherry is asked back: dried and fresh differ threefold.
func calcGreen(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	kg := a.kg("mass")
	typed, product := a.names()
	switch {
	case a.err != nil:
	case product == "":
		a.err = a.fault("", "sum.why.needs", "sum", a.called, "what",
			Sentence{Key: "sum.need.product"})
	case product == "cherry":
		a.err = a.fault(typed, "sum.why.which-cherry")
	}
	if err := a.done(); err != nil {
		return s, err
	}
	c, err := t.Trade.Ratio(product, "green")
	if err != nil {
		return s, err
	}
	green, err := c.Kg(kg)
	s.num("green_kg", green)
	s.say("sum.green", "kg", kg, "product", Phrase{Text: strings.ReplaceAll(c.From, "-", " ")},
		"green", fixed(green, 2), "factor", c.Factor)
	s.note("sum.note.green." + c.Kind)
	s.rests(c.Source, c.Mark)
	return s, err
}

// calcBags is full bags and the rest; the size of a bag is always said, because it differs by
// country and by buyer.
//
//	bags 7643.4kg 60kg       bags, remainder_kg
func calcBags(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	net := a.take("net-mass", "kg", "g")
	if net.unit == "g" {
		net.n /= 1000
	}
	if net.n < 0 && a.err == nil {
		a.err = a.fault(net.word, "sum.why.mass-negative")
	}
	bag := a.kg("bag")
	if err := a.done(); err != nil {
		return s, err
	}
	full, rest, err := a.fill(net.n, bag)
	if err != nil {
		return s, err
	}
	s.num("bags", float64(full))
	s.num("remainder_kg", rest)
	s.say("sum.bags", "kg", net.n, "bags", full, "bag", bag, "rest", rest)
	s.rests("a part bag is never rounded up", grading.Practice)
	return s, nil
}

// calcContainer is full 20 ft containers and the rest, bagged or in bulk.
//
//	container 40000kg bulk   containers, remainder_kg
func calcContainer(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	kg := a.kg("mass")
	_, way := a.names()
	if err := a.done(); err != nil {
		return s, err
	}
	c, err := t.Trade.Container(way)
	if err != nil {
		return s, err
	}
	full, rest, err := a.fill(kg, c.Kg)
	if err != nil {
		return s, err
	}
	s.num("containers", float64(full))
	s.num("remainder_kg", rest)
	s.say("sum.container", "kg", kg, "full", full, "way", Phrase{Text: c.Name}, "each", c.Kg,
		"rest", rest)
	if c.Low > 0 {
		s.note("sum.note.container", "low", c.Low, "high", c.High)
	}
	s.rests(c.Source, c.Mark)
	return s, nil
}

// fill divides in whole grams, so that nothing is lost in decimals; rest is in kg.
func (a *calcWords) fill(kg, unitKg float64) (full int64, rest float64, err error) {
	if kg > calcMost/1000 || unitKg > calcMost/1000 {
		return 0, 0, a.fault("", "sum.why.mass-under", "most", calcMost/1000)
	}
	full, g, err := grading.Fill(int64(math.Round(kg*1000)), int64(math.Round(unitKg*1000)))
	return full, float64(g) / 1000, err
}

// calcScale is the error that the law allows a class III scale at a load.
//
//	scale 60kg 0.05kg        error_new_kg, error_in_service_kg
func calcScale(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	load, step := a.kg("load"), a.kg("scale-step")
	if err := a.done(); err != nil {
		return s, err
	}
	fresh, err := grading.ScaleError(load, step, false)
	if err != nil {
		return s, err
	}
	used, err := grading.ScaleError(load, step, true)
	s.num("error_new_kg", fresh)
	s.num("error_in_service_kg", used)
	s.say("sum.scale", "kg", load, "step", step, "new", fresh, "used", used)
	s.rests("UK SI 1995/1907 schedule 2; Directive 2014/31/EU", grading.Read)
	return s, err
}
