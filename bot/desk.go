package bot

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"lotbell/bot/voice"
	"lotbell/bot/words"
	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// Decode makes a message of what a transport stored in the inbox. An error sets the row aside.
type Decode func(raw []byte) (Message, error)

// Options are what a desk is opened with.
type Options struct {
	Decode  map[string]Decode // by transport
	Program string            // name and version of the program, noted at every start
	Book    string            // the text of the book for an empty journal; "": the default one
	Report  func(string)      // lines for the operator; nil: nowhere
	// Background runs slow work beside the desk, which goes on, while somebody waits for its result;
	// nil: the desk waits for it.
	Background func(waits Address, work func())
	// Link makes a link that brings a code, "" while the transport has none; nil: it never has.
	Link func(code string) string
	// Lines is how many messages a minute are taken from one phone; the rest waits. 0: 30, below
	// that any number.
	Lines int
	Bind  string        // a transport at which people are reached by their name; "": none
	Code  func() string // makes a code for an invitation; nil: there are none
}

// Desk is the one goroutine that owns a mill: it reads what waits in the inbox, folds it, looks at
// the rules, words what is to be said and commits all of it at once. Many desks may live in one
// process. It never asks a clock: every instant is handed in.
type Desk struct {
	db       *journal.DB
	mill     *state.Mill
	watch    *rules.Watch
	voice    *voice.Voice
	words    *words.Words
	safety   *safety
	cards    map[state.PersonID]journal.Card
	people   map[string][]state.PersonID // by address, several on a shared phone
	verbs    map[string]string           // the keeper's commands by their words; nil: to be made
	sums     *Sums                       // the trade's sums; nil: to be made
	lists    map[string][]string         // words of the voice by their key, as they are asked for
	asking   int                         // how many questions the set-up has
	paces    map[string]*pace            // by address
	delayed  map[uint64]state.Instant    // inbox rows that wait, and until when
	slots    map[string]state.Instant    // the last hour of each summary
	alive    state.Instant               // when the program was last known to run
	poisoned state.Instant               // when the keepers last heard of what was set aside
	behind   bool                        // the clock was behind the journal when last looked at
	o        Options
}

// Open makes a desk over a journal and folds it. Nothing is rung or written until [Desk.Start].
func Open(db *journal.DB, o Options) (*Desk, error) {
	v, err := voice.Load()
	if err != nil {
		return nil, err
	}
	w, err := words.Load()
	if err != nil {
		return nil, err
	}
	cautions, err := readSafety()
	if err != nil {
		return nil, err
	}
	if o.Report == nil {
		o.Report = func(string) {}
	}
	if o.Book == "" {
		o.Book = rules.DefaultText()
	}
	d := &Desk{db: db, voice: v, words: w, safety: cautions, o: o, paces: map[string]*pace{},
		lists: map[string][]string{}, asking: len(questions()), delayed: map[uint64]state.Instant{}}
	return d, d.refold()
}

// refold makes the mill anew from the journal: what is not on disk did not happen.
func (d *Desk) refold() error {
	es, err := d.db.Load()
	if err != nil {
		return fmt.Errorf("read the journal: %w", err)
	}
	d.mill = state.Load(es)
	if err := d.readCards(); err != nil {
		return err
	}
	book, err := d.compiled()
	if err != nil {
		return err
	}
	d.watch = rules.NewWatch(book)
	d.slots = map[string]state.Instant{}
	if len(es) > 0 {
		d.watch.Prime(d.mill, d.mill.Heard())
	}
	return nil
}

// compiled is the newest book of the journal that this program can read; on an empty journal the
// one the desk was opened with.
func (d *Desk) compiled() (*rules.Book, error) {
	books := d.mill.Books()
	for i := len(books) - 1; i >= 0; i-- {
		b, err := rules.Parse(books[i].Text)
		if err == nil {
			return b, nil
		}
		d.o.Report(fmt.Sprintf("book %d cannot be read by this program: %v", books[i].Version, err))
	}
	return rules.Parse(d.o.Book)
}

// readCards reads the address book.
func (d *Desk) readCards() error {
	cards, err := d.db.Cards()
	if err != nil {
		return fmt.Errorf("read the address book: %w", err)
	}
	d.cards, d.people = map[state.PersonID]journal.Card{}, map[string][]state.PersonID{}
	for _, c := range cards {
		d.file(c)
	}
	return nil
}

// shortGap is a silence of the program that is no gap: a restart, not a night.
const shortGap = time.Minute

// Start notes that the program has started: the gap since it was last heard of, if that was not
// short, its version, and on an empty journal the book. Then everything is looked at once, now.
// What fell due in a short gap is done first, each at its own instant, as if there had been none.
func (d *Desk) Start(now state.Instant) error {
	last := max(d.mill.Heard(), d.lastAlive())
	short := now.Sub(last) <= shortGap
	if short && last != 0 {
		if err := d.ticks(now); err != nil {
			return err
		}
	}
	t := d.turn(now)
	if last != 0 && !short {
		t.own(state.Blind{From: last, To: t.at})
	}
	t.own(state.Start{Program: d.o.Program})
	if _, version := d.mill.Book(); version == 0 {
		t.own(state.Adopt{Version: 1, Text: d.o.Book, Why: "first book"})
	}
	return d.finish(t)
}

// aliveName is the cursor that says when the program last ran, written at least every aliveEvery,
// so that a gap is known even when nothing was said for hours.
const (
	aliveName  = "alive"
	aliveEvery = 5 * time.Minute
)

// lastAlive is when the program is last known to have run; 0 for never.
func (d *Desk) lastAlive() state.Instant {
	if d.alive == 0 {
		if text, err := d.db.Cursor(aliveName); err == nil && text != "" {
			if n, err := strconv.ParseInt(text, 10, 64); err == nil {
				d.alive = state.Instant(n)
			}
		}
	}
	return d.alive
}

// Next is the next instant at which the desk has something to do of its own accord; 0 for never.
func (d *Desk) Next() state.Instant {
	next := d.due()
	for _, s := range d.delayed {
		if next == 0 || s < next {
			next = s
		}
	}
	return next
}

// due is when a rule or a summary is next to be looked at; 0 for never.
func (d *Desk) due() state.Instant {
	next := d.watch.Next()
	if h := d.nextHandover(); h != 0 && (next == 0 || h < next) {
		next = h
	}
	if s := d.nextSummary(); s != 0 && (next == 0 || s < next) {
		next = s
	}
	return next
}

// Run does everything that is due at an instant: first what fell due before it, each at its own
// instant, then what waits in the inbox.
func (d *Desk) Run(now state.Instant) error {
	behind := d.mill.Heard().Sub(now) > clockBehind
	if behind && !d.behind {
		d.o.Report("the clock is behind the journal: nothing is rung until it is right")
	}
	if d.behind = behind; !behind {
		if err := d.ticks(now); err != nil {
			return err
		}
	}
	if now.Sub(d.lastAlive()) >= aliveEvery { // a sign of life, when nothing else is written
		d.alive = now
		if err := d.db.Commit(&journal.Batch{Cursors: map[string]string{
			aliveName: strconv.FormatInt(int64(now), 10)}}); err != nil {
			return fmt.Errorf("write a sign of life: %w", err)
		}
	}
	for {
		in, err := d.waiting(now)
		if err != nil {
			return fmt.Errorf("read the inbox: %w", err)
		}
		if len(in) == 0 {
			return nil
		}
		if err := d.step(in, now); err != nil {
			return err
		}
	}
}

// inboxAtOnce is how many messages go into one commit.
const inboxAtOnce = 64

// ticks does what fell due by an instant.
func (d *Desk) ticks(now state.Instant) error {
	for t := d.due(); t != 0 && t <= now; t = d.due() {
		if err := d.step(nil, t); err != nil {
			return err
		}
	}
	return nil
}

// step takes some messages, or none when it only looks: read, guard, fold, look, word, commit.
func (d *Desk) step(in []journal.In, now state.Instant) error {
	t := d.turn(now)
	if len(in) == 0 {
		t.at = now // a tick looks at the instant that was due
	}
	for _, row := range in {
		t.take(row)
	}
	return d.finish(t)
}

// finish looks at what the turn touched, says what is to be said, and commits. If the commit
// fails, the mill in memory is thrown away.
func (d *Desk) finish(t *turn) error {
	t.unreceived()
	t.summaries()
	for _, s := range d.watch.Step(d.mill, t.touched, t.at) {
		t.ring(t.own(s), s)
	}
	t.sendRings()
	if t.nothing() {
		return nil
	}
	if d.alive = t.at; len(t.b.Events) == 0 { // an event says as much
		t.b.Cursors[aliveName] = strconv.FormatInt(int64(t.at), 10)
	}
	if err := d.db.Commit(&t.b); err != nil {
		again := d.refold()
		return errors.Join(fmt.Errorf("write the journal: %w", err), again)
	}
	return nil
}

// nothing says whether the turn changed nothing, so that looking costs no write.
func (t *turn) nothing() bool {
	b := &t.b
	return len(b.Events)+len(b.Handled)+len(b.Aside)+len(b.Out)+len(b.Drop)+len(b.Cards)+
		len(b.Pending)+len(b.Cursors) == 0
}

// turn is one step of the desk while it is made: what it will commit, and the message in hand.
type turn struct {
	*Desk
	at      state.Instant
	now     state.Instant // by the clock, which may be behind what was heard
	b       journal.Batch
	touched []state.Subject

	msg     *Message      // the message in hand
	person  *state.Person // who sent it; nil: a stranger
	line    state.Seq     // the first event of its line
	lines   []string      // the answer so far
	keys    [][]string    // the keyboard that goes with it
	wrote   map[state.PersonID]bool
	known   *Context  // of the mill as it stands; nil: to be made
	attach  *File     // goes with the answer
	picture *Picture  // goes with the answer
	rings   []ringing // calls that go out with this turn
	ends    []ending  // calls that ended in it
	quoted  string    // the words a yes is about
	failed  bool      // the last strict command could not be done
	all     []Fact    // of the line in hand
	pend    map[string]*pending
	coded   bool                // the sender's short code came with the message
	phones  map[string][]oneRow // messages of this turn to shared phones
	alone   bool                // what is worded is read by one person on a phone of their own
}

// turn begins a step. Steps are heard one after another, at least a millisecond apart.
func (d *Desk) turn(now state.Instant) *turn {
	return &turn{Desk: d, at: max(now, d.mill.Heard()+1), now: now, wrote: map[state.PersonID]bool{},
		pend: map[string]*pending{}, phones: map[string][]oneRow{},
		b: journal.Batch{Words: map[state.Seq]string{},
			Pending: map[string][]byte{}, Cursors: map[string]string{},
			Lines: map[string]state.Seq{}, Aside: map[uint64]string{}}}
}

// event folds one event of this turn.
func (t *turn) event(at state.Instant, by state.PersonID, msg state.Seq, b state.Body) state.Event {
	e := state.Event{Seq: t.mill.Next(), Msg: msg, At: min(at, t.at), Heard: t.at, By: by, Body: b}
	if e.Msg == 0 {
		e.Msg = e.Seq
	}
	t.b.Events = append(t.b.Events, e)
	t.known = nil
	t.touched = append(t.touched, t.mill.Apply(e)...)
	if a, ok := b.(state.Adopt); ok {
		if book, err := rules.Parse(a.Text); err == nil {
			t.watch.Book = book
		}
	}
	return e
}

// own folds an event of Lotbell's own.
func (t *turn) own(b state.Body) state.Event { return t.event(t.at, 0, 0, b) }

// said folds what the sender of the message in hand said. All events of a line share its first.
func (t *turn) said(at state.Instant, b state.Body) state.Event {
	by := state.PersonID(0)
	if t.person != nil {
		by = t.person.ID
	}
	e := t.event(at, by, t.line, b)
	if t.line == 0 {
		t.line = e.Seq
		t.b.Words[e.Seq] = t.msg.Text
		t.b.Lines[t.msg.From.String()+"/"+t.msg.ID] = e.Seq
	}
	return e
}

// take reads one row of the inbox and answers it.
func (t *turn) take(row journal.In) {
	t.b.Handled = append(t.b.Handled, row.No)
	decode := t.o.Decode[row.Via]
	if row.Via == OwnVia {
		decode = DecodeJSON
	}
	if decode == nil {
		t.aside(row, "no transport "+row.Via)
		return
	}
	msg, err := decode(row.Raw)
	if err != nil {
		t.aside(row, err.Error())
		return
	}
	if msg.At == 0 || msg.At > t.at {
		msg.At = t.at
	}
	t.msg, t.line, t.lines, t.keys, t.quoted, t.attach = &msg, 0, nil, nil, "", nil
	t.picture = nil
	t.coded = false
	t.person = t.writer()
	if t.tooMany(row) {
		t.answer()
		return
	}
	if t.person != nil {
		t.wrote[t.person.ID] = true
	}
	t.hear()
	if len(t.lines) == 0 && t.person != nil && msg.Kind == Text {
		t.say("ask.say-again?", "example", t.example()) // nobody is left without an answer
	}
	t.answer()
}

// aside keeps a row that cannot be read; it blocks nobody and the operator is told.
func (t *turn) aside(row journal.In, why string) {
	t.b.Handled = t.b.Handled[:len(t.b.Handled)-1]
	t.b.Aside[row.No] = why
	t.o.Report(fmt.Sprintf("message %d from %s was set aside: %s", row.No, row.Via, why))
	if t.at.Sub(t.poisoned) >= asideEvery || t.at < t.poisoned {
		t.poisoned = t.at
		t.trouble("aside")
	}
}

// asideEvery is how often the keepers hear that something was set aside.
const asideEvery = time.Hour

// answer sends the lines of the answer to whoever wrote.
func (t *turn) answer() {
	if len(t.lines) == 0 {
		return
	}
	text := t.lines[0]
	for _, l := range t.lines[1:] {
		text += "\n" + l
	}
	person := state.PersonID(0)
	if t.person != nil {
		person = t.person.ID
	}
	if t.keys == nil && !t.msg.Group {
		t.keys = t.keyboard()
	}
	t.post(t.msg.From, person, journal.Out{Priority: answersAt, Cause: t.line},
		Outgoing{Text: text, Keys: t.keys, ReplyTo: t.msg.ID, File: t.attach,
			Picture: t.picture})
}

// answersAt is the priority of answers in the outbox: after alarms and alerts.
const answersAt = 3

// post puts one message into the outbox.
func (t *turn) post(to Address, person state.PersonID, row journal.Out, o Outgoing) {
	body, err := json.Marshal(o)
	if err != nil {
		t.o.Report("cannot write a message: " + err.Error())
		return
	}
	row.Via, row.To, row.Person, row.Made, row.Body = to.Via, to.ID, person, t.at, body
	t.b.Out = append(t.b.Out, row)
}

// say adds a line to the answer, in the sender's language.
func (t *turn) say(key string, pairs ...any) {
	t.lines = append(t.lines, t.voice.Say(t.lang(), key, pairs...))
}

// lang is the language of the answer.
func (t *turn) lang() string {
	if t.person != nil && t.voice.Speaks(t.person.Lang) {
		return t.person.Lang
	}
	if t.msg != nil && t.voice.Speaks(t.msg.Lang) {
		return t.msg.Lang
	}
	return t.home()
}

// langOf is the language somebody is spoken to in.
func (d *Desk) langOf(id state.PersonID) string {
	if p := d.mill.Person(id); p != nil && d.voice.Speaks(p.Lang) {
		return p.Lang
	}
	return d.home()
}

// name is what somebody is called; "?" once their card was erased.
func (d *Desk) name(id state.PersonID) string {
	if n := d.cards[id].Name; n != "" {
		return n
	}
	return "?"
}
