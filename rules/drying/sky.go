package drying

import (
	"math"
	"time"
)

// sky is the air over a patio: what was read, and after that days like the last three. In the night
// the deficit is near none, so the clock all but stands; after a night in the open it stands on
// until the dew is off. A yard where the air is read once or twice a day gets the shape of a clear
// day between; one that reads it hourly is taken as read. Where nobody reads it, days are clear.
type sky struct {
	zone  *time.Location
	clock clock // its work is in hours at a deficit of 1 kPa
	usual usual
	rows  []Weather
	cover []Stop
}

const (
	ahead    = 30 * 24 // hours for which days are laid out after what was read
	lastDays = 72      // hours: the days that those ahead are like
	sunHeat  = 8.0     // °C by which a layer in the sun is warmer than its air (from memory, verify)
	dewOff   = 10      // o'clock at which the dew is off (common practice, no source)
	unraked  = 0.8     // pace of a layer not turned for two hours (common practice, no source)
)

// clearDay is the deficit of a clear day by the hour, kPa: twelve hours' worth of 1 kPa between dew
// and dew (shape from memory, verify).
func clearDay(hour float64) float64 {
	return .15 + 1.05*max(0, math.Sin(math.Pi*(hour-7)/12))
}

// newSky lays out the hours from the first reading on.
func newSky(p *Patio, readings []Reading) *sky {
	zero, known := readings[0].At, readings[len(readings)-1].At
	s := &sky{zone: p.Zone}
	if s.zone == nil {
		s.zone = zero.Location()
	}
	for _, w := range p.Weather {
		if !math.IsNaN(w.TempC) && w.RH >= 0 && w.RH <= 1 {
			s.rows = append(s.rows, w)
		}
	}
	if n := len(s.rows); n > 0 && s.rows[n-1].At.After(known) {
		known = s.rows[n-1].At
	}
	s.cover = s.takenOff(p.Covers)
	seen := int(known.Sub(zero).Hours()) + 1
	rates := make([]float64, seen, seen+ahead)
	for h := range rates {
		rates[h] = s.rate(zero.Add(hoursOf(float64(h))), p.Turned)
	}
	rates = s.like(zero, rates, p.Past.sky)
	s.clock = clock{zero: zero, knots: make([]knot, len(rates))}
	for h, rate := range rates {
		s.clock.knots[h] = knot{t: float64(h), rate: rate}
		if h > 0 {
			s.clock.knots[h].work = s.clock.knots[h-1].work + (rate+rates[h-1])/2
		}
	}
	s.clock.stand(s.cover)
	s.usual = s.usualAir(known)
	return s
}

// takenOff ends a cover that nobody has taken off at seven the next morning.
func (s *sky) takenOff(covers []Stop) []Stop {
	covers = merged(covers)
	n := len(covers)
	if n == 0 || !covers[n-1].To.IsZero() {
		return covers
	}
	on := covers[n-1].From.In(s.zone)
	off := time.Date(on.Year(), on.Month(), on.Day(), 7, 0, 0, 0, s.zone)
	if !off.After(on) {
		off = off.AddDate(0, 0, 1)
	}
	return append(covers[:n-1:n-1], Stop{covers[n-1].From, off})
}

// hour is the hour of the day at an instant, with its fraction.
func (s *sky) hour(at time.Time) float64 {
	at = at.In(s.zone)
	return float64(at.Hour()) + float64(at.Minute())/60
}

// rate is the pace of drying at an instant, 1 at a deficit of 1 kPa. Between two looks at the air
// the deficit keeps its share of a clear day's.
func (s *sky) rate(at time.Time, turned []time.Time) float64 {
	if s.dewy(at) {
		return 0
	}
	n := through(s.rows, at, func(w Weather) time.Time { return w.At })
	share := 1.0
	switch {
	case len(s.rows) == 0:
	case n == 0:
		share = s.share(s.rows[0])
	case n == len(s.rows):
		share = s.share(s.rows[n-1])
	default:
		a, b := s.rows[n-1], s.rows[n]
		part := at.Sub(a.At).Hours() / b.At.Sub(a.At).Hours()
		share = s.share(a) + part*(s.share(b)-s.share(a))
		if b.Rain > 0 {
			return 0
		}
	}
	rate := power(share*clearDay(s.hour(at)), lawN/lawQ)
	if k := through(turned, at, func(t time.Time) time.Time { return t }); k > 0 &&
		at.Sub(turned[k-1]) > 2*time.Hour && at.Sub(turned[k-1]) < 12*time.Hour {
		rate *= unraked
	}
	return rate
}

// dewy tells whether there is dew on the layer: until ten, after a night in the open. What dries
// before then is what the night gave.
func (s *sky) dewy(at time.Time) bool {
	at = at.In(s.zone)
	four := time.Date(at.Year(), at.Month(), at.Day(), 4, 0, 0, 0, s.zone)
	return at.Hour() < dewOff && !standing(s.cover, four)
}

// share is the deficit of a row over that of a clear day at its hour.
func (s *sky) share(w Weather) float64 {
	return (1 - w.RH) * saturation(w.TempC) / 1000 / clearDay(s.hour(w.At))
}

// like adds days to the hourly rates of those seen: at first each hour as it was on the last days,
// an hour not seen yet as a clear day's in their measure; day by day more like the site's common
// day.
func (s *sky) like(zero time.Time, rates []float64, of habit) []float64 {
	var sum, n [24]float64
	seen, clear := 1e-9, 1e-9
	first := s.hour(zero)
	hour := func(h int) float64 { return math.Mod(first+float64(h)+24*lastDays, 24) }
	for h := len(rates) - lastDays; h < len(rates); h++ {
		at := zero.Add(hoursOf(float64(h)))
		if h < 0 && (len(s.rows) == 0 || at.Before(s.rows[0].At)) {
			continue
		}
		rate := 0.0
		if h >= 0 {
			rate = rates[h]
		} else {
			rate = s.rate(at, nil)
		}
		k := int(hour(h))
		sum[k], n[k] = sum[k]+rate, n[k]+1
		if s.dewy(at) {
			continue
		}
		seen += rate
		clear += power(clearDay(hour(h)), lawN/lawQ)
	}
	var day [24]float64
	for k := range day {
		switch {
		case n[k] > 0:
			day[k] = sum[k] / n[k]
		case k >= dewOff || len(s.cover) > 0:
			day[k] = power(clearDay(float64(k)), lawN/lawQ) * seen / clear
		}
	}
	common := s.commonDay(rates, of)
	stays, hourly := 1.0, math.Pow(of.stays(), 1./24)
	for range ahead {
		k := int(hour(len(rates)))
		rates = append(rates, stays*day[k]+(1-stays)*common[k])
		stays *= hourly
	}
	return rates
}

// commonDay is the rates of a day as the site has them by and large: a clear day's in the measure
// of the days of this lot and of earlier ones, and of a few clear days.
func (s *sky) commonDay(rates []float64, of habit) (out [24]float64) {
	clear := 0.0
	for k := range out {
		if k >= dewOff || len(s.cover) > 0 {
			out[k] = power(clearDay(float64(k)), lawN/lawQ)
			clear += out[k]
		}
	}
	work := clearDays*clear + of.work
	for _, r := range rates {
		work += r
	}
	days := clearDays + of.days + float64(len(rates))/24
	for k := range out {
		out[k] *= work / days / clear
	}
	return out
}

// usualAir is the air of the last days' driest hours, which dry the coffee, and its equilibrium.
func (s *sky) usualAir(known time.Time) usual {
	u := usual{inlet: 25, ambient: 25, k: lawM, noInlet: true, noRH: true,
		moods: moods}
	u.me = sunned(u.inlet, .5)
	var me, temp, all float64
	for _, w := range s.rows {
		if known.Sub(w.At).Hours() > lastDays || w.RH > .9 {
			continue
		}
		g := sq((1 - w.RH) * saturation(w.TempC))
		me, temp, all = me+g*sunned(w.TempC, w.RH), temp+g*w.TempC, all+g
	}
	if all > 0 {
		u.me, u.inlet, u.ambient = me/all, temp/all, temp/all
		u.noInlet, u.noRH = false, false
	}
	return u
}

// sunned is the equilibrium, percent dry basis, of a layer that the sun makes warmer than its air.
func sunned(tempC, rh float64) float64 {
	return Equilibrium(tempC+sunHeat, HeatedRH(tempC, rh, tempC+sunHeat))
}

// wetting is the variance, in hours² of work, of what a layer may take up between two instants:
// in each night in the open, and in rain. The moisture after it is believed as read, while the
// pace learned before it stands.
func (s *sky) wetting(from, to time.Time) float64 {
	v := 0.0
	for at := from; at.Before(to); at = at.Add(time.Hour) {
		if h := int(s.hour(at)); h == 4 && !standing(s.cover, at) {
			v += wetNight
		}
	}
	for _, w := range s.rows {
		if w.Rain > 0 && w.At.After(from) && !w.At.After(to) && !standing(s.cover, w.At) {
			return v + wetRain
		}
	}
	return v
}

// afternoon is three o'clock of the day, at least three hours after an instant.
func (s *sky) afternoon(after time.Time) time.Time {
	day := after.Add(3 * time.Hour).In(s.zone)
	at := time.Date(day.Year(), day.Month(), day.Day(), 15, 0, 0, 0, s.zone)
	if at.Before(day) {
		at = at.AddDate(0, 0, 1)
	}
	return at
}

// daily is the first reading and those of the day from ten to seven, when the dew is off and none
// has fallen yet; all of them where that leaves fewer than three.
func (s *sky) daily(readings []Reading) []Reading {
	out := []Reading{readings[0]}
	for _, x := range readings[1:] {
		if h := s.hour(x.At); h >= dewOff && h < 19 {
			out = append(out, x)
		}
	}
	if len(out) < 3 {
		return readings
	}
	return out
}
