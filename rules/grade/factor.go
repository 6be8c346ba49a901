package grade

// The yield factor's own numbers (Colombia; FNC yield-factor purchase scheme, read in the press of
// February 2016, price sheet of 31 March 2021).
const (
	FactorBagKg  = 70.0  // excelso in one bag
	FactorBase   = 94.0  // factor of the base price
	FactorLoadKg = 125.0 // dry parchment in one load
)

// Yield is a sample of dry parchment hulled and sorted. Factor and outturn say the same thing, and
// go opposite ways: better coffee has the lower factor and the higher outturn.
type Yield struct {
	Factor     float64 // kg of dry parchment for one bag of 70 kg excelso; lower is better
	OutturnPct float64 // excelso in percent of parchment
}

// YieldFactor is F = 70·p/e for a sample of p g dry parchment that gave e g of sound excelso
// (definition of the FNC purchase scheme). The parchment must be at 10 to 12 % moisture, or brought
// to the agreed one first; whether e is before or after the allowance for small beans is the
// caller's to say. It fails with a [RangeError].
func YieldFactor(parchmentG, excelsoG float64) (Yield, error) {
	if err := positive("parchment", parchmentG, "g", "250"); err != nil {
		return Yield{}, err
	}
	if err := positive("excelso", excelsoG, "g", "195.5"); err != nil {
		return Yield{}, err
	}
	if excelsoG >= parchmentG {
		return Yield{}, RangeError{What: "excelso", Value: excelsoG, Unit: "g",
			Why:     "must be less than the parchment, {limit} g: hulling takes about a fifth",
			Example: "195.5 from 250", Limit: parchmentG}
	}
	return Yield{FactorBagKg * parchmentG / excelsoG, 100 * excelsoG / parchmentG}, nil
}

// Outturn is the other way round: outturn % = 7000/F. It fails with a [RangeError] for a factor
// of 70 or less, which would be more excelso than parchment.
func Outturn(factor float64) (Yield, error) {
	if !(factor > FactorBagKg && factor < 1e4) {
		return Yield{}, cannot("factor", factor, "kg", "must be over 70, the bag itself", "94")
	}
	return Yield{factor, 100 * FactorBagKg / factor}, nil
}

// FromOutturn is the yield of an outturn in percent: F = 7000/outturn. It fails with a
// [RangeError] outside 0 to 100.
func FromOutturn(pct float64) (Yield, error) {
	if !(pct > 0 && pct < 100) {
		return Yield{}, cannot("outturn", pct, "%", "must be over 0 and under 100", "78.2")
	}
	return Yield{100 * FactorBagKg / pct, pct}, nil
}

// ExcelsoKg is the excelso that kg of dry parchment should give at this yield.
func (y Yield) ExcelsoKg(kg float64) float64 { return kg * y.OutturnPct / 100 }

// Price is what a load is worth when the base price is for [FactorBase]: (94/F)·base, in the money
// of the base (FNC purchase scheme).
func (y Yield) Price(base float64) float64 { return base * FactorBase / y.Factor }
