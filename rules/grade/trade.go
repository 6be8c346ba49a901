package grade

import (
	"fmt"
	"slices"
)

// KgPerPound is the international pound (1959 agreement, exact).
const KgPerPound = 0.45359237

// Trade is conversions, bags and containers: the file trade.toml.
//
//	convert = [{from = "parchment", to = "green", factor = 0.80, kind = "statistical"}]
//	bag = [{kg = 60, name = "ICO statistical bag"}]
//	container = [{name = "bulk", kg = 21000, low = 19000, high = 24000}]
type Trade struct {
	Convert    []Conversion `toml:"convert"`
	Bags       []Bag        `toml:"bag"`
	Containers []Container  `toml:"container"`
}

// Conversion is a fixed ratio from one form of coffee to another. Kind is "statistical" for the
// constants of trade statistics, by which no mill may be judged, and "measured" for what was
// weighed once, somewhere.
type Conversion struct {
	From   string  `toml:"from"`
	To     string  `toml:"to"`
	Factor float64 `toml:"factor"`
	Kind   string  `toml:"kind"`
	Mark   Mark    `toml:"mark"`
	Source string  `toml:"source"`
}

// Bag is a size of bag in use.
type Bag struct {
	Kg     float64 `toml:"kg"`
	Name   string  `toml:"name"`
	Mark   Mark    `toml:"mark"`
	Source string  `toml:"source"`
}

// Container is what a 20 ft container holds, in one way of loading. Large beans are lighter in
// bulk than small ones, hence Low and High.
type Container struct {
	Name   string  `toml:"name"`
	Kg     float64 `toml:"kg"`
	Low    float64 `toml:"low"`  // least met, kg; 0: not known
	High   float64 `toml:"high"` // most met, kg; 0: not known
	Mark   Mark    `toml:"mark"`
	Source string  `toml:"source"`
}

// Ratio finds the conversion from one form to another. It fails with an [UnknownError].
func (t Trade) Ratio(from, to string) (Conversion, error) {
	var known []string
	for _, c := range t.Convert {
		if plain(c.To) != plain(to) {
			continue
		}
		if plain(c.From) == plain(from) {
			return c, nil
		}
		known = append(known, c.From)
	}
	return Conversion{}, unknown("product", from, "", known)
}

// Kg is what kg of the first form are in the second. It fails with a [RangeError].
func (c Conversion) Kg(kg float64) (float64, error) {
	return kg * c.Factor, notNegative(c.From, kg, "kg", "75")
}

// Container finds a way of loading by its name. It fails with an [UnknownError].
func (t Trade) Container(name string) (Container, error) {
	var known []string
	for _, c := range t.Containers {
		if plain(c.Name) == plain(name) {
			return c, nil
		}
		known = append(known, c.Name)
	}
	return Container{}, unknown("container", name, "", known)
}

// Fill is how many units of unitG grams netG grams fill, and the grams over. A part unit is never
// rounded up (common practice). Bags and containers are both filled so. Whole grams keep it exact:
// units times unitG plus the rest is netG. It fails with a [RangeError].
func Fill(netG, unitG int64) (full, restG int64, err error) {
	if netG < 0 {
		return 0, 0, cannot("net mass", float64(netG)/1000, "kg", "must be 0 or more",
			"7643.4")
	}
	if unitG <= 0 {
		return 0, 0, cannot("bag", float64(unitG)/1000, "kg", "must be more than 0", "60")
	}
	return netG / unitG, netG % unitG, nil
}

// Pounds is lb pounds in kg.
func Pounds(lb float64) float64 { return lb * KgPerPound }

// check says whether the figures can be used; an error is a rowError. A factor is between two
// forms of one coffee, so each pair stands once, or a mill would get whichever came first.
func (t *Trade) check() error {
	seen := map[string]bool{}
	for i, c := range t.Convert {
		key, why := plain(c.From)+">"+plain(c.To), ""
		switch {
		case plain(c.From) == "" || plain(c.To) == "" || seen[key]:
			why = fmt.Sprintf("from %q to %q is empty or stands twice", c.From, c.To)
		case !(c.Factor > 0 && c.Factor < 100):
			why = c.From + ": factor must be over 0 and under 100"
		case !slices.Contains([]string{"statistical", "measured"}, c.Kind):
			why = c.From + `: kind must be "statistical" or "measured"`
		}
		if why != "" {
			return rowError{"convert", i, why,
				`{from = "parchment", to = "green", factor = 0.80, kind = "statistical"}`}
		}
		seen[key] = true
		if err := checkMark(c.Mark, "convert", i); err != nil {
			return err
		}
	}
	for i, b := range t.Bags {
		if !(b.Kg > 0 && b.Kg < 2000) {
			return rowError{"bag", i, b.Name + ": kg must be over 0 and under 2000", "kg = 60"}
		}
		if err := checkMark(b.Mark, "bag", i); err != nil {
			return err
		}
	}
	for i, c := range t.Containers {
		if !(c.Kg > 0 && c.Low <= c.Kg && (c.High == 0 || c.High >= c.Kg)) {
			return rowError{"container", i, c.Name + ": kg must lie between low and high",
				"kg = 21000"}
		}
		if err := checkMark(c.Mark, "container", i); err != nil {
			return err
		}
	}
	return nil
}
