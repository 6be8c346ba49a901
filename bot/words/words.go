package words

import (
	"embed"
	"fmt"
	"io/fs"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

//go:embed *.toml
var files embed.FS

// Words is the floor's vocabulary in every language at once. It is made by [Load] or [Read] and
// never changes, so that many readers may share it. The zero value knows no word.
type Words struct {
	root  node
	cries node                 // the words of [Cry], which are looked for by themselves
	near  map[string][]string  // a word less one letter: the words it may have been
	show  map[Meaning][]string // with Lang set: the floor's words, the commonest first
	ears  map[string]*ear      // by language; none where it is written as it is spelt
	langs []string
}

// node is one word of a phrase: what the phrase that ends here means, and how it may go on.
type node struct {
	is   []Meaning
	next map[string]*node
}

// Wrong is a fault in a language file, for whoever wrote it: the file, the place in it, the
// reason, and a line that would work.
type Wrong struct {
	File, Place, Reason, Example string
}

// Error is the fault as one line.
func (w *Wrong) Error() string {
	return fmt.Sprintf("%s: %s: %s; for example: %s", w.File, w.Place, w.Reason, w.Example)
}

// Load reads the embedded language files.
func Load() (*Words, error) { return Read(files) }

// Read reads every language file (*.toml) of a folder. It fails with a [*Wrong] on the first fault
// of a file, in the order of their names.
func Read(folder fs.FS) (*Words, error) {
	names, err := fs.Glob(folder, "*.toml")
	if err != nil {
		return nil, fmt.Errorf("list language files: %w", err)
	}
	sort.Strings(names)
	w := &Words{near: map[string][]string{}, show: map[Meaning][]string{},
		ears: map[string]*ear{}}
	for _, name := range names {
		text, err := fs.ReadFile(folder, name)
		if err != nil {
			return nil, fmt.Errorf("read language file: %w", err)
		}
		if err := w.add(name, text); err != nil {
			return nil, err
		}
	}
	w.index(&w.root)
	return w, nil
}

// add takes one language file in.
func (w *Words) add(file string, text []byte) error {
	var raw map[string]any
	if err := toml.Unmarshal(text, &raw); err != nil {
		return &Wrong{file, "the file", err.Error(), `rough = "rough, gritty"`}
	}
	lang, _ := raw["lang"].(string)
	if len(lang) != 2 {
		return &Wrong{file, "lang", "two letters are wanted", `lang = "sw"`}
	}
	heard := map[string][]Meaning{} // phrase: its meanings in this language
	for _, m := range Program() {
		table, _ := raw[string(m.In)].(map[string]any)
		list, _ := table[m.Name].(string)
		phrases := split(list)
		if len(phrases) == 0 {
			return &Wrong{file, "[" + string(m.In) + "] " + m.Name, "no word given",
				m.Name + ` = "one word, another"`}
		}
		if m.In == Cry {
			m.Lang = lang
			w.show[m] = phrases
			for _, p := range phrases {
				w.cries.put(fields(p), m)
			}
			continue
		}
		for _, p := range phrases {
			if n := len(heard[p]); n == 0 || heard[p][n-1] != m {
				heard[p] = append(heard[p], m)
			}
		}
		m.Lang = lang
		w.show[m] = phrases
	}
	if err := unknown(file, raw); err != nil {
		return err
	}
	if err := doubled(file, raw, heard); err != nil {
		return err
	}
	alike, _ := raw["alike"].(string)
	e := listen(alike)
	if e != nil {
		w.ears[lang] = e
	}
	for p, ms := range heard {
		for _, m := range ms {
			m.Lang = lang
			w.root.put(fields(p), m)
			if e != nil {
				e.root.put(e.sounds(fields(p)), m)
			}
		}
	}
	w.langs = append(w.langs, lang)
	return nil
}

// unknown refuses names that are no words of the program.
func unknown(file string, raw map[string]any) error {
	known := program()
	for _, in := range sorted(raw) {
		table, isTable := raw[in].(map[string]any)
		if !isTable {
			if in != "lang" && in != "ambiguous" && in != "alike" {
				return &Wrong{file, in, "no such setting", `ambiguous = "out, back"`}
			}
			continue
		}
		names, ok := known[Section(in)]
		if !ok {
			return &Wrong{file, "[" + in + "]", "no such section", "[mark]"}
		}
		for _, n := range sorted(table) {
			if !strings.Contains(" "+names+" ", " "+n+" ") {
				return &Wrong{file, "[" + in + "] " + n, "no such word of the program",
					"one of: " + names}
			}
		}
	}
	return nil
}

// doubled refuses double meanings that are not listed, and listed ones that are none.
func doubled(file string, raw map[string]any, heard map[string][]Meaning) error {
	list, _ := raw["ambiguous"].(string)
	listed := map[string]bool{}
	for _, p := range split(list) {
		listed[p] = true
		if len(heard[p]) < 2 {
			return &Wrong{file, "ambiguous", "\"" + p + "\" has no two meanings here",
				"take it from the list"}
		}
	}
	for _, p := range sorted(heard) {
		if ms := heard[p]; len(ms) > 1 && !listed[p] {
			return &Wrong{file, "[" + string(ms[1].In) + "] " + ms[1].Name,
				fmt.Sprintf("\"%s\" is also [%s] %s", p, ms[0].In, ms[0].Name),
				`ambiguous = "` + p + `"`}
		}
	}
	return nil
}

// put hangs a meaning under a phrase. Several languages with one meaning share it.
func (n *node) put(phrase []string, m Meaning) {
	for _, word := range phrase {
		if n.next == nil {
			n.next = map[string]*node{}
		}
		if n.next[word] == nil {
			n.next[word] = &node{}
		}
		n = n.next[word]
	}
	for i := range n.is {
		if n.is[i].In == m.In && n.is[i].Name == m.Name {
			n.is[i].Lang += " " + m.Lang
			return
		}
	}
	n.is = append(n.is, m)
	sort.Slice(n.is, func(i, j int) bool { return before(n.is[i], n.is[j]) })
}

// before orders meanings, so that the order of files and maps never shows.
func before(a, b Meaning) bool {
	if a.In != b.In {
		return a.In < b.In
	}
	return a.Name < b.Name
}

// fields are the words of a phrase.
func fields(text string) []string { return strings.Fields(text) }

// split takes a list apart at its commas, folded, without empty ones.
func split(list string) []string {
	var all []string
	for _, p := range strings.Split(list, ",") {
		if p = strings.Join(fields(FoldText(p)), " "); p != "" {
			all = append(all, p)
		}
	}
	return all
}

// sorted are the keys of a map in order.
func sorted[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
