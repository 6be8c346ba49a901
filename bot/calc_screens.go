package bot

import (
	"errors"
	"math"
	"strconv"
	"strings"

	grading "lotbell/rules/grade"
)

// calcScreens is a screening in percent by mass.
//
//	screens 18=32 17=41 16=14 15=8 14=3.5 pan=1.5 [start=300]
//	                         on_18_pct … on_pan_pct, for each screen n on_n_up_pct and
//	                         below_n_pct, closure_pct, recovered_pct
//
// Closure is recovered less start in percent of start. Without a start mass, figures that add up to
// nearly 100 are percentages of it; others are grams, closure is null and the answer says so. A
// screening that does not close is refused, and that refusal is a "no", not a wrong use.
func calcScreens(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	start, held, err := a.screening()
	if err != nil {
		return s, err
	}
	if a.has("g", "kg") {
		start = a.grams("a start mass")
	}
	if err := a.done(); err != nil {
		return s, err
	}
	if math.IsNaN(start) {
		var sum float64
		for _, h := range held {
			sum += h.G
		}
		if math.Abs(sum-100) <= 10 {
			start = 100
		} else {
			s.note("No start mass was given, so closure was not checked: add start=%.0f.", sum)
		}
	}
	v, err := t.Sieves.Sieve(held, start)
	var open grading.ClosureError
	if errors.As(err, &open) {
		return s, CalcError{Word: "screens", Why: err.Error(), Example: a.form.example, No: true,
			Err: err}
	}
	if err != nil {
		return s, err
	}
	s.calcSizes(v)
	s.Source = "percent of the recovered mass, closure as in ISO 4150"
	s.Mark = t.Sieves.ClosureMark
	return s, nil
}

// screening takes what each screen held, and the start mass in grams if one is given; else NaN.
func (a *calcWords) screening() (start float64, held []grading.Held, err error) {
	start = math.NaN()
	for _, p := range a.pairs {
		if p.unit == "kg" {
			p.n *= 1000
		}
		switch n, err := strconv.ParseFloat(strings.Replace(p.key, ",", ".", 1), 64); {
		case p.unit != "" && p.unit != "g" && p.unit != "kg" && p.unit != "%":
			return 0, nil, a.fault(p.word, "a screen holds grams or percent")
		case p.key == "start":
			start = p.n
			continue
		case p.key == "pan":
			held = append(held, grading.Held{G: p.n})
		case err != nil || !(n > 0 && n <= 64):
			return 0, nil, a.fault(p.word, "is no screen: write its number, pan or start")
		default:
			held = append(held, grading.Held{Screen: n, G: p.n})
		}
		if p.unit == "%" {
			start = 100
		}
	}
	a.pairs = nil
	return start, held, nil
}

// calcSizes writes a screening out: on each screen, on it and up, and below it.
func (s *Sum) calcSizes(v grading.Screening) {
	s.Line = "screens in %: "
	for i, h := range v.On {
		name := "on_" + calcScreenKey(h.Screen) + "_pct"
		s.num(name, h.G)
		if i > 0 {
			s.Line += ", "
		}
		s.more("%s %.1f", grading.ScreenName(h.Screen), h.G)
	}
	for _, h := range v.On {
		if h.Screen > 0 {
			s.num("on_"+calcScreenKey(h.Screen)+"_up_pct", v.UpPct(h.Screen))
			s.num("below_"+calcScreenKey(h.Screen)+"_pct", v.BelowPct(h.Screen))
		}
	}
	s.num("closure_pct", v.ClosurePct)
	s.num("recovered_pct", 100+v.ClosurePct)
	if len(s.Line) > 160 { // a column of half screens: the figures are below in any case
		s.say("screens: %d sizes, largest %s", len(v.On), grading.ScreenName(v.On[0].Screen))
	}
}

// calcScreenKey is a screen in the name of a figure: 17, 12_5, pan.
func calcScreenKey(n float64) string {
	if n == 0 {
		return "pan"
	}
	return strings.ReplaceAll(calcShort(n), ".", "_")
}

// calcScreen is a screen's hole, or the screen of a hole.
//
//	screen 17                screen, hole_mm (ISO), exact_mm (n/64 inch)
//	screen 5.00mm            the same; hole_mm or screen is null where there is none
//
// Where the trade sells a hole under another number, the answer warns of it.
func calcScreen(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	hole := a.has("mm")
	q := a.take("a number, as in 17, or a hole, as in 6.70mm", "", "mm")
	if err := a.done(); err != nil {
		return s, err
	}
	s.Source, s.Mark = t.Sieves.Source, t.Sieves.Mark
	screen := grading.Screen{Number: q.n}
	var sold []grading.SoldScreen
	var err error
	if hole {
		screen, sold, err = t.Sieves.Hole(q.n)
	} else {
		screen, err = t.Sieves.Number(q.n)
		sold = t.Sieves.SoldHoles(q.n)
	}
	if err != nil {
		return s, err
	}
	s.say("screen %s: ISO hole %.2f mm, exactly %.3f mm", grading.ScreenName(screen.Number),
		screen.IsoMm, screen.ExactMm())
	switch {
	case screen.Number == 0:
		s.say("hole %.2f mm: no ISO screen has it", q.n)
		screen = grading.Screen{Number: math.NaN(), IsoMm: q.n}
	case screen.IsoMm == 0:
		s.say("screen %g: exactly %.3f mm; ISO has no such hole", q.n, screen.ExactMm())
		screen.IsoMm = math.NaN()
	}
	for _, x := range sold {
		s.note("Sold as screen %s with a hole of %.2f mm: %s. Keep the mm with the number.",
			grading.ScreenName(x.Number), x.Mm, x.Where)
	}
	s.num("screen", screen.Number)
	s.num("hole_mm", screen.IsoMm)
	s.num("exact_mm", screen.ExactMm())
	return s, nil
}
