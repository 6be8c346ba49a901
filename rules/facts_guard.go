package rules

import (
	"slices"
	"time"

	"lotbell/state"
)

// guardFacts are about an act that somebody wants to do.
func guardFacts() []*Fact {
	on := []string{OnGuard}
	by := func(r state.Role) func(v *View) Value {
		return func(v *View) Value { return truth(v.act != nil && v.act.By.Is(r)) }
	}
	tag := func(name, none string) func(v *View) Value {
		return func(v *View) Value {
			if v.act == nil || len(v.mill.StaysAt(v.act.To)) == 0 {
				return unknown()
			}
			s := v.mill.StaysAt(v.act.To)[0]
			if t := s.Tag(name); t != "" {
				return word(t)
			}
			return word(none)
		}
	}
	return []*Fact{
		{Name: "by_manager", On: on, Unit: YesNo, Doc: "a manager does it", get: by(state.Manager)},
		{Name: "by_deputy", On: on, Unit: YesNo, Doc: "a deputy does it", get: by(state.Deputy)},
		{Name: "by_lead", On: on, Unit: YesNo, Doc: "a shift lead does it", get: by(state.Lead)},
		{Name: "by_keeper", On: on, Unit: YesNo, Doc: "a keeper does it", get: by(state.Keeper)},
		{Name: "unanswered", On: on, Unit: Span,
			Doc: "how long a call that asks for it has had no answer; 0 when there is none",
			get: func(v *View) Value {
				if v.act == nil || v.act.Asked == 0 {
					return number(0)
				}
				return v.since(v.act.Asked)
			}},
		{Name: "here_held", On: on, Unit: YesNo, Doc: "coffee lies where it would go",
			get: func(v *View) Value {
				return truth(v.act != nil && len(v.mill.StaysAt(v.act.To)) > 0)
			}},
		{Name: "class_here", On: on, Unit: Word, Doc: "class of what lies where it would go",
			get: tag("class", "normal")},
		{Name: "owner_here", On: on, Unit: Word, Doc: "owner of it", get: tag("owner", "mill")},
		{Name: "claim_here", On: on, Unit: Word, Doc: "claim of it", get: tag("claim", "none")},
		{Name: "cleaned_here", On: on, Unit: YesNo,
			Doc: "the place was cleaned since it was emptied; cannot be told before it held coffee",
			get: func(v *View) Value { return v.cleanedHere() }},
	}
}

// eachFacts are what was counted and weighed in an act.
func eachFacts() []*Fact {
	on := []string{OnGuard}
	return []*Fact{
		{Name: "kg_each", On: on, Unit: Kilo,
			Doc: "what one sack or basin weighed, where they were counted and weighed",
			get: func(v *View) Value {
				if v.act == nil || v.act.Move == nil {
					return unknown()
				}
				_, each := v.act.Move.Each()
				return grams(each)
			}},
		{Name: "kg_each_usual", On: on, Unit: Kilo,
			Doc: "the median of the last at such places, of 5 or more in 30 days; else what the " +
				"mill says that it weighs",
			get: func(v *View) Value { return v.eachUsual() }},
	}
}

// A median is of so many weighings, the latest of so many days (common practice, no source: a mill
// weighs five of a measure when it sets one up).
const (
	eachLeast = 5
	eachMost  = 25
	eachDays  = 30
)

// eachUsual is what a measure weighs as a rule at places of the kind that the move goes to.
func (v *View) eachUsual() Value {
	if v.act == nil || v.act.Move == nil {
		return unknown()
	}
	measure, _ := v.act.Move.Each()
	kind := v.mill.KindOf(v.act.To)
	var past []state.Grams
	all := v.mill.MovesSince(v.at.Add(-eachDays * 24 * time.Hour))
	for i := len(all) - 1; i >= 0 && len(past) < eachMost; i-- {
		b := all[i].Body.(state.Move)
		if m, each := b.Each(); all[i].At <= v.at && m != "" && m == measure && len(b.In) > 0 &&
			v.mill.KindOf(b.In[0].Place) == kind {
			past = append(past, each)
		}
	}
	if len(past) < eachLeast {
		return grams(v.act.Told)
	}
	slices.Sort(past)
	return grams((past[(len(past)-1)/2] + past[len(past)/2]) / 2)
}

func (v *View) cleanedHere() Value {
	if v.act == nil || v.act.To == "" {
		return unknown()
	}
	emptied := state.Instant(0)
	for _, s := range v.mill.Closed(v.mill.KindOf(v.act.To)) {
		if s.Place == v.act.To && s.To <= v.at {
			emptied = s.To // they are in the order they ended
		}
	}
	if emptied == 0 {
		return unknown()
	}
	e := v.mill.LastNote(v.act.To, v.at, state.Cleaned, state.NotClean)
	return truth(e != nil && e.At >= emptied && e.Body.(state.Note).What == state.Cleaned)
}
