package bot

import (
	"math"

	grading "lotbell/rules/grade"
	"lotbell/rules/mass"
)

const calcBalanceSource = "dry-matter balance; FAO/ICO, Determination of moisture content"

// calcWeight is the mass at another moisture, W2 = W1·(100−w1)/(100−w2), or with one moisture
// the dry matter.
//
//	weight 1000kg 53% to 10.5%     mass_kg, loss_pct, water_kg
//	weight 1000kg 53%              dry_matter_kg, water_kg
//
// Coffee that takes up water gains: the loss is then negative.
func calcWeight(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	kg, from := a.kg("mass"), mass.WetBasis(a.moisture("moisture"))
	s.rests(calcBalanceSource, grading.Read)
	if !a.has("%", "%db") {
		if err := a.done(); err != nil {
			return s, err
		}
		dry, err := mass.DryMatter(kg, from)
		s.num("dry_matter_kg", dry)
		s.num("water_kg", kg-dry)
		s.say("sum.weight.dry", "kg", kg, "hum", float64(from), "dry", fixed(dry, 1), "water",
			fixed(kg-dry, 1))
		return s, err
	}
	to := mass.WetBasis(a.moisture("moisture-other"))
	if err := a.done(); err != nil {
		return s, err
	}
	then, err := mass.At(kg, from, to)
	if err != nil {
		return s, err
	}
	loss, err := mass.Shrink(from, to)
	s.num("mass_kg", then)
	s.num("loss_pct", loss)
	s.num("water_kg", kg-then)
	key := "sum.weight"
	if loss < 0 {
		key = "sum.weight.more"
	}
	s.say(key, "kg", kg, "from", float64(from), "then", fixed(then, 1), "to", float64(to), "pct",
		fixed(math.Abs(loss), 1))
	s.note("sum.note.water-alone")
	return s, err
}

// calcBlend is several weighings of coffee as one: masses add, and so do dry matters.
//
//	blend 1000kg 12% 500kg 10%     mass_kg, moisture_wb_pct
func calcBlend(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	var parts []mass.Weighing
	for len(parts) < 2 || a.err == nil && a.has("kg") {
		parts = append(parts, mass.Weighing{Kg: a.kg("mass"),
			Moisture: mass.WetBasis(a.moisture("moisture-its"))})
	}
	if err := a.done(); err != nil {
		return s, err
	}
	all, err := mass.Blend(parts...)
	if err != nil {
		return s, err
	}
	s.num("mass_kg", all.Kg)
	s.num("moisture_wb_pct", float64(all.Moisture))
	s.say("sum.blend", "parts", len(parts), "kg", fixed(all.Kg, 1), "hum",
		fixed(float64(all.Moisture), 2))
	s.note("sum.note.blend")
	s.rests(calcBalanceSource, grading.Read)
	return s, nil
}

// calcLoss is what two weighings of one lot say: how much was water, and how much their moistures
// do not explain, on the moisture of the second.
//
//	loss 1000kg 53% 520kg 11%      loss_kg, water_kg, unexplained_kg, unexplained_pct, verdict
//
// A gain that is a conflict makes the answer "no". Percentages are of what was expected.
func calcLoss(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	before := mass.Weighing{Kg: a.kg("mass-first"), Moisture: mass.WetBasis(a.moisture(
		"moisture-first"))}
	after := mass.Weighing{Kg: a.kg("mass-second"), Moisture: mass.WetBasis(a.moisture(
		"moisture-second"))}
	if err := a.done(); err != nil {
		return s, err
	}
	l, err := mass.Between(before, after)
	if err != nil {
		return s, err
	}
	verdict := mass.Judge(l.Unexplained+after.Kg, after.Kg)
	s.num("loss_kg", l.Total)
	s.num("water_kg", l.Water)
	s.num("unexplained_kg", l.Unexplained)
	s.num("unexplained_pct", l.Pct)
	s.word("verdict", verdict.String())
	s.No = verdict == mass.Conflict
	s.say("sum.loss", "kg", fixed(l.Total, 1), "water", fixed(l.Water, 1), "rest",
		fixed(l.Unexplained, 1), "pct", fixed(l.Pct, 1), "verdict",
		Phrase{Text: verdict.String()})
	s.note("sum.note.loss", "ask", mass.AskPct, "conflict", mass.ConflictPct)
	s.rests(calcBalanceSource, grading.Read)
	return s, nil
}

// calcBasis is a moisture on both bases.
//
//	basis 10.5%              moisture_db_pct, moisture_wb_pct
//	basis 11.7%db            the same, from the dry basis
func calcBasis(a *calcWords, _ *grading.Tables) (s Sum, _ error) {
	w := mass.WetBasis(a.moisture("moisture"))
	if err := a.done(); err != nil {
		return s, err
	}
	s.num("moisture_db_pct", float64(w.Dry()))
	s.num("moisture_wb_pct", float64(w))
	s.say("sum.basis", "wet", fixed(float64(w), 2), "dry", fixed(float64(w.Dry()), 2))
	s.rests("definition: M = 100 w / (100 - w)", "")
	return s, nil
}
