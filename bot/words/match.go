package words

import "unicode/utf8"

// Match finds the longest phrase at the front of a line's words, which must be folded. It gives
// the number of words it took and the meanings of the phrase; 0 when none fits.
func (w *Words) Match(line []string) (took int, is []Meaning) { return w.root.match(line) }

func (n *node) match(line []string) (took int, is []Meaning) {
	for i, word := range line {
		if n = n.next[word]; n == nil {
			break
		}
		if len(n.is) > 0 {
			took, is = i+1, n.is
		}
	}
	return took, is
}

// MatchCry finds the longest phrase of [Cry] at the front of a line's words, as [Words.Match] does.
func (w *Words) MatchCry(line []string) (took int, is []Meaning) { return w.cries.match(line) }

// Has says whether a word is known by itself or begins a known phrase.
func (w *Words) Has(word string) bool { return w.root.next[word] != nil }

// Show gives the floor's commonest word for a program word in a language, for an answer or an
// example; "" when the language is not known.
func (w *Words) Show(lang string, in Section, name string) string {
	if all := w.show[Meaning{in, name, lang}]; len(all) > 0 {
		return all[0]
	}
	return ""
}

// Langs lists the languages, two letters each, in alphabetical order.
func (w *Words) Langs() []string { return append([]string(nil), w.langs...) }

// shortest is the number of letters below which no near word is looked for: short words have too
// many neighbours.
const shortest = 6

// Near finds the word that is one wrong, missing, added or swapped letter away. It gives the first
// in alphabetical order when several are, and "" when none is or the word is short or very long.
func (w *Words) Near(word string) string {
	if n := utf8.RuneCountInString(word); n < shortest || n > 24 {
		return ""
	}
	best := ""
	less(word, func(l string) {
		for _, known := range w.near[l] {
			if (best == "" || known < best) && oneOff(word, known) {
				best = known
			}
		}
	})
	return best
}

// index notes every long enough word of the vocabulary under itself and under itself less one
// letter, so that a near word is found by looking up, never by going through the vocabulary.
func (w *Words) index(root *node) {
	seen := map[string]bool{}
	var walk func(n *node)
	walk = func(n *node) {
		for _, word := range sorted(n.next) {
			if !seen[word] && utf8.RuneCountInString(word) >= shortest && letters(word) {
				seen[word] = true
				less(word, func(l string) { w.near[l] = append(w.near[l], word) })
			}
			walk(n.next[word])
		}
	}
	walk(root)
}

// letters says that a word has no digit.
func letters(word string) bool {
	for _, c := range word {
		if '0' <= c && c <= '9' {
			return false
		}
	}
	return true
}

// less gives a word, and the word less each one of its letters.
func less(word string, give func(string)) {
	give(word)
	for i, c := range word {
		give(word[:i] + word[i+utf8.RuneLen(c):])
	}
}

// oneOff says whether two words differ by one letter changed, missing, added, or by two
// neighbours swapped.
func oneOff(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) < len(y) {
		x, y = y, x
	}
	i := 0
	for i < len(y) && x[i] == y[i] {
		i++
	}
	switch {
	case len(x)-len(y) > 1 || i == len(x):
		return false
	case len(x) > len(y):
		return string(x[i+1:]) == string(y[i:])
	case i+1 < len(x) && x[i] == y[i+1] && x[i+1] == y[i] && string(x[i+2:]) == string(y[i+2:]):
		return true
	}
	return string(x[i+1:]) == string(y[i+1:])
}
