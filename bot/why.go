package bot

import (
	"math"
	"strings"

	"lotbell/rules/drying"
	"lotbell/rules/ferment"
	"lotbell/state"
)

// why tells what an answer rests on: readings, model, learned values, and the comparisons of the
// calls that stand.
func (t *turn) why(f Fact) {
	if f.Place == "" {
		t.whyCall(f)
		return
	}
	stays := t.mill.StaysAt(f.Place)
	if len(stays) == 0 {
		t.lines = append(t.lines, t.statusLine(f.Place))
		return
	}
	s := stays[0]
	v, of := t.look(f.Place, t.at)
	switch s.Kind {
	case state.Tank:
		t.whyTank(f.Place, v.Tank())
	case state.Drum, state.Predryer, state.Patio:
		t.whyDry(f.Place, v.Dry())
		t.whyWeight(s)
	case state.Silo, state.Store:
		t.whyRest(f.Place, v.Rest(), s)
	default:
		t.lines = append(t.lines, t.statusLine(f.Place))
	}
	place := state.Subject{Kind: state.OfPlace, Name: f.Place}
	for _, c := range t.readable(append(t.mill.CallsOf(of), t.mill.CallsOf(place)...)) {
		t.whyRang(c)
	}
	t.lines = append(t.lines, t.asleepLines([]string{f.Place})...)
	for _, c := range t.mill.Conflicts() {
		if c.Place == f.Place && c.Serious() {
			t.say("doubt."+string(c.Kind), "place", c.Place, "kg", kg(c.Mass), "fits", kg(c.Fits))
		}
	}
}

// whyCall tells why a call rang, by its number.
func (t *turn) whyCall(f Fact) {
	c := t.mill.Numbered(int(f.Value))
	if !f.Has || c == nil || len(t.readable([]*state.Call{c})) == 0 {
		t.say("why.which", "example", t.example())
		return
	}
	t.lines = append(t.lines, t.numbered(c, t.lang()))
	t.whyRang(c)
}

func (t *turn) whyTank(place string, f ferment.Forecast) {
	r := f.Reason
	if f.Early.IsZero() {
		t.say("why.tank.clock", "place", place, "status", f.Status.String())
		return
	}
	t.say("why.tank", "place", place, "early", t.clock(state.At(f.Early)), "late",
		t.clock(state.At(f.Late)), "sure", percent(f.Confidence))
	if !math.IsNaN(r.Celsius) {
		t.say("why.temp", "c", plainNumber(r.Celsius, 1), "source", t.voice.Say(t.lang(),
			"source."+strings.ReplaceAll(r.Source.String(), " ", "-")))
	}
	t.say("why.pace", "prior", number1(r.Prior), "weight", percent(r.PriorWeight), "usual",
		number1(r.Usual), "usualweight", percent(r.UsualWeight), "learned", number1(r.Learned),
		"learnedweight", percent(r.LearnedWeight), "used", number1(r.Used), "stays", r.PastStays)
	if !r.Rough.IsZero() {
		t.say("why.rough", "time", t.clock(state.At(r.Rough)))
	} else if !r.Slippery.IsZero() {
		t.say("why.slippery", "time", t.clock(state.At(r.Slippery)))
	}
	if !f.Spoil.IsZero() {
		t.say("why.spoil", "warn", t.clock(state.At(f.SpoilWarn)), "spoil", t.clock(state.At(f.Spoil)))
	}
}

func (t *turn) whyDry(place string, f drying.Forecast) {
	r := f.Reason
	if f.Early.IsZero() {
		t.lines = append(t.lines, place+": "+t.voice.Say(t.lang(), "dry."+string(f.Status), "n",
			r.Used))
	} else {
		t.say("why.dry", "place", place, "early", t.clock(state.At(f.Early)), "late",
			t.clock(state.At(f.Late)), "sure", percent(f.Confidence))
	}
	if !math.IsNaN(f.Slope) && !math.IsNaN(r.Expected) {
		t.say("why.readings", "n", r.Used, "slope", number1(f.Slope), "expected", number1(r.Expected))
	}
	if !math.IsNaN(r.Equilibrium) && r.Air > 0 {
		t.say("why.air", "c", plainNumber(r.Air, 0), "emc", number1(r.Equilibrium), "runs",
			r.PastRuns)
	}
	if !r.Stop.From.IsZero() {
		key := "why.stop"
		if r.StopFound {
			key = "why.stop-found"
		}
		t.say(key, "time", t.clock(state.At(r.Stop.From)))
	}
	if !r.Odd.IsZero() {
		t.say("why.odd", "time", t.clock(state.At(r.Odd)))
	}
}

// whyWeight tells what a drum's load weighs at the target, where its mass and moisture were told
// as it came.
func (t *turn) whyWeight(s *state.Stay) {
	v, _ := t.look(s.Place, t.at)
	target, _, ok := v.Read("target")
	if !ok || s.Kind == state.Patio || s.Moist == 0 || !s.Weighed() {
		return
	}
	at := drying.WeightAt(target.Num, s.Mass.Kg(), s.Moist)
	t.say("why.weight", "kg", kg(state.Kg(at)), "target", plainNumber(target.Num, 1))
}

func percent(x float64) string { return plainNumber(100*x, 0) }

// number1 is a number with one decimal, "-" when it is not known.
func number1(x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return plainNumber(x, 1)
}
