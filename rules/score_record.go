package rules

import (
	"math"
	"time"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/rules/record"
)

// RunOf is a drum's record in the plain numbers of the computation. past are earlier records of
// the same drum in the order in which they ended; what they teach is in the run. The target is in
// percent wet basis.
func RunOf(s record.Sheet, past []record.Sheet, target float64) drying.Run {
	r := scoreRun(s, target)
	var ended []drying.Ended
	for _, p := range past {
		ended = append(ended, drying.Ended{Run: scoreRun(p, target)})
	}
	r.Past = drying.Learn(ended)
	return r
}

// TankOf is a tank's record in the same way; past are earlier records of the same mill. A mill's
// altitude and habits are in no record, so they count as unknown.
func TankOf(s record.Sheet, past []record.Sheet) ferment.Tank {
	t := scoreTank(s)
	var stays []ferment.Stay
	for _, p := range past {
		stays = append(stays, ferment.Stay{Tank: scoreTank(p)})
	}
	t.Past = ferment.Learn(stays)
	return t
}

// PatioOf is a patio's record in the same way; past are earlier records of the same site.
func PatioOf(s record.Sheet, past []record.Sheet, target float64) drying.Patio {
	p := scorePatio(s, target)
	var ended []drying.EndedPatio
	for _, e := range past {
		ended = append(ended, drying.EndedPatio{Patio: scorePatio(e, target)})
	}
	p.Past = drying.LearnPatio(ended)
	return p
}

// scoreRun reads a drum's rows. A fire that was said to be out is out until it is said to be on.
func scoreRun(s record.Sheet, target float64) drying.Run {
	r := drying.Run{Target: target, Readings: scoreReadings(s)}
	var fire scoreStretches
	for _, x := range s.Rows {
		if !math.IsNaN(x.Inlet) || !math.IsNaN(x.Ambient) || !math.IsNaN(x.RH) {
			r.Air = append(r.Air, drying.Air{At: x.At, Inlet: x.Inlet, Ambient: x.Ambient, RH: x.RH})
		}
		if !math.IsNaN(x.Weight) {
			r.Weights = append(r.Weights, drying.Weight{At: x.At, Kg: x.Weight})
		}
		fire.note(x.At, x.Fire == record.No, x.Fire == record.Yes)
	}
	r.Stops = fire
	return r
}

// scorePatio reads a patio's rows. A row that tells of rain alone keeps the air of the row before.
func scorePatio(s record.Sheet, target float64) drying.Patio {
	p := drying.Patio{Target: target, Readings: scoreReadings(s)}
	var cover scoreStretches
	temp, rh := math.NaN(), math.NaN()
	for _, x := range s.Rows {
		if !math.IsNaN(x.Ambient) && !math.IsNaN(x.RH) {
			temp, rh = x.Ambient, x.RH
		} else if !(x.Rain > 0) {
			temp, rh = math.NaN(), math.NaN()
		}
		if !math.IsNaN(temp) {
			p.Weather = append(p.Weather, drying.Weather{At: x.At, TempC: temp, RH: rh, Rain: x.Rain})
		}
		if !math.IsNaN(x.Depth) {
			p.DepthCm = x.Depth
		}
		if x.Turned == record.Yes {
			p.Turned = append(p.Turned, x.At)
		}
		cover.note(x.At, x.Covered == record.Yes, x.Covered == record.No)
	}
	p.Covers = cover
	return p
}

// scoreReadings are the moistures of a drum or patio, each with its method's error.
func scoreReadings(s record.Sheet) []drying.Reading {
	var out []drying.Reading
	for _, x := range s.Rows {
		if math.IsNaN(x.Moisture) {
			continue
		}
		r := drying.Reading{At: x.At, Moisture: x.Moisture, Hot: x.Method == "hot-meter"}
		if x.Method != "" {
			r.Sigma = drying.Sigma(x.Method, x.Moisture)
		}
		out = append(out, r)
	}
	return out
}

// scoreTank reads a tank's rows. A row may tell of a load and of a reading at once; one that tells of
// a load alone is no reading.
func scoreTank(s record.Sheet) ferment.Tank {
	t := ferment.Tank{Site: ferment.NewSite()}
	for _, x := range s.Rows {
		if x.Added > 0 {
			t.Loads = append(t.Loads, ferment.Load{At: x.At, Kg: x.Added})
		}
		r := ferment.Reading{At: x.At, Mass: x.Mass, Ambient: x.Ambient, PH: x.PH}
		switch x.Hand {
		case record.Rough:
			r.Hand = ferment.Rough
		case record.Slippery:
			r.Hand = ferment.Slippery
		}
		if !math.IsNaN(r.Mass) || !math.IsNaN(r.Ambient) || !math.IsNaN(r.PH) ||
			r.Hand != ferment.NotTested {
			t.Readings = append(t.Readings, r)
		}
	}
	return t
}

// scoreStretches are the stretches between a word that begins one and a word that ends it. A word
// said twice counts once; a last stretch that nobody ended stays open.
type scoreStretches []drying.Stop

func (s *scoreStretches) note(at time.Time, begins, ends bool) {
	n := len(*s)
	open := n > 0 && (*s)[n-1].To.IsZero()
	switch {
	case begins && !open:
		*s = append(*s, drying.Stop{From: at})
	case ends && open:
		(*s)[n-1].To = at
	}
}
