package bot

import (
	"encoding/json"
	"time"

	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// OwnVia is the transport of what the program puts into its own inbox.
const OwnVia = "own"

// rehearsed is what a changed book would have done, as it comes back from slow work.
type rehearsed struct {
	Text, Why   string
	Rule        string // the call that was changed or added; "" for more
	Rang, Would int
	Closed      int // stays that were over in the time looked at
	Alone       int // how often the changed call would have rung
	Differ      []rules.Difference
	Was, Is     []rules.Load
	Err         string
}

// rehearseDays is how far back a changed book is rehearsed.
const rehearseDays = 30

// enoughClosed is how many stays must be over before a rehearsal can tell anything.
const enoughClosed = 5

// propose checks a changed book, rehearses it over the last days and asks for a yes.
func (t *turn) propose(text, why, rule string) {
	b, err := rules.Parse(text)
	if err != nil {
		t.mistakes(err)
		return
	}
	if wrong := b.Sound(t.voice.Langs()...); len(wrong) > 0 {
		t.mistakes(wrong)
		return
	}
	db, from, to := t.db, t.at.Add(-rehearseDays*24*time.Hour), t.msg.From
	work := func() rehearsed {
		r := rehearse(db, b, from)
		r.Text, r.Why, r.Rule = text, why, rule
		if rule != "" {
			for _, d := range r.Differ {
				if d.Rule == rule && d.Would != 0 {
					r.Alone++
				}
			}
		}
		return r
	}
	if t.o.Background == nil {
		t.proposed(work())
		return
	}
	t.say("book.rehearsing")
	report := t.o.Report
	t.o.Background(func() {
		if err := post(db, to, work()); err != nil {
			report("a rehearsal was lost: " + err.Error())
		}
	})
}

// post puts the result of slow work into the program's own inbox.
func post(db *journal.DB, to Address, r rehearsed) error {
	body, err := json.Marshal(r)
	if err != nil {
		return err
	}
	raw, err := json.Marshal(Message{From: to, Kind: Rehearsed, Text: string(body)})
	if err != nil {
		return err
	}
	_, err = db.Receive([]journal.In{{Via: OwnVia, Raw: raw}}, nil)
	return err
}

// rehearse runs the journal under a book and compares it with what rang.
func rehearse(db *journal.DB, b *rules.Book, from state.Instant) rehearsed {
	es, err := db.Load()
	if err != nil {
		return rehearsed{Err: err.Error()}
	}
	would, err := rules.Rehearse(es, b, rules.Parse)
	if err != nil {
		return rehearsed{Err: err.Error()}
	}
	rang := rules.Rang(es)
	r := rehearsed{Rang: count(rang, from), Would: count(would, from),
		Differ: rules.Differ(rang, would, from), Was: rules.Loads(rang, from),
		Is: rules.Loads(would, from)}
	m := state.Load(es)
	for _, k := range state.Kinds() {
		for _, s := range m.Closed(k) {
			if s.To >= from {
				r.Closed++
			}
		}
	}
	return r
}

// count is how many calls rang from an instant on.
func count(es []state.Event, from state.Instant) int {
	n := 0
	for _, e := range es {
		if s, ok := e.Body.(state.CallStep); ok && s.What == state.Rang && e.At >= from {
			n++
		}
	}
	return n
}

// rehearsedBack answers whoever proposed a book, once its rehearsal is done.
func (t *turn) rehearsedBack() {
	var r rehearsed
	if err := json.Unmarshal([]byte(t.msg.Text), &r); err != nil {
		t.o.Report("a rehearsal cannot be read: " + err.Error())
		return
	}
	t.proposed(r)
}

// differencesShown is how many calls of a rehearsal are told one by one.
const differencesShown = 6

// proposed shows what a book would have done, and asks whether it shall be in force.
func (t *turn) proposed(r rehearsed) {
	if r.Err != "" {
		t.o.Report("rehearsal: " + r.Err)
		t.say("book.cannot-rehearse")
	} else if r.Closed < enoughClosed {
		t.say("book.too-early", "n", r.Closed)
	} else {
		t.say("book.would", "days", rehearseDays, "rang", r.Rang, "would", r.Would)
	}
	for i, d := range r.Differ {
		if i == differencesShown {
			t.say("book.more", "n", len(r.Differ)-i)
			break
		}
		t.say("book.differ."+d.What, "call", t.callName(d.Rule, t.lang()), "place",
			t.placeOf(d.Of, t.lang()), "rang", t.clock(d.Rang), "would", t.clock(d.Would))
	}
	if r.Rule != "" && r.Alone == 0 && r.Closed >= enoughClosed {
		t.say("book.never", "name", r.Rule)
	}
	t.loads(r)
	t.ask(Asked{What: Confirm}, "book", func(p *pending) { p.Text, p.Quote = r.Text, r.Why })
	t.say("book.yes")
}

// guidance is how many rings an hour a person with a phone should not pass: our own hard budget,
// under the alarm standards' 12 an hour for a console operator (EEMUA 191, ISA-18.2).
const guidance = 6

// loads tells whose load would change, against the standards' guidance.
func (t *turn) loads(r rehearsed) {
	was := map[state.PersonID]rules.Load{}
	for _, l := range r.Was {
		was[l.Person] = l
	}
	for _, l := range r.Is {
		if w := was[l.Person]; w.Rings != l.Rings || l.MostHour > guidance {
			t.say("book.load", "name", t.name(l.Person), "old", w.Rings, "new", l.Rings, "most",
				l.MostHour, "guidance", guidance)
		}
	}
	if len(r.Differ) == 0 {
		t.say("book.no-difference")
	}
}
