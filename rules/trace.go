package rules

import (
	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/state"
)

// Trace is what a stay has shown up to an instant, in the plain numbers that its forecast is made
// of. The zero value is a stay that has shown nothing.
type Trace struct {
	Moistures []drying.Reading // % wet basis
	Stops     []drying.Stop    // of a drum: fire out, machine or power stood
	Target    float64          // % wet basis at which it is to leave; 0: none
	Tank      []ferment.Reading
}

// Trace is what the view's stay has shown; nothing without a stay.
func (v *View) Trace() Trace {
	if v.stay == nil {
		return Trace{}
	}
	t := Trace{Moistures: v.moistures(v.stay, v.at)}
	switch v.stay.Kind {
	case state.Tank:
		t.Tank = v.tankOf(v.stay, v.at).Readings
	case state.Drum, state.Predryer:
		t.Stops, t.Target = v.stops(v.stay, v.at), v.target()
	case state.Patio:
		t.Target = v.patioTarget()
	}
	return t
}
