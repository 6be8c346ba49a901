package state

import (
	"math"
	"testing"
)

// TestKgStaysInRange: no figure that is said turns a mass into its opposite, and a thousand such masses
// still add up.
func TestKgStaysInRange(t *testing.T) {
	for _, kg := range []float64{1e20, 1e300, math.Inf(1), 9.3e15} {
		g := Kg(kg)
		if g <= 0 || Kg(-kg) != -g || 1000*g < g {
			t.Errorf("%g kg: %d g", kg, g)
		}
	}
	if g := Kg(math.NaN()); g != 0 {
		t.Errorf("no number: %d g", g)
	}
	if g := Kg(4200.0004); g != 4200000 {
		t.Errorf("4200.0004 kg: %d g", g)
	}
}
