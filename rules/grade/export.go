package grade

import (
	"fmt"
	"math"
)

// Export is the voluntary export targets of ICO Resolution 420 (2004). Coffees that are moist by
// tradition (monsooned) are exempt; that is for a person to say. The file is export.toml:
//
//	species = [{name = "arabica", defects_most = 86}]
type Export struct {
	Mark         Mark      `toml:"mark"`
	Source       string    `toml:"source"`
	SampleG      float64   `toml:"sample_g"`
	MoistureLow  float64   `toml:"moisture_low"`
	MoistureHigh float64   `toml:"moisture_high"`
	Method       string    `toml:"method"` // moisture is by this one
	Codes        Codes     `toml:"codes"`  // on the certificate of origin
	CodesMark    Mark      `toml:"codes_mark"`
	Species      []Species `toml:"species"`
}

// Codes are what the certificate says.
type Codes struct {
	Meets    string `toml:"meets"`
	Defects  string `toml:"defects"`
	Moisture string `toml:"moisture"`
	Both     string `toml:"both"`
}

// Species is the most defects one species may have in the sample.
type Species struct {
	Name        string `toml:"name"`
	DefectsMost int    `toml:"defects_most"`
}

// ExportVerdict is how a lot stands against the targets.
type ExportVerdict struct {
	Species               string // as the table writes it
	DefectsOK, MoistureOK bool
	Moisture              float64 // by the targets' own method, % wet basis
	Code                  string  // on the certificate of origin
	Mark                  Mark
}

// Judge sets a lot against the export targets: defects counted in sampleG grams of the named
// species, and moisture in % wet basis by a method (empty: the targets' own). Moisture of another
// method is brought to the targets' first, because a lot just above the limit by one may pass by
// the other. It fails with an [UnknownError], a [RangeError], an [OffsetError], and with a
// [MixError] when the sample is of another mass.
func (t *Tables) Judge(species string, defects int, sampleG, moisture float64, method string) (
	ExportVerdict, error) {
	x := t.Export
	kind, err := x.species(species)
	if err != nil {
		return ExportVerdict{}, err
	}
	if !(math.Abs(sampleG-x.SampleG) <= sampleSlack*x.SampleG) {
		return ExportVerdict{}, MixError{Table: "ICO 420", WantG: x.SampleG, GotG: sampleG}
	}
	if defects < 0 {
		return ExportVerdict{}, cannot("defects", float64(defects), "", "must be 0 or more",
			"86")
	}
	if method == "" {
		method = x.Method
	}
	pct, _, err := t.Methods.Convert(moisture, method, x.Method)
	if err != nil {
		return ExportVerdict{}, err
	}
	const hair = 1e-9 // a reading on the limit is inside it
	v := ExportVerdict{
		Species:    kind.Name,
		DefectsOK:  defects <= kind.DefectsMost,
		MoistureOK: pct >= x.MoistureLow-hair && pct <= x.MoistureHigh+hair,
		Moisture:   pct,
		Mark:       x.Mark,
	}
	v.Code = x.Codes.of(v.DefectsOK, v.MoistureOK)
	if !v.DefectsOK || !v.MoistureOK {
		v.Mark = Worst(x.Mark, x.CodesMark)
	}
	return v, nil
}

// species finds a species by its name.
func (x Export) species(word string) (Species, error) {
	var known []string
	for _, s := range x.Species {
		if plain(s.Name) == plain(word) {
			return s, nil
		}
		known = append(known, s.Name)
	}
	return Species{}, unknown("species", word, "export.toml", known)
}

// of is the code for what was met.
func (c Codes) of(defectsOK, moistureOK bool) string {
	switch {
	case defectsOK && moistureOK:
		return c.Meets
	case moistureOK:
		return c.Defects
	case defectsOK:
		return c.Moisture
	}
	return c.Both
}

// check says whether the targets can be used; an error is a rowError.
func (x *Export) check() error {
	if !(x.MoistureLow >= 0 && x.MoistureLow < x.MoistureHigh && x.MoistureHigh < 100) {
		return rowError{"moisture_high", -1,
			"moisture_low must be under moisture_high, both % wet basis", "moisture_high = 12.5"}
	}
	if !(x.SampleG > 0) || x.Method == "" {
		return rowError{"sample_g", -1, "sample_g and method must be given", "sample_g = 300"}
	}
	for i, s := range x.Species {
		if plain(s.Name) == "" || s.DefectsMost < 0 {
			why := fmt.Sprintf("species %q needs a name and defects_most", s.Name)
			return rowError{"species", i, why, `{name = "arabica", defects_most = 86}`}
		}
	}
	if err := checkMark(x.Mark, "mark", -1); err != nil {
		return err
	}
	return checkMark(x.CodesMark, "codes_mark", -1)
}
