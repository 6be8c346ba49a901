package rules

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the list of names in doc.go anew")

// nameList is the reference of every name, as it stands in doc.go: grouped by the kinds that have
// them, in the order of the table.
func nameList() string {
	var b strings.Builder
	var order []string
	groups := map[string][]*Fact{}
	for _, f := range Facts() {
		if groups[f.Where()] == nil {
			order = append(order, f.Where())
		}
		groups[f.Where()] = append(groups[f.Where()], f)
	}
	for _, where := range order {
		fmt.Fprintf(&b, "//\n//\ton %s\n", where)
		for _, f := range groups[where] {
			doc := f.Doc
			if f.Words != nil {
				doc += ": " + strings.Join(f.Words, ", ")
			}
			head := fmt.Sprintf("//\t%-17s %-9s %-5s ", f.Name, f.Unit, f.Moves)
			for i, line := range wrapped(doc, 60) {
				if i > 0 {
					head = "//\t" + strings.Repeat(" ", 34)
				}
				b.WriteString(head + line + "\n")
			}
		}
	}
	return b.String()
}

// wrapped breaks a text into lines of a width.
func wrapped(text string, width int) []string {
	out := []string{""}
	for _, w := range strings.Fields(text) {
		last := &out[len(out)-1]
		if *last != "" && len([]rune(*last))+1+len([]rune(w)) > width {
			out = append(out, w)
			continue
		}
		*last = strings.TrimSpace(*last + " " + w)
	}
	return out
}

const (
	namesHead = "// holds this list to the code.\n"
	namesTail = "package rules\n"
)

// TestNamesInTheReference holds the list of names in doc.go to the table. After a change of the
// table, go test ./rules -run Reference -update writes it anew.
func TestNamesInTheReference(t *testing.T) {
	text, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(text), namesHead)
	list, _, ok2 := strings.Cut(rest, namesTail)
	if !ok || !ok2 {
		t.Fatal("doc.go has no list of names")
	}
	if *update {
		text := head + namesHead + nameList() + namesTail
		if err := os.WriteFile("doc.go", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	was, is := strings.Split(list, "\n"), strings.Split(nameList(), "\n")
	for i := range max(len(was), len(is)) {
		if i >= len(was) || i >= len(is) || was[i] != is[i] {
			t.Fatalf("doc.go and the table differ at line %d of the list; "+
				"go test ./rules -run Reference -update", i+1)
		}
	}
}

// TestReferenceExamples reads every example of a book that doc.go shows.
func TestReferenceExamples(t *testing.T) {
	text, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for part := range strings.SplitSeq(string(text), "\n//\n") {
		lines := strings.Split(part, "\n")
		if !strings.HasPrefix(lines[0], "//\t[") {
			continue
		}
		n++
		book := ""
		for _, line := range lines {
			book += strings.TrimPrefix(line, "//\t") + "\n"
		}
		if _, err := Parse(book); err != nil {
			t.Errorf("%s\n%v", book, err)
		}
	}
	if n < 5 {
		t.Errorf("only %d examples", n)
	}
}

// TestReferenceIsTrue holds what doc.go says of words and figures to the code.
func TestReferenceIsTrue(t *testing.T) {
	text, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	doc := strings.Join(strings.Fields(strings.ReplaceAll(string(text), "//", " ")), " ")
	for _, want := range []string{
		fmt.Sprintf("%d KiB", maxBook>>10), fmt.Sprintf("%d characters", maxCondition),
		fmt.Sprintf("%d brackets", maxNesting), fmt.Sprintf("language = %d", Language),
		fmt.Sprintf("priority %d wait from %d to %d o'clock", lowest, quietFrom, quietUntil),
		strings.Join(Parts()[:len(Parts())-1], ", ") + " and " + Parts()[len(Parts())-1],
		fmt.Sprintf("fewer than %d stays", enoughClosed),
		strings.Join(safetyCalls()[:3], ", "), "and " + safetyCalls()[3],
	} {
		if !strings.Contains(doc, want) {
			t.Errorf("doc.go does not say %q", want)
		}
	}
	for _, section := range []string{"limit", "call", "guard", "summary"} {
		for key := range keysOf(section) {
			if !strings.Contains(doc, key) {
				t.Errorf("doc.go does not say what the key %s of a %s is", key, section)
			}
		}
	}
}

// TestTableIsSound: no name has two facts on one kind of subject, each says what it is and how it
// moves, and the room of a view holds them.
func TestTableIsSound(t *testing.T) {
	if len(table) > maxFacts || maxFacts > 255 {
		t.Errorf("%d facts and room for %d", len(table), maxFacts)
	}
	kinds := append(onKinds(), OnGuard)
	seen := map[string]bool{}
	for i, f := range table {
		on := f.On
		if on == nil {
			on = kinds
		}
		for _, k := range on {
			if seen[k+" "+f.Name] || !slices.Contains(kinds, k) {
				t.Errorf("%s on %s stands twice, or %s is no kind", f.Name, k, k)
			}
			seen[k+" "+f.Name] = true
			if namesOn(k)[f.Name] != f {
				t.Errorf("%s on %s is not found", f.Name, k)
			}
		}
		if f.index != i || f.Doc == "" || f.Unit == anyUnit || f.get == nil ||
			(f.next != nil && f.Moves == Curve) || (f.Moves == Steps) && f.next == nil ||
			(f.curve != nil) != (f.Moves == Curve) || !limitName.MatchString(f.Name) {
			t.Errorf("fact %+v", f)
		}
		if (f.Moves == Age || f.Moves == Left) && f.Unit != Span && f.Unit != Moment {
			t.Errorf("%s moves with the clock and is counted in %s", f.Name, f.Unit)
		}
	}
}
