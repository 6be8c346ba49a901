package voice

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// gsm is the basic character set of the GSM 7-bit default alphabet (3GPP TS 23.038, table 1; from
// memory, checked once against the published list of à è é ì ò ù ñ ü Ç as the accented ones that
// Spanish, Portuguese and English use).
const gsm = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"

// extended are the characters that cost two (the same table's extension).
const extended = "^{}\\[~]|€"

// Plain writes a text in the GSM 7-bit alphabet: á becomes a, ç becomes c, what cannot be written
// becomes a question mark.
func Plain(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case strings.ContainsRune(gsm, r) || strings.ContainsRune(extended, r):
			b.WriteRune(r)
		case r == '…':
			b.WriteString("...")
		case r == '–' || r == '—' || r == '−':
			b.WriteByte('-')
		case r == '“' || r == '”' || r == '«' || r == '»':
			b.WriteByte('"')
		case r == '’' || r == '‘':
			b.WriteByte('\'')
		case r == '°' || r == 'º' || r == 'ª':
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		default:
			b.WriteRune(bare(r))
		}
	}
	return b.String()
}

// bare is a letter without its marks.
func bare(r rune) rune {
	x, _ := utf8.DecodeRuneInString(norm.NFD.String(string(r)))
	if strings.ContainsRune(gsm, x) {
		return x
	}
	return '?'
}

// Septets is how much of a plain message's 160 a text takes, once it is [Plain].
func Septets(s string) int {
	n := 0
	for _, r := range Plain(s) {
		n++
		if strings.ContainsRune(extended, r) {
			n++
		}
	}
	return n
}

// FirstLine is the first line of a text.
func FirstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}
