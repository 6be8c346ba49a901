package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"lotbell/bot"
)

// readCommand shows what is understood from a line and what would be answered.
func readCommand(e env, args []string) int {
	flags := newFlags(e, "read", "[-post tank] [-lang es] [-mill FILE] [-json] TEXT")
	post := flags.String("post", "tank", "where the sender works: tank, patio, drum, silo, intake, lab")
	lang := flags.String("lang", "en", "the sender's language")
	file := flags.String("mill", "", "keeper's lines that make the mill")
	asJSON := flags.Bool("json", false, "for a program")
	words, ok := parse(flags, args)
	if !ok {
		return exitUsage
	}
	mill, err := optionalFile(*file)
	if err != nil {
		return e.fail(err, `lotbell read "t3 add 4200"`)
	}
	tried, err := bot.Try(strings.Join(words, " "), mill, *post, *lang, e.now())
	if err != nil {
		return e.fail(err, `lotbell read -post drum "d1 57"`)
	}
	if !*asJSON {
		fmt.Fprintln(e.out, tried)
		return exitDone
	}
	enc := json.NewEncoder(e.out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(tried); err != nil {
		return e.fail(err, "")
	}
	return exitDone
}
