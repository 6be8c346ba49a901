package bot

import (
	"slices"

	"lotbell/state"
)

// edited amends the events of a line that its writer has changed: same lot, same stay, same call.
// A line that can no longer be read changes nothing.
func (t *turn) edited() {
	line, ok := t.lineOf()
	if was, err := t.db.Words(line); ok && err == nil && was == t.msg.Text {
		return // sent again for a change that nobody sees
	}
	h := Read(t.msg.Text, t.context(), t.words)
	if h.Ask == AskMore { // what is there already is this very line
		h.Outcome = IsTaken
	}
	if !ok {
		t.say("edit.unknown")
		return
	}
	old := t.mill.Said(line)
	if h.Outcome != IsTaken && h.Outcome != IsSaidBack || len(old) == 0 {
		t.say("edit.unread")
		return
	}
	t.line = line // what is said now belongs to the line as it was
	t.b.Words[line] = t.msg.Text
	var changed []state.Event
	used := map[state.Seq]bool{}
	for _, f := range ordered(h.Facts) {
		b := t.body(f, h.Facts)
		if b == nil {
			continue
		}
		i := slices.IndexFunc(old, func(e *state.Event) bool {
			return !used[e.Seq] && sameKind(e.Body, b)
		})
		if i < 0 {
			changed = append(changed, t.said(t.when(f), b))
			continue
		}
		used[old[i].Seq] = true
		if alike(old[i].Body, f) {
			continue
		}
		t.said(t.msg.At, state.Amend{Of: old[i].Seq, Body: keepLots(old[i].Body, b)})
		changed = append(changed, *t.mill.Event(old[i].Seq))
	}
	for _, e := range old {
		if !used[e.Seq] {
			t.said(t.msg.At, state.Amend{Of: e.Seq})
		}
	}
	if len(changed) == 0 {
		t.say("edit.same")
		return
	}
	t.echo(changed, h.Facts, "corrected")
}

// lineOf is the line that the message in hand has said before, if it has.
func (t *turn) lineOf() (state.Seq, bool) {
	key := t.msg.From.String() + "/" + t.msg.ID
	if line, here := t.b.Lines[key]; here {
		return line, true
	}
	line, ok, err := t.db.Line(key)
	return line, ok && err == nil
}

// sameKind says whether an edited fact can take the place of an event.
func sameKind(a, b state.Body) bool {
	switch a := a.(type) {
	case state.Reading:
		x, ok := b.(state.Reading)
		return ok && x.What == a.What
	case state.Note:
		_, ok := b.(state.Note)
		return ok
	case state.Move:
		x, ok := b.(state.Move)
		return ok && x.Act == a.Act && len(x.In) == len(a.In)
	}
	return false
}

// keepLots gives an amended move the lot numbers it had, so that nothing is renumbered.
func keepLots(was, is state.Body) state.Body {
	a, ok1 := was.(state.Move)
	b, ok2 := is.(state.Move)
	if !ok1 || !ok2 {
		return is
	}
	b.In = slices.Clone(b.In)
	for i := range b.In {
		b.In[i].Lot = a.In[i].Lot
	}
	return b
}
