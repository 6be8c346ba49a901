package bot

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"strings"
	"time"

	"lotbell/bot/draw"
	"lotbell/rules"
	"lotbell/rules/ferment"
	"lotbell/state"
)

// Picture is a PNG that goes with a text, which says enough without it. Name tells in a few words
// what it shows.
type Picture struct {
	Name       string
	Wide, High int
	Body       []byte
}

// String stands for the picture where none can be shown.
func (p *Picture) String() string {
	return fmt.Sprintf("[picture: %s, %dx%d]", p.Name, p.Wide, p.High)
}

// drawn is a picture of what was drawn; nil, and the operator told, when it could not be.
func (t *turn) drawn(name string, body []byte, err error) *Picture {
	if err == nil {
		size, bad := png.DecodeConfig(bytes.NewReader(body))
		if bad == nil {
			return &Picture{Name: name, Wide: size.Width, High: size.Height, Body: body}
		}
		err = bad
	}
	t.o.Report("a picture could not be drawn: " + err.Error())
	return nil
}

// curve answers how it is at a place, as the place with a question mark does, and shows what was
// read there: curve d1.
func (t *turn) curve(words []string) {
	asks := strings.TrimRight(strings.Join(words, " "), " ?") + "?"
	f := find(Read(asks, t.context(), t.words).Facts, SaysHow)
	if f == nil || f.Place == "" || f.Place == state.Whole {
		t.say("picture.what", "example", t.voice.Say(t.lang(), "verb.curve")+" "+t.drawable())
		return
	}
	t.how(*f)
	stays := t.mill.StaysAt(f.Place)
	if len(stays) == 0 {
		return
	}
	c := t.curveOf(stays[0])
	if body, err := c.PNG(); err == draw.ErrEmpty {
		t.say("picture.none", "place", f.Place)
	} else {
		t.picture = t.drawn(t.voice.Say(t.lang(), "verb.curve")+" "+f.Place, body, err)
	}
}

// drawable is a place that a curve could be of, for an example.
func (t *turn) drawable() string {
	for _, s := range t.mill.OpenStays() {
		switch s.Kind {
		case state.Tank, state.Drum, state.Predryer, state.Patio, state.Silo, state.Store:
			return s.Place
		}
	}
	return "d1"
}

// curveOf is what has been read of a stay and what is expected of it.
func (t *turn) curveOf(s *state.Stay) draw.Curve {
	label := func(key string, pairs ...any) string { return t.voice.Say(t.lang(), key, pairs...) }
	v := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
	c := draw.Curve{From: s.From.Time(), Zone: t.mill.Zone(), Day: func(at time.Time) string {
		return at.Format("02.01.")
	}, Labels: draw.Labels{Ahead: label("picture.ahead"), Window: label("picture.window"),
		Band: label("picture.band"), Stop: label("picture.stop"), Full: label("picture.rough"),
		Hollow: label("picture.slippery")}}
	key, trace := "picture.moisture", v.Trace()
	switch s.Kind {
	case state.Tank:
		key = "picture.warmth"
		fermenting(&c, trace, v.Tank())
	case state.Silo, state.Store:
		moist(&c, trace)
		drifting(&c, v.Rest())
	default:
		moist(&c, trace)
		t.dryingOn(&c, trace, v)
	}
	c.Title = label(key, "place", s.Place, "lot", int(s.ID.Lot))
	return c
}

// fermenting draws the heat of a tank, its tests by hand, and when it is likely ready.
func fermenting(c *draw.Curve, trace rules.Trace, f ferment.Forecast) {
	for _, r := range trace.Tank {
		c.Points = append(c.Points, draw.Point{At: r.At, Value: r.Mass})
		if r.Hand == ferment.Rough || r.Hand == ferment.Slippery {
			c.Tests = append(c.Tests, draw.Test{At: r.At, Full: r.Hand == ferment.Rough})
		}
	}
	c.Early, c.Likely, c.Late = f.Early, f.Likely, f.Late
}

// moist draws the moistures that were read.
func moist(c *draw.Curve, trace rules.Trace) {
	for _, r := range trace.Moistures {
		c.Points = append(c.Points, draw.Point{At: r.At, Value: r.Moisture})
	}
}

// parts of what is expected that are drawn.
const aheadParts = 24

// dryingOn draws the way to the target of coffee that dries, and its stops.
func (t *turn) dryingOn(c *draw.Curve, trace rules.Trace, v *rules.View) {
	for _, s := range trace.Stops {
		if s.To.IsZero() {
			s.To = t.at.Time() // it goes on now, and nobody knows how long
		}
		c.Stops = append(c.Stops, draw.Span{From: s.From, To: s.To})
	}
	if c.Target = trace.Target; c.Target > 0 {
		c.Labels.Target = t.voice.Say(t.lang(), "picture.target", "value",
			plainNumber(trace.Target, 1))
	}
	f := v.Dry()
	if c.Early, c.Likely, c.Late = f.Early, f.Likely, f.Late; f.Likely.IsZero() ||
		len(trace.Moistures) == 0 {
		return
	}
	from := trace.Moistures[len(trace.Moistures)-1].At
	for i := 0; i <= aheadParts && f.Likely.After(from); i++ {
		at := from.Add(f.Likely.Sub(from) / aheadParts * time.Duration(i))
		c.Ahead = append(c.Ahead, draw.Point{At: at, Value: f.MoistureAt(at)})
	}
}

// driftShown is how far ahead the drift of resting coffee is drawn.
const driftShown = 14 * 24 * time.Hour

// drifting draws where the moisture of resting coffee goes, and within which bounds.
func drifting(c *draw.Curve, r rules.Rest) {
	if len(c.Points) == 0 || !r.Drift.Known {
		return
	}
	from := c.Points[len(c.Points)-1].At
	for i := range aheadParts + 1 {
		at := from.Add(driftShown / aheadParts * time.Duration(i))
		low, likely, high := r.Drift.At(at)
		if math.IsNaN(likely) {
			return
		}
		c.Ahead = append(c.Ahead, draw.Point{At: at, Value: likely})
		c.Band = append(c.Band, draw.Range{At: at, Low: low, High: high})
	}
}
