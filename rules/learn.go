package rules

import (
	"math"
	"sort"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/state"
)

// tankLessons are what the first so many tanks that ended taught, one after another.
type tankLessons struct {
	looked uint64
	chain  []tankLesson
}

// tankLesson is what the tanks up to one taught, with the print of that one.
type tankLesson struct {
	of   print
	past *ferment.Past
	id   uint64
}

// tankLesson is what washed tanks taught that were over when this stay began: so a stay's forecast
// never changes for what other tanks do meanwhile.
func (v *View) tankLesson() (*ferment.Past, uint64) {
	k, t := v.know, &v.know.tankPast
	ended := v.mill.Closed(state.Tank)
	n := sort.Search(len(ended), func(i int) bool { return ended[i].To > v.stay.From })
	if t.looked != k.looked {
		t.looked = k.looked
		for i := range t.chain {
			if i >= len(ended) || t.chain[i].of != v.printTank(ended[i]) {
				t.chain = t.chain[:i]
				break
			}
		}
	}
	for len(t.chain) < n {
		next, s := tankLesson{}, ended[len(t.chain)]
		if i := len(t.chain); i > 0 {
			next = t.chain[i-1]
		}
		next.of = v.printTank(s)
		if v.teaches(s) {
			next.past = next.past.And(ferment.Stay{Tank: v.tankOf(s, s.To), Washed: s.To.Time()})
			next.id = k.lesson()
		}
		t.chain = append(t.chain, next)
	}
	if n == 0 {
		return nil, 0
	}
	return t.chain[n-1].past, t.chain[n-1].id
}

// shortestTank is the time from filling under which no tank is ready: the published range begins
// at 6 h (Wintgens 2004, by way of the handbook).
const shortestTank = 4 * time.Hour

// teaches says whether a tank's end says something about fermentation.
func (v *View) teaches(s *state.Stay) bool {
	if s.To.Sub(s.LastIn(s.To)) < shortestTank {
		return false // washed by mistake, or the book is wrong
	}
	process := v.mill.Lot(s.ID.Lot).Tag("process")
	return s.Left == state.ActWash && (process == "" || process == "washed")
}

// dryLessons are what the runs of a drum, or the patios, taught, by how many were over.
type dryLessons struct{ made map[int]dryLesson }

// dryLesson is one of them, with the print of the runs and when it was last looked through.
type dryLesson struct {
	of         print
	past       drying.Past
	id, looked uint64
}

// learned finds what the n runs or lots that were over taught, or learns it. It is learned anew
// only when their print has changed.
func (k *Knowledge) learned(place string, n int, of func() print,
	learn func() drying.Past) (drying.Past, uint64) {
	if n == 0 {
		return drying.Past{}, 0
	}
	d := k.dryPast[place]
	if d == nil {
		d = &dryLessons{map[int]dryLesson{}}
		k.dryPast[place] = d
	}
	x, ok := d.made[n]
	if ok && x.looked == k.looked {
		return x.past, x.id
	}
	if now := of(); !ok || x.of != now {
		x = dryLesson{of: now, past: learn(), id: k.lesson()}
	}
	x.looked = k.looked
	d.made[n] = x
	return x.past, x.id
}

// How many of the last runs of a drum, or lots on the patios, teach: ways change within a season,
// and learning has its cost.
const (
	lastRuns  = 12
	lastLots  = 20
	patioPast = "" // the patios' place among the lessons
)

// drumLesson is what this drum's runs taught that were over when this one began.
func (v *View) drumLesson() (drying.Past, uint64) {
	var runs []*state.Stay
	for _, s := range v.mill.Closed(v.stay.Kind) {
		if s.Place == v.place && s.To <= v.stay.From {
			runs = append(runs, s)
		}
	}
	n := len(runs)
	runs = runs[max(0, n-lastRuns):]
	return v.know.learned(v.place, n, func() print {
		p := newPrint
		for _, s := range runs {
			p.run(v.runOf(s, s.To))
		}
		return p
	}, func() drying.Past {
		var ended []drying.Ended
		for _, s := range runs {
			ended = append(ended, drying.Ended{Run: v.runOf(s, s.To)})
		}
		return drying.Learn(ended)
	})
}

// patioLesson is what this site's patios taught that were over when this stay began.
func (v *View) patioLesson() (drying.PatioPast, uint64) {
	lots := v.mill.Closed(state.Patio)
	n := sort.Search(len(lots), func(i int) bool { return lots[i].To > v.stay.From })
	lots = lots[max(0, n-lastLots):n]
	return v.know.learned(patioPast, n, func() print {
		p := newPrint
		for _, s := range lots {
			p.patio(v.patioOf(s, s.To))
		}
		return p
	}, func() drying.Past {
		var ended []drying.EndedPatio
		for _, s := range lots {
			ended = append(ended, drying.EndedPatio{Patio: v.patioOf(s, s.To)})
		}
		return drying.LearnPatio(ended)
	})
}

// print tells what a lesson was learned from: another print is another record.
type print uint64

const newPrint print = 14695981039346656037

func (p *print) add(xs ...uint64) {
	for _, x := range xs {
		*p = (*p ^ print(x)) * 1099511628211
		*p ^= *p >> 29
	}
}

func (p *print) numbers(xs ...float64) {
	for _, x := range xs {
		p.add(math.Float64bits(x))
	}
}

func (p *print) text(s string) {
	p.add(uint64(len(s)))
	for i := range len(s) {
		p.add(uint64(s[i]))
	}
}

func (p *print) at(ts ...time.Time) {
	for _, t := range ts {
		p.add(uint64(state.At(t)))
	}
}

// printTank is the print of a tank that is over.
func (v *View) printTank(s *state.Stay) print {
	p, t := newPrint, v.tankOf(s, s.To)
	p.text(t.Name)
	p.text(t.Class)
	p.add(uint64(s.To), uint64(len(t.Loads)), uint64(len(t.Readings)))
	if v.teaches(s) {
		p.add(1)
	}
	for _, l := range t.Loads {
		p.at(l.At)
		p.numbers(l.Kg)
	}
	for _, r := range t.Readings {
		p.at(r.At)
		p.add(uint64(r.Hand))
		p.numbers(r.Mass, r.Ambient, r.PH)
	}
	p.numbers(t.Site.Altitude, t.Site.Ambient)
	p.add(uint64(t.Site.UsualWarm), uint64(t.Site.UsualCold))
	return p
}

func (p *print) run(r drying.Run) {
	p.readings(r.Readings)
	p.stops(r.Stops)
	p.add(uint64(len(r.Air)), uint64(len(r.Weights)))
	for _, a := range r.Air {
		p.at(a.At)
		p.numbers(a.Inlet, a.Ambient, a.RH)
	}
	for _, w := range r.Weights {
		p.at(w.At)
		p.numbers(w.Kg)
	}
	p.numbers(r.DryKg, r.Target)
}

func (p *print) patio(x drying.Patio) {
	p.readings(x.Readings)
	p.stops(x.Covers)
	p.add(uint64(len(x.Weather)), uint64(len(x.Turned)))
	for _, w := range x.Weather {
		p.at(w.At)
		p.numbers(w.TempC, w.RH, w.Rain)
	}
	p.at(x.Turned...)
	p.numbers(x.DepthCm, x.Target)
	p.text(x.Zone.String())
}

func (p *print) readings(rs []drying.Reading) {
	p.add(uint64(len(rs)))
	for _, r := range rs {
		p.at(r.At)
		p.numbers(r.Moisture, r.Sigma)
	}
}

func (p *print) stops(ss []drying.Stop) {
	p.add(uint64(len(ss)))
	for _, s := range ss {
		p.at(s.From, s.To)
	}
}
