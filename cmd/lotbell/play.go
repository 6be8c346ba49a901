package main

import (
	"fmt"
	"os"
	"path/filepath"

	"lotbell/bot"
)

// playCommand runs conversation scripts and compares what people receive with what they say.
func playCommand(e env, args []string) int {
	flags := newFlags(e, "play", "FILE.chat… [-update]")
	update := flags.Bool("update", false, "write what this run says into the scripts")
	book := flags.String("book", "", "a rule book in place of the default one")
	files, ok := parse(flags, args)
	if !ok || len(files) == 0 {
		flags.Usage()
		return exitUsage
	}
	text, err := optionalFile(*book)
	if err != nil {
		return e.fail(err, "lotbell play testdata/chats/first.chat")
	}
	code := exitDone
	for _, name := range files {
		if c := e.playOne(name, text, *update); c > code {
			code = c
		}
	}
	return code
}

// playOne runs one script.
func (e env) playOne(name, book string, update bool) int {
	want, err := os.ReadFile(name)
	if err != nil {
		return e.fail(err, "lotbell play testdata/chats/first.chat")
	}
	got, err := bot.Play(string(want), bot.Beside(filepath.Dir(name)), book, nil)
	switch {
	case err != nil:
		fmt.Fprintf(e.err, "%s: %v\n", name, err)
		return exitNo
	case update:
		if err := os.WriteFile(name, []byte(got.Text), 0o644); err != nil {
			return e.fail(err, "a folder that can be written")
		}
		return exitDone
	}
	if d := bot.Differences(string(want), got.Text); d != "" {
		fmt.Fprintf(e.err, "%s: %s\n(`lotbell play -update %s` writes what this run says)\n", name, d,
			name)
		return exitNo
	}
	fmt.Fprintf(e.out, "%s: as the script says; %s\n", name, bot.TallyOf(got.Events))
	return exitDone
}
