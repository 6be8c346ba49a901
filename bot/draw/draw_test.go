package draw

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"testing"
	"time"
)

var base = time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)

// h is an instant so many hours after the base.
func h(x float64) time.Time { return base.Add(time.Duration(x * float64(time.Hour))) }

// drum is a drum that stood for a while, with a forecast. The axes run over 20 h and from 10 to
// 40 %.
func drum() Curve {
	return Curve{Title: "d1: humedad %, lote 4", Labels: Labels{"pronóstico", "meta 12", "lista",
		"deriva", "parada", "áspero", "resbala"},
		Points: []Point{{h(0), 40}, {h(5), 30}, {h(10), 20}},
		Ahead:  []Point{{h(10), 20}, {h(18), 12}},
		Stops:  []Span{{h(7), h(8)}}, Target: 12,
		Early: h(16), Likely: h(18), Late: h(20)}
}

// picture draws and reads back.
func picture(t *testing.T, body []byte, err error) image.Image {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	if len(body) > 16<<10 {
		t.Errorf("%d bytes, a few kB are wanted", len(body))
	}
	m, err := png.Decode(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if m.Bounds().Dx() != Width {
		t.Errorf("%d pixels wide, want %d", m.Bounds().Dx(), Width)
	}
	return m
}

// shade is how light a pixel is.
func shade(m image.Image, x, y int) uint8 {
	return color.GrayModel.Convert(m.At(x, y)).(color.Gray).Y
}

// has counts the pixels of a shade in a rectangle.
func has(m image.Image, r image.Rectangle, want uint8) int {
	n := 0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if shade(m, x, y) == want {
				n++
			}
		}
	}
	return n
}

// TestCurveAxes probes points whose place is worked out by hand: 20 h over 626 pixels from 74, and
// 30 points of moisture over 248 pixels up from 312.
func TestCurveAxes(t *testing.T) {
	body, err := drum().PNG()
	m := picture(t, body, err)
	for _, p := range []struct {
		what string
		x, y int
		want uint8
	}{
		{"40 % at 0 h", 76, 65, ink},
		{"30 % at 5 h", 74 + 157, 312 - 165, ink},
		{"20 % at 10 h", 74 + 313, 312 - 83, ink},
		{"35 % at 2.5 h, on the line", 74 + 78, 312 - 207, ink},
		{"nothing above the line", 74 + 78, 312 - 240, white},
		{"the stop from 7 to 8 h", 74 + 235, 100, pale},
		{"before the stop", 74 + 215, 100, white},
		{"after it", 74 + 255, 100, white},
		{"early", 74 + 501, 100, ink},
		{"likely", 74 + 563, 100, ink},
		{"late", 700, 100, ink},
		{"before early", 74 + 490, 100, white},
		{"target, a dash", 74 + 5, 312 - 17, ink},
		{"target, a gap", 74 + 26, 312 - 17, white},
	} {
		if got := shade(m, p.x, p.y); got != p.want {
			t.Errorf("%s: shade %d at %d,%d, want %d", p.what, got, p.x, p.y, p.want)
		}
	}
	dashes, was := 0, true // along the forecast, 10 h to 16 h, where it falls a point an hour
	for x := 74 + 325; x < 74+490; x++ {
		black := shade(m, x, 312-int(math.Round((10-float64(x-387)/31.3)*248/30))) == ink
		if black && !was {
			dashes++
		}
		was = black
	}
	if dashes < 6 || dashes > 12 {
		t.Errorf("the forecast has %d dashes", dashes)
	}
	if n := has(m, image.Rect(580, 70, 632, 170), grey); n < 800 || n > 3000 {
		t.Errorf("the window has %d grey pixels: it is not hatched", n)
	}
}

// TestCurveWords: the title and every word of the legend are there, accents too.
func TestCurveWords(t *testing.T) {
	body, err := drum().PNG()
	m := picture(t, body, err)
	if has(m, image.Rect(12, 8, 300, 44), ink) < 500 {
		t.Error("there is no title")
	}
	bare := drum()
	bare.Labels = Labels{}
	body, err = bare.PNG()
	without := picture(t, body, err)
	below := image.Rect(0, curveHigh-34, Width, curveHigh)
	if n := has(without, below, white); n != below.Dx()*below.Dy() {
		t.Error("something stands below a picture without words")
	}
	if has(m, below, ink) < 1000 {
		t.Error("the legend is missing")
	}
	c, err := newCanvas(50)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range "áéíóúñÑ¿¡üÁãõç°%" {
		if _, ok := c.face.GlyphAdvance(r); !ok {
			t.Errorf("%c cannot be drawn", r)
		}
	}
	c.text(0, 40, "a", ink)
	plain := has(c.Gray, c.Rect, ink)
	c.text(40, 40, "á", ink)
	if got := has(c.Gray, c.Rect, ink); got <= 2*plain {
		t.Errorf("á has %d black pixels, a has %d", got-plain, plain)
	}
}

// TestCurveOdd: what is odd is drawn without its odd parts, and never stops anything.
func TestCurveOdd(t *testing.T) {
	var many []Point
	for i := range 900 {
		many = append(many, Point{h(float64(i) / 10), 30 + 5*math.Sin(float64(i)/20)})
	}
	nan := math.NaN()
	for name, c := range map[string]Curve{
		"one": {Points: []Point{{h(1), 21.5}}},
		"900": {Points: many, Title: "d1"},
		"not finite": {Points: []Point{{h(0), nan}, {h(1), math.Inf(1)}, {h(2), 20},
			{h(3), math.Inf(-1)}}},
		"no instant": {Points: []Point{{time.Time{}, 20}, {h(2), 20}}},
		"backwards":  {Points: []Point{{h(9), 20}, {h(2), 30}}, Early: h(12), Likely: h(11), Late: h(10)},
		"a season": {Points: []Point{{h(0), 11}, {h(24 * 200), 12}},
			Band: []Range{{h(0), nan, nan}, {h(100), 10, 12}, {h(200), 9, 13}}},
		"a long title": {Title: string(bytes.Repeat([]byte("ñandú "), 90)), Points: []Point{{h(0), 1}}},
		"huge":         {Points: []Point{{h(0), -1e12}, {h(1), 1e12}}, Target: nan},
		"a stop that goes on": {Points: []Point{{h(0), 20}, {h(5), 15}},
			Stops: []Span{{From: h(4)}, {h(-9), h(-8)}}},
	} {
		body, err := c.PNG()
		m := picture(t, body, err)
		if has(m, image.Rect(plotLeft, plotTop-8, plotRight, plotBottom-4), ink) < 100 {
			t.Errorf("%s: nothing is drawn", name)
		}
	}
	for name, c := range map[string]Curve{"none": {}, "only NaN": {Points: []Point{{h(0), nan}}},
		"a forecast alone": {Ahead: []Point{{h(0), 20}}, Early: h(1), Late: h(2)}} {
		if _, err := c.PNG(); err != ErrEmpty {
			t.Errorf("%s: %v, want %v", name, err, ErrEmpty)
		}
	}
}

// TestSameBytes: the same input gives the same bytes.
func TestSameBytes(t *testing.T) {
	a, err := drum().PNG()
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if b, _ := drum().PNG(); !bytes.Equal(a, b) {
			t.Fatal("two drawings of one curve differ")
		}
	}
	other := drum()
	other.Points[1].Value = 31
	if b, _ := other.PNG(); bytes.Equal(a, b) {
		t.Error("another reading makes no other picture")
	}
}

// TestNight probes bars whose place is worked out by hand: 12 h over 580 pixels from 120.
func TestNight(t *testing.T) {
	n := Night{Title: "Noche", From: h(12), To: h(24), Window: "lista", Test: "prueba",
		Foot: "De turno: Núñez", Bars: []Bar{
			{"t1", []Span{{h(13), h(17)}}, []time.Time{h(12.5)}},
			{"d1", []Span{{h(6), h(13)}}, nil},
			{"d2", []Span{{From: h(22)}}, nil},
			{"t9", []Span{{h(30), h(40)}, {h(1), h(2)}}, []time.Time{h(50)}}}}
	body, err := n.PNG()
	m := picture(t, body, err)
	row := func(i int) int { return barsTop + i*barHigh + 11 }
	for _, p := range []struct {
		what string
		x, y int
		want uint8
	}{
		{"t1 begins at 18:00 + 1 h", 120 + 49, row(0), ink},
		{"t1 before it", 120 + 46, row(0), white},
		{"t1 ends at + 5 h", 120 + 240, row(0), ink},
		{"t1 after it", 120 + 246, row(0), white},
		{"d1 has begun before", 122, row(1), ink},
		{"d1 ends at + 1 h", 120 + 52, row(1), white},
		{"d2 goes on", 698, row(2), ink},
		{"t9 is not of these hours", 400, row(3), white},
	} {
		if got := shade(m, p.x, p.y); got != p.want {
			t.Errorf("%s: shade %d at %d,%d, want %d", p.what, got, p.x, p.y, p.want)
		}
	}
	test := image.Rect(120+12, row(0)-8, 120+38, row(0)+32)
	if has(m, test, ink) < 60 {
		t.Error("the test at 18:30 is not marked")
	}
	n.Bars[0] = Bar{"t1", []Span{{h(16), h(20)}}, []time.Time{h(16.5)}}
	body, err = n.PNG() // the test is where the hour of the window would stand: that goes before it
	before := image.Rect(120+193-80, row(0), 120+193-4, row(0)+22)
	if m := picture(t, body, err); has(m, before, ink) < 100 {
		t.Error("the hour of the window stands behind the test")
	}
	high := m.Bounds().Dy()
	n.Foot = ""
	body, err = n.PNG()
	if got := picture(t, body, err).Bounds().Dy(); got != high-footHigh {
		t.Errorf("%d pixels high without its last line, %d with it", got, high)
	}
	if _, err := (Night{From: h(0), To: h(12)}).PNG(); err != ErrEmpty {
		t.Errorf("no place: %v", err)
	}
}

// TestMarks: the marks of an axis are round, few, and cover what is drawn.
func TestMarks(t *testing.T) {
	for _, r := range [][2]float64{{0, 0}, {10.5, 40}, {19, 23}, {10.9, 11.2}, {-5, 5}, {1e5, 9e5}} {
		a, every := upright(r[0], r[1], 300, 50)
		n := len(a.marks(every))
		if a.lo > r[0] || a.hi < r[1] || n < 3 || n > 7 {
			t.Errorf("%v: from %g to %g with %d marks", r, a.lo, a.hi, n)
		}
	}
	for _, hours := range []float64{0, 1, 5, 11, 30, 100, 1000, 5000} {
		k := along(h(0), h(hours), 74, 700, time.UTC, func(time.Time) string { return "2.1." })
		at, _ := k.moments()
		if len(at) > mostMarks+1 || hours >= 1 && len(at) < 1 {
			t.Errorf("%g h have %d marks", hours, len(at))
		}
	}
}

func BenchmarkCurve(b *testing.B) {
	for b.Loop() {
		if _, err := drum().PNG(); err != nil {
			b.Fatal(err)
		}
	}
}
