package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// allowed is the import table: what each package may import of ours, and which libraries only it
// may import. A folder's rule holds for the folders below it that have none of their own.
var allowed = map[string][]string{
	"cmd/lotbell": {"bot", "bot/console", "bot/telegram", "rules", "rules/*", "state", "state/journal"},
	"bot": {"bot/draw", "bot/voice", "bot/words", "rules", "rules/*", "state",
		"state/journal"},
	"bot/console":       {"bot", "state", "state/journal"},
	"bot/telegram":      {"bot", "state", "state/journal"},
	"bot/telegram/fake": {},
	"bot/draw":          {},
	"bot/voice":         {},
	"bot/words":         {},
	"rules":             {"rules/*", "state"},
	"rules/*":           {},
	"state":             {},
	"state/journal":     {"state"},
}

// owners says which packages alone may import a library.
var owners = map[string][]string{
	"go.etcd.io/bbolt":           {"state/journal"}, // and benchmarks
	"github.com/expr-lang/expr":  {"rules"},
	"github.com/robfig/cron/v3":  {"rules"},
	"github.com/go-telegram/bot": {"bot/telegram"},
	"golang.org/x/image":         {"bot/draw"},
}

// TestImportTable holds every package to the table, so that the shape defends itself.
func TestImportTable(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`,
		"lotbell/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		words := strings.Fields(line)
		pkg := strings.TrimPrefix(words[0], "lotbell/")
		for _, imported := range words[1:] {
			seen++
			checkImport(t, pkg, imported)
		}
	}
	if seen < 100 {
		t.Errorf("only %d imports were seen", seen)
	}
}

func checkImport(t *testing.T, pkg, imported string) {
	t.Helper()
	if ours, ok := strings.CutPrefix(imported, "lotbell/"); ok {
		may, known := allowed[pkg]
		if !known {
			may, known = allowed[filepath.Dir(pkg)+"/*"]
		}
		if !known {
			t.Errorf("package %s is not in the table", pkg)
		}
		for _, m := range may {
			if m == ours || strings.HasSuffix(m, "/*") && filepath.Dir(ours)+"/*" == m {
				return
			}
		}
		t.Errorf("%s imports %s, which the table does not allow", pkg, ours)
		return
	}
	for library, only := range owners {
		if imported != library && !strings.HasPrefix(imported, library+"/") {
			continue
		}
		for _, o := range only {
			if o == pkg {
				return
			}
		}
		t.Errorf("%s imports %s, which only %v may", pkg, imported, only)
	}
}

// TestTheClockIsReadHereOnly looks for the clock in the packages below.
func TestTheClockIsReadHereOnly(t *testing.T) {
	for _, dir := range []string{"state", "rules", "bot"} {
		out, err := exec.Command("grep", "-rnE", `time\.(Now|Since|Until|Sleep)\(`, "--include=*.go",
			"--exclude=*_test.go", "../../"+dir).Output()
		if err == nil {
			t.Errorf("the clock is asked below cmd:\n%s", out)
		}
	}
}
