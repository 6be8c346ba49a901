package drying

import (
	"testing"
)

func BenchmarkForecast(b *testing.B) {
	run, _ := simulate(plan{airC: 52, bed: 1.25, start: 53, target: 11, noise: .3, swing: 2.5, step: .5}, 3)
	run.Readings, run.Air = run.Readings[:40], run.Air[:40]
	b.ReportAllocs()
	for b.Loop() {
		run.Forecast()
	}
}
