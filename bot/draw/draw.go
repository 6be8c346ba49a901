// Package draw makes small pictures for a telephone: [Curve] is a quantity over time, [Night] what
// comes at each place in the hours ahead. Plain numbers and words in, a PNG out.
//
// A picture is [Width] pixels wide, in sixteen greys and a few kB, with letters that can be read
// where it is 5 cm wide; what differs, differs in shape, never in shade alone. The same input gives
// the same bytes. Nothing here words anything, knows a mill or asks a clock.
package draw

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Width is how wide every picture is, in pixels.
const Width = 720

// letters is the height of the type in pixels: 2 mm where the picture is 5 cm wide.
const letters = 29

// The greys that are used; all but the pale ones stand out in sunlight.
const (
	ink   = 0x00
	grey  = 0x66
	pale  = 0xcc
	white = 0xff
)

// canvas is a picture being drawn.
type canvas struct {
	*image.Gray
	face font.Face
}

func newCanvas(height int) (*canvas, error) {
	parsed, err := opentype.Parse(gomedium.TTF)
	if err != nil {
		return nil, err
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: letters, DPI: 72})
	if err != nil {
		return nil, err
	}
	c := &canvas{image.NewGray(image.Rect(0, 0, Width, height)), face}
	c.fill(c.Rect, white)
	return c, nil
}

// png is the picture in sixteen greys.
func (c *canvas) png() ([]byte, error) {
	shades := make(color.Palette, 16)
	for i := range shades {
		shades[i] = color.Gray{Y: uint8(i * 17)}
	}
	out := image.NewPaletted(c.Rect, shades)
	for i, y := range c.Pix {
		out.Pix[i] = (y + 8) / 17
		if y > 247 {
			out.Pix[i] = 15
		}
	}
	var b bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.DefaultCompression}).Encode(&b, out)
	return b.Bytes(), err
}

// fill fills a rectangle.
func (c *canvas) fill(r image.Rectangle, shade uint8) {
	r = r.Intersect(c.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			c.Pix[c.PixOffset(x, y)] = shade
		}
	}
}

// hatch draws slanting lines over a rectangle.
func (c *canvas) hatch(r image.Rectangle, shade uint8) {
	r = r.Intersect(c.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if (x+y)%12 < 3 {
				c.Pix[c.PixOffset(x, y)] = shade
			}
		}
	}
}

// line draws a line that is wide pixels thick, in dashes of a length; dash 0: whole.
func (c *canvas) line(from, to image.Point, wide, dash int, shade uint8) {
	c.path([]image.Point{from, to}, wide, dash, shade)
}

// path draws lines from each point to the next; the dashes run on.
func (c *canvas) path(ps []image.Point, wide, dash int, shade uint8) {
	done := 0
	for i := 1; i < len(ps); i++ {
		done = c.stroke(ps[i-1], ps[i], wide, dash, done, shade)
	}
}

// stroke draws one line of a path, of which so much is done, and gives how much is then.
func (c *canvas) stroke(from, to image.Point, wide, dash, done int, shade uint8) int {
	d := to.Sub(from)
	n := max(abs(d.X), abs(d.Y))
	for i := 0; i <= n; i++ {
		if dash > 0 && ((done+i)/dash)%2 == 1 {
			continue
		}
		at := from
		if n > 0 {
			at = from.Add(image.Pt(share(d.X, i, n), share(d.Y, i, n)))
		}
		c.fill(square(at, wide), shade)
	}
	return done + n
}

// share is the i-th of n equal parts of d, rounded.
func share(d, i, n int) int { return int(math.Round(float64(d) * float64(i) / float64(n))) }

func abs(n int) int { return max(n, -n) }

// square is a square around a point.
func square(at image.Point, wide int) image.Rectangle {
	low := at.Sub(image.Pt(wide/2, wide/2))
	return image.Rectangle{low, low.Add(image.Pt(wide, wide))}
}

// dot draws a disc.
func (c *canvas) dot(at image.Point, radius int) {
	for y := -radius; y <= radius; y++ {
		for x := -radius; x <= radius; x++ {
			if x*x+y*y <= radius*radius {
				c.fill(square(at.Add(image.Pt(x, y)), 1), ink)
			}
		}
	}
}

// triangle draws a triangle that stands on a point's line, hollow or full.
func (c *canvas) triangle(foot image.Point, full bool) {
	const high = 22
	for y := range high {
		half := (high - y) / 2
		left, right := foot.Add(image.Pt(-half, -y)), foot.Add(image.Pt(half, -y))
		c.line(left, right, 1, 0, white)
		if full || y < 3 {
			c.line(left, right, 1, 0, ink)
			continue
		}
		c.fill(square(left, 3), ink)
		c.fill(square(right, 3), ink)
	}
}

// width is how wide a text will be.
func (c *canvas) width(s string) int { return font.MeasureString(c.face, s).Ceil() }

// text writes a text from a point on its base line.
func (c *canvas) text(x, y int, s string, shade uint8) {
	d := font.Drawer{Dst: c.Gray, Src: image.NewUniform(color.Gray{Y: shade}), Face: c.face,
		Dot: fixed.P(x, y)}
	d.DrawString(s)
}

// fit cuts a text so that it is at most so wide.
func (c *canvas) fit(s string, wide int) string {
	if c.width(s) <= wide {
		return s
	}
	runes := []rune(s)
	for len(runes) > 0 && c.width(string(runes)+"…") > wide {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + "…"
}
