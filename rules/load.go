package rules

import (
	"bytes"
	_ "embed" // the default book
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

//go:embed default.toml
var defaultText string

// DefaultText is the embedded book, good enough for a mill's first day.
func DefaultText() string { return defaultText }

// A book may have so many bytes; of a worse one so many mistakes are told.
const (
	maxBook     = 256 << 10
	maxMistakes = 40
)

// bookFile is a book as it is written.
type bookFile struct {
	Language int
	Limit    map[string]limitFile
	Call     []callFile
	Guard    []guardFile
	Summary  []summaryFile
}

type limitFile struct {
	Value, Low, High float64
	Unit, Why        string
}

type callFile struct {
	Name, Kind, On, Per            string
	Rings, Stops, Due, Until, Only string
	Wait, Off, Again, Respond      string
	Priority                       int
	Who, Then                      []string
	Asks                           string
	Private                        bool
	OffUntil                       string `toml:"off_until"`
	OffWhy                         string `toml:"off_why"`
	Cause, Consequence, Action     string
	Why                            string
	Say                            map[string]string
}

type guardFile struct {
	Name, From, Stop, When, Why string
	On                          []string
	Say                         map[string]string
}

// Mistakes is everything wrong with a book, or the first of it when there is very much.
type Mistakes []*Mistake

// Error lists the mistakes, a line each.
func (ms Mistakes) Error() string {
	var out []string
	for _, m := range ms {
		out = append(out, m.Error())
	}
	return strings.Join(out, "\n")
}

// Parse reads a book from its text. The error is a Mistakes: everything wrong with it, each with
// its place; then there is no book and the one in force stays.
func Parse(text string) (*Book, error) {
	if len(text) > maxBook {
		return nil, Mistakes{{Kind: TooBig, Word: strconv.Itoa(len(text)),
			Hint: strconv.Itoa(maxBook)}}
	}
	var f bookFile
	dec := toml.NewDecoder(bytes.NewReader([]byte(text))).DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return nil, tomlMistakes(err)
	}
	l := &loader{lines: linesOf(text), signals: map[string]string{}, book: &Book{Text: text, Limits: map[string]Limit{},
		on: map[string][]*Rule{}, perPlace: map[string][]*Rule{}}}
	if f.Language > Language {
		l.add(&Mistake{Kind: BadValue, In: "language", Line: l.lines["/language"],
			Word: fmt.Sprintf("the book's language is %d, this program speaks %d", f.Language,
				Language)})
	}
	l.limits(f.Limit)
	for i, c := range f.Call {
		l.call(i, c)
	}
	for i, g := range f.Guard {
		l.guard(i, g)
	}
	for i, s := range f.Summary {
		l.summary(i, s)
	}
	if len(l.wrong) > 0 {
		return nil, l.wrong
	}
	return l.book, nil
}

// tomlMistakes words what the TOML reader found.
func tomlMistakes(err error) Mistakes {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var out Mistakes
		for _, e := range strict.Errors[:min(len(strict.Errors), maxMistakes)] {
			row, col := e.Position()
			key := e.Key()
			out = append(out, &Mistake{Kind: UnknownKey, Line: row, Col: col,
				Word: short(strings.Join(key, ".")),
				Hint: nearest(short(key[len(key)-1]), keysOf(key[0]))})
		}
		return out
	}
	var d *toml.DecodeError
	if errors.As(err, &d) {
		row, col := d.Position()
		return Mistakes{{Kind: BadSyntax, Line: row, Col: col, Word: plainTOML(d.Error())}}
	}
	return Mistakes{{Kind: BadSyntax, Word: plainTOML(err.Error())}}
}

// short cuts a word that is quoted in an answer.
func short(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return s
}

var wrongType = regexp.MustCompile(`cannot decode TOML (\w+) into .*?(?:of type )?([\w.\[\]]+)$`)

// plainTOML says without the words of a programmer what the TOML reader found.
func plainTOML(s string) string {
	s = strings.TrimPrefix(s, "toml: ")
	m := wrongType.FindStringSubmatch(s)
	if m == nil {
		return s
	}
	belongs := map[string]string{"float64": "a number", "int": "a whole number",
		"string": "a text in quotes", "bool": "true or false", "[]string": `a list like ["lead"]`,
		"map[string]string": `sentences, say.en = "…"`}[m[2]]
	if belongs == "" {
		belongs = "a section in brackets"
	}
	return "here belongs " + belongs + ", not one of the kind " + m[1]
}

// keysOf are the keys that a section of a book may have; of the book itself when there is no such
// section.
func keysOf(section string) map[string]bool {
	keys := map[string]string{
		"limit": "value low high unit why",
		"call": `name kind on per rings stops due until only wait off again respond priority
			who then asks private off_until off_why cause consequence action why say`,
		"guard": "name on from stop when why say", "summary": "name at to shows why",
	}[section]
	if keys == "" {
		keys = "language limit call guard summary"
	}
	out := map[string]bool{}
	for _, k := range strings.Fields(keys) {
		out[k] = true
	}
	return out
}

// loader collects a book and what is wrong with it.
type loader struct {
	lines   map[string]int
	signals map[string]string // what the calls so far ring for, to the call's name
	book    *Book
	wrong   Mistakes
}

func (l *loader) add(m *Mistake) {
	if len(l.wrong) < maxMistakes {
		l.wrong = append(l.wrong, m)
	}
}

// linesOf finds where the tables and keys of a book stand: "call/3" and "call/3/rings" for the
// fourth call, "limit.air" and "limit.air/value" for a limit. It need not understand TOML; what
// it does not find has no line in the answer.
func linesOf(text string) map[string]int {
	out, count := map[string]int{}, map[string]int{}
	table, prefix := "", ""
	bare := strings.NewReplacer(`"`, "", "'", "")
	for i, line := range strings.Split(text, "\n") {
		s := strings.TrimSpace(line)
		if strings.HasPrefix(s, "[") {
			s = bare.Replace(s)
		}
		if name, ok := strings.CutPrefix(s, "[["); ok {
			name, _, _ = strings.Cut(name, "]")
			name = strings.TrimSpace(name)
			table, prefix = name+"/"+strconv.Itoa(count[name]), ""
			count[name]++
			out[table] = i + 1
			continue
		}
		if name, ok := strings.CutPrefix(s, "["); ok {
			name, _, _ = strings.Cut(name, "]")
			table, prefix = strings.TrimSpace(name), ""
			if root, rest, ok := strings.Cut(table, "."); ok && count[root] > 0 {
				table, prefix = root+"/"+strconv.Itoa(count[root]-1), rest+"."
			} else {
				out[table] = i + 1
			}
			continue
		}
		if key, _, ok := strings.Cut(s, "="); ok {
			at := table + "/" + prefix + strings.TrimSpace(key)
			if out[at] == 0 {
				out[at] = i + 1
			}
		}
	}
	return out
}

// lineOf is the line of a key of the n-th table of a name; of the table when the key is not found.
func (l *loader) lineOf(table string, n int, key string) int {
	at := table + "/" + strconv.Itoa(n)
	if line := l.lines[at+"/"+key]; line > 0 {
		return line
	}
	return l.lines[at]
}

var limitName = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)

// limits reads the limits, in the order of their names.
func (l *loader) limits(in map[string]limitFile) {
	for _, name := range slices.Sorted(maps.Keys(in)) {
		x := in[name]
		where, line := "limit "+short(name), l.lines["limit."+name+"/value"]
		if line == 0 {
			line = l.lines["limit."+name]
		}
		if !limitName.MatchString(name) {
			l.add(&Mistake{Kind: BadValue, In: where, Line: line, Hint: "drum_air_wet",
				Word: "a limit is named in small letters, digits and _"})
		}
		if !slices.Contains([]string{"C", "%", "h", "min", "d", "kg", "pH", ""}, x.Unit) {
			l.add(&Mistake{Kind: BadValue, In: where, Line: line,
				Word: "unit " + strconv.Quote(x.Unit), Hint: "C, %, h, min, d, kg, pH"})
		}
		if !(x.Low < x.High && x.Low <= x.Value && x.Value <= x.High) || !finiteAll(x.Low, x.High) {
			l.add(&Mistake{Kind: OutOfRange, In: where, Line: line, Word: plain(x.Value),
				Hint: plain(x.Low) + " to " + plain(x.High) + " " + x.Unit})
		}
		l.book.Limits[name] = Limit{name, x.Value, x.Unit, x.Low, x.High, x.Why}
	}
}

func finiteAll(xs ...float64) bool {
	for _, x := range xs {
		if x-x != 0 {
			return false
		}
	}
	return true
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
