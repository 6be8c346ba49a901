package words

import "strings"

// How words sound. The floor writes as it speaks: "biene la yubia", "mobido", "ajuda" for "ayuda".
// Which letters sound alike is each language's own and stands at the top of its file, in pairs of
// what is written and what it sounds like, the first that fits at a place winning:
//
//	alike = "ll y, v b, z s, ce se, ci si, qu k, c k, ch ch, h"
//
// A pair of equal letters keeps them from the pairs behind it; one letter alone is not heard.

// shortestHeard is the number of letters below which a single word is not known by its sound:
// short words have too many.
const shortestHeard = 4

// ear knows a language's phrases by their sound.
type ear struct {
	sound *strings.Replacer
	root  node
}

// listen makes the ear of a language from its pairs of letters; nil when it has none.
func listen(list string) *ear {
	var pairs []string
	for _, p := range split(list) {
		written, sounds, _ := strings.Cut(p, " ")
		pairs = append(pairs, written, sounds)
	}
	if pairs == nil {
		return nil
	}
	return &ear{sound: strings.NewReplacer(pairs...)}
}

// sounds are the sounds of some words.
func (e *ear) sounds(line []string) []string {
	all := make([]string, len(line))
	for i, word := range line {
		all[i] = e.sound.Replace(word)
	}
	return all
}

// Sounds gives the sounds of a line's folded words in a language, for [Words.MatchSound]; nil when
// the language is written as it is spelt.
func (w *Words) Sounds(lang string, line []string) []string {
	if e := w.ears[lang]; e != nil {
		return e.sounds(line)
	}
	return nil
}

// MatchSound finds the longest phrase of a language that sounds like the front of a line, as
// [Words.Match] does by spelling.
func (w *Words) MatchSound(lang string, sounds []string) (took int, is []Meaning) {
	e := w.ears[lang]
	if e == nil {
		return 0, nil
	}
	if took, is = e.root.match(sounds); took == 1 && len(sounds[0]) < shortestHeard {
		return 0, nil
	}
	return took, is
}
