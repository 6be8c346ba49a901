package bot

import (
	"lotbell/rules"
	"lotbell/rules/mass"
	"lotbell/state"
)

// The season in one line, for whoever manages the mill: what came and what became of it, what went
// without a reason, what was dried too far, what is held and what is still there.

// A season is the last months: longer than any harvest with its drying (common practice, no source).
const seasonLasts = 270 * oneDay

// tooDry is how many points under the target a drum was unloaded too dry: more than the error of a
// meter (rules/drying: 0.3) and less than the point that is asked about.
const tooDry = 0.5

// season is what a harvest came to, in kilograms.
type season struct {
	fruit, pulped, dry, lost float64
	between                  map[[2]state.Kind]float64 // lost, by where
	unloaded, dried          int                       // drums with a moisture, and those too dry
	away                     float64                   // weight given away by drying too far
}

// harvest adds the season up.
func (t *turn) harvest() season {
	s := season{between: map[[2]state.Kind]float64{}}
	for _, e := range t.mill.MovesSince(t.at.Add(-seasonLasts)) {
		b := e.Body.(state.Move)
		sum, ok := t.mill.SumOf(e.Seq)
		if !ok || e.At > t.at || len(b.In) == 0 {
			continue
		}
		from, to := state.Kind(""), t.mill.KindOf(b.In[0].Place)
		if len(b.Out) > 0 {
			from = t.mill.KindOf(b.Out[0].Place)
		}
		switch b.Act {
		case state.ActIntake:
			s.fruit += sum.Arrived.Kg()
		case state.ActAdd:
			s.pulped += sum.Arrived.Kg()
		case state.ActStore:
			if from != state.Silo && from != state.Store {
				s.dry += sum.Arrived.Kg()
			}
		case state.ActUnload:
			s.unload(b, sum, t.targetPct())
		}
		if gone := (sum.Lost - sum.Water).Kg(); sum.Dry && gone > 0 {
			s.lost += gone
			s.between[[2]state.Kind{from, to}] += gone
		}
	}
	if s.fruit == 0 {
		s.fruit = s.pulped / mass.PulpedOfFruit
	}
	return s
}

// unload counts a drum that was unloaded, and what it weighs less than it would at the target.
func (s *season) unload(b state.Move, sum state.Sum, target float64) {
	hum := b.In[0].Moisture
	if hum == 0 || target == 0 {
		return
	}
	s.unloaded++
	if hum < target-tooDry {
		s.dried++
		s.away += sum.Arrived.Kg() * ((100-hum)/(100-target) - 1)
	}
}

// targetPct is the moisture at which this mill unloads; 0 when no book says so.
func (t *turn) targetPct() float64 {
	if s, ok := t.mill.Setting(state.SetTarget); ok {
		return s.Number
	}
	return t.watch.Book.Limits["target"].Value
}

// seasonParts are the parts of the season's line. Losses are for a manager alone.
func (t *turn) seasonParts() []string {
	s := t.harvest()
	if s.fruit == 0 && s.dry == 0 {
		return nil
	}
	key, ratio := "season.mass", 0.0
	if ratio = s.fruit / s.dry; s.fruit == 0 || s.dry == 0 {
		key = "season.no-ratio"
	}
	out := []string{t.voice.Say(t.lang(), key, "fruit", amountT(s.fruit), "dry", amountT(s.dry),
		"ratio", plainNumber(ratio, 2))}
	if t.alone {
		out = append(out, t.seasonLoss(s)...)
	}
	held, unsold := 0, 0.0
	for _, stay := range t.mill.OpenStays() {
		if hold := stay.Tag("hold"); hold != "" && hold != "no" {
			held++
		}
		if stay.Kind == state.Silo || stay.Kind == state.Store {
			unsold += stay.Mass.Kg()
		}
	}
	if held > 0 {
		out = append(out, t.voice.Say(t.lang(), "season.held", "n", held))
	}
	return append(out, t.voice.Say(t.lang(), "season.unsold", "t", amountT(unsold)))
}

// seasonLoss tells what went without a reason, most of it where, and by drying too far.
func (t *turn) seasonLoss(s season) []string {
	var out []string
	if s.lost > 0 {
		var most [2]state.Kind
		for k, kg := range s.between {
			if m := s.between[most]; kg > m || kg == m && k[0]+k[1] < most[0]+most[1] {
				most = k
			}
		}
		out = append(out, t.voice.Say(t.lang(), "season.lost", "t", amountT(s.lost), "from",
			t.kindName(most[0]), "to", t.kindName(most[1])))
	}
	if s.dried > 0 {
		out = append(out, t.voice.Say(t.lang(), "season.dry", "n", s.dried, "all", s.unloaded, "t",
			amountT(s.away)))
	}
	return out
}

// amountT is a mass in tonnes, or in kilograms where a tonne is too coarse.
func amountT(kg float64) string {
	if kg < 1000 {
		return plainNumber(kg, 0) + " kg"
	}
	return tonnes(kg) + " t"
}

// seasonLines answers season?, to a manager on a phone of their own.
func (t *turn) seasonLines() []string {
	if !t.person.Is(state.Manager) || t.hereShared() {
		return []string{t.voice.Say(t.lang(), "season.private")}
	}
	t.alone = true
	defer func() { t.alone = false }()
	text := t.manager(&rules.Summary{Shows: []string{"season"}}, t.lang(), t.at)
	return []string{text}
}
