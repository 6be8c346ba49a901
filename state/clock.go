package state

// setBack takes what was heard by a clock that was ahead as heard, and as happened, by the instant
// that was right. A call that was put aside by that clock is so no longer.
func (m *Mill) setBack(is Instant) {
	m.heard = is
	m.past++
	for _, e := range m.floor {
		if e != nil {
			back(is, &e.At, &e.Heard)
		}
	}
	for _, l := range m.lines {
		byKey(l.events)
		l.rev++
		l.redone++
	}
	byKey(m.ledger)
	for _, c := range m.calls {
		if c.Last > is {
			back(is, &c.Until)
		}
		back(is, &c.Rang, &c.Last, &c.RungAt, &c.Since)
	}
	for _, c := range m.returned {
		back(is, &c.Rang, &c.Last, &c.RungAt, &c.Since)
	}
	for _, p := range m.places {
		back(is, &p.Named)
	}
	m.sorted = nil
	for _, p := range m.crew {
		back(is, &p.OnSince, &p.Leaving)
	}
	for p, at := range m.wrote {
		m.wrote[p] = min(at, is)
	}
	for i := range m.blind {
		back(is, &m.blind[i].From, &m.blind[i].To)
	}
	for i := range m.adopted {
		back(is, &m.adopted[i].At)
	}
}

// back sets instants that lie ahead of one to that one.
func back(is Instant, all ...*Instant) {
	for _, at := range all {
		*at = min(*at, is)
	}
}
