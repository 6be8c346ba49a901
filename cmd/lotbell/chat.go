package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lotbell/bot"
	"lotbell/bot/console"
	"lotbell/state"
	"lotbell/state/journal"
)

// trialMill is the temporary mill of chat -trial.
const trialMill = `zone America/Bogota
set altitude_m 1500
set target_pct 10.5
place t1 tank 6000
place t2 tank 6000
place t3 tank 6000
place t4 tank 6000
place p1 patio 4000 150m2
place p2 patio 4000 150m2
place d1 drum 3500 inlet C
place d2 drum 3500 inlet C
place s1 silo 20000
place yard air
`

// chat is one conversation in a terminal. In a trial the clock may be moved: its reading is the
// real one and what it was moved by.
type chat struct {
	env
	db    *journal.DB
	desk  *bot.Desk
	who   string
	trial bool
	moved time.Duration
}

// chatCommand holds the conversation in this terminal, no account needed.
func chatCommand(e env, args []string) int {
	flags := newFlags(e, "chat", "[-db FILE] [-as NAME] [-trial]")
	file := flags.String("db", "lotbell.db", "the mill's journal")
	who := flags.String("as", "", "who writes; on an empty journal the mill's manager and keeper")
	trial := flags.Bool("trial", false, "a temporary mill whose clock  @ +6h  moves")
	if rest, ok := parse(flags, args); !ok || len(rest) > 0 {
		return exitUsage
	}
	if *trial {
		dir, err := os.MkdirTemp("", "lotbell")
		if err != nil {
			return e.fail(err, "")
		}
		defer os.RemoveAll(dir)
		*file = filepath.Join(dir, "trial.db")
	}
	if *who == "" {
		*who = "me"
	}
	c := &chat{env: e, who: strings.ToLower(*who), trial: *trial}
	if err := c.begin(*file); err != nil {
		return e.fail(err, "lotbell chat -trial")
	}
	defer c.db.Close()
	if err := c.talk(); err != nil {
		return e.fail(err, "lotbell verify "+*file)
	}
	return exitDone
}

func (c *chat) at() state.Instant { return state.At(c.now().Add(c.moved)) }

// begin opens the journal and, on an empty one, makes the writer manager and keeper.
func (c *chat) begin(file string) (err error) {
	if c.db, err = journal.Open(file, journal.Options{NoSync: c.trial, Program: version}); err != nil {
		return err
	}
	c.desk, err = bot.Open(c.db, bot.Options{Program: version, Bind: console.Via,
		Decode: map[string]bot.Decode{console.Via: bot.DecodeJSON}, Code: newCode,
		Lines: -1}) // a file may be typed in at once
	if err != nil {
		c.db.Close()
		return err
	}
	fresh := c.db.Next() == 1
	if err := c.desk.Start(c.at()); err != nil {
		return err
	}
	if c.trial {
		if err := c.desk.Setup(trialMill, c.at()); err != nil {
			return err
		}
		fmt.Fprintln(c.out, "A trial mill with 4 tanks, 2 patios, 2 drums and a silo. It is "+
			"thrown away at the end.\nMove its clock with  @ +6h . Write for example  t1 add 4200 , "+
			"then  t1? , then  mill? . End with Ctrl-D.")
	}
	if fresh {
		line, err := c.desk.Found(c.who, console.Via, c.at())
		if err != nil {
			return err
		}
		fmt.Fprintln(c.out, line)
	}
	return nil
}

// talk reads lines and prints what comes, until the input ends.
func (c *chat) talk() error {
	lines := make(chan string)
	go func() {
		defer close(lines)
		in := bufio.NewScanner(c.in)
		in.Buffer(make([]byte, 64<<10), 1<<20)
		for in.Scan() {
			lines <- in.Text()
		}
	}()
	for {
		if err := c.run(); err != nil {
			return err
		}
		select {
		case line, ok := <-lines:
			if !ok {
				return nil
			}
			if err := c.line(line); err != nil {
				return err
			}
		case <-time.After(c.pause()):
		}
	}
}

// pause is how long until something is due; the wall clock is looked at every half minute.
func (c *chat) pause() time.Duration {
	const most = 30 * time.Second
	if next := c.desk.Next(); next != 0 {
		return max(0, min(most, next.Sub(c.at())))
	}
	return most
}

func (c *chat) run() error {
	if err := c.desk.Run(c.at()); err != nil {
		return err
	}
	return console.Print(c.db, c.out, c.who, c.at())
}

// line takes one typed line: a move of the trial's clock, or a message.
func (c *chat) line(line string) error {
	line = strings.TrimSpace(line)
	switch move, ok := strings.CutPrefix(line, "@"); {
	case line == "":
		return nil
	case ok && c.trial:
		return c.move(strings.TrimPrefix(strings.TrimSpace(move), "+"))
	case ok:
		fmt.Fprintln(c.out, "Only a trial's clock can be moved: lotbell chat -trial")
		return nil
	}
	return console.Type(c.db, c.who, line, c.at())
}

// move lets the trial's time pass; what falls due on the way rings, with its hour.
func (c *chat) move(text string) error {
	d, err := time.ParseDuration(strings.ReplaceAll(text, "d", "h"))
	if strings.HasSuffix(text, "d") {
		d *= 24
	}
	if err != nil || d <= 0 || d > 90*24*time.Hour {
		fmt.Fprintln(c.out, "How far? For example  @ +6h  or  @ +20m  or  @ +2d")
		return nil
	}
	to := c.at().Add(d)
	for next := c.desk.Next(); next != 0 && next <= to; next = c.desk.Next() {
		c.moved += max(0, next.Sub(c.at()))
		if err := c.desk.Run(next); err != nil {
			return err
		}
		if rows, err := c.db.Outbox(console.Via, 1); err == nil && len(rows) > 0 {
			fmt.Fprintf(c.out, "-- %s\n", c.desk.Clock(next))
		}
		if err := console.Print(c.db, c.out, c.who, next); err != nil {
			return err
		}
	}
	c.moved += max(0, to.Sub(c.at()))
	fmt.Fprintf(c.out, "-- it is %s\n", c.desk.Clock(to))
	return nil
}

// errHeld words that another process has the journal.
func held(err error) bool {
	var l *journal.Locked
	return errors.As(err, &l)
}
