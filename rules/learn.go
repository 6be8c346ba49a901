package rules

import (
	"hash/maphash"
	"math"
	"sort"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/rest"
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
			if i >= len(ended) || t.chain[i].of != v.printOf(ended[i]) {
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
		next.of = v.printOf(s)
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

// longestTank is the time over which a tank was forgotten in the book and not in the mill: the
// published range ends at 72 h (the same), and a day more is left for cold and for clocks.
const longestTank = 96 * time.Hour

// printOf is the print of one stay that is over.
func (v *View) printOf(s *state.Stay) print {
	p, ok := v.know.prints[s.ID]
	if !ok {
		p = newPrint
		p.stay(v, s)
		v.know.prints[s.ID] = p
	}
	return p
}

// teaches says whether a tank's end says something about fermentation.
func (v *View) teaches(s *state.Stay) bool {
	if s.To.Sub(s.LastIn(s.To)) < shortestTank || s.To.Sub(s.From) > longestTank {
		return false // washed by mistake, or the book is wrong
	}
	process := s.Tag("process")
	return s.Left == state.ActWash && (process == "" || process == "washed")
}

// lesson is what the runs of a drum, the lots of the patios or of the silos taught that were over
// when a stay began: with their print, and when it was last looked through.
type lesson struct {
	of     print
	past   any // a drying.Past or a *rest.Past
	id     uint64
	looked uint64
	ended  int // stays of the kind that were over then
}

// lessonOf finds what the stays before the view's taught, or learns it. It is learned anew only
// when their print has changed. Stays that saw the same end before them share what was learned.
func lessonOf[P any](v *View, last int, before func() []*state.Stay,
	learn func([]*state.Stay) P) (P, uint64) {
	k, ended := v.know, len(v.mill.Closed(v.stay.Kind))
	x, ok := k.learnedOf[v.stay.ID]
	if ok && x.looked == k.looked && x.ended == ended {
		return x.past.(P), x.id
	}
	runs := before()
	runs = runs[max(0, len(runs)-last):]
	of := newPrint
	of.text(string(v.stay.Kind))
	for _, s := range runs {
		of.add(uint64(v.printOf(s)))
	}
	if !ok || x.of != of {
		if x, ok = k.learned[of]; !ok {
			x = lesson{of: of, past: learn(runs), id: k.lesson()}
			k.learned[of] = x
		}
	}
	x.looked, x.ended = k.looked, ended
	k.learnedOf[v.stay.ID] = x
	return x.past.(P), x.id
}

// How many of the last runs of a drum, or lots elsewhere, teach: ways change within a season,
// and learning has its cost.
const (
	lastRuns = 12
	lastLots = 20
)

// drumLesson is what this drum's runs taught that were over when this one began.
func (v *View) drumLesson() (drying.Past, uint64) {
	return lessonOf(v, lastRuns, func() []*state.Stay {
		var runs []*state.Stay
		for _, s := range v.mill.Closed(v.stay.Kind) {
			if s.Place == v.place && s.To <= v.stay.From {
				runs = append(runs, s)
			}
		}
		return runs
	}, func(runs []*state.Stay) drying.Past {
		var ended []drying.Ended
		for _, s := range runs {
			ended = append(ended, drying.Ended{Run: v.runOf(s, s.To)})
		}
		return drying.Learn(ended)
	})
}

// patioLesson is what this site's patios taught that were over when this stay began.
func (v *View) patioLesson() (drying.PatioPast, uint64) {
	return lessonOf(v, lastLots, v.endedBefore, func(lots []*state.Stay) drying.PatioPast {
		var ended []drying.EndedPatio
		for _, s := range lots {
			ended = append(ended, drying.EndedPatio{Patio: v.patioOf(s, s.To)})
		}
		return drying.LearnPatio(ended)
	})
}

// restLesson is how fast the lots of this mill's silos, or of its stores, have followed the air.
func (v *View) restLesson() (*rest.Past, uint64) {
	return lessonOf(v, lastLots, v.endedBefore, func(lots []*state.Stay) *rest.Past {
		var ended []rest.Lot
		for _, s := range lots {
			ended = append(ended, v.restOf(s, s.To))
		}
		return rest.Learn(ended)
	})
}

// endedBefore lists the stays of the view's kind that were over when its own began.
func (v *View) endedBefore() []*state.Stay {
	lots := v.mill.Closed(v.stay.Kind)
	return lots[:sort.Search(len(lots), func(i int) bool { return lots[i].To > v.stay.From })]
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

func (p *print) text(s string) { p.add(maphash.String(seed, s)) }

// seed makes the prints of one run of the program; they are compared with each other only.
var seed = maphash.MakeSeed()

// stay adds all that a lesson of a stay that is over may rest on: what it was, what was read and
// noted of it, the weather and the stops of its time, and what the mill says of itself.
func (p *print) stay(v *View, s *state.Stay) {
	place, _ := v.mill.Place(s.Place)
	for _, word := range []string{s.Place, s.Left, s.Tag("class"), s.Tag("process"),
		place.DialWhere, place.Cover, v.know.zone(v.mill).String()} {
		p.text(word)
	}
	p.add(uint64(s.ID.Opened), uint64(s.ID.Lot), uint64(s.From), uint64(s.To))
	p.numbers(s.Moist, v.target(), v.patioTarget())
	for _, l := range s.Loads {
		p.add(uint64(l.At), uint64(l.Mass))
	}
	if s.Kind == state.Tank {
		site := v.tankSite(s.Place, s.To)
		p.numbers(site.Altitude, site.Ambient)
		p.add(uint64(site.UsualWarm), uint64(site.UsualCold))
	} else {
		for _, x := range v.stops(s, s.To) {
			p.add(uint64(state.At(x.From)), uint64(state.At(x.To)))
		}
		air := v.mill.Line(v.airPlace(), s.To)
		first := s.From.Add(-airHolds)
		p.events(air[sort.Search(len(air), func(i int) bool { return air[i].At >= first }):])
	}
	p.events(v.mill.During(s, s.To))
}

// events adds readings and notes.
func (p *print) events(es []*state.Event) {
	p.add(uint64(len(es)))
	for _, e := range es {
		p.add(uint64(e.Seq), uint64(e.At))
		switch b := e.Body.(type) {
		case state.Reading:
			p.text(b.What)
			p.text(b.Method)
			p.add(uint64(b.Lot))
			p.numbers(b.Value)
			if b.Hot {
				p.add(1)
			}
		case state.Note:
			p.text(b.What)
			p.add(uint64(b.Lot))
		}
	}
}
