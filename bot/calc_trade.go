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
	switch {
	case a.has("g", "kg"):
		p, e := a.grams("a parchment sample"), a.grams("its excelso")
		if a.err == nil {
			y, err = grading.YieldFactor(p, e)
		}
		s.say("factor %g g, %g g: ", p, e)
	case a.has("%"):
		y, err = grading.FromOutturn(a.take("an outturn", "%").n)
	default:
		if q := a.take("a sample, as in 250g 195.5g, or a factor", ""); a.err == nil {
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
	s.more("%.2f kg of dry parchment for 70 kg of excelso, outturn %.2f %%", y.Factor,
		y.OutturnPct)
	s.note("A lower factor is better coffee. The sample must be at 10 to 12 %% moisture.")
	s.Source, s.Mark = "FNC yield-factor purchase scheme, F = 70 p/e", grading.Read
	return s, nil
}

// calcGreen is green bean equivalent by a fixed ratio of the tables.
//
//	green 75kg parchment     green_kg
//	green 120kg dried cherry the same
//
// Bare cherry is asked back: dried and fresh differ threefold.
func calcGreen(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	kg, product := a.kg("a mass"), a.names()
	if product == "" && a.err == nil {
		a.err = a.fault("", "green needs a product, as in parchment or dried cherry")
	}
	if product == "cherry" && a.err == nil {
		a.err = a.fault(product, "may be dried or fresh: write dried cherry or fresh cherry")
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
	s.say("%g kg of %s are %.2f kg of green (x %g)", kg, strings.ReplaceAll(c.From,
		"-", " "), green, c.Factor)
	if c.Kind == "statistical" {
		s.note("A constant of trade statistics, not a yield: no mill may be judged by it.")
	} else {
		s.note("Measured once, elsewhere: a mill's own ratio goes before it.")
	}
	s.Source, s.Mark = c.Source, c.Mark
	return s, err
}

// calcBags is full bags and the rest; the size of a bag is always said, because it differs by
// country and by buyer.
//
//	bags 7643.4kg 60kg       bags, remainder_kg
func calcBags(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	net := a.take("a net mass, as in 7643.4kg", "kg", "g")
	if net.unit == "g" {
		net.n /= 1000
	}
	if net.n < 0 && a.err == nil {
		a.err = a.fault(net.word, "a mass cannot be negative")
	}
	bag := a.kg("a bag, as in 60kg")
	if err := a.done(); err != nil {
		return s, err
	}
	full, rest, err := a.fill(net.n, bag)
	if err != nil {
		return s, err
	}
	s.num("bags", float64(full))
	s.num("remainder_kg", rest)
	s.say("%g kg fill %d bags of %g kg, %g kg over", net.n, full, bag, rest)
	s.Source, s.Mark = "a part bag is never rounded up", grading.Practice
	return s, nil
}

// calcContainer is full 20 ft containers and the rest, bagged or in bulk.
//
//	container 40000kg bulk   containers, remainder_kg
func calcContainer(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	kg, way := a.kg("a mass"), a.names()
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
	s.say("%g kg fill %d containers of 20 ft, %s, at %g kg, %g kg over", kg, full, c.Name,
		c.Kg, rest)
	if c.Low > 0 {
		s.note("From %g kg of large beans to %g kg of small ones.", c.Low, c.High)
	}
	s.Source, s.Mark = c.Source, c.Mark
	return s, nil
}

// fill divides in whole grams, so that nothing is lost in decimals; rest is in kg.
func (a *calcWords) fill(kg, unitKg float64) (full int64, rest float64, err error) {
	if kg > calcMost/1000 || unitKg > calcMost/1000 {
		return 0, 0, a.fault("", "a mass must be under "+calcShort(calcMost/1000)+" kg")
	}
	full, g, err := grading.Fill(int64(math.Round(kg*1000)), int64(math.Round(unitKg*1000)))
	return full, float64(g) / 1000, err
}

// calcScale is the error that the law allows a class III scale at a load.
//
//	scale 60kg 0.05kg        error_new_kg, error_in_service_kg
func calcScale(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	load, step := a.kg("a load"), a.kg("a scale step")
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
	s.say("%g kg in steps of %g kg: class III may be %g kg off new, %g kg in service", load,
		step, fresh, used)
	s.Source, s.Mark = "UK SI 1995/1907 schedule 2; Directive 2014/31/EU", grading.Read
	return s, err
}
