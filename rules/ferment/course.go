package ferment

import (
	"math"
	"time"
)

// Source says where the pace of a tank came from, best first.
type Source int8

const (
	NoSource        Source = iota // no temperature at all: the clock alone
	FromMass                      // thermometer in the coffee
	FromAmbient                   // thermometer in the air, plus self-heating
	FromUsual                     // by the clock, around the mill's usual hours
	FromSiteAmbient               // by the clock, hours from the season's mean air
	FromAltitude                  // by the clock, hours from the altitude line of the Andes
)

// String is a word for tables and tests.
func (s Source) String() string {
	return [...]string{"none", "mass", "ambient", "usual hours", "site ambient", "altitude"}[s]
}

// read tells whether a thermometer of this stay set the pace; otherwise progress is counted by
// the clock alone, 1 for each 23.1 h, whatever the temperature is taken to be.
func (s Source) read() bool { return s == FromMass || s == FromAmbient }

// knot begins a stretch of constant pace. sum is the progress made before it since the oldest
// fruit.
type knot struct {
	at      time.Time
	celsius float64 // NaN by the clock
	pace    float64 // per hour
	sum     float64
}

// course is the pace of one tank over time: each temperature holds until the next one, the last
// one for ever, and the first one back to the filling.
type course struct {
	knots    []knot
	source   Source
	oldest   time.Time
	youngest time.Time
	offset   float64 // progress of the oldest fruit when the youngest came
	lastRead time.Time
}

// newCourse lays the course of a tank that has loads. rs are its readings in order. A mass
// reading is preferred from then on to any air reading, however old it grows.
func newCourse(t *Tank, rs []Reading, tmin float64) course {
	c := course{knots: make([]knot, 0, len(rs)+2)}
	c.oldest, c.youngest, _ = t.filled()
	for _, r := range rs {
		switch {
		case !math.IsNaN(r.Mass):
			c.hold(r.At, r.Mass, pace(r.Mass, tmin))
			c.source = FromMass
		case !math.IsNaN(r.Ambient) && c.source != FromMass:
			mass := r.Ambient + t.Site.heating()
			c.hold(r.At, mass, pace(mass, tmin))
			c.source = FromAmbient
		}
	}
	if len(c.knots) == 0 {
		c.source = t.Site.basis()
		c.hold(c.oldest, t.Site.celsius(c.source), 1/HoursAt20)
	}
	c.settle()
	return c
}

// hold begins a stretch at an instant; one at or before the filling is moved to the filling, and
// a temperature that repeats the last one begins nothing.
func (c *course) hold(at time.Time, celsius, pace float64) {
	c.lastRead = at
	n := len(c.knots)
	if n == 0 || at.Before(c.oldest) {
		at = c.oldest
	}
	k := knot{at: at, celsius: celsius, pace: pace}
	switch {
	case n > 0 && c.knots[n-1].celsius == celsius:
	case n > 0 && !at.After(c.knots[n-1].at):
		c.knots[n-1] = k
	default:
		c.knots = append(c.knots, k)
	}
}

// expect takes another temperature from the last reading on.
func (c *course) expect(celsius, pace float64) {
	last := &c.knots[len(c.knots)-1]
	if !c.lastRead.After(last.at) {
		last.celsius, last.pace = celsius, pace
	} else if last.celsius != celsius {
		c.knots = append(c.knots, knot{at: c.lastRead, celsius: celsius, pace: pace})
	}
	c.settle()
}

// settle sums the stretches.
func (c *course) settle() {
	for i := 1; i < len(c.knots); i++ {
		k := c.knots[i-1]
		c.knots[i].sum = k.sum + k.pace*c.knots[i].at.Sub(k.at).Hours()
	}
	c.offset = c.made(c.youngest)
}

// made is the progress of the oldest fruit at an instant, 0 before it came.
func (c *course) made(at time.Time) float64 {
	for i := len(c.knots) - 1; i >= 0; i-- {
		if k := c.knots[i]; !at.Before(k.at) {
			return k.sum + k.pace*at.Sub(k.at).Hours()
		}
	}
	return 0
}

// young is the progress of the youngest fruit; negative before it came.
func (c *course) young(at time.Time) float64 { return c.made(at) - c.offset }

// when is the instant at which the youngest fruit has made the progress, to the millisecond;
// zero if it never does within a year.
func (c *course) when(progress float64) time.Time {
	target := progress + c.offset
	i := len(c.knots) - 1
	for i > 0 && c.knots[i].sum > target {
		i--
	}
	k := c.knots[i]
	hours := (target - k.sum) / k.pace
	if math.IsNaN(hours) || hours > 365*24 || hours < -365*24 {
		return time.Time{}
	}
	return k.at.Add(span(hours))
}

// mean is the mean temperature between two instants, that of the later one if they are equal.
func (c *course) mean(from, to time.Time) float64 {
	sum, hours := 0.0, 0.0
	for i, k := range c.knots {
		end := to
		if i+1 < len(c.knots) && c.knots[i+1].at.Before(to) {
			end = c.knots[i+1].at
		}
		begin := k.at
		if begin.Before(from) {
			begin = from
		}
		if h := end.Sub(begin).Hours(); h > 0 {
			sum, hours = sum+h*k.celsius, hours+h
		}
	}
	if hours == 0 {
		return c.knots[len(c.knots)-1].celsius
	}
	return sum / hours
}

// span is hours as a duration in whole milliseconds.
func span(hours float64) time.Duration {
	return time.Duration(math.Round(hours*3.6e6)) * time.Millisecond
}
