package ferment

// Past is what the finished tanks of one mill have taught. It is never changed once made.
// A nil *Past is a mill without tanks of its own.
type Past struct {
	read  tally // paced by a thermometer
	clock tally // every tank, by the clock alone
}

// Learn makes a Past of finished tanks, oldest first. Stays that bound nothing (no load, neither
// washed nor tested) teach nothing. It is nil when none taught anything.
func Learn(stays []Stay) *Past {
	var p *Past
	for _, s := range stays {
		p = p.and(s, false)
	}
	return p
}

// And is the Past with one more finished tank; the receiver stays as it was. It gives what
// [Learn] gives of all of them, at the cost of one.
func (p *Past) And(s Stay) *Past { return p.and(s, true) }

func (p *Past) and(s Stay, keep bool) *Past {
	if len(s.Tank.Loads) == 0 {
		return p
	}
	rs := s.heard()
	bare := newCourse(&Tank{Loads: s.Tank.Loads, Site: NewSite()}, nil, 0)
	clock := s.bounds(&bare, rs)
	if !clock.tell() {
		return p
	}
	miss := p.hindcast(&s, rs, clock)
	switch {
	case p == nil:
		p = &Past{read: newTally(true), clock: newTally(false)}
	case keep:
		p = &Past{read: p.read.clone(), clock: p.clock.clone()}
	}
	p.clock.add(&s.Tank, []bounds{clock}, 0)
	if !thermometer(rs) {
		p.clock.misses.add(miss)
		return p
	}
	var read [len(tmins)]bounds
	for i, tmin := range tmins {
		c := newCourse(&s.Tank, rs, tmin)
		read[i] = s.bounds(&c, rs)
	}
	warm := newCourse(&s.Tank, rs, 0)
	p.read.add(&s.Tank, read[:], warm.mean(warm.youngest, clock.end()))
	t := s.Tank
	t.Past = p
	p.read.coming.add(&warm, clock.held(warm.youngest).at(0.5), t.about())
	p.read.misses.add(miss)
	return p
}

// heard are the readings up to the washing, in order.
func (s *Stay) heard() []Reading {
	rs := s.Tank.ordered()
	if s.Washed.IsZero() {
		return rs
	}
	n := len(rs)
	for n > 0 && rs[n-1].At.After(s.Washed) {
		n--
	}
	return rs[:n]
}

// taught is what a stay with or without a thermometer can learn from.
func (p *Past) taught(read bool) *tally {
	switch {
	case p == nil:
		return &tally{lesson: untaught(), coming: unlearned()}
	case read:
		return &p.read
	}
	return &p.clock
}
