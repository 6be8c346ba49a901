package drying

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestDbg(t *testing.T) {
	fam := families()[3]
	for seed := range uint64(150) {
		p := fam.make(rand.New(rand.NewPCG(seed, 5)))
		run, end := simulate(p, seed)
		look := end.Add(-hours(6))
		cut := until(run, look)
		if len(cut.Readings) < 4 || p.pending(look) {
			continue
		}
		f := cut.Forecast()
		e := f.Likely.Sub(end).Hours()
		if math.Abs(e) < 1.8 {
			continue
		}
		last := cut.Readings[len(cut.Readings)-1].At
		u, _ := usualAir(dawn, &cut, cut.Stops)
		fmt.Printf("seed %d err %+.2f ref %+.2f  status %s odd %v found %v bed %.2f true %.2f air %.1f true %.0f+drift %.1f\n", seed, e, reference(u.me)(cut)-end.Sub(last).Hours(), f.Status, !f.Reason.Odd.IsZero(), f.Reason.StopFound, f.Reason.Bed, p.bed, u.inlet, p.airC, p.drift)
		for i, x := range run.Readings {
			m := ""
			if x.At.After(look) {
				m = "*"
			}
			fmt.Printf("  %.1f:%.1f@%.0f%s", x.At.Sub(dawn).Hours(), x.Moisture, run.Air[i].Inlet, m)
		}
		fmt.Printf("\n   stop %.1f-%.1f target %.1f\n", p.stops[0].From.Sub(dawn).Hours(), p.stops[0].To.Sub(dawn).Hours(), p.target)
	}
}
