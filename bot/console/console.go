// Package console is the transport of a terminal: lines typed in become messages in the durable
// inbox, and rows of the outbox are printed. It decides nothing and asks no clock.
package console

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"lotbell/bot"
	"lotbell/state"
	"lotbell/state/journal"
)

// Via is the name of the transport in addresses.
const Via = "terminal"

// Type puts one typed line of somebody into the inbox. The once-key is the instant and the line,
// so that a line is taken once however often the program dies while it is read.
func Type(db *journal.DB, who, line string, at state.Instant) error {
	raw, err := json.Marshal(bot.Message{From: bot.Address{Via: Via, ID: who},
		ID: strconv.FormatInt(int64(at), 10), At: at, Kind: bot.Text, Text: line, Name: who})
	if err != nil {
		return err
	}
	_, err = db.Receive([]journal.In{{Via: Via, ID: fmt.Sprintf("%s-%d-%s", who, at, line), Raw: raw,
		Got: at}}, nil)
	return err
}

// Print writes what waits in the outbox, the first line with the name of whoever it is for unless
// that is the reader, and marks it sent.
func Print(db *journal.DB, w io.Writer, reader string, at state.Instant) error {
	for {
		rows, err := db.Outbox(Via, 100)
		if err != nil || len(rows) == 0 {
			return err
		}
		for _, row := range rows {
			if err := printRow(w, row, reader); err != nil {
				return err
			}
			if err := db.Sent(row.No, at); err != nil {
				return err
			}
		}
	}
}

func printRow(w io.Writer, row journal.Out, reader string) error {
	var o bot.Outgoing
	if err := json.Unmarshal(row.Body, &o); err != nil {
		return err
	}
	prefix := ""
	if row.To != reader {
		prefix = "[to " + row.To + "] "
	}
	if o.Picture != nil {
		o.Text += "\n" + o.Picture.String()
	}
	_, err := fmt.Fprintln(w, prefix+strings.ReplaceAll(o.Text, "\n", "\n    "))
	return err
}
