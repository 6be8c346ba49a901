package ferment

import (
	"math"
	"slices"
	"time"
)

// Hand is what the palm found when a handful was washed and rubbed.
type Hand int8

const (
	// NotTested is the zero value: this reading was no hand test.
	NotTested Hand = iota
	// Slippery: the film still slides, so completion lies after this instant.
	Slippery
	// Rough: the parchment grates like small stones, so completion lies before this instant.
	Rough
)

// String is the word of the floor: "rough", "slippery" or nothing.
func (h Hand) String() string {
	switch h {
	case Slippery:
		return "slippery"
	case Rough:
		return "rough"
	}
	return ""
}

// Load is one lot of pulped fruit put into the tank. Kg is NaN when unknown; the pace does not
// depend on it (tanks filled to 25, 50, 75 and 100 % took the same time: Peñuela et al. 2010).
type Load struct {
	At time.Time
	Kg float64
}

// Reading is what was measured at one instant; what was not measured is NaN.
// Mass is the mean over the depths that were read, °C; Ambient is the air at the tank, °C.
type Reading struct {
	At      time.Time
	Mass    float64
	Ambient float64
	PH      float64
	Hand    Hand
}

// Site is what the mill said at set-up. Unknown floats are NaN, unknown hours are zero.
// [NewSite] gives a site of which nothing is known.
type Site struct {
	Altitude  float64       // metres above the sea
	Ambient   float64       // mean air temperature of the season at the tanks, °C
	UsualCold time.Duration // usual time from filling to washing in cold weeks
	UsualWarm time.Duration // the same in warm weeks; either alone is enough
	Cool      bool          // the tank is covered, or its coffee under water: it does not heat itself
}

// Tank is one stay of pulped coffee in a tank, with what is known about it and its mill.
// Name and Class matter only to learning and may be empty. Loads and Readings come in any order
// and are not changed. Past is nil for a mill without tanks of its own.
type Tank struct {
	Name     string
	Class    string
	Loads    []Load
	Readings []Reading
	Site     Site
	Past     *Past
}

// Stay is a tank that is over. Washed is zero when the washing was not recorded.
// Its Tank.Past is not looked at.
type Stay struct {
	Tank   Tank
	Washed time.Time
}

// NewSite is a site of which nothing is known: floats NaN, hours zero.
func NewSite() Site {
	return Site{Altitude: math.NaN(), Ambient: math.NaN()}
}

// NewReading is a reading at an instant with nothing measured yet: floats NaN, no hand test.
func NewReading(at time.Time) Reading {
	return Reading{At: at, Mass: math.NaN(), Ambient: math.NaN(), PH: math.NaN()}
}

// usual is the mill's own time from filling to washing in hours, the geometric mean of the cold
// and the warm weeks when both are known; 0 when neither is.
func (s Site) usual() float64 {
	cold, warm := s.UsualCold.Hours(), s.UsualWarm.Hours()
	switch {
	case cold > 0 && warm > 0:
		return math.Sqrt(cold * warm)
	case cold > 0:
		return cold
	}
	return max(warm, 0)
}

// heating is what the mass is warmer than the air, °C. Of tanks that are covered or under water no
// figure has been published; they are taken for as warm as the air (common practice, no source).
func (s Site) heating() float64 {
	if s.Cool {
		return 0
	}
	return SelfHeating
}

// soonest is the shorter of the usual hours, 0 when none is known.
func (s Site) soonest() float64 {
	cold, warm := s.UsualCold.Hours(), s.UsualWarm.Hours()
	if cold > 0 && (warm <= 0 || cold < warm) {
		return cold
	}
	return max(warm, 0)
}

// basis is the best thing the mill said of itself, where no thermometer was read.
func (s Site) basis() Source {
	switch {
	case s.usual() > 0:
		return FromUsual
	case !math.IsNaN(s.Ambient):
		return FromSiteAmbient
	case !math.IsNaN(s.Altitude):
		return FromAltitude
	}
	return NoSource
}

// celsius is the mass temperature that belongs to a basis, NaN where there is none.
func (s Site) celsius(basis Source) float64 {
	switch basis {
	case FromSiteAmbient:
		return s.Ambient + s.heating()
	case FromAltitude:
		return AltitudeAmbient(s.Altitude) + s.heating()
	}
	return math.NaN()
}

// filled is the span of the loads: the oldest fruit and the youngest. ok is false without loads.
func (t *Tank) filled() (oldest, youngest time.Time, ok bool) {
	for _, l := range t.Loads {
		if !ok || l.At.Before(oldest) {
			oldest = l.At
		}
		if !ok || l.At.After(youngest) {
			youngest = l.At
		}
		ok = true
	}
	return oldest, youngest, ok
}

// ordered gives the readings by instant, the given slice itself when it is in order already.
func (t *Tank) ordered() []Reading {
	byTime := func(a, b Reading) int { return a.At.Compare(b.At) }
	if slices.IsSortedFunc(t.Readings, byTime) {
		return t.Readings
	}
	rs := slices.Clone(t.Readings)
	slices.SortStableFunc(rs, byTime)
	return rs
}
