package rules

import (
	"math"
	"time"

	"lotbell/rules/drying"
	"lotbell/state"
)

// dry is the forecast of a stay on a patio or in a drum.
func (v *View) dry() drying.Forecast {
	if v.stay == nil {
		return drying.Forecast{}
	}
	switch v.stay.Kind {
	case state.Patio, state.Drum, state.Predryer:
	default:
		return drying.Forecast{}
	}
	v.know.refresh(v.mill)
	return keep(v.know.dryings, v.stay.ID, v.basis(), func() drying.Forecast {
		if v.stay.Kind == state.Patio {
			return v.patioOf(v.stay, v.at).Forecast()
		}
		r := v.runOf(v.stay, v.at)
		r.Past = v.drumLessons()
		return r.Forecast()
	})
}

// Target is the moisture at which this mill unloads its drums, % wet basis.
func (v *View) target() float64 {
	if s, ok := v.mill.Setting(state.SetTarget); ok {
		return s.Number
	}
	if l, ok := v.book.Limits["target"]; ok {
		return l.Value
	}
	return 10.5
}

// runOf is a drum's stay in the plain numbers of the computation.
func (v *View) runOf(s *state.Stay, at state.Instant) drying.Run {
	r := drying.Run{Target: v.target(), Readings: v.moistures(s, at)}
	p, _ := v.mill.Place(s.Place)
	for _, e := range v.mill.During(s, at) {
		b, ok := e.Body.(state.Reading)
		if !ok || !e.Concerns(s) {
			continue
		}
		switch b.What {
		case state.AirC:
			if p.DialWhere == "inlet" || p.DialWhere == "" {
				r.Air = append(r.Air, v.airAt(e.At, b.Value))
			}
		case state.WeightKg:
			r.Weights = append(r.Weights, drying.Weight{At: e.At.Time(), Kg: b.Value})
		}
	}
	r.Stops = v.stops(s, at)
	return r
}

// airAt is the drum's inlet air with the weather of that hour beside it.
func (v *View) airAt(at state.Instant, inlet float64) drying.Air {
	a := drying.Air{At: at.Time(), Inlet: inlet, Ambient: math.NaN(), RH: math.NaN()}
	then := *v
	then.at = at
	if x, ok := then.weather(state.AmbientC); ok {
		a.Ambient = x
	}
	if x, ok := then.weather(state.AmbientH); ok {
		a.RH = x / 100
	}
	return a
}

// moistures lists a stay's moisture readings. Several of one instant become their mean, with the
// smaller error of several samples (drum spread: Reinato & Borém 2006, by way of the handbook).
func (v *View) moistures(s *state.Stay, at state.Instant) []drying.Reading {
	var out []drying.Reading
	if s.Moist > 0 {
		out = append(out, drying.Reading{At: s.From.Time(), Moisture: s.Moist,
			Sigma: drying.Sigma("meter", s.Moist)})
	}
	n := 1.0
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
			r.Sigma /= math.Sqrt(n)
			out[k-1] = r
			continue
		}
		n = 1
		out = append(out, r)
	}
	return out
}

// stops lists when the fire was out or the machine stood, by its own notes and the power's.
func (v *View) stops(s *state.Stay, at state.Instant) []drying.Stop {
	var out []drying.Stop
	add := func(es []*state.Event, ends map[string]string) {
		from, by := state.Instant(0), ""
		for _, e := range es {
			b, ok := e.Body.(state.Note)
			if !ok || e.At < s.From && ends[b.What] == "" {
				continue
			}
			switch {
			case from == 0 && ends[b.What] != "":
				from, by = max(e.At, s.From), b.What
			case from != 0 && b.What == ends[by]:
				if e.At > s.From {
					out = append(out, drying.Stop{From: from.Time(), To: e.At.Time()})
				}
				from = 0
			}
		}
		if from != 0 {
			out = append(out, drying.Stop{From: from.Time()})
		}
	}
	add(v.mill.During(s, at), map[string]string{state.FireOut: state.FireLit,
		state.Stopped: state.Running})
	add(v.mill.Line(state.Whole, at), map[string]string{state.PowerOut: state.PowerBack})
	return merged(out)
}

// merged joins stops that overlap, in time order.
func merged(in []drying.Stop) []drying.Stop {
	for i := 1; i < len(in); i++ {
		for j := i; j > 0 && in[j].From.Before(in[j-1].From); j-- {
			in[j], in[j-1] = in[j-1], in[j]
		}
	}
	var out []drying.Stop
	for _, s := range in {
		if k := len(out) - 1; k >= 0 && (out[k].To.IsZero() || !s.From.After(out[k].To)) {
			if !out[k].To.IsZero() && (s.To.IsZero() || s.To.After(out[k].To)) {
				out[k].To = s.To
			}
			continue
		}
		out = append(out, s)
	}
	return out
}

// drumLessons is what this drum's runs taught that were over when this one began.
func (v *View) drumLessons() drying.Past {
	var runs []*state.Stay
	for _, s := range v.mill.Closed(v.stay.Kind) {
		if s.Place == v.place && s.To <= v.stay.From {
			runs = append(runs, s)
		}
	}
	const enough = 12 // runs: a drum's ways change within a season, and learning has its cost
	if len(runs) > enough {
		runs = runs[len(runs)-enough:]
	}
	known := v.know.drumPast[v.place]
	if n := len(known); n > 0 && known[n-1].Runs == len(runs) && len(runs) < enough {
		return known[n-1]
	}
	var ended []drying.Ended
	for _, s := range runs {
		ended = append(ended, drying.Ended{Run: v.runOf(s, s.To)})
	}
	past := drying.Learn(ended)
	v.know.drumPast[v.place] = append(known, past)
	return past
}

// patioOf is a patio's stay in the plain numbers of the computation.
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
			switch b.What {
			case state.Turned:
				p.Turned = append(p.Turned, e.At.Time())
			case state.Covered:
				p.Covers = append(p.Covers, drying.Stop{From: e.At.Time()})
			case state.Uncovered:
				if n := len(p.Covers); n > 0 && p.Covers[n-1].To.IsZero() {
					p.Covers[n-1].To = e.At.Time()
				}
			}
		}
	}
	p.Weather = v.weatherRows(s.From, at)
	p.Past = v.patioLessons()
	return p
}

// weatherRows lists the readings of the air outside, a row an instant.
func (v *View) weatherRows(from, to state.Instant) []drying.Weather {
	var out []drying.Weather
	for _, e := range v.mill.Line(v.airPlace(), to) {
		b, ok := e.Body.(state.Reading)
		if !ok || e.At < from.Add(-6*time.Hour) {
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

// patioLessons is what this site's patios taught that were over when this stay began.
func (v *View) patioLessons() drying.PatioPast {
	n := 0
	closed := v.mill.Closed(state.Patio)
	for n < len(closed) && closed[n].To <= v.stay.From {
		n++
	}
	if p, ok := v.know.patios[n]; ok || n == 0 {
		return p
	}
	const enough = 20
	var ended []drying.EndedPatio
	for _, s := range closed[max(0, n-enough):n] {
		p := drying.Patio{Readings: v.moistures(s, s.To), Target: v.patioTarget(),
			Zone: v.know.zone(v.mill), Weather: v.weatherRows(s.From, s.To)}
		ended = append(ended, drying.EndedPatio{Patio: p})
	}
	past := drying.LearnPatio(ended)
	v.know.patios[n] = past
	return past
}

// patioTarget is the moisture at which coffee leaves the patio for the drum.
func (v *View) patioTarget() float64 {
	if l, ok := v.book.Limits["patio_to_drum"]; ok {
		return l.Value
	}
	return 15
}

// dryingFacts are the forecast of a patio or a drum; the window's names are those of the tank.
func dryingFacts() []*Fact {
	on := []string{"patio", "predryer", "drum", OnGuard}
	window := []string{"tank", "patio", "predryer", "drum", OnGuard}
	pick := func(name, doc string, f func(d drying.Forecast) time.Time, t func(v *View) time.Time,
		on []string) *Fact {
		return &Fact{Name: name, On: on, Unit: Moment, Doc: doc, get: func(v *View) Value {
			if v.stay != nil && v.stay.Kind == state.Tank && t != nil {
				return moment(state.At(t(v)))
			}
			return moment(state.At(f(v.dry())))
		}}
	}
	return []*Fact{
		pick("ready_early", "the early end of the window to wash, gather or unload",
			func(d drying.Forecast) time.Time { return d.Early },
			func(v *View) time.Time { return v.tank().Early }, window),
		pick("ready_likely", "the likely instant of it",
			func(d drying.Forecast) time.Time { return d.Likely },
			func(v *View) time.Time { return v.tank().Likely }, window),
		pick("ready_late", "the late end of it",
			func(d drying.Forecast) time.Time { return d.Late },
			func(v *View) time.Time { return v.tank().Late }, window),
		pick("next_reading", "when a moisture reading would next be useful",
			func(d drying.Forecast) time.Time { return d.Next }, nil, on),
		{Name: "hum_now", On: on, Unit: Percent, Moves: Curve,
			Doc:   "moisture now by the forecast; cannot be told before there is one",
			get:   func(v *View) Value { return number(v.humAt(v.at)) },
			curve: func(v *View, t state.Instant) float64 { return v.humAt(t) }},
		{Name: "drying", On: on, Unit: Word, Doc: "good, few-readings, surface-water, stalling, " +
			"fire-out, heating-quick or unreachable",
			get: func(v *View) Value { return word(string(v.dry().Status)) }},
		{Name: "target", On: on, Unit: Percent, Doc: "moisture at which this mill unloads",
			get: func(v *View) Value { return number(v.target()) }},
	}
}

// humAt is the forecast moisture at an instant, else the last reading while it is fresh.
func (v *View) humAt(t state.Instant) float64 {
	if x := v.dry().MoistureAt(t.Time()); !math.IsNaN(x) {
		return x
	}
	if e, _ := v.reading(state.Moisture); e != nil && t.Sub(e.At) <= 3*time.Hour {
		return v.mean(e, state.Moisture)
	}
	return math.NaN()
}

// restFacts are about coffee at rest.
func restFacts() []*Fact {
	on := []string{"silo", "store"}
	air := func(v *View, what string) float64 { return v.lastValue(what).Num }
	return []*Fact{
		{Name: "emc", On: on, Unit: Percent,
			Doc: "moisture the store's air draws the coffee to, % wet basis (Roa 1989)",
			get: func(v *View) Value {
				m := drying.Equilibrium(air(v, state.AmbientC), air(v, state.AmbientH)/100)
				return number(100 * m / (100 + m))
			}},
		{Name: "aw_now", On: on, Unit: Plain,
			Doc: "water activity: measured, else reckoned from moisture at the store's heat",
			get: func(v *View) Value {
				if e, _ := v.reading(state.Aw); e != nil {
					return number(v.mean(e, state.Aw))
				}
				w := v.lastValue(state.Moisture).Num
				return number(drying.WaterActivity(air(v, state.AmbientC), 100*w/(100-w)))
			}},
		{Name: "temp_rise", On: on, Unit: Celsius, Doc: "bean temperature against a week before",
			get: func(v *View) Value { return v.rise(state.BeanC, 7*24*time.Hour) }},
	}
}

// rise is the last reading of a quantity less the lowest of the time before it.
func (v *View) rise(what string, back time.Duration) Value {
	last, _ := v.reading(what)
	if last == nil {
		return unknown()
	}
	low := math.NaN()
	for _, e := range v.last {
		r, ok := e.Body.(state.Reading)
		if ok && r.What == what && v.concerns(e) && e.At < last.At && last.At.Sub(e.At) <= back {
			low = math.Min(r.Value, orInf(low))
		}
	}
	return number(v.mean(last, what) - low)
}

func orInf(x float64) float64 {
	if math.IsNaN(x) {
		return math.Inf(1)
	}
	return x
}

// guardFacts are about an act that somebody wants to do.
func guardFacts() []*Fact {
	on := []string{OnGuard}
	by := func(r state.Role) func(v *View) Value {
		return func(v *View) Value { return truth(v.act != nil && v.act.By.Is(r)) }
	}
	tag := func(name, none string) func(v *View) Value {
		return func(v *View) Value {
			if v.act == nil || len(v.mill.StaysAt(v.act.To)) == 0 {
				return unknown()
			}
			s := v.mill.StaysAt(v.act.To)[0]
			if t := v.mill.Lot(s.ID.Lot).Tag(name); t != "" {
				return word(t)
			}
			return word(none)
		}
	}
	return []*Fact{
		{Name: "by_manager", On: on, Unit: YesNo, Doc: "a manager does it", get: by(state.Manager)},
		{Name: "by_deputy", On: on, Unit: YesNo, Doc: "a deputy does it", get: by(state.Deputy)},
		{Name: "by_lead", On: on, Unit: YesNo, Doc: "a shift lead does it", get: by(state.Lead)},
		{Name: "by_keeper", On: on, Unit: YesNo, Doc: "a keeper does it", get: by(state.Keeper)},
		{Name: "unanswered", On: on, Unit: Span, Doc: "how long a manager has not answered",
			get: func(v *View) Value {
				if v.act == nil {
					return unknown()
				}
				return v.since(v.act.Asked)
			}},
		{Name: "here_held", On: on, Unit: YesNo, Doc: "coffee lies where it would go",
			get: func(v *View) Value {
				return truth(v.act != nil && len(v.mill.StaysAt(v.act.To)) > 0)
			}},
		{Name: "class_here", On: on, Unit: Word, Doc: "class of what lies where it would go",
			get: tag("class", "normal")},
		{Name: "owner_here", On: on, Unit: Word, Doc: "owner of it", get: tag("owner", "mill")},
		{Name: "claim_here", On: on, Unit: Word, Doc: "claim of it", get: tag("claim", "none")},
		{Name: "cleaned_here", On: on, Unit: YesNo,
			Doc: "the place was cleaned since it was emptied; cannot be told before it held coffee",
			get: func(v *View) Value { return v.cleanedHere() }},
	}
}

func (v *View) cleanedHere() Value {
	if v.act == nil || v.act.To == "" {
		return unknown()
	}
	emptied := state.Instant(0)
	for _, s := range v.mill.Closed(v.mill.KindOf(v.act.To)) {
		if s.Place == v.act.To {
			emptied = max(emptied, s.To)
		}
	}
	if emptied == 0 {
		return unknown()
	}
	e := v.mill.LastNote(v.act.To, v.at, state.Cleaned, state.NotClean)
	return truth(e != nil && e.At >= emptied && e.Body.(state.Note).What == state.Cleaned)
}
