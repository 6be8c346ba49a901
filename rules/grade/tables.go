package grade

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

//go:embed tables
var shipped embed.FS

// Tables is everything the grader looks up. It is not changed after loading, so it may be shared
// between goroutines. The zero value knows no table and refuses every word.
type Tables struct {
	Defects []DefectTable // in the order of their file names
	Sieves  Sieves
	Methods Methods
	Trade   Trade
	Export  Export
	Cup     Cup
}

// TableError is a fault in a table file. Line is 0 where the fault is of the file as a whole.
type TableError struct {
	File    string
	Line    int
	Why     string
	Example string // what would be right; may be empty
}

// Error is file, line, reason and, where there is one, an example.
func (e TableError) Error() string {
	where := e.File
	if e.Line > 0 {
		where = fmt.Sprintf("%s:%d", e.File, e.Line)
	}
	if e.Example == "" {
		return fmt.Sprintf("%s: %s", where, e.Why)
	}
	return fmt.Sprintf("%s: %s, for example %s", where, e.Why, e.Example)
}

// rowError is a fault in a row of an array of a file; the loader finds its line. Row is −1 where
// the fault is of the file.
type rowError struct {
	key          string
	row          int
	why, example string
}

// Error is the reason alone: a rowError never leaves the package as it is.
func (e rowError) Error() string { return e.why }

// Shipped is the tables that come with the program.
func Shipped() (*Tables, error) { return Load(nil) }

// Load reads the shipped tables, with the files of a mill's own folder in place of the shipped
// ones of the same name; defects/ may hold further tables. Own may be nil. A file that is not a
// table of ours, an unknown key, a row that cannot be and a table that stands twice are refused
// with a [TableError].
func Load(own fs.FS) (*Tables, error) {
	base, err := fs.Sub(shipped, "tables")
	if err != nil {
		return nil, fmt.Errorf("open shipped tables: %w", err)
	}
	t := &Tables{}
	for _, f := range []struct {
		name  string
		into  any
		check func() error
	}{
		{"screens.toml", &t.Sieves, t.Sieves.check},
		{"moisture.toml", &t.Methods, t.Methods.check},
		{"trade.toml", &t.Trade, t.Trade.check},
		{"export.toml", &t.Export, t.Export.check},
		{"cup.toml", &t.Cup, t.Cup.check},
	} {
		if err := read(f.name, f.into, f.check, own, base); err != nil {
			return nil, err
		}
	}
	names, err := defectFiles(own, base)
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		var d DefectTable
		if err := read(name, &d, d.check, own, base); err != nil {
			return nil, err
		}
		if twin := t.twin(&d); twin != nil {
			return nil, TableError{name, 0, fmt.Sprintf("table %s of %g g is already in %s",
				d.Key(), d.SampleG, twin.file), "another edition"}
		}
		d.file = name
		t.Defects = append(t.Defects, d)
	}
	return t, nil
}

// defectFiles lists the files under defects/, own and shipped, and refuses what else lies in own.
func defectFiles(own, base fs.FS) ([]string, error) {
	names, err := fs.Glob(base, "defects/*.toml")
	if err != nil {
		return nil, fmt.Errorf("list shipped tables: %w", err)
	}
	if own == nil {
		return names, nil
	}
	err = fs.WalkDir(own, ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || path.Ext(name) != ".toml" {
			return err
		}
		switch known := []string{"screens.toml", "moisture.toml", "trade.toml", "export.toml",
			"cup.toml"}; {
		case path.Dir(name) == "defects":
			names = append(names, name)
		case !slices.Contains(known, name):
			return TableError{name, 0, "no table of this name: there are " +
				strings.Join(known, ", ") + " and any under defects/", "defects/mine.toml"}
		}
		return nil
	})
	if err != nil && !errors.As(err, new(TableError)) {
		err = fmt.Errorf("list own tables: %w", err)
	}
	slices.Sort(names)
	return slices.Compact(names), err
}

// twin is a table already loaded with the same key and sample mass, or nil.
func (t *Tables) twin(d *DefectTable) *DefectTable {
	for i := range t.Defects {
		if o := &t.Defects[i]; o.Key() == d.Key() && o.SampleG == d.SampleG {
			return o
		}
	}
	return nil
}

// read decodes one file strictly into a value, from own if the file is there and else from base,
// and then lets check say whether its figures can be. A rowError of check gets its file and line
// here, so that the tables know nothing of files.
func read(name string, into any, check func() error, own, base fs.FS) error {
	text, err := fs.ReadFile(base, name)
	if own != nil {
		mine, mineErr := fs.ReadFile(own, name)
		if mineErr == nil || !errors.Is(mineErr, fs.ErrNotExist) {
			text, err = mine, mineErr
		}
	}
	if err != nil {
		return fmt.Errorf("read table: %w", err)
	}
	strict := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := strict.Decode(into); err != nil {
		return placed(name, err)
	}
	err = check()
	var row rowError
	if errors.As(err, &row) {
		return TableError{name, lineOf(text, row.key, row.row), row.why, row.example}
	}
	return err
}

// placed turns an error of the decoder into one with file, line and reason. Of several unknown keys
// the first is told: one slip at a time is mended.
func placed(name string, err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		first := &strict.Errors[0]
		line, _ := first.Position()
		key := first.Key()
		return TableError{name, line, fmt.Sprintf("no key %q here", key[len(key)-1]),
			"a key of the shipped file"}
	}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		line, _ := decode.Position()
		return TableError{name, line, strings.TrimPrefix(decode.Error(), "toml: "), ""}
	}
	return TableError{name, 0, err.Error(), ""}
}

// lineOf is the line of row i of the array named key, written inline or as [[key]]; 0 when there
// is none. For row −1 it is the line of the key itself. The decoder keeps no positions of what it
// took, so the text is walked once more; that costs nothing, because it is done for errors only.
func lineOf(text []byte, key string, row int) int {
	var p unstable.Parser
	p.Reset(text)
	for n := 0; p.NextExpression(); {
		e := p.Expression()
		name := e.Key()
		if !name.Next() || string(name.Node().Data) != key {
			continue
		}
		switch {
		case e.Kind == unstable.ArrayTable && n < row:
			n++
		case e.Kind == unstable.KeyValue && row >= 0:
			return elementLine(&p, e.Value(), row)
		default:
			return p.Shape(name.Node().Raw).Start.Line
		}
	}
	return 0
}

// elementLine is the line of element row of an array node, found by its first key, because an
// inline table has no position of its own. An empty one has none at all: 0.
func elementLine(p *unstable.Parser, array *unstable.Node, row int) int {
	it := array.Children()
	for i := 0; it.Next(); i++ {
		pairs := it.Node().Children()
		if i != row || !pairs.Next() {
			continue
		}
		if name := pairs.Node().Key(); name.Next() {
			return p.Shape(name.Node().Raw).Start.Line
		}
	}
	return 0
}

// checkMark refuses a mark that is none; row may be −1.
func checkMark(m Mark, key string, row int) error {
	if slices.Contains(marks(), m) {
		return nil
	}
	return rowError{key, row, fmt.Sprintf("mark %q is none of read, read-c, practice, memory", m),
		`mark = "memory"`}
}
