package rules

import (
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
