package bot

import (
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// Cries that have no word of their own. The single words of a cry ("help", "se desmayo") are marks;
// here are those that two words make together, whatever else the line is about:
//
//	hay fuego en la bodega, fuego!, fuego en la d1    a fire that nobody tends
//	d1 fuego prendido, el fuego esta bajo, d1 fire ok  the furnace's own: no cry
//	se prendio el cafe, the shed is burning            what must not burn
//	la banda le agarro el brazo, queme mi mano         what harms, and a part of the body
//	el motor da corriente, huele a huevo podrido       current, gas
//	hay mucho humo aqui                                smoke at no place that is named
//
// And the other way round, "help" that cries for nothing: a line of nothing else but a word for the
// program is a question about it ("help rules"), one that asks to be helped with a place is asked
// what is wanted ("help me with t1"). Anything besides makes it a cry again.

// What a cry is about: the further caution that is said with it (safety.toml, help-…).
const (
	cryFire   = "fire"
	cryGas    = "gas"
	cryShock  = "shock"
	cryCaught = "caught"
)

// cryWord is a piece of a line as the words of cries see it; is is nil for any other word.
type cryWord struct {
	is   []words.Meaning
	text string
}

func (x *cryWord) means(names ...string) bool {
	for i := range x.is {
		for _, n := range names {
			if x.is[i].Name == n {
				return true
			}
		}
	}
	return false
}

// cryWords are the words of a line without the small ones.
func (r *reader) cryWords() []cryWord {
	all := r.cried[:0]
	for i := 0; i < len(r.tokens); {
		n, is := r.w.MatchCry(r.texts[i:])
		if n == 0 {
			all = append(all, cryWord{text: r.texts[i]})
			i++
			continue
		}
		if is = r.ofSender(is); !sole(is, words.Cry, "small") {
			all = append(all, cryWord{is: is, text: r.texts[i]})
		}
		i += n
	}
	r.cried = all
	return all
}

// endangers notes a wish that is refused and a cry for help that no single word makes. It says
// whether the rest of the line is left unread: in a fire nothing is routine.
func (r *reader) endangers(ws []cryWord) bool {
	refused, about := r.unsafe(ws), ""
	for i := 0; i < len(ws) && about == ""; i++ {
		about = cryOf(ws[i:])
	}
	if about == "" && !refused && (r.untended(ws) || r.smokes()) {
		about = cryFire
	}
	if about != "" {
		r.add(Fact{Place: state.Whole, What: state.Help, Urgent: true}).Word = about
	}
	if find(r.h.Facts, state.Help) != nil && !r.located(ws) {
		r.wonder(nil, AskPlace, "", 0)
	}
	return refused || about == cryFire
}

// located says that a cry names where it is, in words of the mill or in others.
func (r *reader) located(ws []cryWord) bool {
	for i := range ws {
		if ws[i].means("goods", "gear") || ws[i].means("at") && i+1 < len(ws) {
			return true
		}
	}
	for i := range r.items {
		if k := r.items[i].kind; k == isPlace || k == isKind {
			return true
		}
	}
	return false
}

// cryOf is the cry that a line's next words are, one to three of them; "" for none.
func cryOf(ws []cryWord) string {
	var none cryWord
	a, b, c := &ws[0], &none, &none
	if len(ws) > 1 {
		b = &ws[1]
	}
	if len(ws) > 2 {
		c = &ws[2]
	}
	switch {
	case a.means("shock"):
		return cryShock
	case a.means("gas"):
		return cryGas
	case a.means("harm") && b.means("body"), a.means("body") && b.means("harm"):
		return cryCaught
	case a.means("fire") && (b.means("goods") || b.means("at") && c.means("goods", "gear", "fuel")),
		a.means("lights") && b.means("goods"), a.means("goods") && b.means("lights"),
		a.means("burns") && b.means("goods", "gear"), a.means("goods", "gear") && b.means("burns"):
		return cryFire
	}
	return ""
}

// untended says that a line tells of a fire and of nothing that is done to one in a furnace: no
// lighting, no heat, no denial, no question.
func (r *reader) untended(ws []cryWord) bool {
	fire := false
	for i := range ws {
		x := &ws[i]
		digits := x.is == nil && isDigit(x.text[0])
		switch {
		case x.means("tended", "ask-me"), x.text == "?", digits && len(x.text) > 1:
			return false
		case x.means("no") && (i == 0 || !ws[i-1].means("fire")):
			return false
		}
		fire = fire || x.means("fire")
	}
	return fire
}

// smokes says that a line tells of smoke and names no place: it may be anywhere. The chimney's own,
// and a figure that a phone made smoke of ("humo 13"), is none.
func (r *reader) smokes() bool {
	smoke := false
	for i := range r.items {
		switch x := &r.items[i]; x.kind {
		case isPlace, isFigure, isReading, isAmount:
			return false
		case isMark:
			if smoke = smoke || x.name == state.Smoke && !x.not && !x.both && x.near == ""; x.not {
				return false
			}
		case isWord:
			if x.says(words.Detail, "chimney") {
				return false
			}
		case isStop:
			if x.text == "?" {
				return false
			}
		}
	}
	return smoke
}

// asksHelp reads a line that asks for help with the program, or with a place, and cries for none.
func (r *reader) asksHelp(ws []cryWord) bool {
	ask, me, about, place := false, false, false, false
	for i := range ws {
		x := &ws[i]
		switch {
		case x.means("ask-me"):
			ask, me = true, true
		case x.means("ask"):
			ask = true
		case x.means("about"):
			about = true
		case x.means("at"), x.text == "?", x.text == ",", x.text == ".":
		case x.is == nil && r.namesPlace(x.text):
			place = true
		default:
			return false
		}
	}
	switch {
	case !ask || len(r.h.Facts) > 0:
		return false
	case about && !place:
		r.add(Fact{What: SaysHelpMe, Word: state.Help})
	case me && place && !about:
		r.ask(AskHelp, strings.Join(r.texts, " "), "")
	default:
		return false
	}
	r.unknowns = 0
	return true
}

// namesPlace says that a word is a place of the mill, or a figure that can only be one's.
func (r *reader) namesPlace(text string) bool {
	for _, n := range r.names {
		if n == text {
			return true
		}
	}
	return len(text) == 1 && isDigit(text[0])
}
