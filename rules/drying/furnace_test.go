package drying

import (
	"math/rand/v2"
	"testing"
)

// looks are looks at the dial every two hours.
func looks(inlets ...float64) (out []dial) {
	for i, inlet := range inlets {
		out = append(out, dial{2 * float64(i), inlet})
	}
	return out
}

// A fire that burns alike has the mean of its looks and little doubt; one half seen to change lies
// between and is doubted; one seen often enough is believed. A single low look may be warming air.
func TestSettled(t *testing.T) {
	alike := settled(looks(50, 51, 49, 50, 51, 49), 20)
	near(t, "alike", alike.level, 50, .3)
	once := settled(looks(50, 51, 49, 50, 51, 58), 20)
	if once.level < 51.5 || once.level > 57 || once.doubt < 2*alike.doubt {
		t.Errorf("seen once hotter: %+v", once)
	}
	often := settled(looks(50, 51, 49, 50, 51, 58, 59, 57, 58), 20)
	near(t, "seen often", often.level, 58, 1)
	if often.up != 10 || often.doubt > once.doubt || alike.up != 0 {
		t.Errorf("seen often: %+v", often)
	}
	low := settled(looks(50, 51, 49, 50, 51, 42), 20)
	if 50-low.level > (once.level-50)*.8 {
		t.Errorf("one low look moves to %.1f, one high look to %.1f", low.level, once.level)
	}
	if calm, rough := alike.swing, settled(looks(47, 54, 45, 53, 50, 46), 20).swing; rough < 1.5*calm {
		t.Errorf("swings %.1f and %.1f", calm, rough)
	}
	crowd := looks(50, 51, 49, 50, 51, 58)
	for i := range 9 {
		crowd = append(crowd, dial{10 + float64(i+1)/60, 58})
	}
	near(t, "ten looks in ten minutes", settled(crowd, 20).level, once.level, 1)
}

// What is not known of the fire is in the windows: those of drums whose fire was stoked up or let
// down late hold nearly as often as they say, of drums that nothing was set on. With 100 drums or
// more to each line a share is good to four points.
func TestWindowsOfChangedFires(t *testing.T) {
	for i, lead := range []float64{6, 3, 1} {
		var s share
		for drum := range uint64(240) {
			rng := rand.New(rand.NewPCG(640_000+drum, 8))
			p := fire(rng)
			p.stoked, p.hotter = within(rng, 5, 14), within(rng, 4, 9)
			if drum%2 == 0 {
				p.hotter = -p.hotter
			}
			run, _ := simulate(p, 640_000+drum)
			end, ok := run.Reached()
			if at := end.Add(-hours(lead)); ok && !p.pending(at) {
				s.add(run.Until(at).Forecast(), end)
			}
		}
		t.Logf("%g h: held %.0f %% of %d, before %d, after %d", lead, 100*s.held(),
			s.in+s.before+s.after, s.before, s.after)
		if least := [3]float64{.68, .68, .70}[i]; s.held() < least || s.held() > .90 {
			t.Errorf("%g h: held %.0f %%", lead, 100*s.held())
		}
	}
}
