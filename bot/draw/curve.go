package draw

import (
	"errors"
	"image"
	"math"
	"time"
)

// Point is a value at an instant. One that is no finite number is left out.
type Point struct {
	At    time.Time
	Value float64
}

// Span is a stretch of time. To zero: it goes on.
type Span struct{ From, To time.Time }

// Test is something that was tried at an instant; the two outcomes differ in shape.
type Test struct {
	At   time.Time
	Full bool
}

// Range is a value's bounds at an instant.
type Range struct {
	At        time.Time
	Low, High float64
}

// Labels are the words of a picture. What has no word is drawn without.
type Labels struct {
	Ahead, Target, Window, Band, Stop string // of a curve
	Full, Hollow                      string // of tests
}

// Curve is a quantity over time. Only Points are needed, one at least.
type Curve struct {
	Title  string
	Labels Labels
	Zone   *time.Location         // of the hours below it; nil: UTC
	Day    func(time.Time) string // writes a day below it; nil: its number and month
	From   time.Time              // where it begins; zero: with the first point
	Points []Point
	Ahead  []Point // what is expected
	Band   []Range // within which it may be
	Stops  []Span  // when nothing went on
	Tests  []Test
	Target float64 // NaN or 0: none
	// Early, Likely and Late bound a coming instant; zero: not known.
	Early, Likely, Late time.Time
}

// ErrEmpty is that there is nothing to draw.
var ErrEmpty = errors.New("nothing to draw")

// The plot of a curve within its picture of curveHigh pixels.
const (
	curveHigh   = 400
	plotLeft    = 74
	plotRight   = 700
	plotTop     = 64
	plotBottom  = 312
	mostDots    = 60 // more run together: then the line alone is drawn
	swatchWidth = 34
)

// PNG draws the curve. Without a point it fails with [ErrEmpty].
func (v Curve) PNG() ([]byte, error) {
	v.Points, v.Ahead = finite(v.Points), finite(v.Ahead)
	if len(v.Points) == 0 {
		return nil, ErrEmpty
	}
	c, err := newCanvas(curveHigh)
	if err != nil {
		return nil, err
	}
	x, y, every := v.axes()
	c.text(12, 36, c.fit(v.Title, Width-24), ink)
	v.grounds(c, x, y)
	for _, m := range y.marks(every) {
		c.line(pt(plotLeft, y.at(m)), pt(plotRight, y.at(m)), 1, 4, grey)
		text := figure(m, every)
		c.text(plotLeft-10-c.width(text), y.at(m)+letters/3, text, ink)
	}
	c.clocked(x, plotTop, plotBottom)
	v.lines(c, x, y)
	c.line(pt(plotLeft, plotTop), pt(plotLeft, plotBottom), 3, 0, ink)
	c.line(pt(plotLeft, plotBottom), pt(plotRight, plotBottom), 3, 0, ink)
	v.legend(c)
	return c.png()
}

func pt(x, y int) image.Point { return image.Pt(x, y) }

// finite leaves out the points that cannot be drawn.
func finite(ps []Point) []Point {
	var out []Point
	for _, p := range ps {
		if !math.IsNaN(p.Value) && !math.IsInf(p.Value, 0) && !p.At.IsZero() {
			out = append(out, p)
		}
	}
	return out
}

// axes have room for all there is to draw.
func (v Curve) axes() (clock, axis, float64) {
	from, to := v.Points[0].At, v.Points[0].At
	lo, hi := v.Points[0].Value, v.Points[0].Value
	reach := func(at time.Time) {
		if at.Before(from) {
			from = at
		}
		if at.After(to) {
			to = at
		}
	}
	see := func(at time.Time, values ...float64) {
		reach(at)
		for _, x := range values {
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	for _, p := range append(v.Points[:len(v.Points):len(v.Points)], v.Ahead...) {
		see(p.At, p.Value)
	}
	for _, r := range v.Band {
		if !math.IsNaN(r.Low) && !math.IsNaN(r.High) {
			see(r.At, r.Low, r.High)
		}
	}
	for _, t := range v.Tests {
		reach(t.At)
	}
	for _, s := range v.Stops {
		if !s.To.IsZero() {
			reach(s.To)
		}
	}
	if !v.From.IsZero() {
		reach(v.From)
	}
	if !v.Late.IsZero() {
		reach(v.Late)
	}
	if v.Target > 0 {
		see(from, v.Target)
	}
	if v.Zone == nil {
		v.Zone = time.UTC
	}
	if v.Day == nil {
		v.Day = func(t time.Time) string { return t.Format("2.1.") }
	}
	y, every := upright(lo, hi, plotBottom, plotTop)
	return along(from, to, plotLeft, plotRight, v.Zone, v.Day), y, every
}

// grounds draws what lies behind the lines: stops, the window, the band.
func (v Curve) grounds(c *canvas, x clock, y axis) {
	for _, s := range v.Stops {
		r := image.Rect(x.x(s.From), plotTop, plotRight, plotBottom)
		if !s.To.IsZero() {
			r.Max.X = max(x.x(s.To), r.Min.X+3)
		}
		c.fill(r, pale)
	}
	if v.Early.Before(v.Late) {
		r := image.Rect(x.x(v.Early), plotTop, x.x(v.Late), plotBottom)
		c.hatch(r, grey)
		c.line(r.Min, pt(r.Min.X, r.Max.Y), 3, 0, ink)
		c.line(pt(r.Max.X, r.Min.Y), r.Max, 3, 0, ink)
	}
	if x.shows(v.Likely) {
		c.line(pt(x.x(v.Likely), plotTop), pt(x.x(v.Likely), plotBottom), 5, 0, ink)
	}
	for i := 1; i < len(v.Band); i++ {
		c.between(x, y, v.Band[i-1], v.Band[i])
	}
}

// between hatches the part of a band from one instant to the next.
func (c *canvas) between(x clock, y axis, a, b Range) {
	left, right := x.x(a.At), x.x(b.At)
	for i := left; i < right; i++ {
		share := float64(i-left) / float64(right-left)
		low, high := a.Low+(b.Low-a.Low)*share, a.High+(b.High-a.High)*share
		if !math.IsNaN(low) && !math.IsNaN(high) {
			c.hatch(image.Rect(i, y.at(high), i+1, y.at(low)), grey)
			c.fill(square(pt(i, y.at(high)), 2), ink)
			c.fill(square(pt(i, y.at(low)), 2), ink)
		}
	}
}

// lines draws what was read, what is expected, the target and the tests.
func (v Curve) lines(c *canvas, x clock, y axis) {
	if v.Target > 0 {
		c.line(pt(plotLeft, y.at(v.Target)), pt(plotRight, y.at(v.Target)), 3, 18, ink)
	}
	c.path(x.points(v.Ahead, y), 5, 10, ink)
	read := x.points(v.Points, y)
	c.path(read, 4, 0, ink)
	if len(read) <= mostDots {
		for _, p := range read {
			c.dot(p, 7)
		}
	}
	for _, t := range v.Tests {
		if x.shows(t.At) {
			c.triangle(pt(x.x(t.At), plotBottom-2), t.Full)
		}
	}
}

// points are where points lie.
func (k clock) points(ps []Point, y axis) []image.Point {
	var out []image.Point
	for _, p := range ps {
		out = append(out, pt(k.x(p.At), y.at(p.Value)))
	}
	return out
}

// legend says what is what, of that which is there.
func (v Curve) legend(c *canvas) {
	left := 12
	add := func(there bool, word string, swatch func(r image.Rectangle)) {
		if !there || word == "" || left+swatchWidth+c.width(word) > Width {
			return
		}
		swatch(image.Rect(left, curveHigh-30, left+swatchWidth, curveHigh-8))
		c.text(left+swatchWidth+8, curveHigh-10, word, ink)
		left += swatchWidth + c.width(word) + 26
	}
	dashed := func(wide, dash int) func(image.Rectangle) {
		return func(r image.Rectangle) {
			mid := (r.Min.Y + r.Max.Y) / 2
			c.line(pt(r.Min.X, mid), pt(r.Max.X, mid), wide, dash, ink)
		}
	}
	hatched := func(r image.Rectangle) { c.hatch(r, grey); c.frame(r) }
	corner := func(full bool) func(image.Rectangle) {
		return func(r image.Rectangle) { c.triangle(pt(r.Max.X-12, r.Max.Y-1), full) }
	}
	rough, slippery := false, false
	for _, t := range v.Tests {
		rough, slippery = rough || t.Full, slippery || !t.Full
	}
	add(v.Early.Before(v.Late), v.Labels.Window, hatched)
	add(len(v.Band) > 1, v.Labels.Band, hatched)
	add(v.Target > 0, v.Labels.Target, dashed(3, 14))
	add(len(v.Stops) > 0, v.Labels.Stop, func(r image.Rectangle) { c.fill(r, pale) })
	add(slippery, v.Labels.Hollow, corner(false))
	add(rough, v.Labels.Full, corner(true))
	add(len(v.Ahead) > 1, v.Labels.Ahead, dashed(5, 10))
}

// frame draws the border of a rectangle.
func (c *canvas) frame(r image.Rectangle) {
	c.line(r.Min, pt(r.Max.X, r.Min.Y), 2, 0, ink)
	c.line(pt(r.Max.X, r.Min.Y), r.Max, 2, 0, ink)
	c.line(r.Max, pt(r.Min.X, r.Max.Y), 2, 0, ink)
	c.line(pt(r.Min.X, r.Max.Y), r.Min, 2, 0, ink)
}
