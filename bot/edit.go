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

// correctPlace gives what a line said of one place to another of its kind: "no era t3 era t4". It is
// false when the line tells of several such places, or of coffee that would come where some lies.
func (t *turn) correctPlace(line state.Seq, place string) bool {
	var bodies []state.Body
	es, was := t.mill.Said(line), ""
	for _, e := range es {
		var at []string
		for _, p := range bodyPlaces(e.Body) {
			if p != place && t.mill.KindOf(p) == t.mill.KindOf(place) {
				at = append(at, p)
			}
		}
		b := t.elsewhere(e.Body, place)
		if len(at) != 1 || was != "" && at[0] != was || b == nil {
			return false
		}
		bodies, was = append(bodies, b), at[0]
	}
	if len(es) == 0 {
		return false
	}
	t.answered()
	var changed []state.Event
	for i, e := range es {
		t.said(t.msg.At, state.Amend{Of: e.Seq, Body: bodies[i]})
		changed = append(changed, *t.mill.Event(e.Seq))
	}
	t.echo(changed, nil, "corrected")
	return true
}

// elsewhere is a body told of another place of the same kind; nil where it cannot be.
func (t *turn) elsewhere(b state.Body, place string) state.Body {
	k := t.mill.KindOf(place)
	switch b := b.(type) {
	case state.Reading:
		b.Place, b.Lot = place, 0
		return b
	case state.Note:
		b.Place, b.Lot = place, 0
		return b
	case state.Move:
		if len(b.In) != 1 {
			return nil
		}
		if t.mill.KindOf(b.In[0].Place) != k {
			b.Out = t.leaving([]string{place}, b.In[0].Mass, b.In[0].Moisture)
			return b
		}
		if len(t.mill.StaysAt(place)) > 0 {
			return nil
		}
		b.In = slices.Clone(b.In)
		b.In[0].Place = place
		return b
	}
	return nil
}
