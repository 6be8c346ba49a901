package main

import (
	"context"
	"io"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

// hands is a clock that stands still until a test moves it. Waiting goes by the time that passes,
// not by what the clock shows, as it does on a machine whose clock is set.
type hands struct {
	mu     sync.Mutex
	shows  time.Time
	passed time.Duration
	waits  int // waits that were begun
	moved  chan struct{}
}

// Now is what the clock shows.
func (h *hands) Now() time.Time {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.shows
}

// time is how much has passed.
func (h *hands) time() time.Duration {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.passed
}

// change wakes whoever looks at the clock. The lock is held.
func (h *hands) change() {
	close(h.moved)
	h.moved = make(chan struct{})
}

// wait is serve's way to wait.
func (h *hands) wait(ctx context.Context, d time.Duration) error {
	h.mu.Lock()
	h.waits++
	h.change()
	until := h.passed + d
	h.mu.Unlock()
	return h.look(ctx, func() bool { return h.passed >= until })
}

// look waits until something is true of the clock.
func (h *hands) look(ctx context.Context, ok func() bool) error {
	for {
		h.mu.Lock()
		over, moved := ok(), h.moved
		h.mu.Unlock()
		if over {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-moved:
		}
	}
}

// made is a mill with serve in this process, whose clock the test moves. The far side keeps a
// clock of its own, which goes with it but is never set.
type made struct {
	t     *testing.T
	ctx   context.Context
	far   *fake.Server
	clock *hands
	path  string
	log   *lockedLines
}

// lockedLines keeps what serve logs.
type lockedLines struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *lockedLines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *lockedLines) has(words string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Contains(l.text.String(), words)
}

// newMade makes a mill for some workers, on a Monday morning.
func newMade(t *testing.T, workers int) *made {
	t.Helper()
	if testing.Short() {
		t.Skip("runs a mill for hours of its own time")
	}
	at := time.Date(2026, 1, 12, 8, 0, 0, 0, time.UTC)
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	t.Cleanup(cancel)
	m := &made{t, ctx, farSide(t, at, workers), &hands{shows: at, moved: make(chan struct{})},
		filepath.Join(t.TempDir(), "mill.db"), &lockedLines{}}
	serveMill(t, m.path, workers, at)
	t.Cleanup(func() {
		if t.Failed() {
			text := m.log.text.String()
			t.Logf("serve logged, at the end:\n%s", text[max(0, len(text)-3000):])
		}
	})
	return m
}

// start runs serve's own code until stop.
func (m *made) start() (stop func()) {
	m.t.Helper()
	return m.run(m.server())
}

// server is a serve that is not running yet.
func (m *made) server() *server {
	return &server{file: m.path, wait: m.clock.wait, passed: m.clock.time,
		log: slog.New(slog.NewJSONHandler(m.log, nil)),
		env: env{out: io.Discard, err: m.log, now: m.clock.Now,
			getenv: func(string) string { return testToken }}}
}

// run runs one until stop.
func (m *made) run(s *server) (stop func()) {
	m.t.Helper()
	if err := s.open("", m.far.URL()); err != nil {
		m.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(m.ctx)
	over := make(chan error, 1)
	go func() { over <- s.run(ctx) }()
	return func() {
		m.t.Helper()
		cancel()
		if err := <-over; err != nil {
			m.t.Error(err)
		}
		if err := s.db.Close(); err != nil {
			m.t.Error(err)
		}
	}
}

// pass lets time go by in steps, for the far side too. After each the desk and, while nothing can
// be fetched, the receiver have woken and wait again.
func (m *made) pass(d, step time.Duration, loops int) {
	m.t.Helper()
	for ; d > 0; d -= step {
		m.clock.mu.Lock()
		begun := m.clock.waits
		m.clock.passed += step
		m.clock.shows = m.clock.shows.Add(step)
		m.clock.change()
		m.clock.mu.Unlock()
		m.far.Advance(step)
		if err := m.clock.look(m.ctx, func() bool { return m.clock.waits >= begun+loops }); err != nil {
			m.t.Fatalf("serve stands still: %v", err)
		}
	}
}

// set sets what the clock shows; no time passes by it.
func (m *made) set(by time.Duration) {
	m.clock.mu.Lock()
	defer m.clock.mu.Unlock()
	m.clock.shows = m.clock.shows.Add(by)
	m.clock.change()
}

// until lets time go by, a second at a time, until the far side sees something.
func (m *made) until(what string, ok func() bool) {
	m.t.Helper()
	for range 120 {
		short, stop := context.WithTimeout(m.ctx, 20*time.Millisecond)
		err := m.far.Until(short, ok)
		stop()
		if err == nil {
			return
		}
		m.pass(time.Second, time.Second, 0)
	}
	sent := m.far.Sent()
	m.t.Fatalf("it did not happen: %s; sent at the end %+v", what, sent[max(0, len(sent)-6):])
}

// texts are the messages that a chat got from the i-th sending on.
func (m *made) texts(chat int64, from int) []string {
	var out []string
	for _, s := range m.far.Sent()[from:] {
		if s.Chat == chat && s.Method == "sendMessage" {
			out = append(out, s.Text)
		}
	}
	return out
}

// ends are the outbox rows that have ended, after serve has.
func (m *made) ends() []journal.Ended {
	m.t.Helper()
	db, err := journal.Open(m.path, journal.Options{})
	if err != nil {
		m.t.Fatal(err)
	}
	defer db.Close()
	list, err := db.Endings(0)
	if err != nil {
		m.t.Fatal(err)
	}
	return list
}

// drumOn loads drum 1 and lights it.
func (m *made) drumOn() {
	m.t.Helper()
	for _, line := range []string{"t1 add 3000", "d1 load 2100kg", "d1 50"} {
		id := m.far.Say(1000, line)
		m.until(line, func() bool {
			return slices.ContainsFunc(m.far.Sent(), func(s fake.Sent) bool { return s.ReplyTo == id })
		})
	}
}

// rang says whether a chat got a call with these words, from the i-th sending on.
func (m *made) rang(chat int64, from int, words string) func() bool {
	return func() bool {
		return slices.ContainsFunc(m.texts(chat, from), func(text string) bool {
			return called.MatchString(text) && strings.Contains(text, words)
		})
	}
}

// answered says whether a message has its answer.
func (m *made) answered(id int) func() bool {
	return func() bool {
		return slices.ContainsFunc(m.far.Sent(), func(s fake.Sent) bool { return s.ReplyTo == id })
	}
}

// up ends a cut.
func (m *made) up() {
	m.t.Helper()
	if err := m.far.Up(); err != nil {
		m.t.Fatal(err)
	}
}

// tooHot is what the alarm of a drum over 70 C says.
const tooHot = "C. Too hot"

// TestServeCutForMinutes: five minutes without a network. What was written meanwhile is answered,
// its alarm rings, and nothing is given up.
func TestServeCutForMinutes(t *testing.T) {
	m := newMade(t, 2)
	stop := m.start()
	m.drumOn()
	m.far.Down()
	cut := state.At(m.clock.Now())
	m.pass(time.Minute, lookEvery, 2)
	before := len(m.far.Sent())
	id := m.far.Say(1000, "d1 72")
	m.pass(4*time.Minute, lookEvery, 2)
	m.up()
	m.until("the alarm", m.rang(1000, before, tooHot))
	m.until("the answer", m.answered(id))
	stop()
	for _, e := range m.ends() {
		if e.Dead != "" && e.Made > cut {
			t.Errorf("row %d was given up: %s", e.No, e.Dead)
		}
	}
	if !m.log.has("cannot be fetched") {
		t.Error("the operator was not told")
	}
}

// TestServeCutForHours: six hours without a network, from right after an alarm that could not be
// sent. It arrives when the line is back, once and as it stands then; no prompt that has become
// untrue does, and of what was said again and again one message is left.
func TestServeCutForHours(t *testing.T) {
	m := newMade(t, 2)
	stop := m.start()
	m.drumOn()
	m.far.Fail("sendMessage", -1, fake.Garbage(502, "<html>"))
	m.far.Say(1000, "d1 72")
	m.until("it is stored", func() bool { return m.far.Waiting() == 0 })
	m.until("it rang", func() bool { return m.log.has("rang: drum-70") })
	m.pass(time.Second, time.Second, 0) // instants run a few ms ahead of a clock that stands
	m.far.Down()
	m.far.Mend()
	cut := state.At(m.clock.Now())
	m.pass(3*time.Hour, lookEvery, 2)
	late := m.far.Say(1000, "t2 add 2000")
	m.pass(3*time.Hour, lookEvery, 2)
	back, before := state.At(m.clock.Now()), len(m.far.Sent())
	m.up()
	m.until("the alarm", m.rang(1000, before, tooHot))
	m.until("the manager hears it", m.rang(900, before, tooHot))
	m.until("what was written meanwhile", m.answered(late))
	stop()
	var made uint64
	sent, expired := map[string]int{}, 0
	for _, e := range m.ends() {
		made = max(made, e.No)
		switch {
		case e.Dead == "expired" && e.Priority > 2:
			expired++
		case e.Dead != "" && e.Priority > 2 && e.Made <= cut: // under way when the line was cut
		case e.Dead != "":
			t.Errorf("row %d, priority %d, was given up: %s", e.No, e.Priority, e.Dead)
		case e.Expires != 0 && e.Sent >= e.Expires:
			t.Errorf("row %d was sent after it was true: made %v, sent %v", e.No, e.Made, e.Sent)
		case e.Sent >= back && e.Key != "":
			sent[e.To+" "+e.Key]++
		}
	}
	for key, n := range sent {
		if n > 1 {
			t.Errorf("%s was sent %d times", key, n)
		}
	}
	t.Logf("of some %d messages made in six hours %d expired and %d calls and summaries were sent",
		made, expired, len(sent))
	if expired == 0 || len(sent) < 2 {
		t.Error("the cut made nothing to be dropped or merged")
	}
}

// TestServeAwayForADay: after 26 hours a message of the first is gone from the far side. Everybody
// is told from when to when to write again, once; what is still there is taken.
func TestServeAwayForADay(t *testing.T) {
	m := newMade(t, 2)
	stop := m.start()
	m.drumOn()
	stop()
	began := m.clock.Now()
	m.far.Down()
	m.pass(time.Hour, time.Hour, 0)
	m.far.Say(1000, "t2 add 2100")
	m.pass(19*time.Hour, time.Hour, 0)
	kept := m.far.Say(1000, "t2 add 1900")
	m.pass(6*time.Hour, time.Hour, 0)
	before := len(m.far.Sent())
	if lost := m.far.Lost(); len(lost) != 1 {
		t.Fatalf("%d updates were lost, want 1", len(lost))
	}
	m.up()
	stop = m.start()
	m.until("what is still there", m.answered(kept))
	for _, chat := range []int64{900, 1000, 1001} {
		m.until("everybody is told", func() bool {
			return slices.ContainsFunc(m.texts(chat, before), func(text string) bool {
				return strings.Contains(text, "send again") &&
					strings.Contains(text, began.Format("15:04")) &&
					strings.Contains(text, began.Add(2*time.Hour).Format("15:04"))
			})
		})
	}
	stop()
	stop = m.start()
	m.until("it goes on", m.answered(m.far.Say(1000, "t2?")))
	stop()
	for _, chat := range []int64{900, 1000, 1001} {
		n := 0
		for _, text := range m.texts(chat, before) {
			n += strings.Count(text, "send again")
		}
		if n != 1 {
			t.Errorf("%d was told %d times", chat, n)
		}
	}
}

// TestServeHearsGarbage: pages of proxies, cut and empty answers to every kind of request, for a
// while. The alarm arrives, everything is taken once, and the operator hears of it.
func TestServeHearsGarbage(t *testing.T) {
	m := newMade(t, 2)
	stop := m.start()
	m.drumOn()
	before := len(m.far.Sent())
	for _, body := range []string{"<html>", "", "{", "null", `{"ok":true}`, `{"ok":true,"result":7}`,
		`{"ok":true,"result":[{}]}`, `{"ok":true,"result":[null]}`, `{"ok":false}`} {
		m.far.Fail("getUpdates", 1, fake.Garbage(200, body))
	}
	m.far.Fail("getUpdates", 1, fake.Spoil(200, "<html>"))
	m.far.Fail("getUpdates", 2, fake.Garbage(502, "<html>"))
	m.far.Fail("sendMessage", 3, fake.Garbage(503, "<html>"))
	m.far.Fail("sendMessage", 2, fake.Spoil(200, "<html>"))
	m.far.Say(1000, "d1 72")
	for polls := m.far.Calls("getUpdates"); m.far.Calls("getUpdates") < polls+13; {
		m.pass(lookEvery, lookEvery, 1) // the desk wakes, and sooner or later the receiver
	}
	m.until("the alarm", m.rang(1000, before, tooHot))
	m.until("what comes after it", m.answered(m.far.Say(1000, "d1?")))
	m.pass(5*time.Minute, lookEvery, 1)
	m.until("the operator hears that it is over", func() bool { return m.log.has("fetched again") })
	stop()
	if !m.log.has("cannot be fetched") {
		t.Error("the operator was not told")
	}
	if n := m.said("d1 72"); n != 1 {
		t.Errorf("the line was taken %d times", n)
	}
}

// said counts how often a line stands in the journal, after serve has ended.
func (m *made) said(line string) int {
	m.t.Helper()
	db, err := journal.Open(m.path, journal.Options{})
	if err != nil {
		m.t.Fatal(err)
	}
	defer db.Close()
	es, err := db.Load()
	if err != nil {
		m.t.Fatal(err)
	}
	n := 0
	for _, e := range es {
		if text, err := db.Words(e.Msg); err == nil && e.Seq == e.Msg && text == line {
			n++
		}
	}
	return n
}
