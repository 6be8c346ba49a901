package drying

import (
	"math"
	"time"
)

// Reading is one moisture figure for the coffee on a patio or in a drum.
type Reading struct {
	At       time.Time
	Moisture float64 // percent wet basis
	Sigma    float64 // one standard error in points; 0: the default of a calibrated meter on one grab
	Hot      bool    // read on a hot, uncooled sample: its error is wider
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

// Sigma gives one standard error, in points of wet basis, of a reading of a single sample by a
// method: "oven", "cylinder", "meter", "hot-meter", "bite", "hand"; any other word counts as
// "meter".
func Sigma(method string, moisture float64) float64 {
	meter := 0.3
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
