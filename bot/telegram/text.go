package telegram

import (
	"strings"
	"unicode"
	"unicode/utf16"

	"lotbell/bot"
)

// textLimit is how long a text may be (Bot API manual, sendMessage: 1-4096 characters). It is
// counted in UTF-16 units, as the manual counts offsets, which is never less than characters.
const textLimit = 4096

// captionLimit is how long the text with a file or a picture may be (sendDocument, sendPhoto:
// 0-1024 characters).
const captionLimit = 1024

// parts are the texts that a message is sent as, none when there is nothing to send. A picture goes
// with the first one. A file goes with the last one: the whole text where that is short enough,
// else a blank one after the others.
func parts(m bot.Outgoing) []string {
	var first []string
	rest := m.Text
	if hasPicture(m) {
		caption, more := head(m.Text, captionLimit)
		first, rest = []string{caption}, more
	}
	switch {
	case !hasFile(m):
		return append(first, split(rest, textLimit)...)
	case len(first) == 0 && units(rest) <= captionLimit:
		return []string{rest}
	}
	return append(append(first, split(rest, textLimit)...), "")
}

// hasPicture says whether a picture goes with a message. One without words is not sent: they are
// what is left when the picture is not taken.
func hasPicture(m bot.Outgoing) bool {
	return m.Picture != nil && len(m.Picture.Body) > 0 && strings.TrimSpace(m.Text) != ""
}

// hasFile says whether a file goes with a message. The far side takes no empty one.
func hasFile(m bot.Outgoing) bool { return m.File != nil && m.File.Body != "" }

// units is the length of a text in UTF-16 units. A byte that is no UTF-8 counts as the one unit
// that replaces it.
func units(s string) int {
	n := 0
	for _, r := range s {
		n += max(utf16.RuneLen(r), 1)
	}
	return n
}

// split cuts a text into parts of at most limit units: between lines where it can, else at a
// space, else anywhere between two characters. Blank parts are left out, so a blank text has no
// part.
func split(s string, limit int) []string {
	var parts []string
	for s != "" {
		var part string
		part, s = head(s, limit)
		if strings.TrimSpace(part) != "" {
			parts = append(parts, part)
		}
	}
	return parts
}

// head takes the first part off a text. The line break or space at the cut goes.
func head(s string, limit int) (part, rest string) {
	n, line, space := 0, -1, -1
	for i, r := range s {
		n += max(utf16.RuneLen(r), 1)
		if n > limit && r != '\n' && r != ' ' || n > limit+1 {
			switch {
			case line > 0:
				return s[:line], s[line+1:]
			case space > 0:
				return s[:space], s[space+1:]
			}
			return s[:i], s[i:]
		}
		switch r {
		case '\n':
			line = i
		case ' ':
			space = i
		}
	}
	if n > limit { // the one character too many is the break at the end
		return s[:len(s)-1], ""
	}
	return s, ""
}

// commands takes the slash and the bot's name off each line that begins with a command: "/ok 14"
// and "/ok@mill_bot 14" are "ok 14". A command is a slash and letters, digits or underscores
// (Bot API manual, BotCommand); other lines stay, so "1/2" and "/5" are not touched. The
// entities that the far side marks commands with are not used: their offsets are UTF-16 units.
func commands(s string) string {
	if !strings.Contains(s, "/") {
		return s
	}
	lines := strings.Split(s, "\n")
	for i, line := range lines {
		lines[i] = command(line)
	}
	return strings.Join(lines, "\n")
}

// command takes the slash and the bot's name off one line. What follows the name stays as it is,
// white space too.
func command(line string) string {
	body, ok := strings.CutPrefix(strings.TrimLeftFunc(line, unicode.IsSpace), "/")
	if !ok {
		return line
	}
	word, rest := body, ""
	if i := strings.IndexFunc(body, unicode.IsSpace); i >= 0 {
		word, rest = body[:i], body[i:]
	}
	name, _, _ := strings.Cut(word, "@")
	if name == "" || !letter(rune(name[0])) || strings.IndexFunc(name, notInName) >= 0 {
		return line
	}
	return name + rest
}

// letter says whether r is one of a to z, in either case.
func letter(r rune) bool { return r|0x20 >= 'a' && r|0x20 <= 'z' }

// notInName says whether r cannot stand in a command's name.
func notInName(r rune) bool { return !letter(r) && r != '_' && (r < '0' || r > '9') }
