package rules

import (
	"fmt"
	"strconv"
	"strings"
)

// NearLimit is the limit that a mistyped name most likely meant; "" when none is near.
func (b *Book) NearLimit(name string) string { return nearest(strings.ToLower(name), b.Limits) }

// WithLimit is the book's text with another value for a limit; everything else, comments too,
// stays as it was. The text that comes back can be read: it was.
func (b *Book) WithLimit(name string, value float64) (string, error) {
	lines := strings.Split(b.Text, "\n")
	in := false
	for i, line := range lines {
		s := strings.TrimSpace(line)
		if strings.HasPrefix(s, "[") {
			in = s == "[limit."+name+"]"
		}
		key, _, ok := strings.Cut(s, "=")
		if !in || !ok || strings.TrimSpace(key) != "value" {
			continue
		}
		lines[i] = "value = " + strconv.FormatFloat(value, 'f', -1, 64)
		text := strings.Join(lines, "\n")
		_, err := Parse(text)
		return text, err
	}
	return "", fmt.Errorf("the book writes limit %s in a way that a line of chat cannot change; "+
		"send the whole book", name)
}
