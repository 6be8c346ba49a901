package drying

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func TestStatusDbg(t *testing.T) {
	for _, fam := range families() {
		count := map[Status]int{}
		inStall := map[Status]int{}
		delay, det, n := 0.0, 0, 0
		for seed := range uint64(100) {
			p := fam.make(rand.New(rand.NewPCG(seed, 5)))
			run, end := simulate(p, seed)
			n++
			found := false
			for _, x := range run.Readings {
				if x.At.After(end) {
					break
				}
				cut := run.Until(x.At)
				f := cut.Forecast()
				h := x.At.Sub(dawn).Hours()
				if p.stall > 0 && h > p.stall+2 {
					inStall[f.Status]++
					if f.Status == Stalling && !found {
						found = true
						det++
						delay += h - p.stall
					}
				} else {
					count[f.Status]++
				}
			}
		}
		fmt.Printf("%-22s %v | after stall %v detected %d/%d delay %.1f\n", fam.name, count, inStall, det, n, delay/float64(max(1, det)))
	}
}
