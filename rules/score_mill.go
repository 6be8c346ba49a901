package rules

import (
	"fmt"
	"math"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/record"
	"lotbell/state"
)

// Score scores the forecasts that this program makes of a mill's own tanks, drums, pre-dryers or
// patios, from the stays of that kind that were over at an instant: what would have been told some
// hours before each end, by today's model and from what counts today. Drums are scored each among
// its own runs and summed up. Kinds that are not forecast give the zero value.
func Score(m *state.Mill, b *Book, kind state.Kind, at state.Instant) Scores {
	v := newView(m, b, NewKnowledge(), state.Subject{Kind: state.OfMill}, at)
	s := Scores{Kind: record.Drum, Target: v.target(), Usual: usualDrumHours}
	switch kind {
	case state.Tank:
		s = Scores{Kind: record.Tank, Target: math.NaN(), Usual: usualTankHours}
	case state.Patio:
		s = Scores{Kind: record.Patio, Target: v.patioTarget(), Usual: usualPatioHours}
	case state.Drum, state.Predryer:
	default:
		return Scores{}
	}
	// Each drum learns from its own runs only, and so has a contest of its own.
	contests, order := map[string]hindcastLoads{}, []string{}
	for _, stay := range m.Closed(kind) {
		if stay.To > at {
			break
		}
		l, of := v.hindcastStay(stay, &s)
		if l.name == "" {
			continue
		}
		if len(contests[of]) == 0 {
			order = append(order, of)
		}
		contests[of] = append(contests[of], l)
	}
	for _, of := range order {
		contests[of].run(&s)
	}
	s.scoreTally()
	return s
}

// hindcastStay is one ended stay as a contest sees it, and which contest it belongs to; no name:
// it teaches nothing and is not scored.
func (v *View) hindcastStay(stay *state.Stay, s *Scores) (l hindcastLoad, of string) {
	name := fmt.Sprintf("%s %s", stay.Place, stay.From.Time().UTC().Format(record.Layout))
	// A view at the instant sees what counts at it and nothing later, as it did live.
	then := func(at time.Time) *View {
		return newView(v.mill, v.book, v.know, stay.Subject(), state.At(at))
	}
	switch stay.Kind {
	case state.Tank:
		if !v.teaches(stay) {
			return hindcastLoad{}, ""
		}
		l = hindcastTank(name, v.tankOf(stay, stay.To), stay.To.Time())
		l.ours = func(at time.Time, taught int) hindcastWindow {
			var f ferment.Forecast
			if x := then(at); taught > 0 {
				f = x.Tank()
			} else {
				f = x.tankOf(stay, x.at).Forecast()
			}
			return hindcastWindow{f.Early, f.Likely, f.Late}
		}
	default:
		readings := v.moistures(stay, stay.To)
		run := drying.Run{Readings: readings, Target: s.Target}
		l = hindcastLoad{name: name, from: stay.From.Time()}
		l.end, _ = run.Reached()
		l.ours = func(at time.Time, taught int) hindcastWindow {
			f := then(at).hindcastDry(stay, taught > 0)
			return hindcastWindow{f.Early, f.Likely, f.Late}
		}
		l.line = func(at time.Time) time.Time {
			return hindcastLine(run.Until(at).Readings, s.Target)
		}
		if of = stay.Place; stay.Kind == state.Patio {
			of = ""
		}
	}
	l.over = stay.To.Time()
	return l, of
}

// hindcastDry is the forecast of a patio or drum with or without what others taught.
func (v *View) hindcastDry(stay *state.Stay, taught bool) drying.Forecast {
	switch {
	case taught:
		return v.Dry()
	case stay.Kind == state.Patio:
		p := v.patioOf(stay, v.at)
		p.Past = drying.PatioPast{}
		return p.Forecast()
	}
	return v.runOf(stay, v.at).Forecast()
}
