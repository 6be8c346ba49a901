package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
)

// newFlags makes the flags of a sub-command, with its use in one line.
func newFlags(e env, name, use string) *flag.FlagSet {
	f := flag.NewFlagSet(name, flag.ContinueOnError)
	f.SetOutput(e.err)
	f.Usage = func() {
		fmt.Fprintf(e.err, "use: lotbell %s %s\n", name, use)
		f.PrintDefaults()
	}
	return f
}

// parse reads flags that may stand before, between and after the other words.
func parse(f *flag.FlagSet, args []string) (rest []string, ok bool) {
	for {
		if err := f.Parse(args); err != nil {
			return nil, false
		}
		if args = f.Args(); len(args) == 0 {
			return rest, true
		}
		rest, args = append(rest, args[0]), args[1:]
	}
}

// fail says what went wrong and what to try.
func (e env) fail(err error, try string) int {
	fmt.Fprintf(e.err, "lotbell: %v\n", err)
	if try != "" {
		fmt.Fprintf(e.err, "Try: %s\n", try)
	}
	return exitNo
}

// optionalFile reads a file, or nothing when no name is given.
func optionalFile(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	text, err := os.ReadFile(name)
	if errors.Is(err, os.ErrNotExist) {
		return "", fmt.Errorf("no file %s", name)
	}
	return string(text), err
}
