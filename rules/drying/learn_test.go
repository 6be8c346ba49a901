package drying

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func TestLearnGain(t *testing.T) {
	for _, fam := range families() {
		for li, lead := range leads {
			var with, without tally
			for drum := range uint64(40) {
				rng := rand.New(rand.NewPCG(drum, 11))
				base := fam.make(rng)
				var past []Ended
				for k := range uint64(7) {
					p := fam.make(rng)
					p.bed, p.page, p.strength, p.flat, p.airC = base.bed*(1+.04*rng.NormFloat64()), base.page, base.strength, base.flat, base.airC+2*rng.NormFloat64()
					run, end := simulate(p, drum*100+k)
					if end.IsZero() {
						continue
					}
					if k < 6 {
						past = append(past, Ended{Run: run, End: end})
						continue
					}
					cut := run.Until(end.Add(-hours(lead)))
					if len(cut.Readings) < 4 || p.pending(end.Add(-hours(lead))) {
						continue
					}
					f := cut.Forecast()
					if f.Likely.IsZero() {
						continue
					}
					cut.Past = Learn(past)
					g := cut.Forecast()
					without.add(f.Likely.Sub(end).Hours())
					with.add(g.Likely.Sub(end).Hours())
					if !g.Early.After(end) && !g.Late.Before(end) {
						with.in++
					}
					if !f.Early.After(end) && !f.Late.Before(end) {
						without.in++
					}
					if drum == 0 && li == 1 {
						fmt.Printf("   bed %.2f past %+v\n", p.bed, cut.Past)
					}
				}
			}
			n := float64(len(with.errs))
			fmt.Printf("%-22s %2g h without %.2f cover %.0f%%  with %.2f cover %.0f%% n %g\n", fam.name, lead, without.mean(), 100*float64(without.in)/n, with.mean(), 100*float64(with.in)/n, n)
		}
	}
}
