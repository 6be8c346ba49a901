package main

import (
	_ "embed" // the demo's script and mill
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"lotbell/bot"
)

//go:embed demo.chat
var demoScript string

//go:embed demo.mill
var demoMill string

// demoCommand plays a made-up mill's two weeks in seconds, as the conversation its people see.
func demoCommand(e env, args []string) int {
	flags := newFlags(e, "demo", "[-lang es] [-out DIR]")
	lang := flags.String("lang", "", "everybody's language; \"\": each their own")
	out := flags.String("out", "", "also write the conversation to DIR/demo.chat")
	book := flags.String("book", "", "a rule book in place of the default one")
	if rest, ok := parse(flags, args); !ok || len(rest) > 0 {
		flags.Usage()
		return exitUsage
	}
	text, err := optionalFile(*book)
	if err != nil {
		return e.fail(err, "lotbell check -default > book.toml")
	}
	mill, ok := spoken(demoMill, *lang)
	if !ok {
		return e.fail(fmt.Errorf("no language %q", *lang), "lotbell demo -lang es")
	}
	read := func(name string) (string, error) {
		if name == "demo.mill" {
			return mill, nil
		}
		return "", fmt.Errorf("no file %s", name)
	}
	got, err := bot.Play(demoScript, read, text, func(line string) { fmt.Fprintln(e.out, line) })
	if err != nil {
		return e.fail(err, "")
	}
	if *out != "" {
		if err := os.WriteFile(filepath.Join(*out, "demo.chat"), []byte(got.Text), 0o644); err != nil {
			return e.fail(err, "a folder that can be written")
		}
	}
	return exitDone
}

// person matches the end of a person's line, where the language stands.
var person = regexp.MustCompile(`(?m)^(person .*) (en|es)$`)

// spoken gives everybody one language; false for a language that nobody speaks.
func spoken(mill, lang string) (string, bool) {
	switch strings.ToLower(lang) {
	case "":
		return mill, true
	case "en", "es":
		return person.ReplaceAllString(mill, "$1 "+strings.ToLower(lang)), true
	}
	return "", false
}
