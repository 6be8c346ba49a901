// Command lotbell is the program a mill runs: the chat assistant over its rule book, and the
// small tools around it. It reads flags, wires the packages, reads the clock and decides nothing.
package main

import (
	"fmt"
	"io"
	"os"
	"time"
	_ "time/tzdata" // small boards have no zone files
)

// Exit codes, the same for every sub-command.
const (
	exitDone  = 0 // done
	exitNo    = 1 // the answer is "no": a mismatch, a bad book, a failed check
	exitUsage = 2 // wrong use
)

// env is what the outside world hands to a sub-command, so that tests can hand in another world.
type env struct {
	in       io.Reader
	out, err io.Writer
	now      func() time.Time // the only clock of the program
	getenv   func(string) string
}

// command is one sub-command: its name, its use in one line, and what runs it.
type command struct {
	name, use string
	run       func(e env, args []string) int
}

// commands lists the sub-commands in the order in which a newcomer needs them.
func commands() []command {
	return []command{
		{"demo", "[-lang es] [-out DIR]      a made-up mill, two weeks in seconds", demoCommand},
		{"serve", "[-db FILE] [-book FILE]   the real thing; the token in " + tokenName, serveCommand},
		{"chat", "[-db FILE] [-as NAME] [-trial]   the conversation in this terminal", chatCommand},
		{"play", "FILE.chat… [-update]   run a conversation script and compare", playCommand},
		{"check", "BOOK               read a rule book and say what is wrong with it", checkCommand},
		{"rehearse", "-db FILE [BOOK]   what this book would have rung", rehearseCommand},
		{"export", "-db FILE DIR      the book of lots as spreadsheets", exportCommand},
		{"verify", "FILE              check every record of a journal", verifyCommand},
		{"backup", "-db FILE TO       copy a journal", backupCommand},
		{"read", "[-post P] [-lang L] TEXT  what is understood from a line", readCommand},
		{"forecast", "drum|tank|patio FILE.csv   what would be predicted, and when", forecastCommand},
		{"score", "drum|tank FILE.csv…      how well it would have predicted", scoreCommand},
		{"calc", "WORDS…            the trade's sums, the same words as in chat", calcCommand},
	}
}

func main() {
	os.Exit(run(env{os.Stdin, os.Stdout, os.Stderr, time.Now, os.Getenv}, os.Args[1:]))
}

// run finds the sub-command and runs it.
func run(e env, args []string) int {
	if len(args) == 0 {
		usage(e.err)
		return exitUsage
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(e, args[1:])
		}
	}
	if args[0] == "help" || args[0] == "-h" || args[0] == "--help" {
		usage(e.out)
		return exitDone
	}
	fmt.Fprintf(e.err, "lotbell: no sub-command %q.\n", args[0])
	usage(e.err)
	return exitUsage
}

// usage lists the sub-commands.
func usage(w io.Writer) {
	fmt.Fprintln(w, "lotbell rings when a lot needs a hand. Use: lotbell COMMAND …")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-9s %s\n", c.name, c.use)
	}
	fmt.Fprintln(w, "Try: lotbell demo")
}
