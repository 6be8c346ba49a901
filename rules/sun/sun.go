// Package sun tells when the sun rises and sets at a place, and whether it is night there.
//
// Position: low-accuracy theory of the sun (J. Meeus, Astronomical Algorithms, 2nd ed., chapters
// 22, 25 and 28; the same equations as the solar calculator of NOAA), good to 0.01° between 1900
// and 2100. Rise and set: the instants at which the centre of the disc stands at -0.833° (34′ of
// refraction and 16′ of radius, chapter 15), found by repeating the hour-angle formula until it
// rests. Angles are degrees, north and east positive.
//
// Range: latitudes up to 65°, where the error stays within one minute of a free horizon at sea
// level. A ridge or a mill high above its horizon changes the true hour by many minutes: the sun
// at the mill is the almanac's sun, not the light in the yard. Beyond the polar circles a day may
// have neither rise nor set; that is said and no hour is made up.
//
// Checked against: examples 25.a and 28.b of Meeus (from memory, verify) and a table of 288 days
// between 30°S and 65°N by the npm package astronomy-engine, an independent implementation with
// the full planetary theory (testdata/sun, with the script that makes it): no rise, noon or set
// is off by more than 17 s, none within 30° of the equator by more than 4 s.
package sun

import (
	"math"
	"time"
)

// horizon is the true altitude of the sun's centre at rise and set, degrees.
const horizon = -0.833

// Place is a point on the ground; Latitude north and Longitude east are positive, in degrees.
// The zero value is a point in the Gulf of Guinea, not an unknown place.
type Place struct{ Latitude, Longitude float64 }

// Valid tells whether the coordinates are numbers within ±90 and ±180.
func (p Place) Valid() bool { return math.Abs(p.Latitude) <= 90 && math.Abs(p.Longitude) <= 180 }

// Day is the sun on one civil date. Rise and Set are zero when the sun does not cross the horizon
// between two midnights by the sun; Up tells then whether it shines all day.
type Day struct {
	Rise, Noon, Set time.Time
	Up              bool
}

// On is the sun on the civil date that date has in its own location; instants come back in that
// location, to the second. Of a place that is not valid the zero Day.
func (p Place) On(date time.Time) Day {
	if !p.Valid() {
		return Day{}
	}
	y, m, d := date.Date()
	midday := time.Date(y, m, d, 12, 0, 0, 0, date.Location())
	noon := p.transit(midday)
	day := Day{Noon: noon.Round(time.Second)}
	rise, ok := p.crossing(noon, -1)
	set, ok2 := p.crossing(noon, 1)
	if ok && ok2 {
		day.Rise, day.Set = rise.Round(time.Second), set.Round(time.Second)
		return day
	}
	day.Up = p.Altitude(noon) > horizon
	return day
}

// Night tells whether the sun's upper edge is below the horizon. Of a place that is not valid it
// is false: ask Valid first.
func (p Place) Night(at time.Time) bool { return p.Altitude(at) < horizon }

// Altitude is the sun's true altitude in degrees, without refraction; NaN of a place not valid.
func (p Place) Altitude(at time.Time) float64 {
	if !p.Valid() {
		return math.NaN()
	}
	s := position(at)
	return degrees(math.Asin(sin(p.Latitude)*sin(s.declination) +
		cos(p.Latitude)*cos(s.declination)*cos(p.hourAngle(at, s))))
}

// Next is the first sunrise or sunset after an instant and whether night begins with it, in the
// instant's location; zero when none comes within a year (no such place) or the place is not valid.
func (p Place) Next(at time.Time) (change time.Time, night bool) {
	if !p.Valid() {
		return time.Time{}, false
	}
	for i := -1; i < 366; i++ {
		d := p.On(at.AddDate(0, 0, i))
		switch {
		case d.Rise.After(at):
			return d.Rise, false
		case d.Set.After(at):
			return d.Set, true
		}
	}
	return time.Time{}, false
}

// transit is the noon by the sun nearest to an instant.
func (p Place) transit(near time.Time) time.Time {
	for range 3 {
		near = near.Add(-turn(p.hourAngle(near, position(near))))
	}
	return near
}

// crossing walks from noon to the rise (side -1) or set (side 1) of the same day.
func (p Place) crossing(noon time.Time, side float64) (time.Time, bool) {
	at := noon
	for range 6 {
		s := position(at)
		c := (sin(horizon) - sin(p.Latitude)*sin(s.declination)) /
			(cos(p.Latitude) * cos(s.declination))
		if !(math.Abs(c) <= 1) {
			return time.Time{}, false
		}
		at = at.Add(turn(wrap(side*degrees(math.Acos(c)) - p.hourAngle(at, s))))
	}
	return at, true
}

// turn is the time in which the sky turns by an angle, by the sun.
func turn(angle float64) time.Duration { return time.Duration(angle / 15 * float64(time.Hour)) }

// hourAngle is how far the sun stands west of the meridian, -180 to 180°.
func (p Place) hourAngle(at time.Time, s place) float64 {
	utc := at.UTC()
	minutes := utc.Sub(utc.Truncate(24 * time.Hour)).Minutes()
	return wrap(minutes/4 + s.equation + p.Longitude - 180)
}

// wrap brings an angle to -180..180°.
func wrap(x float64) float64 { return x - 360*math.Round(x/360) }

// place is where the sun stands in the sky of the earth: declination and equation of time, both
// in degrees, and its apparent longitude.
type place struct{ longitude, declination, equation float64 }

// position is Meeus chapters 22, 25 and 28 with T in Julian centuries from J2000. Universal time
// is used for dynamical time: a minute of difference moves the sun by 0.0007°.
func position(at time.Time) place {
	t := (float64(at.UnixMilli())/86400e3 + 2440587.5 - 2451545) / 36525
	mean := 280.46646 + t*(36000.76983+t*0.0003032)
	anomaly := 357.52911 + t*(35999.05029-t*0.0001537)
	e := 0.016708634 - t*(0.000042037+t*0.0000001267)
	centre := (1.914602-t*(0.004817+t*0.000014))*sin(anomaly) +
		(0.019993-t*0.000101)*sin(2*anomaly) + 0.000289*sin(3*anomaly)
	node := 125.04 - 1934.136*t
	longitude := mean + centre - 0.00569 - 0.00478*sin(node)
	tilt := 23 + (26+(21.448-t*(46.8150+t*(0.00059-t*0.001813)))/60)/60 + 0.00256*cos(node)
	y := math.Pow(math.Tan(radians(tilt)/2), 2)
	equation := y*sin(2*mean) - 2*e*sin(anomaly) + 4*e*y*sin(anomaly)*cos(2*mean) -
		y*y/2*sin(4*mean) - 5*e*e/4*sin(2*anomaly)
	return place{
		longitude:   math.Mod(math.Mod(longitude, 360)+360, 360),
		declination: degrees(math.Asin(sin(tilt) * sin(longitude))),
		equation:    degrees(equation),
	}
}

func radians(d float64) float64 { return d * math.Pi / 180 }
func degrees(r float64) float64 { return r * 180 / math.Pi }
func sin(d float64) float64     { return math.Sin(radians(d)) }
func cos(d float64) float64     { return math.Cos(radians(d)) }
