package rules

import (
	"slices"

	"lotbell/state"
)

// tell is whom a call goes to at a rung of its ladder. Somebody who cannot be reached counts as
// no answer, and so does whom it may not wake: when nobody of a rung is left, it goes up at once. It
// gives the rung that was rung. Where there is nobody on the ladder it goes to the managers, then, if
// it is not private, to anybody: a call that is told to no one is worse than one told to the wrong
// person.
func tell(m *state.Mill, r *Rule, rung int, of state.Subject, at state.Instant) (int,
	[]state.PersonID) {
	for ; rung < len(r.Ladder); rung++ {
		var to []state.PersonID
		for _, whom := range r.Ladder[rung].Whom {
			to = append(to, Whom(m, whom, of, at)...)
		}
		if to = awake(m, r, reachable(m, to), at); len(to) > 0 {
			return rung, to
		}
	}
	managers, deputies := withRole(m, state.Manager), withRole(m, state.Deputy)
	if r.Private {
		return max(0, len(r.Ladder)-1), managers
	}
	var to []state.PersonID
	for _, last := range [][]state.PersonID{
		awake(m, r, reachable(m, present(m, managers, at)), at),
		awake(m, r, reachable(m, present(m, deputies, at)), at),
		reachable(m, present(m, managers, at)), managers, withRole(m, state.Keeper),
		onDuty(m.Persons(), at)} {
		if len(to) == 0 {
			to = last
		}
	}
	return max(0, len(r.Ladder)-1), to
}

// awake keeps those whom a call may wake: at night somebody off shift may have said that only what
// is urgent does, of the first priority, or nothing.
func awake(m *state.Mill, r *Rule, to []state.PersonID, at state.Instant) []state.PersonID {
	var out []state.PersonID
	for _, id := range to {
		p := m.Person(id)
		if p.Wakes == "" || p.OnDuty(at) || p.Wakes == state.WakesUrgent && r.Priority == 1 ||
			!sleeps(at.Time().In(m.Zone()).Hour()) {
			out = append(out, id)
		}
	}
	return out
}

// Whom is who is meant by a word of a ladder at an instant: those on shift at a post, if none all
// of the post; the holders of a role, of those who work in shifts (lead, watchman) the ones on
// shift, if none all; "post" is the post the subject belongs to; "everyone" is everyone on shift,
// if none everyone. Who is away is never meant. The order is that of the people's numbers.
func Whom(m *state.Mill, whom string, of state.Subject, at state.Instant) []state.PersonID {
	switch {
	case whom == "everyone":
		return onDuty(m.Persons(), at)
	case whom == "post":
		whom = string(m.KindOf(of.Name))
		if of.Kind == state.OfPost {
			whom = of.Name
		}
	case whom == string(state.Lead) || whom == string(state.Watch):
		return onDuty(holders(m, state.Role(whom)), at)
	case slices.Contains(state.Roles(), state.Role(whom)):
		return present(m, withRole(m, state.Role(whom)), at)
	}
	var of1 []*state.Person
	for _, p := range m.Persons() {
		if p.At(state.Kind(whom)) {
			of1 = append(of1, p)
		}
	}
	return onDuty(of1, at)
}

// onDuty keeps those on shift, and everyone who is not away when none is.
func onDuty(ps []*state.Person, at state.Instant) []state.PersonID {
	var on, all []state.PersonID
	for _, p := range ps {
		if p.AwayAt(at) {
			continue
		}
		all = append(all, p.ID)
		if p.OnDuty(at) {
			on = append(on, p.ID)
		}
	}
	if len(on) > 0 {
		return on
	}
	return all
}

// holders lists the people who hold a role.
func holders(m *state.Mill, r state.Role) []*state.Person {
	var out []*state.Person
	for _, p := range m.Persons() {
		if p.Is(r) {
			out = append(out, p)
		}
	}
	return out
}

func withRole(m *state.Mill, r state.Role) []state.PersonID {
	var out []state.PersonID
	for _, p := range holders(m, r) {
		out = append(out, p.ID)
	}
	return out
}

// present keeps those who are not away.
func present(m *state.Mill, ids []state.PersonID, at state.Instant) []state.PersonID {
	var out []state.PersonID
	for _, id := range ids {
		if !m.Person(id).AwayAt(at) {
			out = append(out, id)
		}
	}
	return out
}

// reachable keeps those whom a message can reach, each once.
func reachable(m *state.Mill, to []state.PersonID) []state.PersonID {
	var out []state.PersonID
	for _, id := range to {
		if p := m.Person(id); p != nil && p.Reachable && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}
