package bot

import (
	"slices"

	"lotbell/rules"
	"lotbell/state"
)

// A wash and an unloading are ordered by who may, and asked for by everybody else.

// order gives an order, or passes the wish on to whoever decides.
func (t *turn) order(f Fact) {
	_, of := t.look(f.Place, t.at)
	if f.What == state.WashOrdered || f.What == state.OutOrdered {
		a := rules.Act{By: t.person, What: f.What, Asked: t.unanswered(of)}
		stops := func(v rules.Verdict) bool { return v.Stop != rules.StopAsk }
		if slices.ContainsFunc(t.watch.Book.Guard(t.mill, t.watch.Know, of, a, t.at), stops) {
			f.What = map[string]string{state.WashOrdered: state.WashAsked,
				state.OutOrdered: state.OutAsked}[f.What]
		}
	}
	t.said(t.when(f), state.Note{Place: f.Place, What: f.What})
	switch f.What {
	case state.WashAsked:
		t.say("wash.asked", "place", f.Place, "names", t.names(t.whoDecides()))
	case state.WashOrdered:
		t.say("wash.ordered", "place", f.Place)
		if !t.person.Is(state.Manager) {
			t.tellRole(state.Manager, "manager.ordered", "place", f.Place, "name",
				t.name(t.person.ID))
		}
	case state.OutAsked, state.OutOrdered:
		t.unloading(f)
	}
	if len(t.mill.StaysAt(f.Place)) == 0 {
		t.say("doubt.empty", "place", f.Place)
	}
}

// unloading answers a wish or an order to unload a drum, and tells the other side where the book
// has no rule that rings it.
func (t *turn) unloading(f Fact) {
	name := t.name(t.person.ID)
	if f.What == state.OutAsked {
		t.say("unload.asked", "place", f.Place, "names", t.names(t.whoDecides()))
		if t.watch.Book.Rule("unload-asked") == nil {
			t.tellRole(state.Manager, "unload.wish", "place", f.Place, "name", name)
		}
		return
	}
	t.say("unload.ordered", "place", f.Place)
	if t.watch.Book.Rule("unload-order") == nil {
		t.tellPost(t.mill.KindOf(f.Place), "unload.order", "place", f.Place, "name", name)
	}
}

// whoDecides lists the managers.
func (t *turn) whoDecides() []state.PersonID {
	return rules.Whom(t.mill, string(state.Manager), state.Subject{}, t.at)
}

// unanswered is since when a wash call about a subject has had no answer; 0 when there is none.
func (t *turn) unanswered(of state.Subject) state.Instant {
	first := state.Instant(0)
	for _, c := range t.mill.CallsOf(of) {
		r := t.watch.Book.Rule(c.Rule)
		if r != nil && r.Asks == "wash" && c.State == state.Unacknowledged &&
			(first == 0 || c.Rang < first) {
			first = c.Rang
		}
	}
	return first
}
