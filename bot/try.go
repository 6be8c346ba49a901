package bot

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"time"

	"lotbell/state"
)

// Tried is what becomes of one line that anybody may try: what was understood, and what the
// sender would be answered.
type Tried struct {
	Outcome Outcome     `json:"outcome"`
	Facts   []TriedFact `json:"facts"`
	Ask     string      `json:"ask,omitempty"`
	Answer  string      `json:"answer"`
}

// TriedFact is one fact of a tried line. Value is nil when no figure was said, At "" when the
// instant is that of the message.
type TriedFact struct {
	Place string   `json:"place"`
	From  []string `json:"from,omitempty"`
	To    string   `json:"to,omitempty"`
	What  string   `json:"what"`
	Value *float64 `json:"value"`
	Unit  string   `json:"unit"`
	Word  string   `json:"word,omitempty"`
	At    string   `json:"at"`
	Doubt []string `json:"doubt"`
}

// tryMill is the mill a line is tried in when none is given.
const tryMill = "zone UTC\nplace r1 intake\nplace t1 tank 6000\nplace t2 tank 6000\n" +
	"place t3 tank 6000\nplace t4 tank 6000\nplace t5 tank 6000\nplace t6 tank 6000\n" +
	"place c1 channel\nplace p1 patio 6000\nplace p2 patio 6000\nplace p3 patio 6000\n" +
	"place p4 patio 6000\nplace d1 drum 3500\nplace d2 drum 3500\nplace d3 drum 3500\n" +
	"place s1 silo\nplace s2 silo\nplace s3 silo\nplace s4 silo\nplace l1 lab\n" +
	"person boss manager keeper en\n"

// Try reads a line as somebody of a post would send it at an instant, in a mill made of keeper's
// lines (and lines of a script, name> text); "" for a mill of a usual shape. Nothing is kept.
func Try(text, mill, post, lang string, at time.Time) (Tried, error) {
	tmp, err := os.MkdirTemp("", "lotbell")
	if err != nil {
		return Tried{}, fmt.Errorf("make a journal to try a line in: %w", err)
	}
	defer os.RemoveAll(tmp)
	if mill == "" {
		mill = tryMill
	}
	p := &player{tmp: tmp, ids: map[string]int{}, last: map[string]string{}}
	if err := p.open(); err != nil {
		return Tried{}, err
	}
	defer func() { p.db.Close() }()
	if err := p.prepare(mill, post, lang, state.At(at)); err != nil {
		return Tried{}, err
	}
	return p.try(text)
}

// prepare makes the mill and the person who writes.
func (p *player) prepare(mill, post, lang string, at state.Instant) error {
	var lines, talk []string
	for _, line := range strings.Split(mill, "\n") {
		if who, _, ok := strings.Cut(line, ">"); ok && !strings.ContainsAny(who, " \t") {
			talk = append(talk, line)
		} else {
			lines = append(lines, line)
		}
	}
	p.setup = []string{strings.Join(lines, "\n") + "\nperson me worker " + post + " " + lang}
	if err := p.begin(at); err != nil {
		return err
	}
	for _, line := range talk {
		if err := p.line(line); err != nil {
			return err
		}
	}
	p.out = nil
	return nil
}

// try sends the line and gathers what it came to.
func (p *player) try(text string) (Tried, error) {
	t := p.desk.turn(p.now.Add(time.Second))
	t.msg = &Message{From: Address{"script", "me"}, At: t.at, Kind: Text, Text: text}
	t.person = t.writer()
	h := Read(text, t.context(), p.desk.words)
	out := Tried{Outcome: h.Outcome, Ask: h.Ask, Facts: []TriedFact{}}
	for _, f := range h.Facts {
		x := TriedFact{Place: f.Place, From: f.From, To: f.To, What: f.What, Unit: f.Unit,
			Word: f.Word, Doubt: []string{}}
		if f.Has {
			x.Value = &f.Value
		}
		if f.At != 0 && f.Told {
			x.At = f.At.Time().In(t.mill.Zone()).Format("2006-01-02 15:04")
		}
		for _, d := range f.Doubt {
			x.Doubt = append(x.Doubt, d.What)
		}
		out.Facts = append(out.Facts, x)
	}
	if err := p.send("me", strings.ReplaceAll(text, "\n", "\\n")); err != nil {
		return Tried{}, err
	}
	mine := false
	for _, line := range p.out {
		if who, said, ok := strings.Cut(line, "< "); ok && !strings.HasPrefix(line, "  |") {
			if mine = who == "me" && out.Answer == ""; mine {
				out.Answer = said
			}
		} else if mine {
			out.Answer += "\n" + strings.TrimPrefix(line, "  | ")
		}
	}
	return out, nil
}

// String is a tried line for a person to read.
func (x Tried) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", x.Outcome)
	for _, f := range x.Facts {
		raw, err := json.Marshal(f)
		if err == nil {
			fmt.Fprintf(&b, "  %s\n", raw)
		}
	}
	b.WriteString(x.Answer)
	return b.String()
}
