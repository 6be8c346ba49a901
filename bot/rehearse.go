package bot

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// OwnVia is the transport of what the program puts into its own inbox.
const OwnVia = "own"

// rehearsed is what a changed book would have done, as it comes back from slow work.
type rehearsed struct {
	Text, Why   string
	Rang, Would int
	Closed      int           // stays that were over in the time looked at
	Trials      []rules.Trial // of the calls that are new or ring for something else
	Differ      []rules.Difference
	Was, Is     []rules.Load
	Usual       map[string]time.Duration
	Never       int
	Err         string
}

// rehearseDays is how far back a changed book is rehearsed.
const rehearseDays = 30

// enoughClosed is how many stays must be over before a rehearsal can tell anything.
const enoughClosed = 5

// propose checks a changed book, rehearses it over the last days and asks for a yes.
func (t *turn) propose(text, why string) {
	b, err := rules.Parse(text)
	if err != nil {
		t.mistakes(err)
		return
	}
	changed := b.Changed(t.watch.Book, t.at)
	wrong := append(b.Sound(t.voice.Langs()...), t.tooLong(b)...)
	if len(wrong) > 0 {
		t.mistakes(wrong)
		return
	}
	db, from, to := t.db, t.at.Add(-rehearseDays*24*time.Hour), t.msg.From
	work := func() rehearsed {
		r := rehearse(db, b, changed, from)
		r.Text, r.Why = text, why
		return r
	}
	if t.o.Background == nil {
		t.proposed(work())
		return
	}
	t.say("book.rehearsing")
	report := t.o.Report
	t.o.Background(to, func() {
		if err := post(db, to, work()); err != nil {
			report("a rehearsal was lost: " + err.Error())
		}
	})
}

// tooLong lists the new sentences of a book whose first line, with what the mill is called and
// reads now, does not fit a plain message after what stands before a call that rings again.
func (t *turn) tooLong(b *rules.Book) (out rules.Mistakes) {
	know := rules.NewKnowledge()
	for _, r := range b.Calls {
		was := t.watch.Book.Rule(r.Name)
		for _, lang := range sortedKeys(r.Says) {
			if was != nil && was.Says[lang] == r.Says[lang] {
				continue
			}
			for _, of := range b.About(t.mill, r) {
				v := b.Look(t.mill, know, of, t.at)
				text := t.voice.Say(lang, "again") + " (999) " + t.fill(v, of, r.Says, lang, t.at)
				first, _, _ := strings.Cut(text, "\n")
				if n := voice.Septets(first); n > shortest {
					out = append(out, &rules.Mistake{Kind: rules.LongText, In: "call " + r.Name +
						", say." + lang, Word: fmt.Sprintf("%d, %s", n, first)})
					break
				}
			}
		}
	}
	return out
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
func rehearse(db *journal.DB, b *rules.Book, changed []*rules.Rule,
	from state.Instant) rehearsed {
	es, err := db.Load()
	if err != nil {
		return rehearsed{Err: err.Error()}
	}
	would, err := rules.Rehearse(es, b, rules.Parse)
	if err != nil {
		return rehearsed{Err: err.Error()}
	}
	rang, shifts := rules.Rang(es), rules.ShiftsIn(es)
	r := rehearsed{Rang: count(rang, from), Would: count(would.Steps, from),
		Trials: b.Try(es, would, changed, from), Differ: rules.Differ(rang, would.Steps, from),
		Was: rules.Loads(rang, from, shifts), Is: rules.Loads(would.Steps, from, shifts),
		Usual: would.Usual, Never: would.Never}
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
	if len(r.Differ) == 0 && r.Err == "" && r.Closed >= enoughClosed {
		t.say("book.no-difference")
	}
	t.trials(r)
	t.loads(r)
	t.ask(Asked{What: Confirm}, "book", func(p *pending) { p.Text, p.Quote = r.Text, r.Why })
	t.say("book.yes")
}

// trialsShown is of how many changed calls it is told what each would have done by itself.
const trialsShown = 6

// trials tells what each changed call would have done by itself: nothing, or without end, or the
// same as another.
func (t *turn) trials(r rehearsed) {
	for _, x := range r.Trials[:min(len(r.Trials), trialsShown)] {
		key := "book.alone"
		switch {
		case !x.Tells():
			key = "book.cannot-tell"
		case x.Never():
			key = "book.never"
		case x.Always():
			key = "book.always"
		}
		t.say(key, "name", x.Rule, "n", x.Rings, "closed", x.Closed, "days", rehearseDays, "least", enoughClosed, "pct",
			percentOf(int(1000*x.Share), 1000))
		if x.Like != "" {
			t.say("book.like", "name", x.Rule, "other", x.Like)
		}
	}
}

// loads tells whose load would change, against the standards' guidance, and after how long calls
// count as answered that nobody could answer then.
func (t *turn) loads(r rehearsed) {
	guidance := t.mostCalls()
	is, was := map[state.PersonID]rules.Load{}, map[state.PersonID]rules.Load{}
	for _, l := range r.Is {
		is[l.Person] = l
	}
	for _, l := range r.Was {
		was[l.Person] = l
	}
	for _, p := range t.mill.Persons() {
		i, w := is[p.ID], was[p.ID]
		if w.Rings != i.Rings || i.MostHour > guidance {
			t.say("book.load", "name", t.name(p.ID), "old", w.Rings, "new", i.Rings, "most",
				i.MostHour, "guidance", guidance, "shift", i.MostShift)
		}
	}
	if len(r.Usual) > 0 {
		var posts []string
		for _, post := range sortedKeys(r.Usual) {
			posts = append(posts, t.postName(post)+" "+spanWords(r.Usual[post].Round(time.Minute)))
		}
		t.say("book.usual", "posts", strings.Join(posts, ", "))
	}
	if r.Never > 0 {
		t.say("book.unanswered", "n", r.Never)
	}
}

// postName is what a post is called, or the mill.
func (t *turn) postName(post string) string {
	if post == state.Whole {
		return t.voice.Say(t.lang(), "place."+state.Whole)
	}
	return t.kindName(state.Kind(post))
}
