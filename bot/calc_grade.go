package bot

import (
	"math"
	"strings"

	grading "lotbell/rules/grade"
)

// calcMethod is a moisture by one method as another would read it, with the standard error of both.
//
//	moisture 12.5% iso-1446 to iso-6673    moisture_wb_pct, sigma_pct
//
// A method whose offset is not known is refused: a point of difference between two methods is more
// than the band a mill aims at.
func calcMethod(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	pct := a.moisture("a moisture")
	if len(a.words) != 2 && a.err == nil {
		var ids []string
		for _, m := range t.Methods.List {
			ids = append(ids, m.ID)
		}
		a.err = a.fault("", "moisture needs two methods of "+strings.Join(ids, ", "))
	}
	from, to := "", ""
	if len(a.words) == 2 {
		from, to, a.words = a.words[0], a.words[1], nil
	}
	if err := a.done(); err != nil {
		return s, err
	}
	m, err := t.Methods.Find(from)
	if err != nil {
		return s, err
	}
	other, err := t.Methods.Find(to)
	if err != nil {
		return s, err
	}
	got, sigma, err := t.Methods.Convert(pct, m.ID, other.ID)
	if err != nil {
		return s, err
	}
	s.num("moisture_wb_pct", got)
	s.num("sigma_pct", sigma)
	s.say("%g %% by %s is %.1f %% by %s, +-%.1f", pct, m.ID, got, other.ID, sigma)
	s.Source, s.Mark = m.Source, m.Mark
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
	key := a.names()
	for a.has("") { // "sca 2018", "iso 10470 2004"
		key += "-" + a.take("", "").word
	}
	if err := a.done(); err != nil {
		return s, err
	}
	if key == "" {
		return s, a.fault("", "defects needs a table with its edition")
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
		s.say("%s: %.2f %% by mass, loss of mass %.2f, sensory %.2f to %.2f", w.Table, w.Pct,
			w.Loss, w.Sensory, w.SensoryMost)
		s.Source, s.Mark = w.Source, w.Mark
		return s, err
	}
	c, err := d.Count(sample)
	s.calcCount(c)
	return s, err
}

// sample takes the classes found, the sample's mass, quakers and moisture.
func (a *calcWords) sample() (x grading.Sample, err error) {
	x.Grams = a.grams("a sample mass, as in 350g")
	if a.has("%", "%db") {
		m := a.moisture("a moisture")
		x.Moisture = &m
	}
	for _, p := range a.pairs {
		if p.key == "quakers" {
			n := int(p.n)
			if float64(n) != p.n || p.unit != "" {
				return x, a.fault(p.word, "quakers are counted in whole beans in 100 g roasted")
			}
			x.Quakers = &n
			continue
		}
		if p.unit != "" && p.unit != "g" {
			return x, a.fault(p.word, "a class has a number of beans, or grams if the table weighs")
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
	s.say("%s: %d full defects (%d primary, %d secondary; %.2f before rounding): %s",
		c.Table, c.Full, c.Primary, c.Secondary, c.Raw, c.Verdict)
	if c.RawVerdict != c.Verdict {
		s.note("Rounding decided: before it the grade was %s.", c.RawVerdict)
	}
	if len(c.Unchecked) > 0 {
		s.note("Not measured, and limited by this grade: %s.", strings.Join(c.Unchecked, ", "))
	}
	s.Source, s.Mark = c.Source, c.Mark
}

// calcICO is a lot against the export targets of ICO Resolution 420.
//
//	ico 86 12.5% [arabica] [300g] [iso-6673]    verdict, code, moisture_wb_pct
//
// Species and sample are arabica and the targets' own mass unless said; moisture by another method
// is brought to the targets' before it is judged. A target not met makes the answer "no".
func calcICO(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	defects, moisture := a.take("a number of defects, as in 86", ""), a.moisture("a moisture")
	sample := t.Export.SampleG
	if a.has("g", "kg") {
		sample = a.grams("a sample mass")
	}
	species, method := "arabica", ""
	for _, w := range a.words {
		if _, err := t.Methods.Find(w); err == nil {
			method = w
		} else {
			species = w
		}
	}
	a.words = nil
	if n := defects.n; n != math.Trunc(n) && a.err == nil {
		a.err = a.fault(defects.word, "full defects are whole")
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
	s.say("ICO 420, %s: %g defects in %g g, %.1f %% by %s: %s (%s)", v.Species, defects.n,
		sample, v.Moisture, t.Export.Method, verdict, v.Code)
	s.note("The targets are voluntary.")
	s.Source, s.Mark = t.Export.Source, v.Mark
	return s, nil
}

// calcCup is the class of a total score.
//
//	cup 84.75                score, class
func calcCup(a *calcWords, t *grading.Tables) (s Sum, _ error) {
	q := a.take("a score, as in 84.75", "")
	if err := a.done(); err != nil {
		return s, err
	}
	class, err := t.Cup.Class(q.n)
	s.num("score", q.n)
	s.word("class", class)
	s.say("cup %.2f: %s", q.n, class)
	s.note("On the %s. A score without its protocol means nothing.", t.Cup.Protocol)
	s.Source, s.Mark = t.Cup.Source, t.Cup.Mark
	return s, err
}
