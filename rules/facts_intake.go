package rules

import (
	"cmp"
	"slices"
	"time"

	"lotbell/rules/mass"
	"lotbell/state"
)

// intakeFacts are about the fruit that waits at an intake, and the room that is left for it.
func intakeFacts() []*Fact {
	on := []string{string(state.Intake)}
	return []*Fact{
		{Name: "oldest_age", On: on, Unit: Span, Moves: Age,
			Doc: "since the oldest fruit that waits was picked (came, where nobody said); 0 " +
				"when none waits; cannot be told before fruit was ever brought",
			get: func(v *View) Value {
				switch p := v.pile(); {
				case !p.told:
					return unknown()
				case p.oldest == 0:
					return number(0)
				default:
					return v.since(p.oldest)
				}
			}},
		{Name: "waiting_kg", On: on, Unit: Kilo,
			Doc: "kilograms of fruit that wait: what was brought, less what went into tanks, 1000 " +
				"kg of fruit making 564 pulped; cannot be told of fruit that nobody weighed",
			get: func(v *View) Value {
				if p := v.pile(); p.told && !p.blind {
					return number(p.kg)
				}
				return unknown()
			}},
		{Name: "room_kg", On: append(on, OnMill), Unit: Kilo,
			Doc: "kilograms of fruit that tanks still take, those that are not called full too; " +
				"cannot be told while the size of one of them is not known",
			get: func(v *View) Value { return v.fruitRoom() }},
	}
}

// pile is the fruit that waits at an intake.
type pile struct {
	told   bool // fruit was ever brought there
	blind  bool // some of what waits was not weighed
	kg     float64
	oldest state.Instant // picked, else brought; 0: none waits
}

// delivery is fruit that came at one instant. Kilograms of 0 were not weighed.
type delivery struct {
	at, picked state.Instant
	came, kg   float64 // kilograms that came, and those that wait
}

// Fruit that came so long before the last delivery is pulped, whatever the book says: nobody keeps
// it for a day (24 h is the outer limit of growers' texts).
const pileHolds = 24 * time.Hour

// pileError is the share of what came, of one delivery and of all, that counts as nothing left: what
// pulped coffee weighs of its fruit differs by so much from mill to mill.
const pileError = 0.1

// pile reckons what waits. What goes into a tank was the fruit that was picked first; a load that
// nobody weighed takes all that is there.
func (v *View) pile() pile {
	came, told := v.deliveries()
	if len(came) == 0 {
		return pile{told: told}
	}
	var heap []delivery
	sum, i := 0.0, 0
	bring := func(until state.Instant) {
		for ; i < len(came) && came[i].at <= until; i++ {
			heap, sum = append(heap, came[i]), sum+came[i].came
		}
		slices.SortStableFunc(heap, func(a, b delivery) int { return cmp.Compare(a.picked, b.picked) })
	}
	for _, e := range v.mill.MovesSince(came[0].at) {
		b := e.Body.(state.Move)
		if e.At > v.at || !v.fromOutside(b) {
			continue
		}
		bring(e.At)
		if heap = pulp(heap, fruitOf(b)); weighed(heap) <= pileError*sum {
			heap, sum = nil, 0
		}
	}
	bring(v.at)
	out := pile{told: true, kg: weighed(heap)}
	for _, d := range heap {
		out.blind = out.blind || d.kg == 0
		if out.oldest == 0 || d.picked < out.oldest {
			out.oldest = d.picked
		}
	}
	return out
}

// fromOutside says whether a move is a load of a tank that nobody said to come from a place.
func (v *View) fromOutside(b state.Move) bool {
	return b.Act == state.ActAdd && len(b.Out) > 0 && b.Out[0].Place == state.Outside &&
		len(b.In) > 0 && v.mill.KindOf(b.In[0].Place) == state.Tank
}

// deliveries lists what was brought to the view's place since it was last clean and has not gone
// elsewhere, the first first, and whether anything ever was.
func (v *View) deliveries() (came []delivery, told bool) {
	all := slices.Clone(v.mill.StaysAt(v.place))
	for _, s := range endedAfter(v.mill, state.Intake, v.at) {
		if s.Place == v.place {
			all = append(all, s)
		}
	}
	swept := state.Instant(0)
	if e := v.mill.LastNote(v.place, v.at, state.Cleaned); e != nil {
		swept = e.At
	}
	all = slices.DeleteFunc(all, func(s *state.Stay) bool { return s.From > v.at })
	slices.SortStableFunc(all, func(a, b *state.Stay) int { return cmp.Compare(b.From, a.From) })
	for _, s := range all {
		if all[0].From.Sub(s.From) > pileHolds || s.From <= swept {
			break
		}
		kg := s.MassAt(v.at).Kg()
		d := delivery{at: s.From, picked: s.From, came: kg, kg: kg}
		tag := s.Tag("picked")
		if at, err := time.Parse(time.RFC3339, tag); err == nil {
			d.picked = min(state.At(at), s.From)
		}
		came = append(came, d)
	}
	slices.Reverse(came)
	return came, len(all) > 0
}

// fruitOf is the fruit that a load of a tank was made of, in kilograms; 0 when it was not weighed. A
// load counted in measures is counted as fruit, any other was weighed pulped.
func fruitOf(b state.Move) float64 {
	kg := 0.0
	for _, p := range b.In {
		kg += p.Mass.Kg()
	}
	if b.In[0].Derived {
		return kg
	}
	return kg / mass.PulpedOfFruit
}

// pulp takes so much off the front of a heap, all of it for 0.
func pulp(heap []delivery, kg float64) []delivery {
	if kg == 0 {
		return nil
	}
	for len(heap) > 0 && heap[0].kg-kg <= pileError*heap[0].came {
		kg, heap = max(0, kg-heap[0].kg), heap[1:]
	}
	if len(heap) > 0 {
		heap[0].kg -= kg
	}
	return heap
}

func weighed(heap []delivery) float64 {
	sum := 0.0
	for _, d := range heap {
		sum += d.kg
	}
	return sum
}

// fruitRoom is the fruit that tanks still take.
func (v *View) fruitRoom() Value {
	room := state.Grams(0)
	for _, p := range v.mill.Places() {
		if p.Kind != state.Tank {
			continue
		}
		s := firstAt(v.mill, p.Name, v.at)
		switch {
		case s == nil && p.Capacity == 0, s != nil && s.Full == 0 && p.Capacity == 0:
			return unknown()
		case s == nil:
			room += p.Capacity
		case s.Full == 0 || s.Full > v.at:
			room += max(0, p.Capacity-s.MassAt(v.at))
		}
	}
	return number(room.Kg() / mass.PulpedOfFruit)
}

// meterFacts are about a meter of the mill's.
func meterFacts() []*Fact {
	on := []string{string(state.Meter)}
	return []*Fact{
		{Name: "last_check", On: on, Unit: Moment,
			Doc: "when it was last compared; until then, when the mill named it",
			get: func(v *View) Value { return moment(v.checked()) }},
		{Name: "check_age", On: on, Unit: Span, Moves: Age, Doc: "since then",
			get: func(v *View) Value { return v.since(v.checked()) }},
		{Name: "meter_off", On: on, Unit: Percent,
			Doc: "what it read more than the oven then, points",
			get: func(v *View) Value { return v.lastValue(state.MeterOff) }},
	}
}

// checked is when the view's meter was last compared.
func (v *View) checked() state.Instant {
	l := v.mill.Line(v.place, v.at)
	for i := len(l) - 1; i >= 0; i-- {
		switch b := l[i].Body.(type) {
		case state.Reading:
			if b.What == state.MeterOff {
				return l[i].At
			}
		case state.Note:
			if b.What == state.MeterCheck {
				return l[i].At
			}
		}
	}
	p, _ := v.mill.Place(v.place)
	return p.Named
}
