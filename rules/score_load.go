package rules

import (
	"math"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/record"
)

// scoreLeads are the hours before the end at which forecasts are made again; a patio, which takes
// days, is asked a day before as well.
func scoreLeads(kind record.Kind) []float64 {
	if kind == record.Patio {
		return []float64{24, 12, 6, 3, 1}
	}
	return []float64{12, 6, 3, 1}
}

// Hours of the fixed rival before any load is over, common practice, no source: drums are said to
// take 24 to 40 h, tanks 12 to 36 h, and washed coffee a week or two in the sun.
const (
	usualDrumHours  = 30.0
	usualTankHours  = 24.0
	usualPatioHours = 240.0
)

// scoreRuns is how many of the last runs a drum's forecast learns from, and a patio's; the same as
// the mill's own forecasts.
const (
	scoreRuns = 12
	scoreLots = 20
)

// ScoreDrums scores the forecasts of one drum's records, in any order; target in percent wet basis.
func ScoreDrums(sheets []record.Sheet, target float64) Scores {
	sheets = hindcastOrder(sheets)
	var ended []drying.Ended
	for _, s := range sheets {
		ended = append(ended, drying.Ended{Run: scoreRun(s, target)})
	}
	lessons := hindcastOnce(func(n int) drying.Past {
		return drying.Learn(ended[max(0, n-scoreRuns):n])
	})
	s := Scores{Kind: record.Drum, Target: target, Usual: usualDrumHours}
	s.scoreDried(sheets, func(i int, at time.Time, taught int) drying.Forecast {
		then := ended[i].Run.Until(at)
		then.Past = lessons(taught)
		return then.Forecast()
	})
	return s
}

// ScorePatios scores the forecasts of one site's records, in any order.
func ScorePatios(sheets []record.Sheet, target float64) Scores {
	sheets = hindcastOrder(sheets)
	var ended []drying.EndedPatio
	for _, s := range sheets {
		ended = append(ended, drying.EndedPatio{Patio: scorePatio(s, target)})
	}
	lessons := hindcastOnce(func(n int) drying.PatioPast {
		return drying.LearnPatio(ended[max(0, n-scoreLots):n])
	})
	s := Scores{Kind: record.Patio, Target: target, Usual: usualPatioHours}
	s.scoreDried(sheets, func(i int, at time.Time, taught int) drying.Forecast {
		then := ended[i].Patio.Until(at)
		then.Past = lessons(taught)
		return then.Forecast()
	})
	return s
}

// scoreDried runs the contest of drums or patios; forecast is that of the i-th record. Sheets are in
// the order in which they were over.
func (s *Scores) scoreDried(sheets []record.Sheet,
	forecast func(i int, at time.Time, taught int) drying.Forecast) {
	var loads hindcastLoads
	for i, sheet := range sheets {
		run := drying.Run{Readings: scoreReadings(sheet), Target: s.Target}
		l := hindcastLoad{name: sheet.Name, over: sheet.To()}
		if len(run.Readings) > 0 {
			l.from = run.Readings[0].At
		}
		l.end, _ = run.Reached()
		l.ours = func(at time.Time, taught int) hindcastWindow {
			f := forecast(i, at, taught)
			return hindcastWindow{f.Early, f.Likely, f.Late}
		}
		l.line = func(at time.Time) time.Time {
			return hindcastLine(run.Until(at).Readings, s.Target)
		}
		loads = append(loads, l)
	}
	loads.run(s)
	s.scoreTally()
}

// ScoreTanks scores the forecasts of one mill's tanks, in any order.
func ScoreTanks(sheets []record.Sheet) Scores {
	s := Scores{Kind: record.Tank, Target: math.NaN(), Usual: usualTankHours}
	sheets = hindcastOrder(sheets)
	lessons := []*ferment.Past{nil}
	var loads hindcastLoads
	for _, sheet := range sheets {
		tank := scoreTank(sheet)
		l := hindcastTank(sheet.Name, tank, time.Time{})
		l.over = sheet.To()
		l.ours = func(at time.Time, taught int) hindcastWindow {
			then := hindcastKnown(tank, at)
			then.Past = lessons[taught]
			f := then.Forecast()
			return hindcastWindow{f.Early, f.Likely, f.Late}
		}
		loads = append(loads, l)
		lessons = append(lessons, lessons[len(lessons)-1].And(ferment.Stay{Tank: tank}))
	}
	loads.run(&s)
	s.scoreTally()
	return s
}

// hindcastTank is a tank as a contest sees it, without its forecast: hours count from the last load,
// as the youngest fruit is what is waited for. A zero washed: not known.
func hindcastTank(name string, t ferment.Tank, washed time.Time) hindcastLoad {
	l := hindcastLoad{name: name}
	for _, x := range t.Loads {
		if x.At.After(l.from) {
			l.from = x.At
		}
	}
	l.end = hindcastLoose(t, l.from, washed)
	l.line = func(at time.Time) time.Time { return hindcastPace(hindcastKnown(t, at), l.from) }
	return l
}

// hindcastSpoils is the hours to the spoil limit over those to completion (see [Scores]).
const hindcastSpoils = 1.4

// hindcastLoose is the middle of the time in which the mucilage came loose; zero where nothing
// bounds it from behind. Readings are in time order.
func hindcastLoose(t ferment.Tank, youngest, washed time.Time) time.Time {
	var slippery, rough time.Time
	for _, r := range t.Readings {
		switch {
		case !r.At.After(youngest):
		case r.Hand == ferment.Slippery:
			slippery, rough = r.At, time.Time{}
		case r.Hand == ferment.Rough && rough.IsZero():
			rough = r.At
		}
	}
	if rough.IsZero() && washed.After(slippery) {
		rough = washed
	}
	if rough.IsZero() {
		return time.Time{}
	}
	took := float64(rough.Sub(youngest)) / hindcastSpoils
	if least := youngest.Add(time.Duration(took)); least.After(slippery) {
		slippery = least
	}
	return slippery.Add(rough.Sub(slippery) / 2)
}

// hindcastKnown is a tank as it was known at an instant. Loads and readings are in time order; the
// slices share their arrays with t.
func hindcastKnown(t ferment.Tank, at time.Time) ferment.Tank {
	n := 0
	for n < len(t.Readings) && !t.Readings[n].At.After(at) {
		n++
	}
	t.Readings = t.Readings[:n]
	n = 0
	for n < len(t.Loads) && !t.Loads[n].At.After(at) {
		n++
	}
	t.Loads = t.Loads[:n]
	return t
}
