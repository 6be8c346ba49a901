package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

const token4711 = "4711:made-up_token"

// box is the second Box: a journal whose disk can be full, and that says when it was written.
type box struct {
	*journal.DB
	full  atomic.Bool
	wrote chan struct{}

	mu     sync.Mutex
	stored map[string]bool                // ids in the inbox
	around func(write func() error) error // nil: just write
}

var errFull = errors.New("no space left on device")

func (b *box) write(f func() error) error {
	if b.full.Load() {
		return errFull
	}
	err := f()
	select {
	case b.wrote <- struct{}{}:
	default:
	}
	return err
}

func (b *box) Receive(rows []journal.In, cursors map[string]string) (fresh int, err error) {
	b.mu.Lock()
	around := b.around
	b.mu.Unlock()
	store := func() error {
		fresh, err = b.DB.Receive(rows, cursors)
		if err == nil {
			b.mu.Lock()
			defer b.mu.Unlock()
			for _, r := range rows {
				b.stored[r.ID] = true
			}
		}
		return err
	}
	err = b.write(func() error {
		if around != nil && len(rows) > 0 {
			return around(store)
		}
		return store()
	})
	return fresh, err
}

func (b *box) Sent(no uint64, at state.Instant) error {
	return b.write(func() error { return b.DB.Sent(no, at) })
}

func (b *box) Retry(no uint64, notBefore state.Instant) error {
	return b.write(func() error { return b.DB.Retry(no, notBefore) })
}

func (b *box) Dead(no uint64, reason string) error {
	return b.write(func() error { return b.DB.Dead(no, reason) })
}

func (b *box) has(id int64) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.stored[strconv.FormatInt(id, 10)]
}

// rig is a link between a journal and the fake server. Waiting moves the server's clock and takes
// no time.
type rig struct {
	t    testing.TB
	ctx  context.Context
	srv  *fake.Server
	box  *box
	link *Link

	mu      sync.Mutex
	waits   []time.Duration
	alerts  []string
	dropped []string
	shut    []string
	unkept  []string
	missed  [][2]state.Instant
}

// patient is longer than any answer takes, also on a machine with much else to do.
const patient = 20 * time.Second

// noon is when every test begins.
func noon() time.Time { return time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC) }

func newRig(t testing.TB) *rig { return newRigOn(t, journal.Options{NoSync: true}) }

func newRigOn(t testing.TB, o journal.Options) *rig {
	t.Helper()
	srv, err := fake.New(token4711, noon())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(srv.Close)
	db, err := journal.Open(filepath.Join(t.TempDir(), "mill.db"), o)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(t.Context(), 30*time.Second)
	t.Cleanup(stop)
	r := &rig{t: t, ctx: ctx, srv: srv,
		box: &box{DB: db, wrote: make(chan struct{}, 1), stored: map[string]bool{}}}
	r.connect(patient)
	t.Cleanup(r.close)
	return r
}

// connect makes a new link over the same journal, as a restart does.
func (r *rig) connect(answer time.Duration) {
	r.t.Helper()
	note := func(list *[]string) func(string) {
		return func(s string) { r.mu.Lock(); defer r.mu.Unlock(); *list = append(*list, s) }
	}
	link, err := New(Options{Token: token4711, URL: r.srv.URL(), Answer: answer, Now: r.srv.Now,
		Wait: func(ctx context.Context, d time.Duration) error {
			if r.link.UnderWay() > 0 { // no time passes while a request does
				<-ctx.Done()
				return ctx.Err()
			}
			r.mu.Lock()
			r.waits = append(r.waits, d)
			r.mu.Unlock()
			r.srv.Advance(d)
			return ctx.Err()
		},
		Alert:       func(_, text string) { note(&r.alerts)(text) },
		Unreachable: note(&r.shut),
		Dropped: func(row journal.Out, reason string) {
			note(&r.dropped)(strconv.FormatUint(row.No, 10) + " " + reason)
		},
		Cries:  func(words string) bool { return strings.Contains(words, "ayuda") },
		Unkept: func(m bot.Message) { note(&r.unkept)(m.Text) },
		Missed: func(from, to state.Instant) {
			r.mu.Lock()
			defer r.mu.Unlock()
			r.missed = append(r.missed, [2]state.Instant{from, to})
		},
	}, r.box)
	if err != nil {
		r.t.Fatal(err)
	}
	r.link = link
}

// close holds for every test: the token is in nothing that anybody is told.
func (r *rig) close() {
	ends, err := r.box.Endings(0)
	if err != nil {
		r.t.Error(err)
	}
	told := slices.Concat(r.alerts, r.dropped, r.shut)
	for _, e := range ends {
		told = append(told, e.Dead)
	}
	for _, s := range told {
		if strings.Contains(s, "made-up") || strings.Contains(s, r.srv.URL()) {
			r.t.Errorf("the token or its address was told: %s", s)
		}
	}
	if err := r.box.Close(); err != nil {
		r.t.Error(err)
	}
}

// run starts a loop and gives the function that stops it and waits for its end.
func (r *rig) run(loop func(context.Context) error) (stop func()) {
	ctx, cancel := context.WithCancel(r.ctx)
	over := make(chan error, 1)
	go func() { over <- loop(ctx) }()
	return func() {
		r.t.Helper()
		cancel()
		if err := <-over; err != nil {
			r.t.Error(err)
		}
	}
}

// until waits for something that a write to the journal or a change of the server brings about.
func (r *rig) until(what string, ok func() bool) {
	r.t.Helper()
	for !ok() {
		changed, stop := context.WithCancel(r.ctx)
		go func() {
			select {
			case <-r.box.wrote:
				stop()
			case <-changed.Done():
			}
		}()
		_ = r.srv.Until(changed, ok) // either it is so, or the journal was written
		stop()
		if r.ctx.Err() != nil {
			r.t.Fatalf("it did not happen: %s; alerts %q", what, r.alerts)
		}
	}
}

// put commits rows to the outbox and gives their numbers.
func (r *rig) put(rows ...journal.Out) []uint64 {
	r.t.Helper()
	b := &journal.Batch{Out: rows}
	if err := r.box.Commit(b); err != nil {
		r.t.Fatal(err)
	}
	var nos []uint64
	for _, o := range b.Out {
		nos = append(nos, o.No)
	}
	return nos
}

// row is an outbox row with a text.
func row(chat int64, priority int, text string) journal.Out {
	return rowOf(chat, priority, bot.Outgoing{Text: text})
}

func rowOf(chat int64, priority int, m bot.Outgoing) journal.Out {
	body, err := json.Marshal(m)
	if err != nil {
		panic(err)
	}
	return journal.Out{Via: Via, To: strconv.FormatInt(chat, 10), Priority: priority,
		Made: state.At(noon()), Body: body}
}

// drained says that no row is unsent.
func (r *rig) drained() bool {
	rows, err := r.box.Outbox(Via, 0)
	return err == nil && len(rows) == 0
}

// sendAll runs the sending loop until the outbox is empty.
func (r *rig) sendAll() {
	r.t.Helper()
	stop := r.run(r.link.Send)
	r.until("the outbox is empty", r.drained)
	stop()
}

// ends are the outcomes of rows: "sent", or the reason they were given up for.
func (r *rig) ends() map[uint64]string {
	r.t.Helper()
	list, err := r.box.Endings(0)
	if err != nil {
		r.t.Fatal(err)
	}
	ends := map[uint64]string{}
	for _, e := range list {
		ends[e.No] = e.Dead
		if e.Sent != 0 {
			ends[e.No] = "sent"
		}
	}
	return ends
}

// inbox are the messages of the inbox; rows that cannot be decoded are "?" and the error.
func (r *rig) inbox() []bot.Message {
	r.t.Helper()
	rows, err := r.box.Inbox(0)
	if err != nil {
		r.t.Fatal(err)
	}
	var list []bot.Message
	for _, row := range rows {
		m, err := Decode(row.Raw)
		if err != nil {
			m = bot.Message{Text: "? " + err.Error()}
		}
		list = append(list, m)
	}
	return list
}

func texts(list []bot.Message) []string {
	var s []string
	for _, m := range list {
		if m.Kind == bot.Document {
			m.Text = m.File
		}
		s = append(s, m.Text)
	}
	return s
}

// sentTo are the texts that arrived in a chat.
func (r *rig) sentTo(chat int64) []string {
	var s []string
	for _, m := range r.srv.Sent() {
		if m.Chat == chat && m.Method == "sendMessage" {
			s = append(s, m.Text)
		}
	}
	return s
}

func same[T any](t testing.TB, what string, got, want T) {
	t.Helper()
	g, err1 := json.Marshal(got)
	w, err2 := json.Marshal(want)
	if err1 != nil || err2 != nil || string(g) != string(w) {
		t.Errorf("%s: got %s, want %s", what, g, w)
	}
}

func (r *rig) told() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.alerts)
}
