package grade

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
)

// shippedText is a shipped file with one piece replaced, which must be there, and the line of it.
func shippedText(t *testing.T, name, old, new string) (text string, line int) {
	t.Helper()
	raw, err := fs.ReadFile(shipped, "tables/"+name)
	if err != nil {
		t.Fatal(err)
	}
	before, after, ok := strings.Cut(string(raw), old)
	if !ok {
		t.Fatalf("%s does not hold %q", name, old)
	}
	return before + new + after, 1 + strings.Count(before, "\n")
}

// TestBadTables: a fault in a mill's own file is refused with file, line and reason.
func TestBadTables(t *testing.T) {
	const (
		sca, brazil = "defects/sca-2018.toml", "defects/brazil-2003.toml"
		iso         = "defects/iso-10470-2004.toml"
	)
	for _, c := range []struct{ name, old, new, why string }{
		{sca, "kind =", "kimd =", `no key "kimd"`},
		{sca, "sample_g = 350", "sample_g = 0", "more than 0"},
		{sca, "sample_g = 350", `sample_g = "350"`, "cannot"},
		{sca, `kind = "count"`, `kind = "cuont"`, "count or mass"},
		{sca, `mark = "read-c"`, `mark = "sure"`, "none of read"},
		{sca, `name = "floater", category = 2, per = 5`, `name = "floater", category = 2, per = 0`,
			"per or full"},
		{sca, `name = "floater", category = 2`, `name = "floater", category = 3`, "category"},
		{sca, `name = "withered"`, `name = "floater"`, "stands twice"},
		{sca, `per = 5},`, `per = 5, mark = "x"},`, "none of read"},
		{sca, `{name = "speciality"`, `{name = ""`, "needs a name"},
		{sca, `{name = "speciality"`, `{mark = "x", name = "speciality"`, "none of read"},
		{sca, "class = [", "class = 1 #", "cannot"},
		{brazil, `name = "3", total_most = 12`, `name = "3", total_most = 2`, "falls below"},
		{iso, `loss = 0.5, sensory = 0.5, note`, `loss = 0.5, note`, "loss and sensory"},
		{iso, `sensory = 0.5, sensory_most = 1}`, `sensory = 0.5, sensory_most = 0}`,
			"loss and sensory"},
		{"screens.toml", "iso_mm = 6.70", "iso_mm = 7.60", "is not screen 17"},
		{"screens.toml", "{number = 13}", "{number = 15}", "largest number down"},
		{"screens.toml", "{number = 13}", "{number = 13, tol_mm = 1}", "go together"},
		{"screens.toml", "closure_pct = 0.5", "closure_pct = 50", "at most 5"},
		{"screens.toml", `closure_mark = "memory"`, `closure_mark = ""`, "none of read"},
		{"screens.toml", `where = "India"`, `where = ""`, "mm, number and where"},
		{"moisture.toml", "offset = 1.0", "offset = 100.0", "10 points"},
		{"moisture.toml", "sigma = 0.3", "sigma = 0", "sigma"},
		{"moisture.toml", `id = "iso-1446"`, `id = "ISO 6673"`, "twice"},
		{"moisture.toml", "high = 35", "high = 135", "0 to 100"},
		{"moisture.toml", `mark = "practice"`, `mark = "p"`, "none of read"},
		{"trade.toml", "factor = 0.80", "factor = -0.8", "factor"},
		{"trade.toml", `0.80, kind = "statistical"`, `0.80, kind = "sure"`, "measured"},
		{"trade.toml", `from = "roasted"`, `from = "Dried Cherry"`, "twice"},
		{"trade.toml", "kg = 60", "kg = 0", "under 2000"},
		{"trade.toml", "low = 19000", "low = 29000", "between low and high"},
		{"export.toml", "moisture_high = 12.5", "moisture_high = 7", "under moisture_high"},
		{"export.toml", "sample_g = 300", "sample_g = -1", "sample_g"},
		{"export.toml", `name = "robusta"`, `name = ""`, "name"},
		{"cup.toml", "from = 85", "from = 95", "highest score down"},
		{"cup.toml", "dose_g = 8.25", "dose_g = 0", "dose_g"},
		{"cup.toml", "dose_g = 8.25", "dose_g = 1979-05-27", ""},
	} {
		text, line := shippedText(t, c.name, c.old, c.new)
		_, err := Load(fstest.MapFS{c.name: {Data: []byte(text)}})
		var e TableError
		if !errors.As(err, &e) || e.File != c.name || e.Line != line ||
			!strings.Contains(e.Error(), c.why) {
			t.Errorf("%s, %q: %v; want line %d: %s", c.name, c.new, err, line, c.why)
		}
	}
}

// TestMissingKeys: what a file leaves out is said for the file.
func TestMissingKeys(t *testing.T) {
	for _, c := range []struct{ name, old, why string }{
		{"defects/sca-2018.toml", `otherwise = "not speciality"`, "otherwise"},
		{"defects/sca-2018.toml", `edition = "2018"`, "edition"},
		{"defects/sca-2018.toml", `source = `, "source"},
		{"cup.toml", `  {from = 0, name = "not speciality"},`, "from 0"},
		{"cup.toml", `protocol = "100-point form, 2004"`, "protocol"},
		{"export.toml", `method = "iso-6673"`, "method"},
	} {
		text, _ := shippedText(t, c.name, c.old, "# ")
		_, err := Load(fstest.MapFS{c.name: {Data: []byte(text)}})
		helps[TableError](t, err, c.name, c.why)
	}
}

// TestArrayTables: a class written as [[class]] is found on its own line too.
func TestArrayTables(t *testing.T) {
	const text = `table = "mill"
edition = "1"
sample_g = 300
kind = "count"
mark = "practice"
source = "a made-up mill's own table"

[[class]]
name = "black"
per = 1

[[class]]
name = "broken"
`
	_, err := Load(fstest.MapFS{"defects/mill.toml": {Data: []byte(text)}})
	helps[TableError](t, err, "defects/mill.toml:12: broken")
	x, err := Load(fstest.MapFS{"defects/mill.toml": {Data: []byte(text + "per = 4\n")}})
	if err != nil {
		t.Fatal(err)
	}
	d := must[*DefectTable](t)(x.For("mill", 300))
	c := must[Count](t)(d.Count(Sample{Grams: 300, Found: found("broken", 9, "black", 1)}))
	if c.Full != 3 || c.Mark != Practice {
		t.Errorf("%+v", c)
	}
}

// TestOwnFolder: a mill's file stands in for the shipped one, on disk as well; strangers and twins
// are refused.
func TestOwnFolder(t *testing.T) {
	dir := t.TempDir()
	text, _ := shippedText(t, "moisture.toml", `id = "meter", name`,
		`id = "meter", offset = -0.4, name`)
	if err := os.WriteFile(filepath.Join(dir, "moisture.toml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	note := []byte("not a table")
	if err := os.WriteFile(filepath.Join(dir, "notes.txt"), note, 0o600); err != nil {
		t.Fatal(err)
	}
	x, err := Load(os.DirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	got, _, err := x.Methods.Convert(11, "meter", "iso-6673")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "own offset", got, 11.4, 1e-9)
	if len(x.Defects) != len(tables(t).Defects) {
		t.Error("own folder lost the shipped defect tables")
	}

	_, err = Load(fstest.MapFS{"screen.toml": {Data: []byte("")}})
	helps[TableError](t, err, "screen.toml", "screens.toml")
	twin, _ := shippedText(t, "defects/sca-2018.toml", "SCA washed", "Our washed")
	_, err = Load(fstest.MapFS{"defects/ours.toml": {Data: []byte(twin)}})
	helps[TableError](t, err, "sca-2018 of 350 g is already in defects/ours.toml")
	if _, err = Load(os.DirFS(filepath.Join(dir, "nowhere"))); err == nil {
		t.Error("a folder that is not there was taken")
	}
}

// TestEveryRowIsMarked: the rows that were not read say so, and every table names its source.
func TestEveryRowIsMarked(t *testing.T) {
	x := tables(t)
	if len(x.Defects) != 6 {
		t.Errorf("%d defect tables, want 6", len(x.Defects))
	}
	for _, d := range x.Defects {
		if d.Source == "" || d.Title == "" {
			t.Errorf("%s has no source or title", d.Key())
		}
		if d.Key() == "iso-10470-2004" {
			for _, c := range d.Classes {
				if read := c.Mark == Read; read != (c.Name == "blotchy") {
					t.Errorf("%s: mark %q", c.Name, c.Mark)
				}
			}
		}
	}
	for _, c := range x.Trade.Convert {
		if c.Source == "" {
			t.Errorf("%s has no source", c.From)
		}
	}
}

// FuzzLoad: whatever a mill writes into a table, loading gives tables or an error that says where,
// and never panics; what was loaded can be counted with.
func FuzzLoad(f *testing.F) {
	for _, name := range []string{"sca-2018", "iso-10470-2004"} {
		text, err := fs.ReadFile(shipped, "tables/defects/"+name+".toml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add("[[class]]\nname = 1")
	f.Add("class = [{}, {name = \"a\", per = 1, full = 1}]")
	f.Fuzz(func(t *testing.T, text string) {
		x, err := Load(fstest.MapFS{"defects/own.toml": {Data: []byte(text)}})
		if err != nil {
			helps[TableError](t, err, "defects/")
			return
		}
		for i := range x.Defects {
			d := &x.Defects[i]
			if d.Kind != "count" {
				continue
			}
			s := Sample{Grams: d.SampleG, Found: []Found{{d.Classes[0].Name, 3}}}
			if _, err := d.Count(s); err != nil {
				t.Errorf("%s: %v", d.Key(), err)
			}
		}
	})
}

func BenchmarkShipped(b *testing.B) {
	for b.Loop() {
		if _, err := Shipped(); err != nil {
			b.Fatal(err)
		}
	}
}
