package main

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

// TestReadmeIsTrue holds the README to the program: its conversation is one that is played, and
// its list of commands is the program's.
func TestReadmeIsTrue(t *testing.T) {
	read := func(name string) string {
		text, err := os.ReadFile("../../" + name)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	readme, played := read("README.md"), "\n"+read("testdata/chats/first.chat")
	lines := 0
	for _, line := range strings.Split(readme, "\n") {
		said, ok := strings.CutPrefix(line, "    ")
		if ok && regexp.MustCompile(`^(\w+[<>] |= )`).MatchString(said) {
			if lines++; !strings.Contains(played, "\n"+said+"\n") {
				t.Errorf("the README says %q, which is not played in first.chat", said)
			}
		}
	}
	if lines < 8 {
		t.Errorf("only %d lines of conversation in the README", lines)
	}
	for _, c := range commands() {
		if !strings.Contains(readme, "lotbell "+c.name+" ") {
			t.Errorf("the README does not name lotbell %s", c.name)
		}
	}
	for _, m := range regexp.MustCompile(`(?m)^    lotbell (\w+)`).FindAllStringSubmatch(readme, -1) {
		known := false
		for _, c := range commands() {
			known = known || c.name == m[1]
		}
		if !known {
			t.Errorf("the README names lotbell %s, which there is not", m[1])
		}
	}
}

// TestDocumentsNameFilesThatExist looks for every path that the two documents name.
func TestDocumentsNameFilesThatExist(t *testing.T) {
	for _, doc := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile("../../" + doc)
		if err != nil {
			t.Fatal(err)
		}
		path := regexp.MustCompile("`((?:bot|rules|state|cmd|testdata)/[\\w./-]*[\\w])`")
		for _, m := range path.FindAllStringSubmatch(string(text), -1) {
			if strings.ContainsAny(m[1], "{*") || strings.Contains(m[1], "/xx.") {
				continue
			}
			if _, err := os.Stat("../../" + m[1]); err != nil {
				t.Errorf("%s names %s, which there is not", doc, m[1])
			}
		}
	}
}
