package ferment

import (
	"math/rand/v2"
	"testing"
)

// tenReadings is a tank with ten readings, two hand tests and a pH, in a mill with a past.
func tenReadings() Tank {
	m := someMill(3)
	m.probe = true
	var stays []Stay
	for _, b := range m.run(30) {
		stays = append(stays, b.stay)
	}
	t := filled()
	for i := range 10 {
		r := mass(float64(i)*1.5, 19+float64(i%4))
		if i > 7 {
			r.Hand = Slippery
		}
		if i == 6 {
			r.PH = 4.9
		}
		t.Readings = append(t.Readings, r)
	}
	t.Past = Learn(stays)
	return t
}

func BenchmarkForecast(b *testing.B) {
	t := tenReadings()
	b.ReportAllocs()
	for b.Loop() {
		t.Forecast()
	}
}

func BenchmarkLearnOneMore(b *testing.B) {
	m := mill{rng: rand.New(rand.NewPCG(1, 2)), ambient: 19, hours: 23, scatter: 0.15,
		heating: 4, probe: true, tests: 2}
	var p *Past
	bs := m.run(20)
	for _, x := range bs {
		p = p.And(x.stay)
	}
	b.ReportAllocs()
	for b.Loop() {
		p.And(bs[7].stay)
	}
}
