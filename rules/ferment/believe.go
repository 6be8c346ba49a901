package ferment

import "math"

// What is believed before a mill has taught anything, as relative standard deviations (of the
// logarithm of the hours). Together they make the half-width of the first window 40 %.
const (
	siteSD      = 0.24 // pace of one mill against the published one (24-26 % between 7 farms)
	scatterSD   = 0.16 // tanks alike in one mill
	ambientSD   = 0.08 // self-heating assumed
	siteAirSD   = 0.27 // hours from the season's mean air
	altitudeSD  = 0.28 // hours from the altitude line
	unknownSD   = 0.60 // hours where nothing is known: 6-72 h in the world
	usualSD     = 0.20 // the mill's usual hours, by the clock or where its mean air is known
	usualFarSD  = 0.25 // the same at a temperature taken from the altitude
	usualBareSD = 0.35 // the same at a temperature unknown
	weatherSD   = 0.12 // weather from tank to tank, where no thermometer shows it
)

// confidence is the stated chance of a window; its ends are the quantiles beside it.
const (
	confidence = 0.80
	lowTail    = 0.10
	highTail   = 0.90
)

// sdOfScale is the standard deviation that a logistic distribution of scale 1 stands for: that of
// the normal one with the same 10 and 90 % points.
const sdOfScale = 2.1972245773362196 / 1.2815515655446004

// belief is a normal belief about the logarithm of the hours over the published hours: those at
// the temperature of the past tanks where a thermometer was read, else 23.1.
type belief struct{ mean, weight float64 } // weight is 1/variance, 0: nothing known

func believed(mean, sd float64) belief { return belief{mean, 1 / (sd * sd)} }

// hours is the belief as hours to completion at a temperature; NaN: by the clock.
func (b belief) hours(celsius float64) float64 {
	switch {
	case b.weight == 0:
		return math.NaN()
	case math.IsNaN(celsius):
		return HoursAt20 * math.Exp(b.mean)
	}
	return Hours(celsius) * math.Exp(b.mean)
}

// pooled is the mean of several beliefs by their weights.
func pooled(bs ...belief) belief {
	var p belief
	for _, b := range bs {
		p.mean += b.weight * b.mean
		p.weight += b.weight
	}
	p.mean /= p.weight
	return p
}

// prior is the published pace as belief: at 20 °C where a thermometer is read, else in all.
func (s Site) prior(from Source) belief {
	logHours := func() float64 { return math.Log(Hours(s.celsius(from)) / HoursAt20) }
	switch from {
	case FromMass, FromAmbient:
		return believed(0, siteSD)
	case FromUsual:
		return belief{}
	case FromSiteAmbient:
		return believed(logHours(), siteAirSD)
	case FromAltitude:
		return believed(logHours(), altitudeSD)
	}
	return believed(0, unknownSD)
}

// habit is what the mill's usual hours say of the same pace. They are worth more than the
// altitude line, and most where the temperature that belongs to them is known.
func (s Site) habit(from Source, l lesson) belief {
	usual := s.usual()
	switch {
	case usual == 0:
		return belief{}
	case !from.read():
		return believed(math.Log(usual/HoursAt20), usualSD)
	}
	celsius, sd := 20.0, usualBareSD
	switch {
	case !math.IsNaN(s.Ambient):
		celsius, sd = s.celsius(FromSiteAmbient), usualSD
	case !math.IsNaN(s.Altitude):
		celsius, sd = s.celsius(FromAltitude), usualFarSD
	}
	return believed(math.Log(usual*pace(celsius, l.tmin))-shift(l.mean, l.tmin), sd)
}
