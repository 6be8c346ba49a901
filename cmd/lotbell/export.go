package main

import (
	"fmt"
	"os"
	"path/filepath"

	"lotbell/bot"
	"lotbell/state"
)

// exportCommand writes the book of lots as sheets of comma-separated values.
func exportCommand(e env, args []string) int {
	flags := newFlags(e, "export", "-db FILE DIR")
	file := flags.String("db", "lotbell.db", "the mill's journal, or a copy of it")
	dirs, ok := parse(flags, args)
	if !ok || len(dirs) != 1 {
		flags.Usage()
		return exitUsage
	}
	es, err := eventsOf(*file)
	if err != nil {
		if held(err) {
			return e.fail(err, "the copy that serve writes beside it: "+*file+".backup")
		}
		return e.fail(err, "lotbell verify "+*file)
	}
	if err := os.MkdirAll(dirs[0], 0o755); err != nil {
		return e.fail(err, "a folder that can be written")
	}
	m := state.Load(es)
	for _, sheet := range bot.Sheets() {
		name := filepath.Join(dirs[0], sheet+".csv")
		if err := writeSheet(name, func(f *os.File) error { return bot.Export(m, es, sheet, f) }); err != nil {
			return e.fail(err, "a folder that can be written")
		}
		fmt.Fprintln(e.out, name)
	}
	return exitDone
}

// writeSheet writes a file and closes it.
func writeSheet(name string, write func(f *os.File) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
