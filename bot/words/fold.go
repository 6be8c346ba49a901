package words

import (
	"strings"
	"unicode"
)

// plain are the letters that stand for those of Spanish, Portuguese and their neighbours, in the
// order of [accented].
const (
	accented = "áàâãäåéèêëíìîïóòôõöúùûüñçýÿªº’‘´`"
	plain    = "aaaaaaeeeeiiiiooooouuuuncyya°''''"
)

// Fold makes one letter plain: small, without accent. It is 0 for what carries no meaning in a
// line (accents typed apart, apostrophes, marks of writing direction, joiners), and a blank for
// pictures and control characters.
func Fold(c rune) rune {
	switch {
	case c < 0x80:
		switch {
		case 'A' <= c && c <= 'Z':
			return c + 'a' - 'A'
		case c < ' ' && c != '\n' || c == 0x7f:
			return ' '
		case c == '\'' || c == '`':
			return 0
		}
		return c
	case c == '’', c == '‘', c == '´', unicode.In(c, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	}
	c = unicode.ToLower(c)
	n := 0
	for _, a := range accented {
		if a == c {
			return []rune(plain)[n]
		}
		n++
	}
	switch {
	case unicode.IsLetter(c), c == '½', c == '°':
		return c
	case c == '–', c == '—', c == '−':
		return '-'
	case c == '¿', c == '¡', unicode.IsSymbol(c), unicode.IsSpace(c), unicode.IsControl(c):
		return ' '
	case c == '，', c == '、':
		return ','
	}
	return c
}

// FoldText folds every letter of a text.
func FoldText(text string) string {
	var b strings.Builder
	b.Grow(len(text))
	for _, c := range text {
		if c = Fold(c); c != 0 {
			b.WriteRune(c)
		}
	}
	return b.String()
}
