package rules

import (
	"fmt"
	"slices"
	"time"

	"lotbell/state"
)

// Trial is what a rehearsal says of one call of a new book, taken alone.
type Trial struct {
	Rule   string
	On     string // the kind of what it is about
	Closed int    // stays of that kind that were over; of all kinds for the mill and a post
	Rings  int
	Share  float64 // of the time in which there was anything to ring about, it stood; 0 to 1
	Like   string  // another call that rang at the same place each time it did
}

// enoughClosed is how many stays must be over before a rehearsal can tell anything of a call.
const enoughClosed = 5

// Tells says whether there is enough of a past to tell anything.
func (t Trial) Tells() bool { return t.Closed >= enoughClosed }

// Never says whether the call did not ring once.
func (t Trial) Never() bool { return t.Tells() && t.Rings == 0 }

// Always says whether the call stood nearly all the time.
func (t Trial) Always() bool { return t.Tells() && t.Share > 0.95 }

// Changed lists the calls of a book that are new, or that ring for something else or at another
// time than in an old one, leaving out those that are off at an instant.
func (b *Book) Changed(old *Book, at state.Instant) []*Rule {
	var out []*Rule
	for _, r := range b.Calls {
		was := old.Rule(r.Name)
		if r.IdleUntil <= at && (was == nil || was.IdleUntil > at || was.signals() != r.signals()) {
			out = append(out, r)
		}
	}
	return out
}

// signals is what decides when a call rings for the first time and when it is over.
func (r *Rule) signals() string {
	return fmt.Sprint(r.On, r.PerPlace, r.Wait, r.Off, r.Priority >= lowest, r.When.sense(),
		r.ends().sense())
}

// Try says what the rehearsal of a journal says of some calls, from an instant on.
func (b *Book) Try(es []state.Event, run Rehearsal, some []*Rule, from state.Instant) []Trial {
	if len(es) == 0 || len(some) == 0 {
		return nil
	}
	m := state.Load(es)
	from = max(from, es[0].Heard)
	stood := standing(run.Steps, from, m.Heard())
	var out []Trial
	for _, r := range some {
		t := Trial{Rule: r.Name, On: r.On, Closed: closedSince(m, r.On, from),
			Rings: len(stood[r.Name])}
		there := r.there(m, from)
		if whole := there.total(); whole > 0 {
			t.Share = float64(there.shared(stood[r.Name])) / float64(whole)
		}
		for _, o := range b.Calls {
			if o.Name != r.Name && o.On == r.On && t.Like == "" &&
				follows(stood[r.Name], stood[o.Name]) {
				t.Like = o.Name
			}
		}
		out = append(out, t)
	}
	return out
}

// closedSince counts the stays of a kind that were over since an instant; of every kind for what is
// no place.
func closedSince(m *state.Mill, on string, from state.Instant) int {
	n := 0
	for _, k := range endKinds {
		if on == OnMill || on == OnPost || on == string(k) {
			n += len(endedAfter(m, k, from))
		}
	}
	return n
}

// lasting is a stretch of time at a place.
type lasting struct {
	of       state.Subject
	from, to state.Instant
}

type lastings []lasting

// standing lists when the calls of each rule stood between two instants.
func standing(steps []state.Event, from, to state.Instant) map[string]lastings {
	out, open := map[string]lastings{}, map[state.CallKey]state.Instant{}
	end := func(k state.CallKey, at state.Instant) {
		if at >= from {
			out[k.Rule] = append(out[k.Rule], lasting{k.Of, max(from, open[k]), at})
		}
		delete(open, k)
	}
	for _, e := range steps {
		s := e.Body.(state.CallStep)
		k := state.CallKey{Rule: s.Rule, Of: s.Of}
		if s.What == state.Rang {
			open[k] = e.At
		} else if s.Ends() {
			end(k, e.At)
		}
	}
	for k := range open {
		end(k, to)
	}
	for _, l := range out {
		slices.SortFunc(l, func(a, b lasting) int { return int(a.from - b.from) })
	}
	return out
}

// there lists when there was anything that a call could be about, since an instant.
func (r *Rule) there(m *state.Mill, from state.Instant) lastings {
	var out lastings
	add := func(of state.Subject, a, b state.Instant) {
		if a, b = max(a, from), min(b, m.Heard()); a < b {
			out = append(out, lasting{of, a, b})
		}
	}
	switch r.On {
	case OnMill:
		add(state.Subject{Kind: state.OfMill, Name: state.Whole}, from, m.Heard())
	case OnPost:
		for _, of := range posts(m.Persons()) {
			if !slices.ContainsFunc(out, func(l lasting) bool { return l.of == of }) {
				add(of, from, m.Heard())
			}
		}
	default:
		k := state.Kind(r.On)
		for _, s := range slices.Concat(m.Closed(k), m.OpenStays()) {
			if to := s.To; s.Kind == k {
				if to == 0 {
					to = m.Heard()
				}
				add(s.Subject(), s.From, to)
			}
		}
		if r.PerPlace {
			return out.byPlace()
		}
	}
	return out
}

// byPlace joins what overlaps at one place.
func (l lastings) byPlace() (out lastings) {
	slices.SortStableFunc(l, func(a, b lasting) int { return int(a.from - b.from) })
	last := map[string]int{}
	for _, x := range l {
		x.of = state.Subject{Kind: state.OfPlace, Name: x.of.Name}
		if i, ok := last[x.of.Name]; ok && x.from <= out[i].to {
			out[i].to = max(out[i].to, x.to)
			continue
		}
		last[x.of.Name] = len(out)
		out = append(out, x)
	}
	return out
}

// total is the time of all stretches.
func (l lastings) total() (sum time.Duration) {
	for _, x := range l {
		sum += x.to.Sub(x.from)
	}
	return sum
}

// shared is the time of some stretches that lies in those of the same subject.
func (l lastings) shared(some lastings) (sum time.Duration) {
	for _, x := range some {
		for _, y := range l {
			if x.of == y.of {
				sum += max(0, min(x.to, y.to).Sub(max(x.from, y.from)))
			}
		}
	}
	return sum
}

// oftenAlike is how often two calls must begin together before they are taken to be alike, and
// sameTime how far apart they may begin.
const (
	oftenAlike = 3
	sameTime   = time.Minute
)

// follows says whether calls began each time at one place with some others.
func follows(some, others lastings) bool {
	for _, x := range some {
		if !slices.ContainsFunc(others, func(y lasting) bool {
			gap := x.from.Sub(y.from)
			return x.of.Name == y.of.Name && gap < sameTime && gap > -sameTime
		}) {
			return false
		}
	}
	return len(some) >= oftenAlike
}
