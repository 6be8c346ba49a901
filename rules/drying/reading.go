package drying

import (
	"math"
	"time"
)

// Reading is one moisture figure for the coffee on a patio or in a drum.
type Reading struct {
	At       time.Time
	Moisture float64 // percent wet basis
	Sigma    float64 // one standard error in points; 0: that of a calibrated meter
	Hot      bool    // read on a hot, uncooled sample: widens the error that Sigma 0 stands for
}

// Weight is the net weight of the coffee in the drum at an instant, by the drum's own scale.
type Weight struct {
	At time.Time
	Kg float64
}

// Air is what was read of the air at an instant. NaN stands for what was not read.
type Air struct {
	At      time.Time
	Inlet   float64 // °C, of the air that meets the coffee
	Ambient float64 // °C, before the furnace
	RH      float64 // of the ambient air, 0..1
}

// Stop is a stretch with the fire or the fan out. A zero To: still out.
type Stop struct {
	From, To time.Time
}

// Sigma gives one standard error, in points of wet basis, of a reading by a method: "oven",
// "cylinder" (loss of mass), "meter", "hot-meter", "bite", "hand"; any other word counts as
// "meter". Oven and cylinder follow Oliveros and others 2010 (Cenicafé 61(2):108-118); electric
// meters are erratic above 35 % (Jiménez and Buigarelli 1992, Agron. Costarric. 16(2):211); the
// sizes are a proposal made from these. The unevenness of a drum comes on top and is not in it.
func Sigma(method string, moisture float64) float64 {
	meter := dryMeter
	switch {
	case moisture > 35:
		meter = 2
	case moisture >= 20:
		meter = 0.8
	}
	switch method {
	case "oven":
		return 0.15
	case "cylinder":
		return 0.6
	case "hot-meter":
		return math.Hypot(meter, 0.5)
	case "bite", "hand":
		return 2
	}
	return meter
}
