package rules

import (
	"math"
	"time"

	"lotbell/state"
)

// moreFacts are those that a mill asks for in its first weeks.
func moreFacts() []*Fact {
	on := stayKinds()
	return []*Fact{
		{Name: "sample_open", On: append(on, OnGuard), Unit: YesNo,
			Doc: "a buyer's sample of the lot is out and not answered",
			get: func(v *View) Value {
				if v.stay == nil {
					return unknown()
				}
				t := v.stay.Tag("sample")
				return truth(t == "sent" || t == "open")
			}},
		{Name: "loss_pct", On: on, Unit: Percent,
			Doc: "what was lost on the way here beyond drying, % of what was due; cannot be told " +
				"unless both sides were weighed and their moisture is known",
			get: func(v *View) Value { return v.unexplained() }},
		{Name: "drum_hours", On: []string{OnMill}, Unit: Hours, Moves: Steps,
			Doc: "hours of fire that the drums with coffee need, by their forecasts, " +
				"as of the full hour",
			get:  func(v *View) Value { return number(v.drumHours()) },
			next: nextHour},
	}
}

// unexplained is the loss of the move that brought the stay, less the water that drying explains,
// in percent of what was due to arrive: as the sum of two weighings has it.
func (v *View) unexplained() Value {
	if v.stay == nil {
		return unknown()
	}
	sum, ok := v.mill.SumOf(v.stay.ID.Opened)
	if !ok || sum.Taken == 0 || sum.Found > 0 || sum.Lost > 0 && !sum.Dry {
		return unknown()
	}
	return number(100 * float64(sum.Lost-sum.Water) / float64(sum.Taken-sum.Water))
}

// drumHours adds up the hours to the likely end of every drum that has a forecast, as of the last
// full hour: so it changes with the hour and not from one instant to the next.
func (v *View) drumHours() float64 {
	sum, hour := 0.0, nextHour(v).Add(-time.Hour)
	for _, s := range v.drums() {
		if likely := state.At(v.over(s).dryAhead().Likely); likely > hour {
			sum += likely.Sub(hour).Hours()
		}
	}
	return math.Round(sum*10) / 10
}
