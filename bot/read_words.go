package bot

import (
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// From tokens to items: the mill's own names first, then the longest phrase of the vocabulary. A
// word that nobody knows is compared with the vocabulary once: one wrong letter in a long word is
// found, and asked about where it could hurt.
//
// Words that mean nothing here ("jefe", "please") are dropped at once, so that they stand between
// no two words that belong together. A word of several languages keeps the meanings of the
// sender's own where it has any: "no" is a denial in Spanish and "in the" in Portuguese.

// nearLimit is how many unknown words of a line are compared with the vocabulary.
const nearLimit = 12

// itemise turns tokens into items: places by name, the longest known phrase, figures, separators.
// Words that mean nothing here are dropped.
func (r *reader) itemise() {
	if cap(r.items) < len(r.tokens) {
		r.items = make([]item, 0, len(r.tokens))
		r.spare = make([]item, 0, len(r.tokens))
	}
	sounds := r.w.Sounds(r.c.Lang, r.texts)
	for i := 0; i < len(r.tokens); {
		t := r.tokens[i]
		if n, p := r.placeAt(i); n > 0 {
			r.items = append(r.items, item{kind: isPlace, text: t.text, ps: []int{p}, sure: true})
			i += n
			continue
		}
		if t.form == inDigits {
			x := item{kind: isFigure, text: t.text, fig: r.figure(t.text)}
			x.fig.minus = t.minus
			r.items = append(r.items, x)
			i++
			continue
		}
		if n, is := r.match(sounds, i); n > 0 {
			r.tongue(is)
			is = r.ofSender(is)
			if !onlyFiller(is) && (!sole(is, words.Hedge, "much") || r.denies()) {
				text := strings.Join(r.texts[i:i+n], " ")
				r.items = append(r.items, item{kind: isWord, text: text, is: is})
			}
			i += n
			continue
		}
		if t.form == inStop {
			r.items = append(r.items, item{kind: isStop, text: t.text})
		} else {
			r.unknown(t.text)
		}
		i++
	}
}

// tongue counts the words that are of one side only: of English, or of its neighbours here.
func (r *reader) tongue(is []words.Meaning) {
	english, other := false, false
	for i := range is {
		in := strings.Contains(is[i].Lang, "en")
		english, other = english || in, other || !in
	}
	if english != other {
		if r.foreign++; english {
			r.foreign, r.english = r.foreign-1, true
		}
	}
}

// match finds the longest phrase at a token: by its spelling, or a longer one by its sound.
func (r *reader) match(sounds []string, i int) (took int, is []words.Meaning) {
	took, is = r.w.Match(r.texts[i:])
	if sounds != nil {
		if n, alike := r.w.MatchSound(r.c.Lang, sounds[i:]); n > took {
			took, is = n, alike
		}
	}
	if took < 2 {
		return took, is
	}
	for k := 1; k < took; k++ { // "no se fue la luz": not, and gone; "puedo bajar adentro"
		n, next := r.w.Match(r.texts[i+k:])
		if k+n > took && (n > took || meansHarm(next)) {
			if m, first := r.w.Match(r.texts[i : i+k]); m == k {
				return k, first
			}
		}
	}
	return took, is
}

// meansHarm says that a phrase is a cry for help or a dangerous wish.
func meansHarm(is []words.Meaning) bool {
	for _, m := range is {
		if m.In == words.Danger || m.In == words.Mark && m.Name == state.Help {
			return true
		}
	}
	return false
}

// unknown adds a word that nobody knows here, or the word it was nearly.
func (r *reader) unknown(text string) {
	for _, p := range r.c.People {
		if words.FoldText(p) == text {
			r.person = p
			return
		}
	}
	x := item{kind: isOther, text: text}
	if p := r.nearPlace(text); p >= 0 {
		x.kind, x.ps, x.near = isPlace, []int{p}, r.c.Places[p].Name
		r.items = append(r.items, x)
		return
	}
	if r.looked++; r.looked <= nearLimit {
		if near := r.w.Near(text); near != "" {
			if n, is := r.w.Match([]string{near}); n > 0 {
				is = r.ofSender(is)
				if onlyFiller(is) {
					return
				}
				if nearly(is[0], r.w, near) {
					x.kind, x.is, x.near = isWord, is, near
				}
			}
		}
	}
	r.items = append(r.items, x)
}

// nearly says that a mistyped word may be taken for a known one. Small words of time and joining
// are too easily meant; a cry for help only for its plainest words.
func nearly(m words.Meaning, w *words.Words, near string) bool {
	switch m.In {
	case words.Time, words.Join, words.Danger, words.Hedge:
		return false
	case words.Mark:
		if m.Name != state.Help {
			return true
		}
		for _, lang := range w.Langs() {
			if near == w.Show(lang, m.In, m.Name) {
				return true
			}
		}
		return false
	}
	return true
}

// placeAt finds a place by its name at a token; names may have several words.
func (r *reader) placeAt(i int) (took, place int) {
	for p, n := range r.names {
		if r.tokens[i].text == n {
			return 1, p
		}
		if !strings.HasPrefix(n, r.tokens[i].text) || !strings.ContainsAny(n, " -") {
			continue
		}
		if took := r.spread(n, i); took > 0 {
			return took, p
		}
	}
	return 0, -1
}

// spread is how many tokens from index i on a name of several words takes up, its hyphens typed or
// not; 0 when it is not there.
func (r *reader) spread(name string, i int) int {
	at := i
	for _, word := range strings.FieldsFunc(name, func(c rune) bool { return c == ' ' || c == '-' }) {
		if at > i && at < len(r.texts) && r.texts[at] == "-" {
			at++
		}
		if at == len(r.texts) || r.texts[at] != word {
			return 0
		}
		at++
	}
	return at - i
}

// ofSender keeps the meanings of the sender's language where a word has one there.
func (r *reader) ofSender(is []words.Meaning) []words.Meaning {
	if len(is) < 2 || r.c.Lang == "" {
		return is
	}
	mine := 0
	for i := range is {
		if strings.Contains(is[i].Lang, r.c.Lang) {
			mine++
		}
	}
	if mine == 0 || mine == len(is) {
		return is
	}
	kept := make([]words.Meaning, 0, mine)
	for i := range is {
		if strings.Contains(is[i].Lang, r.c.Lang) {
			kept = append(kept, is[i])
		}
	}
	return kept
}

func onlyFiller(is []words.Meaning) bool { return len(is) == 1 && is[0].In == words.Filler }

// sole says that a word has one meaning and which.
func sole(is []words.Meaning, in words.Section, name string) bool {
	return len(is) == 1 && is[0].In == in && is[0].Name == name
}

// denies says that a word before in the line denies something: "no longer so" slippery.
func (r *reader) denies() bool {
	for i := range r.items {
		if x := &r.items[i]; x.joins("not", "no-more") || x.says(words.Talk, SaysNo) {
			return true
		}
	}
	return false
}
