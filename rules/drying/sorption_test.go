package drying

import (
	"fmt"
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}

// Roa's equation recomputed from the published coefficients (Trejos and others 1989) apart from
// this code, percent dry basis.
func TestEquilibriumGrid(t *testing.T) {
	temps := []float64{10, 20, 25, 30, 40, 55}
	for rh, row := range map[float64][]float64{
		.30: {9.98, 9.42, 9.15, 8.89, 8.39, 7.70},
		.40: {11.17, 10.53, 10.23, 9.93, 9.37, 8.58},
		.50: {12.06, 11.43, 11.12, 10.83, 10.26, 9.46},
		.55: {12.53, 11.91, 11.62, 11.33, 10.78, 9.99},
		.60: {13.07, 12.49, 12.21, 11.93, 11.39, 10.64},
		.65: {13.75, 13.20, 12.93, 12.67, 12.15, 11.43},
		.70: {14.62, 14.09, 13.84, 13.59, 13.10, 12.41},
		.75: {15.72, 15.23, 14.98, 14.75, 14.28, 13.62},
		.80: {17.11, 16.64, 16.41, 16.18, 15.74, 15.10},
	} {
		for i, want := range row {
			near(t, fmt.Sprintf("equilibrium at %g °C, %g", temps[i], rh),
				Equilibrium(temps[i], rh), want, .006)
		}
	}
	near(t, "20 °C 65 %, wet basis", wet(Equilibrium(20, .65)), 11.6597, 1e-3)
	near(t, "25 °C 70 %, wet basis", wet(Equilibrium(25, .70)), 12.1572, 1e-3)
	near(t, "25 °C 60 %, wet basis", wet(Equilibrium(25, .60)), 10.8778, 1e-3)
	if !math.IsNaN(Equilibrium(20, 65)) || !math.IsNaN(Equilibrium(20, math.NaN())) {
		t.Error("a humidity that cannot be gave a moisture")
	}
}

// A paper of 2008 prints q1 = −0.03049; Trejos' own data give 0.53 against 3.26 points of error.
func TestMisprintGuard(t *testing.T) {
	if q1 != -0.037049 {
		t.Errorf("q1 = %g, want −0.037049 as in Trejos 1989", q1)
	}
	misprint := Equilibrium(25, .6) * math.Exp(.6*(-.03049+.037049)*25)
	near(t, "with the misprint", misprint, 13.467, .001)
	near(t, "without", Equilibrium(25, .6), 12.2055, .001)
}

// Published bulletin points (ANACAFÉ: 10–12 % at 20 °C, 65 %; Gautz and others 2008: about 12 % at
// 70 %) within half a point, and the general seed equation of Cromarty, Ellis and Roberts (1982),
// with 15 % oil, at 25 °C within its 0.4 points of dry basis.
func TestSecondSources(t *testing.T) {
	if w := wet(Equilibrium(20, .65)); w < 10 || w > 12 {
		t.Errorf("store of 20 °C and 65 %%: %g %%", w)
	}
	near(t, "70 %", wet(Equilibrium(25, .7)), 12, .5)
	for _, rh := range []float64{.5, .6, .7, .8} {
		cromarty := (1 - .15) * math.Sqrt(-440*math.Log(1-rh)) / (1.1 + 25.0/90)
		near(t, fmt.Sprintf("Cromarty at %g", rh), Equilibrium(25, rh), cromarty, .41)
	}
}

// The inverse at the same coefficients: water activity by moisture (wet basis) and temperature.
func TestWaterActivity(t *testing.T) {
	temps := []float64{15, 20, 22, 25, 30}
	for w, row := range map[float64][]float64{
		10:   {.429, .465, .478, .499, .529},
		10.5: {.499, .532, .544, .560, .585},
		11:   {.564, .590, .599, .612, .631},
		11.5: {.617, .637, .644, .654, .669},
		12:   {.660, .676, .682, .690, .702},
		12.5: {.697, .709, .714, .721, .731},
		13:   {.728, .739, .743, .748, .757},
	} {
		for i, want := range row {
			near(t, fmt.Sprintf("water activity of %g %% at %g °C", w, temps[i]),
				WaterActivity(temps[i], dry(w)), want, 6e-4)
		}
	}
	if !math.IsNaN(WaterActivity(25, 80)) || !math.IsNaN(WaterActivity(25, -1)) {
		t.Error("wetter than any air, or less than dry, gave a water activity")
	}
}

// More humid air never leaves drier coffee, so that the inverse has one answer.
func TestEquilibriumRises(t *testing.T) {
	for temp := 5.0; temp <= 60; temp += 5 {
		for rh := .0; rh < 1; rh += .01 {
			if Equilibrium(temp, rh+.01) <= Equilibrium(temp, rh) {
				t.Errorf("at %g °C falls at %.2f", temp, rh)
			}
		}
	}
}

// Trejos and others 1989 eq. 6.
func TestLatentHeat(t *testing.T) {
	near(t, "50 °C, 10.5 % wet basis", LatentHeat(50, 11.73), 2653.8, .5)
	near(t, "20 °C, 50 % dry basis", LatentHeat(20, 50), 2453.9, .5)
	for m, want := range map[float64]float64{10: 2777, 15: 2516, 20: 2427, 30: 2386, 50: 2381} {
		near(t, fmt.Sprintf("50 °C, %g %% dry basis", m), LatentHeat(50, m), want, 1)
	}
}

// Definition: 10.5 % wet is 11.7318 % dry, 53 % is 112.766 %.
func TestBases(t *testing.T) {
	near(t, "10.5 %", dry(10.5), 11.7318, 1e-3)
	near(t, "53 %", dry(53), 112.766, 1e-3)
	near(t, "and back", wet(112.766), 53, 1e-4)
}
