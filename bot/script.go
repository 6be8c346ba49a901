package bot

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// A script is a conversation that anyone can read: it is documentation and test at once.
//
//	# a comment
//	mill testdata/mills/small.chat   keeper's lines that make the mill
//	@ 2026-01-12 14:05               the clock (also: @ 16:30, the next such; @ +14h)
//	ana> t3 full 4200                ana writes
//	ana@yard> help                   ana writes in the group called yard
//	ana> (photo) p2                  or sends a photo, voice, sticker, location, file; p2 under it
//	ana>* t3 full 4300               ana changes her last message
//	ana>= t3 full 4300               her phone sends the last message once more
//	ana>(sent 13:10) t3 slippery     what she wrote at 13:10 arrives now
//	restart                          the program stops and starts again
//	ana< t3: 4200 kg in, …           what ana then receives; further lines begin with |
//	= Tue 04:05                      what follows rang at that instant, while the clock moved
type player struct {
	read  func(name string) (string, error) // reads a file that the script names
	tmp   string
	db    *journal.DB
	desk  *Desk
	now   state.Instant
	ids   map[string]int
	last  map[string]string
	out   []string
	echo  func(line string) // lines as they are made; nil: nowhere
	book  string
	codes int
	setup []string // mill files read before the clock was set
}

// outputLine matches the lines of a script that the program writes.
var outputLine = regexp.MustCompile(`^(\S+< .*|\S+<|  \| .*|  \||= .*)$`)

// Played is what a run of a script came to.
type Played struct {
	Text   string        // the script with the lines that people received in this run
	Events []state.Event // the journal it left
}

// Play runs a script. Every line is passed to each as soon as it is made, when each is not nil.
// With book "" the default book is in force. The files that the script names are read by read: see
// [Beside].
func Play(text string, read func(name string) (string, error), book string,
	each func(line string)) (Played, error) {
	p, err := newPlayer(read, book, each)
	if err != nil {
		return Played{}, err
	}
	defer p.close()
	for i, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		line = strings.TrimRight(line, " \t")
		if outputLine.MatchString(line) {
			continue
		}
		p.write(line)
		if err := p.line(line); err != nil {
			return Played{}, fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	es, err := p.db.Load()
	return Played{strings.Join(p.out, "\n") + "\n", es}, err
}

// newPlayer opens a journal of its own for a script.
func newPlayer(read func(name string) (string, error), book string,
	each func(line string)) (*player, error) {
	tmp, err := os.MkdirTemp("", "lotbell")
	if err != nil {
		return nil, fmt.Errorf("make a journal for the script: %w", err)
	}
	p := &player{read: read, tmp: tmp, ids: map[string]int{}, last: map[string]string{},
		echo: each, book: book}
	if err := p.open(); err != nil {
		os.RemoveAll(tmp)
		return nil, err
	}
	return p, nil
}

func (p *player) close() {
	p.db.Close()
	os.RemoveAll(p.tmp)
}

// open opens the script's journal and a desk over it.
func (p *player) open() (err error) {
	p.db, err = journal.Open(filepath.Join(p.tmp, "script.db"), journal.Options{NoSync: true})
	if err != nil {
		return err
	}
	p.desk, err = Open(p.db, Options{Program: "script", Bind: "script", Book: p.book,
		Decode: map[string]Decode{"script": DecodeJSON}, Code: func() string {
			p.codes++
			return fmt.Sprintf("code-%d", p.codes)
		}})
	return err
}

// DecodeJSON reads a message that was stored as JSON, as the terminal and scripts do.
func DecodeJSON(raw []byte) (Message, error) {
	var m Message
	err := json.Unmarshal(raw, &m)
	return m, err
}

func (p *player) write(line string) {
	p.out = append(p.out, line)
	if p.echo != nil {
		p.echo(line)
	}
}

// line does one line of a script.
func (p *player) line(line string) error {
	switch {
	case line == "" || strings.HasPrefix(line, "#"):
		return nil
	case strings.HasPrefix(line, "mill "):
		return p.mill(strings.TrimSpace(line[5:]))
	case strings.HasPrefix(line, "@"):
		return p.clock(strings.TrimSpace(line[1:]))
	case line == "restart":
		return p.restart()
	case line == "slate":
		for _, l := range p.desk.Slate("en", p.now) {
			p.write("= " + l)
		}
		return nil
	}
	who, rest, ok := strings.Cut(line, ">")
	if !ok || strings.ContainsAny(who, " \t") {
		return fmt.Errorf("%q is no line of a script; for example: ana> t3 rough", line)
	}
	if p.now == 0 {
		return fmt.Errorf("the clock is not set; for example: @ 2026-01-12 14:05")
	}
	return p.send(who, rest)
}

// Beside reads files from a folder, else from those above it.
func Beside(dir string) func(name string) (string, error) {
	return func(name string) (string, error) {
		up, err := filepath.Abs(dir)
		if err != nil {
			return "", err
		}
		for {
			text, err := os.ReadFile(filepath.Join(up, name))
			if err == nil {
				return string(text), nil
			}
			if filepath.Dir(up) == up {
				return "", fmt.Errorf("no file %s in %s or above it", name, dir)
			}
			up = filepath.Dir(up)
		}
	}
}

// mill makes the mill from a file of keeper's lines, as soon as there is a clock.
func (p *player) mill(name string) error {
	text, err := p.read(name)
	if err != nil {
		return err
	}
	if p.now == 0 {
		p.setup = append(p.setup, text)
		return nil
	}
	return p.desk.Setup(text, p.now)
}

// begin starts the program at the first instant of the script.
func (p *player) begin(at state.Instant) error {
	p.now = at
	if err := p.desk.Start(at); err != nil {
		return err
	}
	for _, text := range p.setup {
		if err := p.desk.Setup(text, at); err != nil {
			return err
		}
	}
	p.setup = nil
	return nil
}

// clock moves the clock and shows what rang on the way.
func (p *player) clock(text string) error {
	zone := p.zone()
	here := p.now.Time().In(zone)
	to := time.Time{}
	if d, ok := spokenSpan(strings.TrimPrefix(text, "+")); ok && strings.HasPrefix(text, "+") {
		to = here.Add(d)
	} else if at, err := time.ParseInLocation("2006-01-02 15:04", text, zone); err == nil {
		to = at
	} else if at, err := time.Parse("15:04", text); err == nil {
		to = time.Date(here.Year(), here.Month(), here.Day(), at.Hour(), at.Minute(), 0, 0, zone)
		if !to.After(here) {
			to = to.AddDate(0, 0, 1)
		}
	} else {
		return fmt.Errorf("no time %q; for example: @ 2026-01-12 14:05, @ 16:30, @ +14h", text)
	}
	if p.now != 0 && to.Before(here) {
		return fmt.Errorf("the clock cannot go back from %s", here.Format("2006-01-02 15:04"))
	}
	if p.now == 0 {
		return p.begin(state.At(to))
	}
	return p.until(state.At(to))
}

// zone is the mill's zone, also before its file was read.
func (p *player) zone() *time.Location {
	for _, text := range p.setup {
		for _, line := range strings.Split(text, "\n") {
			if words := strings.Fields(line); len(words) == 2 && words[0] == "zone" {
				if z, err := time.LoadLocation(words[1]); err == nil {
					return z
				}
			}
		}
	}
	return p.desk.mill.Zone()
}

// until lets time pass: at every instant at which something is due, what is due is done.
func (p *player) until(to state.Instant) error {
	if len(p.desk.mill.Persons()) > 0 && to.Sub(p.now) > 400*24*time.Hour {
		return fmt.Errorf("more than a year at once")
	}
	for next := p.desk.Next(); next != 0 && next <= to; next = p.desk.Next() {
		p.now = max(p.now, next)
		if err := p.desk.Run(p.now); err != nil {
			return err
		}
		if err := p.deliver(true); err != nil {
			return err
		}
	}
	p.now = to
	return p.desk.Run(p.now)
}

// restart stops the program and starts it again.
func (p *player) restart() error {
	if err := p.db.Close(); err != nil {
		return err
	}
	if err := p.open(); err != nil {
		return err
	}
	if err := p.desk.Start(p.now); err != nil {
		return err
	}
	return p.deliver(false)
}

// kindsSent are the messages that are more than words, as a script writes them. A file is one that
// did not arrive.
var kindsSent = map[string]MessageKind{"(photo)": Photo, "(voice)": Voice, "(sticker)": Sticker,
	"(location)": Location, "(file)": Document, "(blocked)": Blocked, "(unblocked)": Unblocked}

// send lets somebody write a message. Each is sent a second after what was before.
func (p *player) send(who, text string) error {
	p.now = p.now.Add(time.Second)
	m := Message{From: Address{"script", who}, At: p.now, Kind: Text, Name: who}
	if name, group, ok := strings.Cut(who, "@"); ok {
		m.From.ID, m.Name, m.Group, m.By = group, name, true, Address{"script", name}
	}
	id := fmt.Sprintf("%s-%d", who, p.ids[who]+1)
	switch {
	case strings.HasPrefix(text, "="):
		id, text = p.last[who], text[1:]
	case strings.HasPrefix(text, "*"):
		m.Kind, m.ID, text = Edited, p.last[who], text[1:]
		p.ids[who]++
	case strings.HasPrefix(text, "(sent "):
		when, rest, _ := strings.Cut(text[len("(sent "):], ")")
		at, err := time.Parse("15:04", when)
		if err != nil {
			return fmt.Errorf("no time %q; for example: ana>(sent 13:10) t3 rough", when)
		}
		here := p.now.Time().In(p.desk.mill.Zone())
		sent := time.Date(here.Year(), here.Month(), here.Day(), at.Hour(), at.Minute(), 0, 0,
			here.Location())
		if sent.After(here) {
			sent = sent.AddDate(0, 0, -1)
		}
		m.At, text = state.At(sent), rest
		p.ids[who]++
	default:
		p.ids[who]++
	}
	m.Text = strings.ReplaceAll(strings.TrimSpace(text), "\\n", "\n")
	kind, caption, _ := strings.Cut(m.Text, " ")
	if k, ok := kindsSent[kind]; ok {
		m.Kind, m.Text = k, caption
	}
	if m.ID == "" {
		m.ID = id
		p.last[who] = id
	}
	raw, err := json.Marshal(m)
	if err != nil {
		return err
	}
	if _, err := p.db.Receive([]journal.In{{Via: "script", ID: id, Raw: raw, Got: p.now}},
		nil); err != nil {
		return err
	}
	if err := p.desk.Run(p.now); err != nil {
		return err
	}
	return p.deliver(false)
}

// deliver shows what waits in the outbox, and says when it was made if time was moving.
func (p *player) deliver(timed bool) error {
	rows, err := p.db.Outbox("script", 1000)
	if err != nil {
		return err
	}
	if len(rows) > 0 && timed {
		p.write("= " + p.now.Time().In(p.desk.mill.Zone()).Format("Mon 15:04"))
	}
	for _, row := range rows {
		var o Outgoing
		if err := json.Unmarshal(row.Body, &o); err != nil {
			return err
		}
		if o.Picture != nil {
			o.Text += "\n" + o.Picture.String()
		}
		for i, l := range strings.Split(o.Text, "\n") {
			if i == 0 {
				p.write(row.To + "< " + l)
			} else {
				p.write("  | " + l)
			}
		}
		if err := p.db.Sent(row.No, p.now); err != nil {
			return err
		}
	}
	return nil
}

// Differences compares a script with what a run made of it: the first lines that differ, with
// their numbers; "" when there is none.
func Differences(want, got string) string {
	a, b := strings.Split(strings.TrimRight(want, "\n"), "\n"),
		strings.Split(strings.TrimRight(got, "\n"), "\n")
	for i := 0; i < max(len(a), len(b)); i++ {
		x, y := lineAt(a, i), lineAt(b, i)
		if x != y {
			return fmt.Sprintf("line %d:\n  the script says: %s\n  this run says:   %s", i+1, x, y)
		}
	}
	return ""
}

func lineAt(lines []string, i int) string {
	if i < len(lines) {
		return strings.TrimRight(lines[i], " \t")
	}
	return "(nothing)"
}
