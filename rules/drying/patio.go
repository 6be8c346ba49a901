package drying

import "time"

// Weather is the air over a patio at an instant. NaN stands for what was not read.
type Weather struct {
	At    time.Time
	TempC float64
	RH    float64 // 0..1
	Rain  float64 // mm since the row before
}

// Patio is one lot spread out to dry, as known at the instant of looking.
type Patio struct {
	Readings []Reading
	Weather  []Weather
	Covers   []Stop      // under cover, or heaped for the night
	Turned   []time.Time // when it was raked
	DepthCm  float64     // of the layer; 0: 3 cm
	Target   float64     // percent wet basis
	Zone     *time.Location
	Past     PatioPast
}

// PatioPast is what a site taught in earlier lots. The zero value: nothing learned.
type PatioPast struct {
	Lots int
}

// EndedPatio is an earlier lot and when it reached its target; zero End: where readings crossed.
type EndedPatio struct {
	Patio Patio
	End   time.Time
}

// LearnPatio sums up the earlier lots of one site, in time order.
func LearnPatio(past []EndedPatio) PatioPast { return PatioPast{Lots: len(past)} }

// Forecast says when the lot will reach its target; its instants are rounded to half-days.
func (p Patio) Forecast() Forecast { return Forecast{Status: FewReadings} }

// PatioArea is the ground in m2 that kg of wet parchment need at a depth in cm and a moisture in
// percent wet basis.
func PatioArea(kg, depthCm, moisture float64) float64 { return 0 }
