package bot

import (
	"cmp"
	"slices"

	"lotbell/state"
)

// keyPlaces is how many places get a row of keys: a keyboard must leave room for what was said.
const keyPlaces = 2

// keyboard is what goes with an answer: yes and no to a question that wants one; for somebody of
// one post and no other duty the call that stands, then what is said of the places of that post,
// the longest filled first. Keys are plain texts, which everybody may type as well.
func (t *turn) keyboard() [][]string {
	if t.person == nil || t.person.ID == 0 {
		return nil
	}
	if q := t.pendingAt(t.msg.From).Asked; q != nil && q.What == Confirm {
		return [][]string{{t.voice.Say(t.lang(), "key.yes"), t.voice.Say(t.lang(), "key.no")}}
	}
	if len(t.person.Posts) != 1 || len(t.person.Roles) != 1 || !t.person.Is(state.Worker) {
		return nil
	}
	var rows [][]string
	about := ""
	for _, c := range t.callsFor(t.person.ID) {
		if rule := t.watch.Book.Rule(c.Rule); rule != nil && c.State == state.Unacknowledged {
			rows, about = t.keysFor(rule.Asks, c, t.lang()), c.Of.Name
			break
		}
	}
	for _, s := range t.staysOf(t.person.Posts[0]) {
		if len(rows) >= 2+keyPlaces {
			break
		}
		if keys := t.placeKeys(s); keys != nil && s.Place != about {
			rows = append(rows, keys)
		}
	}
	return append(rows, []string{t.voice.Say(t.lang(), "key.due"), t.voice.Say(t.lang(), "key.mill")})
}

// staysOf lists what lies at the places of a post, the oldest first, each place once.
func (t *turn) staysOf(post state.Kind) []*state.Stay {
	var out []*state.Stay
	for _, p := range t.mill.Places() {
		if ss := t.mill.StaysAt(p.Name); p.Kind == post && len(ss) > 0 {
			out = append(out, ss[0])
		}
	}
	slices.SortStableFunc(out, func(a, b *state.Stay) int { return cmp.Compare(a.From, b.From) })
	return out[:min(len(out), keyPlaces)]
}

// placeKeys are the lines most often said of coffee at a place that need no figure.
func (t *turn) placeKeys(s *state.Stay) []string {
	var keys []string
	switch s.Kind {
	case state.Tank:
		keys = []string{"key.slippery", "key.rough"}
		if s.Full == 0 {
			keys = []string{"key.full"}
		}
	case state.Patio:
		keys = []string{"key.turned", "key.covered"}
	case state.Drum, state.Predryer:
		keys = []string{"key.fire-low", "key.stopped"}
	default:
		return nil
	}
	var out []string
	for _, k := range keys {
		out = append(out, t.voice.Say(t.lang(), k, "place", s.Place))
	}
	return out
}
