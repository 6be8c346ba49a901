package draw

import (
	"image"
	"slices"
	"time"
)

// Bar is one place in a [Night]: its windows, and when it is to be tried by hand.
type Bar struct {
	Name    string
	Windows []Span
	Tests   []time.Time
}

// Night is what comes at each place from an instant to another, a bar for each.
type Night struct {
	Title    string
	Zone     *time.Location // nil: UTC
	From, To time.Time
	Bars     []Bar
	Window   string // the word for a window
	Test     string // the word for a test
	Foot     string // below everything; "": nothing
}

// The rows of a night, in pixels.
const (
	barHigh  = 46
	barsTop  = 56
	barsLeft = 120
	footHigh = 40
)

// PNG draws the night. Without a bar it fails with [ErrEmpty]. What lies outside the hours that are
// shown is cut off.
func (n Night) PNG() ([]byte, error) {
	if len(n.Bars) == 0 {
		return nil, ErrEmpty
	}
	if n.Zone == nil {
		n.Zone = time.UTC
	}
	bottom := barsTop + len(n.Bars)*barHigh
	high := bottom + 44 + footHigh
	if n.Foot != "" {
		high += footHigh
	}
	c, err := newCanvas(high)
	if err != nil {
		return nil, err
	}
	k := along(n.From, n.To, barsLeft, plotRight, n.Zone, nil)
	c.text(12, 36, c.fit(n.Title, Width-24), ink)
	c.clocked(k, barsTop, bottom)
	c.line(pt(0, bottom), pt(Width, bottom), 3, 0, ink)
	for i, b := range n.Bars {
		c.bar(k, b, barsTop+i*barHigh)
	}
	n.legend(c, bottom+44)
	if n.Foot != "" {
		c.text(12, high-14, c.fit(n.Foot, Width-24), ink)
	}
	return c.png()
}

// bar draws one place: its name, its windows with the hour they begin, its tests.
func (c *canvas) bar(k clock, b Bar, top int) {
	c.line(pt(0, top), pt(Width, top), 1, 0, pale)
	c.text(12, top+34, c.fit(b.Name, barsLeft-24), ink)
	for _, w := range b.Windows {
		if seconds(w.From) > k.hi || !w.To.IsZero() && seconds(w.To) < k.lo {
			continue
		}
		r := image.Rect(k.x(w.From), top+8, k.last, top+barHigh-6)
		if !w.To.IsZero() {
			r.Max.X = max(k.x(w.To), r.Min.X+4)
		}
		c.fill(r, ink)
		if !k.shows(w.From) {
			continue
		}
		c.begins(r, w.From.In(k.zone).Format("15:04"), top+34, k.tested(b, r.Min.X))
	}
	for _, t := range b.Tests {
		if k.shows(t) {
			c.triangle(pt(k.x(t), top+barHigh-5), false)
		}
	}
}

// tested says whether a test lies where a bar that begins at a pixel has its hour.
func (k clock) tested(b Bar, left int) bool {
	return slices.ContainsFunc(b.Tests, func(t time.Time) bool {
		x := k.x(t) - left
		return k.shows(t) && x > -10 && x < 100
	})
}

// begins writes the hour of a window within its bar, else where there is room beside it.
func (c *canvas) begins(r image.Rectangle, text string, base int, taken bool) {
	wide := c.width(text)
	switch {
	case r.Dx() >= wide+12 && !taken:
		c.text(r.Min.X+6, base, text, white)
	case taken && r.Min.X-6-wide > barsLeft:
		c.text(r.Min.X-6-wide, base, text, ink)
	case r.Max.X+wide+8 <= Width:
		c.text(r.Max.X+6, base, text, ink)
	default:
		c.text(r.Min.X-6-wide, base, text, ink)
	}
}

// legend says what is what, of that which is there.
func (n Night) legend(c *canvas, top int) {
	left := 12
	windows, tests := false, false
	for _, b := range n.Bars {
		windows, tests = windows || len(b.Windows) > 0, tests || len(b.Tests) > 0
	}
	if windows {
		c.fill(image.Rect(left, top+6, left+swatchWidth, top+28), ink)
		c.text(left+swatchWidth+8, top+27, n.Window, ink)
		left += swatchWidth + c.width(n.Window) + 34
	}
	if tests {
		c.triangle(pt(left+14, top+28), false)
		c.text(left+swatchWidth, top+27, n.Test, ink)
	}
}
