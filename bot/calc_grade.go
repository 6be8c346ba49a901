package bot

import (
	"math"

	grading "lotbell/rules/grade"
)

// calcMethod is a moisture by one method as another would read it, with the standard error of both.
//
//	moisture 12.5% iso-1446 to iso-6673    moisture_wb_pct, sigma_pct
//
// A method whose offset is not known is refused: a point of difference between two methods is more
// than the band a mill aims at.
func calcMethod(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	pct := a.moisture("moisture")
	if len(a.words) != 2 && a.err == nil {
		var ids []any
		for _, m := range t.Methods.List {
			ids = append(ids, Phrase{Text: m.ID})
		}
		a.err = a.fault("", "sum.why.needs-methods", "sum", a.called, "known", ids)
	}
	two := [2]string{}
	if len(a.words) == 2 {
		two, a.words = [2]string(a.words), nil
	}
	if err := a.done(); err != nil {
		return s, err
	}
	m, err := t.Methods.Find(a.sums.mean(two[0]))
	if err != nil {
		return s, err
	}
	other, err := t.Methods.Find(a.sums.mean(two[1]))
	if err != nil {
		return s, err
	}
	got, sigma, err := t.Methods.Convert(pct, m.ID, other.ID)
	if err != nil {
		return s, err
	}
	s.num("moisture_wb_pct", got)
	s.num("sigma_pct", sigma)
	s.say("sum.moisture", "pct", pct, "from", Phrase{Text: m.ID}, "got", fixed(got, 1), "to",
		Phrase{Text: other.ID}, "sigma", fixed(sigma, 1))
	s.rests(m.Source, m.Mark)
	return s, err
}

// calcDefects is a sample by a defect table, counted or weighed as the table says.
//
//	defects sca-2018 350g partial-black=4 broken=9 [quakers=0] [11.2%]
//	                         full_defects, primary, secondary, raw, verdict [, points]
//	defects iso-10470-2004 300g blotchy=3.0g
//	                         defects_pct, mass_loss_pct, sensory_pct, sensory_most_pct
//
// The table's edition and the sample's mass must be said, because they must fit each other. A
// sample that no grade fits makes the answer "no". Limits of the grade that were not measured are
// named, never assumed.
func calcDefects(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	sample, err := a.sample()
	if err != nil {
		return s, err
	}
	_, key := a.names()
	for a.has("") { // "sca 2018", "iso 10470 2004"
		key += "-" + a.take("", "").word
	}
	if err := a.done(); err != nil {
		return s, err
	}
	if key == "" {
		return s, a.fault("", "sum.why.needs", "sum", a.called, "what",
			Sentence{Key: "sum.need.table"})
	}
	d, err := t.For(key, sample.Grams)
	if err != nil {
		return s, err
	}
	if d.Kind == "mass" {
		w, err := d.Weigh(sample)
		s.num("defects_pct", w.Pct)
		s.num("mass_loss_pct", w.Loss)
		s.num("sensory_pct", w.Sensory)
		s.num("sensory_most_pct", w.SensoryMost)
		s.say("sum.defects.weighed", "table", w.Table, "pct", fixed(w.Pct, 2), "loss",
			fixed(w.Loss, 2), "least", fixed(w.Sensory, 2), "most", fixed(w.SensoryMost, 2))
		s.rests(w.Source, w.Mark)
		return s, err
	}
	c, err := d.Count(sample)
	s.calcCount(c)
	return s, err
}

// sample takes the classes found, the sample's mass, quakers and moisture.
func (a *calcWords) sample() (x grading.Sample, err error) {
	x.Grams = a.grams("sample-mass")
	if a.has("%", "%db") {
		m := a.moisture("moisture")
		x.Moisture = &m
	}
	for _, p := range a.pairs {
		if p.key == "quakers" {
			n := int(p.n)
			if float64(n) != p.n || p.unit != "" {
				return x, a.fault(p.word, "sum.why.quakers")
			}
			x.Quakers = &n
			continue
		}
		if p.unit != "" && p.unit != "g" {
			return x, a.fault(p.word, "sum.why.class-amount")
		}
		x.Found = append(x.Found, grading.Found{Class: p.key, Amount: p.n})
	}
	a.pairs = nil
	return x, nil
}

// calcCount writes a counted sample out.
func (s *Sum) calcCount(c grading.Count) {
	s.num("full_defects", float64(c.Full))
	s.num("primary", float64(c.Primary))
	s.num("secondary", float64(c.Secondary))
	s.num("raw", c.Raw)
	s.word("verdict", c.Verdict)
	if c.Points != nil {
		s.num("points", *c.Points)
	}
	s.No = !c.Fits
	s.say("sum.defects", "table", c.Table, "full", c.Full, "primary", c.Primary, "secondary",
		c.Secondary, "raw", fixed(c.Raw, 2), "verdict", Phrase{Text: c.Verdict})
	if c.RawVerdict != c.Verdict {
		s.note("sum.note.rounding", "verdict", Phrase{Text: c.RawVerdict})
	}
	if len(c.Unchecked) > 0 {
		s.note("sum.note.unmeasured", "names", calcPhrases(c.Unchecked))
	}
	s.rests(c.Source, c.Mark)
}

// calcICO is a lot against the export targets of ICO Resolution 420.
//
//	ico 86 12.5% [arabica] [300g] [iso-6673]    verdict, code, moisture_wb_pct
//
// Species and sample are arabica and the targets' own mass unless said; moisture by another method
// is brought to the targets' before it is judged. A target not met makes the answer "no".
func calcICO(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	defects, moisture := a.take("defect-count", ""), a.moisture("moisture")
	sample := t.Export.SampleG
	if a.has("g", "kg") {
		sample = a.grams("sample")
	}
	species, method := "arabica", ""
	for _, w := range a.words {
		w = a.sums.mean(w)
		if _, err := t.Methods.Find(w); err == nil {
			method = w
		} else {
			species = w
		}
	}
	a.words = nil
	if n := defects.n; n != math.Trunc(n) && a.err == nil {
		a.err = a.fault(defects.word, "sum.why.whole")
	}
	if err := a.done(); err != nil {
		return s, err
	}
	v, err := t.Judge(species, int(defects.n), sample, moisture, method)
	if err != nil {
		return s, err
	}
	verdict := "meets"
	switch {
	case !v.DefectsOK && !v.MoistureOK:
		verdict = "fails on defects and moisture"
	case !v.DefectsOK:
		verdict = "fails on defects"
	case !v.MoistureOK:
		verdict = "fails on moisture"
	}
	s.word("verdict", verdict)
	s.word("code", v.Code)
	s.num("moisture_wb_pct", v.Moisture)
	s.No = !v.DefectsOK || !v.MoistureOK
	s.say("sum.ico", "species", Phrase{Text: v.Species}, "defects", defects.n, "g", sample, "hum",
		fixed(v.Moisture, 1), "method", Phrase{Text: t.Export.Method}, "verdict",
		Phrase{Text: verdict}, "code", v.Code)
	s.note("sum.note.ico")
	s.rests(t.Export.Source, v.Mark)
	return s, nil
}

// calcCup is the class of a total score.
//
//	cup 84.75                score, class
func calcCup(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	q := a.take("score", "")
	if err := a.done(); err != nil {
		return s, err
	}
	class, err := t.Cup.Class(q.n)
	s.num("score", q.n)
	s.word("class", class)
	s.say("sum.cup", "score", fixed(q.n, 2), "class", Phrase{Text: class})
	s.note("sum.note.cup", "protocol", Phrase{Text: t.Cup.Protocol})
	s.rests(t.Cup.Source, t.Cup.Mark)
	return s, err
}
