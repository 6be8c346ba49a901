package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"lotbell/bot"
	"lotbell/rules/grade"
)

// calcCommand does one of the trade's sums: lotbell calc [-json] [-tables DIR] WORDS… The flags
// may stand anywhere, because −5C is a word. DIR is a mill's own tables of grading. It gives
// exitNo where the sum was done and its answer is "no", and exitUsage where it was not understood.
func calcCommand(e env, args []string) int {
	words, asJSON, dir, err := calcFlags(args)
	if err != nil {
		fmt.Fprintln(e.err, "lotbell calc:", err)
		return exitUsage
	}
	sums, err := bot.NewSums()
	if err != nil {
		fmt.Fprintln(e.err, "lotbell calc:", err)
		return exitNo
	}
	if len(words) == 0 {
		calcUsage(e.err, sums)
		return exitUsage
	}
	if words[0] == "help" {
		calcUsage(e.out, sums)
		return exitDone
	}
	var own fs.FS
	if dir != "" {
		own = os.DirFS(dir)
	}
	tables, err := grade.Load(own)
	if err != nil {
		fmt.Fprintf(e.err, "lotbell calc: tables %s: %v\n", dir, err)
		return exitNo
	}
	sum, err := sums.Calc(tables, words)
	if err != nil {
		fmt.Fprintln(e.err, "lotbell calc:", sums.Refuse("en", err))
		return calcExit(err)
	}
	if err := calcPrint(e.out, sums.Tell("en", sum), asJSON); err != nil {
		fmt.Fprintln(e.err, "lotbell calc:", err)
		return exitNo
	}
	if sum.No {
		return exitNo
	}
	return exitDone
}

// calcFlags takes the flags out of the words.
func calcFlags(args []string) (words []string, asJSON bool, dir string, err error) {
	for i := 0; i < len(args); i++ {
		switch args[i] {
		case "-json", "--json":
			asJSON = true
		case "-h", "-help", "--help":
			return []string{"help"}, false, "", nil
		case "-tables", "--tables":
			if i++; i == len(args) {
				return nil, false, "", errors.New("-tables needs a folder: -tables mill/tables")
			}
			dir = args[i]
		default:
			words = append(words, args[i])
		}
	}
	return words, asJSON, dir, nil
}

// calcExit is the exit code of a sum that was not done.
func calcExit(err error) int {
	var c bot.CalcError
	if errors.As(err, &c) && !c.No {
		return exitUsage
	}
	return exitNo
}

// calcPrint writes a sum out, for a person or for a program.
func calcPrint(w io.Writer, sum bot.SumTold, asJSON bool) error {
	if !asJSON {
		_, err := io.WriteString(w, sum.Text())
		return err
	}
	flat := json.NewEncoder(w)
	flat.SetEscapeHTML(false) // an & in a source stays readable
	return flat.Encode(sum)
}

// calcUsage lists an example of every sum.
func calcUsage(w io.Writer, sums *bot.Sums) {
	fmt.Fprintln(w, "lotbell calc [-json] [-tables DIR] WORDS…  does one of the trade's sums:")
	examples, gives := sums.List("en")
	for i, e := range examples {
		fmt.Fprintf(w, "  calc %-52s %s\n", e, gives[i])
	}
}
