package bot

import (
	"slices"
	"strings"

	"lotbell/state"
)

// clears asks before one word would end more than it says: where smoke and mould were noted, "no
// smoke now" is not the end of the mould. True: nothing is kept until it is answered.
func (t *turn) clears(f Fact) bool {
	if f.What != state.Cleared || f.Word == "" {
		return false
	}
	v, _ := t.look(f.Place, t.at)
	var others []string
	for _, mark := range state.Marks() {
		if !state.Clears(mark) || mark == f.Word {
			continue
		}
		if x, _, ok := v.Read(mark); ok && x.Is == state.Yes {
			others = append(others, t.label(mark))
		}
	}
	if len(others) == 0 {
		return false
	}
	f.Word = ""
	t.ask(Asked{Place: f.Place, What: Confirm}, "facts", func(p *pending) {
		p.Heard = &Heard{Outcome: IsTaken, Facts: []Fact{f}}
	})
	t.say("ask.clear?", "place", f.Place, "what", strings.Join(others, ", "))
	return true
}

// origin takes a line that only names where coffee came from, "s1 from d1", as said of the sender's
// last move: it is put right where the book could not tell. Where it could, a line without a verb is
// asked about before it counts as another move. It is false for every other line.
func (t *turn) origin(fs []Fact) bool {
	if len(fs) != 1 || fs[0].Has || !slices.Contains(state.Acts(), fs[0].What) ||
		len(fs[0].From) == 0 && fs[0].To == "" {
		return false
	}
	verbless := slices.ContainsFunc(fs[0].Doubt, func(d Doubt) bool { return d.What == "what" })
	to, from := t.destination(fs[0]), fs[0].From
	if len(from) == 0 {
		from = t.source(fs[0])
	}
	for _, e := range t.mill.Said(t.mill.LastLine(t.person.ID)) {
		m, ok := e.Body.(state.Move)
		nowhere := slices.ContainsFunc(t.mill.ConflictsOf(e.Seq), func(c state.Conflict) bool {
			return c.Kind == state.NothingThere
		})
		if !ok || len(m.In) != 1 || m.In[0].Place != to ||
			!nowhere && (!verbless || t.at.Sub(e.At) > twiceLine) {
			continue
		}
		if !nowhere {
			t.askTwice(fs, e.At)
			return true
		}
		m.Out = t.leaving(from, m.In[0].Mass, m.In[0].Moisture)
		t.answered()
		t.said(t.msg.At, state.Amend{Of: e.Seq, Body: m})
		t.echo([]state.Event{*t.mill.Event(e.Seq)}, nil, "corrected")
		return true
	}
	return false
}
