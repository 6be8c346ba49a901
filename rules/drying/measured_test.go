package drying

import (
	"fmt"
	"math"
	"testing"
)

var geankoplis = [][2]float64{{0, 31.315}, {0.4, 29.748}, {0.8, 27.703}, {1.4, 24.807}, {2.2, 20.956}, {3, 16.972}, {4.2, 12.643}, {5, 10.226}, {7, 6.746}, {9, 5.657}, {12, 5.046}}

func TestGeankoplis(t *testing.T) {
	for _, stretch := range []float64{1, 3, .2} {
		for _, target := range []float64{12.643, 10.226, 8, 6.746} {
			var run Run
			run.Target = wet(target)
			end := math.NaN()
			for i, p := range geankoplis {
				run.Readings = append(run.Readings, Reading{At: dawn.Add(hours(p[0] * stretch)), Moisture: wet(p[1])})
				run.Air = append(run.Air, Air{dawn.Add(hours(p[0] * stretch)), 50, 20, .7})
				if i > 0 && p[1] <= target && geankoplis[i-1][1] > target {
					q := geankoplis[i-1]
					end = stretch * (q[0] + (p[0]-q[0])*(q[1]-target)/(q[1]-p[1]))
				}
			}
			for _, part := range []float64{.5, .75, .875} {
				cut := until(run, dawn.Add(hours(part*end)))
				if len(cut.Readings) < 4 {
					continue
				}
				last := cut.Readings[len(cut.Readings)-1].At
				truth := end - last.Sub(dawn).Hours()
				f := cut.Forecast()
				fmt.Printf("x%g target %.1f part %.3f n %d left %.2f own %+.2f [%+.2f %+.2f] two %+.2f line %+.2f ref %+.2f\n", stretch, target, part, len(cut.Readings), truth,
					f.Likely.Sub(last).Hours()-truth, f.Early.Sub(last).Hours()-truth, f.Late.Sub(last).Hours()-truth, twoLines(5.05)(cut)-truth, lastThree(cut)-truth, reference(5.05)(cut)-truth)
			}
		}
	}
}
