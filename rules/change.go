package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A book is changed by changing its text: everything else in it, comments too, stays as it was.
// What comes back could be read; else the error says what is wrong and there is no new text.

// NearLimit is the limit that a mistyped name most likely meant; "" when none is near.
func (b *Book) NearLimit(name string) string { return nearest(strings.ToLower(name), b.Limits) }

// NearRule is the call that a mistyped name most likely meant; "" when none is near.
func (b *Book) NearRule(name string) string {
	names := map[string]bool{}
	for _, r := range b.Calls {
		names[r.Name] = true
	}
	return nearest(strings.ToLower(name), names)
}

// Uses lists the calls and guards that name a limit.
func (b *Book) Uses(limit string) []string {
	var out []string
	for _, r := range b.Calls {
		for _, c := range []*Cond{r.When, r.Clear} {
			if c != nil && slices.Contains(c.Limits, limit) && !slices.Contains(out, r.Name) {
				out = append(out, r.Name)
			}
		}
	}
	for _, g := range b.Guards {
		if slices.Contains(g.When.Limits, limit) {
			out = append(out, g.Name)
		}
	}
	return out
}

// WithLimit is the book's text with another value for a limit.
func (b *Book) WithLimit(name string, value float64) (string, error) {
	lines := strings.Split(b.Text, "\n")
	from, to := section(lines, "[limit."+name+"]", "")
	if !setKey(lines[from:to], "value", strconv.FormatFloat(value, 'f', -1, 64)) {
		return "", fmt.Errorf("the book writes limit %s in a way that a line of chat cannot change; "+
			"send the whole book", name)
	}
	return read(lines)
}

// WithCall is the book's text with other values for some keys of a call: rings, wait, who, say.en
// and so on, each as it is said ("20min", "manager, deputy"). "" takes a key away.
func (b *Book) WithCall(name string, keys [][2]string) (string, error) {
	lines := strings.Split(b.Text, "\n")
	from, to := section(lines, "[[call]]", name)
	if from == to {
		return "", &Mistake{Kind: NoSuchName, In: "book", Word: name, Hint: b.NearRule(name)}
	}
	block := slices.Clone(lines[from:to])
	for _, k := range keys {
		if _, ok := keysOf("call")[strings.SplitN(k[0], ".", 2)[0]]; !ok {
			return "", &Mistake{Kind: UnknownKey, In: "call " + name, Word: k[0],
				Hint: nearest(k[0], keysOf("call"))}
		}
		block = slices.DeleteFunc(block, func(line string) bool {
			key, _, ok := strings.Cut(line, "=")
			return ok && strings.TrimSpace(key) == k[0]
		})
		if k[1] != "" {
			at := slices.IndexFunc(block, func(line string) bool {
				return strings.HasPrefix(strings.TrimSpace(line), "name")
			}) + 1
			block = slices.Insert(block, at, k[0]+" = "+literal(k[0], k[1]))
		}
	}
	return read(slices.Concat(lines[:from], block, lines[to:]))
}

// WithNewCall is the book's text with a call more.
func (b *Book) WithNewCall(name string, keys [][2]string) (string, error) {
	text := strings.TrimRight(b.Text, "\n") + "\n\n[[call]]\nname = " + strconv.Quote(name) + "\n"
	for _, k := range keys {
		text += k[0] + " = " + literal(k[0], k[1]) + "\n"
	}
	return read(strings.Split(text, "\n"))
}

// Off are the keys that switch a call off until an instant, for a reason.
func Off(until time.Time, why string) [][2]string {
	return [][2]string{{"off_until", until.Format(time.RFC3339)}, {"off_why", why}}
}

// section finds the lines of a table, without its head and up to the next table; of several with
// that head, the one with a name.
func section(lines []string, head, name string) (from, to int) {
	for i, line := range lines {
		if strings.TrimSpace(line) != head {
			continue
		}
		end := i + 1
		for end < len(lines) && !strings.HasPrefix(strings.TrimSpace(lines[end]), "[") {
			end++
		}
		if name == "" || slices.ContainsFunc(lines[i+1:end], func(l string) bool {
			key, value, _ := strings.Cut(l, "=")
			return strings.TrimSpace(key) == "name" && strings.TrimSpace(value) == strconv.Quote(name)
		}) {
			return i + 1, end
		}
	}
	return 0, 0
}

// setKey gives a key of a table another value; false when it stands in none of the lines.
func setKey(lines []string, key, value string) bool {
	for i, line := range lines {
		if name, _, ok := strings.Cut(line, "="); ok && strings.TrimSpace(name) == key {
			lines[i] = key + " = " + value
			return true
		}
	}
	return false
}

// literal writes a value as the book does: lists, numbers and yes-or-no as such, all else as text.
func literal(key, value string) string {
	switch key {
	case "who", "then":
		var out []string
		for _, w := range strings.Split(value, ",") {
			out = append(out, strconv.Quote(strings.TrimSpace(w)))
		}
		return "[" + strings.Join(out, ", ") + "]"
	case "priority":
		if _, err := strconv.Atoi(value); err == nil {
			return value
		}
	case "private":
		if value == "true" || value == "false" {
			return value
		}
	}
	return strconv.Quote(strings.Trim(value, `"“”`))
}

// read gives a text back when it can be read as a book.
func read(lines []string) (string, error) {
	text := strings.Join(lines, "\n")
	_, err := Parse(text)
	return text, err
}

// safetyCalls are the calls that no book in force may be without, nor have switched off: people
// before coffee.
func safetyCalls() []string { return []string{"help", "power-out", "drum-70", "smoke"} }

// Safety says whether a call is one of those that no book is without and that is never off.
func Safety(name string) bool { return slices.Contains(safetyCalls(), name) }

// Sound says what keeps a book that can be read from being put in force: a safety call that is
// missing or off, a condition that can hold at no time or at every, a sentence missing in a
// language.
func (b *Book) Sound(langs ...string) Mistakes {
	var out Mistakes
	for _, name := range safetyCalls() {
		if r := b.Rule(name); r == nil {
			out = append(out, &Mistake{Kind: Missing, In: "book", Word: "safety call " + name,
				Hint: "lotbell check -default shows it"})
		} else if r.IdleUntil != 0 {
			out = append(out, &Mistake{Kind: NotAllowed, In: "call " + name, Word: "off_until",
				Hint: "a safety call is never off"})
		}
	}
	for _, r := range b.Calls {
		out = append(out, r.When.hollow("call "+r.Name+", rings")...)
		out = append(out, r.Clear.hollow("call "+r.Name+", stops")...)
		for _, lang := range langs {
			if r.Says[lang] == "" {
				out = append(out, &Mistake{Kind: Missing, In: "call " + r.Name,
					Word: "sentence in " + lang, Hint: "say." + lang + ` = "{place}: …"`})
			}
		}
	}
	for _, g := range b.Guards {
		out = append(out, g.When.hollow("guard "+g.Name+", when")...)
	}
	return out
}

// hollow says that a condition can hold at no time, or at every.
func (c *Cond) hollow(in string) Mistakes {
	switch {
	case c == nil:
	case c.root.impossible(false):
		return Mistakes{{Kind: NeverHolds, In: in, Word: c.Text}}
	case c.root.impossible(true):
		return Mistakes{{Kind: AlwaysHolds, In: in, Word: c.Text}}
	}
	return nil
}
