package bot

import (
	"slices"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// What the program calls by words of its own ("air_c", "basin", class "1") is shown to people by
// the name it has in their language: sentences of the voice for what is measured, seen and done,
// the floor's commonest word for measures, classes and kinds.

// label is what a quantity, a mark, an act or a wish is called when it is spoken of.
func (t *turn) label(what string) string {
	if _, ok := state.QuantityOf(what); ok || slices.Contains(state.Acts(), what) ||
		what == SaysTrouble {
		return t.voice.Say(t.lang(), "name."+what)
	}
	if slices.Contains(state.Marks(), what) {
		return t.voice.Say(t.lang(), "mark."+what)
	}
	return t.shown(words.Detail, what)
}

// roomLabel lists the choices that a question leaves: names of places, numbers of calls, or what a
// figure may be. "" when there are none.
func (t *turn) roomLabel(room []string) string {
	if len(room) == 0 {
		return ""
	}
	shown := make([]string, len(room))
	for i, x := range room {
		shown[i] = t.label(x)
	}
	return " (" + strings.Join(shown, ", ") + ")"
}

// amountWords is an amount as it was spoken, "12 basin 3 lata", with its measures in the language
// of the answer.
func (t *turn) amountWords(said string) string {
	fields := strings.Fields(said)
	for i, f := range fields {
		fields[i] = t.shown(words.Measure, f)
	}
	return strings.Join(fields, " ")
}

// untold is what a fact of the rules is called when nobody has told it.
func (t *turn) untold(fact string) string {
	if key := "missing." + fact; t.voice.Has("en", key) {
		return t.voice.Say(t.lang(), key)
	}
	return strings.ReplaceAll(fact, "_", " ")
}

// exampleOf is a line that answers a question: the figure in hand with the word for the first thing
// that it may be, else a line of the sender's post.
func (t *turn) exampleOf(h Heard, place string) string {
	if h.Ask == AskWhat && place != "" && h.About != "" {
		for _, x := range h.Room {
			if _, ok := state.QuantityOf(x); ok && x != state.Bags {
				return place + " " + t.shown(words.Quantity, x) + " " + h.About
			}
		}
	}
	if p, ok := t.mill.Place(h.Place); ok && len(t.person.Posts) == 0 &&
		t.voice.Has("en", "example."+string(p.Kind)) { // of no post: of the place that was named
		return t.voice.Say(t.lang(), "example."+string(p.Kind), "place", p.Name)
	}
	return t.example()
}
