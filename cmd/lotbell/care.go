package main

import (
	"crypto/rand"
	"encoding/base32"
	"fmt"
	"os"
	"strings"
	"time"

	"lotbell/state/journal"
)

// version is the program's name and version, noted in the journal at every start.
const version = "lotbell 0.1"

// newCode makes a code for an invitation: 10 letters and digits that are not easily mistaken.
func newCode() string {
	var b [8]byte
	rand.Read(b[:])
	return strings.ToLower(base32.StdEncoding.EncodeToString(b[:]))[:10]
}

// checkLimit is how long the library's own check of a file may take in its child process.
const checkLimit = 20 * time.Second

// verifyCommand checks every record of a journal.
func verifyCommand(e env, args []string) int {
	flags := newFlags(e, "verify", "FILE")
	pages := flags.Bool("pages", false, "only the store's own check, in this process")
	files, ok := parse(flags, args)
	if !ok || len(files) != 1 {
		flags.Usage()
		return exitUsage
	}
	if *pages {
		if err := journal.CheckPages(files[0]); err != nil {
			return e.fail(err, "")
		}
		return exitDone
	}
	var more []func(string) error
	if self, err := os.Executable(); err == nil {
		more = append(more, journal.InChild(checkLimit, self, "verify", "-pages"))
	}
	report, err := journal.Verify(files[0], more...)
	if err != nil {
		return e.fail(err, "copy the last backup over it: cp BACKUP "+files[0])
	}
	fmt.Fprintf(e.out, "%s: %v\n", files[0], report)
	return exitDone
}

// backupCommand copies a journal that no program holds.
func backupCommand(e env, args []string) int {
	flags := newFlags(e, "backup", "-db FILE TO")
	file := flags.String("db", "lotbell.db", "the mill's journal")
	files, ok := parse(flags, args)
	if !ok || len(files) != 1 {
		flags.Usage()
		return exitUsage
	}
	db, err := journal.Open(*file, journal.Options{})
	if err != nil {
		if held(err) {
			return e.fail(err, "the copy that serve writes beside it: "+*file+".backup")
		}
		return e.fail(err, "lotbell verify "+*file)
	}
	defer db.Close()
	if err := db.Backup(files[0]); err != nil {
		return e.fail(err, "a folder that can be written")
	}
	fmt.Fprintf(e.out, "%s: written\n", files[0])
	return exitDone
}
