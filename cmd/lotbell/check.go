package main

import (
	"fmt"

	"lotbell/rules"
)

// checkCommand reads a rule book and says everything that is wrong with it.
func checkCommand(e env, args []string) int {
	flags := newFlags(e, "check", "BOOK | -names | -default")
	names := flags.Bool("names", false, "list every name a condition may use")
	dflt := flags.Bool("default", false, "print the default book")
	files, ok := parse(flags, args)
	switch {
	case !ok:
		return exitUsage
	case *names:
		for _, f := range rules.Facts() {
			fmt.Fprintf(e.out, "%-20s %-10s %-40s %s\n", f.Name, f.Unit, f.Where(), f.Doc)
		}
		return exitDone
	case *dflt:
		fmt.Fprint(e.out, rules.DefaultText())
		return exitDone
	case len(files) != 1:
		flags.Usage()
		return exitUsage
	}
	text, err := optionalFile(files[0])
	if err != nil {
		return e.fail(err, "lotbell check -default > book.toml, then lotbell check book.toml")
	}
	b, err := rules.Parse(text)
	if err != nil {
		fmt.Fprintf(e.err, "%s:\n%v\n", files[0], err)
		return exitNo
	}
	if wrong := b.Sound("en", "es"); len(wrong) > 0 {
		fmt.Fprintf(e.err, "%s can be read but not put in force:\n%v\n", files[0], wrong)
		return exitNo
	}
	fmt.Fprintf(e.out, "%s: %d limits, %d calls, %d guards, %d summaries; nothing wrong\n", files[0],
		len(b.Limits), len(b.Calls), len(b.Guards), len(b.Summaries))
	return exitDone
}
