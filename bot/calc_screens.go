package bot

import (
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
		start = a.grams("start-mass")
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
			s.note("sum.note.no-start", "start", Phrase{Text: "start"}, "g", fixed(sum, 0))
		}
	}
	v, err := t.Sieves.Sieve(held, start)
	if err != nil {
		return s, err
	}
	s.calcSizes(v)
	s.rests("percent of the recovered mass, closure as in ISO 4150", t.Sieves.ClosureMark)
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
			return 0, nil, a.fault(p.word, "sum.why.screen-holds")
		case p.key == "start":
			start = p.n
			continue
		case p.key == "pan":
			held = append(held, grading.Held{G: p.n})
		case err != nil || !(n > 0 && n <= 64):
			return 0, nil, a.fault(p.word, "sum.why.no-screen")
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
	var sizes []any
	for _, h := range v.On {
		s.num("on_"+calcScreenKey(h.Screen)+"_pct", h.G)
		sizes = append(sizes, Sentence{"sum.screens.one", []any{"screen",
			Phrase{Text: grading.ScreenName(h.Screen)}, "pct", fixed(h.G, 1)}})
	}
	s.say("sum.screens", "sizes", sizes)
	// A column of half screens is too long for one line: the figures are below in any case.
	s.Short = Sentence{"sum.screens.many", []any{"sizes", len(v.On), "largest",
		Phrase{Text: grading.ScreenName(v.On[0].Screen)}}}
	for _, h := range v.On {
		if h.Screen > 0 {
			s.num("on_"+calcScreenKey(h.Screen)+"_up_pct", v.UpPct(h.Screen))
			s.num("below_"+calcScreenKey(h.Screen)+"_pct", v.BelowPct(h.Screen))
		}
	}
	s.num("closure_pct", v.ClosurePct)
	s.num("recovered_pct", 100+v.ClosurePct)
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
	q := a.take("screen", "", "mm")
	if err := a.done(); err != nil {
		return s, err
	}
	s.rests(t.Sieves.Source, t.Sieves.Mark)
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
	key := "sum.screen"
	with := []any{"screen", grading.ScreenName(screen.Number), "mm", fixed(screen.IsoMm, 2),
		"exact", fixed(screen.ExactMm(), 3)}
	switch {
	case screen.Number == 0:
		key, with = "sum.screen.hole", []any{"mm", fixed(q.n, 2)}
		screen = grading.Screen{Number: math.NaN(), IsoMm: q.n}
	case screen.IsoMm == 0:
		key = "sum.screen.no-hole"
		screen.IsoMm = math.NaN()
	}
	s.say(key, with...)
	for _, x := range sold {
		s.note("sum.note.sold", "screen", grading.ScreenName(x.Number), "mm", fixed(x.Mm, 2),
			"where", Phrase{Text: x.Where})
	}
	s.num("screen", screen.Number)
	s.num("hole_mm", screen.IsoMm)
	s.num("exact_mm", screen.ExactMm())
	return s, nil
}
