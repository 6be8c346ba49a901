package bot

import (
	"fmt"
	"slices"
	"strings"

	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// ending is one call that ended in this turn.
type ending struct {
	e    state.Event
	step state.CallStep
}

// ended tells those who were rung that a call is over. A prompt that was simply done is not worth
// a message, nor is anything to the one who has just written what ended it, nor to whom another
// call about the same thing rings in its place.
func (t *turn) ended(e state.Event, s state.CallStep) {
	rule := t.watch.Book.Rule(s.Rule)
	done := s.What == state.Over || s.What == state.Done
	if done && (s.Priority >= 3 || rule != nil && rule.Kind == rules.Prompt) {
		return
	}
	for _, id := range s.To {
		if done && (t.wrote[id] || t.rungInPlace(id, s.Of)) {
			continue
		}
		lang := t.langOf(id)
		key, more := t.endedWhy(s, rule)
		pairs := []any{"number", s.Number, "place", t.placeOf(s.Of, lang), "call",
			t.callName(s.Rule, lang)}
		t.tell(id, journal.Out{Priority: 4, Cause: e.Seq, Expires: t.at.Add(promptKeeps),
			Key: fmt.Sprintf("over/%s/%s", s.Rule, s.Of.Name)},
			Outgoing{Text: t.voice.Say(lang, key, append(pairs, more...)...),
				Private: t.private(s.Rule)})
	}
}

// rungInPlace says whether somebody is rung in this turn about the same thing by another call.
func (t *turn) rungInPlace(id state.PersonID, of state.Subject) bool {
	return slices.ContainsFunc(t.rings, func(r ringing) bool {
		return r.to == id && r.step.Of == of
	})
}

// endedWhy is the sentence that says why a call ended: where a new book ended it, by whom, and
// with the old and the new figure when a limit did.
func (t *turn) endedWhy(s state.CallStep, rule *rules.Rule) (key string, pairs []any) {
	books := t.mill.Books()
	last := books[len(books)-1]
	by := []any{"name", t.author(last.By)}
	switch {
	case s.What == state.Withdrawn && rule == nil:
		return "ended.gone", by
	case s.What == state.Withdrawn && rule.IdleUntil > t.at:
		return "ended.off", append(by, "time", t.clock(rule.IdleUntil), "why", cut(rule.IdleWhy, 40))
	case s.What == state.Withdrawn:
		return "ended.withdrawn", by
	case s.What == state.Over && last.At == t.at && last.Version != s.Book:
		if name, was, is, ok := t.limitChanged(s); ok {
			return "ended.limit", append(by, "limit", name, "old", plainNumber(was, 3), "new",
				plainNumber(is.Value, 3), "unit", is.Unit)
		}
	case s.What == state.Over && stale(s.Why):
		return "ended.stale", nil
	}
	return "ended." + strings.ReplaceAll(s.What, " ", "-"), nil
}

// limitChanged is the limit of a call's rule that has another value than when the call rang.
func (t *turn) limitChanged(s state.CallStep) (name string, was float64, is rules.Limit, ok bool) {
	for _, b := range t.mill.Books() {
		old, err := rules.Parse(b.Text)
		if b.Version != s.Book || err != nil {
			continue
		}
		for _, name := range sortedKeys(t.watch.Book.Limits) {
			is, was := t.watch.Book.Limits[name], old.Limits[name]
			if is.Value != was.Value && slices.Contains(t.watch.Book.Uses(name), s.Rule) {
				return name, was.Value, is, true
			}
		}
	}
	return "", 0, is, false
}

// stale says whether a call ended only because nobody has read anything for long.
func stale(why []state.Compared) bool {
	old := false
	for _, c := range why {
		if c.Is == state.Yes {
			if old = strings.Contains(c.Text, "_age >="); !old {
				return false
			}
		}
	}
	return old
}
