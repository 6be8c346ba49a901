package drying

import (
	"fmt"
	"math"
	"testing"
)

// Air of 20 °C and 70 % simply heated: the law's times computed apart from this code.
func TestThinLayerTable(t *testing.T) {
	for _, c := range []struct{ air, rh, me, k, to105, to12, from35, from30 float64 }{
		{35, .291, 7.86, .0483, 55.7, 48.7, 41.2, 36.7},
		{40, .222, 6.84, .0665, 37.8, 33.8, 27.2, 24.0},
		{45, .171, 5.88, .0885, 27.1, 24.5, 19.1, 16.7},
		{50, .133, 5.01, .1150, 20.2, 18.4, 14.0, 12.2},
		{55, .104, 4.24, .1466, 15.4, 14.2, 10.6, 9.1},
		{60, .082, 3.57, .1841, 12.1, 11.1, 8.2, 7.1},
	} {
		rh := HeatedRH(20, .7, c.air)
		what := fmt.Sprintf("%g °C: ", c.air)
		near(t, what+"humidity", rh, c.rh, 6e-4)
		near(t, what+"equilibrium, wet basis", wet(Equilibrium(c.air, rh)), c.me, .01)
		near(t, what+"k", DryingConstant(c.air, rh), c.k, 6e-5)
		near(t, what+"53 to 10.5", ThinLayerHours(53, 10.5, c.air, rh), c.to105, .06)
		near(t, what+"53 to 12", ThinLayerHours(53, 12, c.air, rh), c.to12, .06)
		near(t, what+"35 to 10.5", ThinLayerHours(35, 10.5, c.air, rh), c.from35, .06)
		near(t, what+"30 to 10.5", ThinLayerHours(30, 10.5, c.air, rh), c.from30, .06)
	}
	near(t, "55 °C humidity", HeatedRH(20, .7, 55), .10388, 1e-5)
	near(t, "55 °C equilibrium", Equilibrium(55, HeatedRH(20, .7, 55)), 4.4227, 1e-3)
	near(t, "55 °C end", ThinLayerHours(53, 10.5, 55, HeatedRH(20, .7, 55)), 15.42, .02)
}

// Times to a fifth of the free water as a third party reads them from the law: 8.6 h at 60 °C and
// 20 %, 11.6 h at 50 °C and 10 %.
func TestThinLayerToFifth(t *testing.T) {
	for _, c := range []struct{ air, rh, hours float64 }{{60, .2, 8.588}, {50, .1, 11.58}} {
		me := Equilibrium(c.air, c.rh)
		to := wet(me + .2*(dry(53)-me))
		near(t, fmt.Sprintf("%g °C", c.air), ThinLayerHours(53, to, c.air, c.rh), c.hours, .01)
	}
}

func TestThinLayerEdges(t *testing.T) {
	if h := ThinLayerHours(10, 11, 50, .1); h != 0 {
		t.Errorf("already dry: %g h", h)
	}
	if h := ThinLayerHours(53, 10.5, 20, .65); !math.IsInf(h, 1) {
		t.Errorf("air of 20 °C and 65 %% leaves 11.66 %%, yet 10.5 %% after %g h", h)
	}
}

// Measured beds of 0.2 m to 11 % over the law's time (AIMS Agric. Food 2023,
// doi 10.3934/agrfood.2023042): 35, 45 and 55 °C took 71.52, 29.10 and 20.35 h.
func TestMeasuredBeds(t *testing.T) {
	mean := 1.0
	for air, hours := range map[float64]float64{35: 71.52, 45: 29.10, 55: 20.35} {
		bed := hours / ThinLayerHours(53, 11, air, HeatedRH(20, .7, air))
		if bed < 1.02 || bed > 1.42 {
			t.Errorf("bed factor %.2f at %g °C", bed, air)
		}
		mean *= math.Pow(bed, 1./3)
	}
	near(t, "mean bed factor", mean, BedFactor, .08)
}

// Every shape's age falls with moisture, its slope is the change of age, and all meet the law's at
// the anchor.
func TestShapes(t *testing.T) {
	u, _ := usualAir(dawn, &Run{}, nil)
	sc := newScale(u, dry(50), dry(20))
	for shape := range shapes {
		was := math.Inf(1)
		for w := 8.0; w < 50; w += .5 {
			m, step := dry(w), .01
			age, slope := sc.at(shape, m)
			if age >= was {
				t.Errorf("shape %d: age %g at %g %% after %g", shape, age, w, was)
			}
			was = age
			below, _ := sc.at(shape, m-step)
			above, _ := sc.at(shape, m+step)
			near(t, fmt.Sprintf("shape %d slope at %g %%", shape, w), slope,
				(below-above)/(2*step), 2e-3*slope)
		}
		_, own := sc.at(shape, dry(20))
		_, laws := sc.at(law, dry(20))
		near(t, fmt.Sprintf("shape %d at the anchor", shape), own, laws, 1e-9)
	}
}
