package rules

import (
	"math"
	"slices"
	"sort"
	"time"

	"lotbell/rules/drying"
	"lotbell/state"
)

// dryAhead is the forecast of a stay on a patio or in a drum, as it can be made from what counts
// at the view's instant.
func (v *View) dryAhead() *drying.Forecast {
	if v.dryIs != nil {
		return v.dryIs
	}
	kind := state.Kind("")
	if v.stay != nil {
		kind = v.stay.Kind
	}
	switch kind {
	case state.Drum, state.Predryer:
		v.know.refresh(v.mill, v.book)
		past, lesson := v.drumLesson()
		v.dryIs = keep(v.know.dryings, v.stay.ID, v.basis(lesson), func() drying.Forecast {
			r := v.runOf(v.stay, v.at)
			r.Past = past
			return r.Forecast()
		})
	case state.Patio:
		v.know.refresh(v.mill, v.book)
		past, lesson := v.patioLesson()
		v.dryIs = keep(v.know.dryings, v.stay.ID, v.basis(lesson), func() drying.Forecast {
			p := v.patioOf(v.stay, v.at)
			p.Past = past
			return p.Forecast()
		})
	default:
		v.dryIs = &drying.Forecast{}
	}
	return v.dryIs
}

// target is the moisture at which this mill unloads its drums, % wet basis.
func (v *View) target() float64 {
	if s, ok := v.mill.Setting(state.SetTarget); ok {
		return s.Number
	}
	if l, ok := v.book.Limits["target"]; ok {
		return l.Value
	}
	return 10.5
}

// runOf is a drum's stay in the plain numbers of the computation, without what past ones taught.
func (v *View) runOf(s *state.Stay, at state.Instant) drying.Run {
	r := drying.Run{Target: v.target(), Readings: v.moistures(s, at)}
	p, _ := v.mill.Place(s.Place)
	inlet := p.DialWhere == "inlet" || p.DialWhere == ""
	sky, own := v.skyFrom(s.From, at), v.mill.During(s, at)
	r.Air = make([]drying.Air, 0, len(own))
	for _, e := range own {
		b, ok := e.Body.(state.Reading)
		if !ok || !e.Concerns(s) {
			continue
		}
		switch {
		case b.What == state.AirC && inlet:
			temp, rh := sky.at(e.At)
			r.Air = append(r.Air, drying.Air{At: e.At.Time(), Inlet: b.Value, Ambient: temp,
				RH: rh / 100})
		case b.What == state.WeightKg:
			r.Weights = append(r.Weights, drying.Weight{At: e.At.Time(), Kg: b.Value})
		}
	}
	r.Stops = v.stops(s, at)
	return r
}

// sky walks along the readings of the air outside.
type sky struct {
	ahead    []*state.Event
	temp, rh *state.Event
}

// skyFrom is the air from some hours before an instant to another.
func (v *View) skyFrom(from, to state.Instant) sky {
	l, first := v.mill.Line(v.airPlace(), to), from.Add(-airHolds)
	return sky{ahead: l[sort.Search(len(l), func(i int) bool { return l[i].At >= first }):]}
}

// at is the air's temperature and humidity at an instant, NaN when no reading is young enough.
// The instants asked for must not go back.
func (s *sky) at(t state.Instant) (temp, rh float64) {
	for len(s.ahead) > 0 && s.ahead[0].At <= t {
		if b, ok := s.ahead[0].Body.(state.Reading); ok && b.What == state.AmbientC {
			s.temp = s.ahead[0]
		} else if ok && b.What == state.AmbientH {
			s.rh = s.ahead[0]
		}
		s.ahead = s.ahead[1:]
	}
	young := func(e *state.Event) float64 {
		if e == nil || t.Sub(e.At) > airHolds {
			return math.NaN()
		}
		return e.Body.(state.Reading).Value
	}
	return young(s.temp), young(s.rh)
}

// moistures lists a stay's moisture readings. Several of one instant become their mean, with the
// smaller error of several samples (drum spread: Reinato & Borém 2006, by way of the handbook).
// What the coffee came with counts when it was not read as it came.
func (v *View) moistures(s *state.Stay, at state.Instant) []drying.Reading {
	var out []drying.Reading
	n, sigma := 1.0, 0.0
	for _, e := range v.mill.During(s, at) {
		b, ok := e.Body.(state.Reading)
		if !ok || b.What != state.Moisture || !e.Concerns(s) {
			continue
		}
		method := b.Method
		if b.Hot {
			method = "hot-meter"
		}
		r := drying.Reading{At: e.At.Time(), Moisture: b.Value, Hot: b.Hot,
			Sigma: drying.Sigma(method, b.Value)}
		if k := len(out); k > 0 && out[k-1].At.Equal(r.At) {
			r.Moisture = (out[k-1].Moisture*n + r.Moisture) / (n + 1)
			n++
			sigma = max(sigma, r.Sigma)
			r.Sigma, r.Hot = sigma/math.Sqrt(n), r.Hot || out[k-1].Hot
			out[k-1] = r
			continue
		}
		n, sigma = 1, r.Sigma
		out = append(out, r)
	}
	if s.Moist > 0 && (len(out) == 0 || !out[0].At.Equal(s.From.Time())) {
		out = slices.Insert(out, 0, drying.Reading{At: s.From.Time(), Moisture: s.Moist,
			Sigma: drying.Sigma("meter", s.Moist)})
	}
	return out
}

// stops lists when the fire was out or the machine stood, by its own notes and the power's.
func (v *View) stops(s *state.Stay, at state.Instant) []drying.Stop {
	fire := stretch{begins: state.FireOut, ends: state.FireLit, from: s.From}
	machine := stretch{begins: state.Stopped, ends: state.Running, from: s.From}
	power := stretch{begins: state.PowerOut, ends: state.PowerBack, from: s.From}
	for _, e := range v.mill.During(s, at) {
		if b, ok := e.Body.(state.Note); ok {
			fire.see(b.What, e.At)
			machine.see(b.What, e.At)
		}
	}
	for _, e := range v.mill.Line(state.Whole, at) {
		if b, ok := e.Body.(state.Note); ok {
			power.see(b.What, e.At)
		}
	}
	out := slices.Concat(fire.all(), machine.all(), power.all())
	slices.SortFunc(out, func(a, b drying.Stop) int { return a.From.Compare(b.From) })
	return merged(out)
}

// stretch collects the times from a note to the one that ends it, as far as they lie after an
// instant.
type stretch struct {
	begins, ends string
	from, began  state.Instant
	over         []drying.Stop
}

func (s *stretch) see(what string, at state.Instant) {
	switch {
	case what == s.begins && s.began == 0:
		s.began = at
	case what == s.ends && s.began != 0:
		if at > s.from {
			s.over = append(s.over, drying.Stop{From: max(s.began, s.from).Time(), To: at.Time()})
		}
		s.began = 0
	}
}

// all lists the stretches, the last one open if nothing has ended it.
func (s *stretch) all() []drying.Stop {
	if s.began != 0 {
		return append(s.over, drying.Stop{From: max(s.began, s.from).Time()})
	}
	return s.over
}

// merged joins stops that overlap; they are in time order.
func merged(in []drying.Stop) []drying.Stop {
	var out []drying.Stop
	for _, s := range in {
		k := len(out) - 1
		if k < 0 || !out[k].To.IsZero() && s.From.After(out[k].To) {
			out = append(out, s)
			continue
		}
		if !out[k].To.IsZero() && (s.To.IsZero() || s.To.After(out[k].To)) {
			out[k].To = s.To
		}
	}
	return out
}

// patioOf is a patio's stay in the plain numbers of the computation, without what past ones
// taught.
func (v *View) patioOf(s *state.Stay, at state.Instant) drying.Patio {
	p := drying.Patio{Readings: v.moistures(s, at), Target: v.patioTarget(),
		Zone: v.know.zone(v.mill)}
	for _, e := range v.mill.During(s, at) {
		if !e.Concerns(s) {
			continue
		}
		switch b := e.Body.(type) {
		case state.Reading:
			if b.What == state.Depth {
				p.DepthCm = b.Value
			}
		case state.Note:
			patioNote(&p, b.What, e.At.Time())
		}
	}
	p.Weather = v.weatherRows(s.From, at)
	return p
}

// patioNote adds what was done to a lot on the patio.
func patioNote(p *drying.Patio, what string, at time.Time) {
	switch what {
	case state.Turned:
		p.Turned = append(p.Turned, at)
	case state.Covered:
		p.Covers = append(p.Covers, drying.Stop{From: at})
	case state.Uncovered:
		if n := len(p.Covers); n > 0 && p.Covers[n-1].To.IsZero() {
			p.Covers[n-1].To = at
		}
	}
}

// weatherRows lists the readings of the air outside, a row an instant, from some hours before.
func (v *View) weatherRows(from, to state.Instant) []drying.Weather {
	var out []drying.Weather
	for _, e := range v.skyFrom(from, to).ahead {
		b, ok := e.Body.(state.Reading)
		if !ok {
			continue
		}
		at := e.At.Time()
		if n := len(out); n == 0 || !out[n-1].At.Equal(at) {
			out = append(out, drying.Weather{At: at, TempC: math.NaN(), RH: math.NaN()})
		}
		switch w := &out[len(out)-1]; b.What {
		case state.AmbientC:
			w.TempC = b.Value
		case state.AmbientH:
			w.RH = b.Value / 100
		}
	}
	return out
}

// patioTarget is the moisture at which coffee leaves the patio for the drum.
func (v *View) patioTarget() float64 {
	if l, ok := v.book.Limits["patio_to_drum"]; ok {
		return l.Value
	}
	return 15
}

// humAt is the forecast moisture at an instant, else the last reading while it is fresh.
func (v *View) humAt(t state.Instant) float64 {
	if x := v.dryAhead().MoistureAt(t.Time()); !math.IsNaN(x) {
		return x
	}
	if x := v.driftAt(t); !math.IsNaN(x) {
		return x
	}
	if e := v.reading(state.Moisture); e != nil && t.Sub(e.At) <= humHolds {
		return v.mean(e, state.Moisture)
	}
	return math.NaN()
}

// humHolds is how long a moisture reading stands for now when there is no forecast.
const humHolds = 3 * time.Hour
