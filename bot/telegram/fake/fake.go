// Package fake is a server on this machine that speaks the part of the Telegram Bot API that
// Lotbell uses, for tests. It is no part of the program: a test holds that nothing but tests
// imports it.
//
// Read [Server] first, then queue.go (updates: kept, offered, confirmed, expired), methods.go
// (what is taken and what is refused) and fault.go (what can go wrong on order).
//
// It follows the open server's source (github.com/tdlib/telegram-bot-api, Client.cpp and
// ClientManager.cpp of May 2026; the queue is TQueue.cpp of github.com/tdlib/td) and the Bot API
// manual (core.telegram.org/bots/api): the place stands at each rule. It leaves out what no test
// here needs: webhooks, inline queries, formatting of texts, the pauses of up to 3 s before some
// refusals, and all time that passes by itself: its clock stands still until a test sets it.
package fake

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math/rand/v2"
	"net"
	"net/http"
	"slices"
	"sync"
	"time"
)

// Server is one bot's far side. Make it with [New] and end it with Close. All methods may be
// called from several goroutines.
type Server struct {
	token string
	addr  string

	mu      sync.Mutex
	http    *http.Server  // nil while down
	changed chan struct{} // closed and made anew whenever anything changes
	now     time.Time
	dice    *rand.Rand

	// The updates, and the polls that fetch them.
	queue     []update // waiting, by id
	done      []update // confirmed, in order
	lost      []int64  // expired before they were fetched
	next      int64    // the next update's id
	pushed    time.Time
	allowed   []string
	rewind    bool // the next poll's offset is not heeded
	offset    int64
	polled    time.Time
	waiting   chan struct{} // closed to end the poll that waits
	onConfirm func(id int64)

	// The chats, and what was sent to them.
	chats    map[int64]*chat
	messages int // the last message's number
	presses  map[string]time.Time
	files    map[string]upload // what people sent, by id
	sent     []Sent
	calls    map[string]int

	// What goes wrong on order.
	faults   []*order
	held     bool
	flying   map[int]int64 // chats of the requests under way, by number
	requests int
	most     int
}

// Sent is one message that was taken: sendMessage, sendPhoto, sendDocument, and also
// answerCallbackQuery, sendChatAction and setMyCommands with what they have of this.
type Sent struct {
	Method    string
	At        time.Time // by the server's clock
	Chat      int64
	MessageID int
	Text      string // text or caption, action, or query id
	ReplyTo   int
	Keys      [][]string
	File      string // name of what was uploaded
	Bytes     int    // its size
	Content   string // what is in it, of a document
	Scope     string // for whom a menu is
	Lang      string // and in which language; "": all that have none of their own
}

// New starts a server for one token, with its clock at an instant. It fails when this machine has
// no free port on 127.0.0.1.
func New(token string, at time.Time) (*Server, error) {
	s := &Server{token: token, now: at, changed: make(chan struct{}), next: 410000001,
		chats: map[int64]*chat{}, presses: map[string]time.Time{}, calls: map[string]int{},
		flying: map[int]int64{}, files: map[string]upload{},
		pushed: at, dice: rand.New(rand.NewPCG(1, 2)), addr: "127.0.0.1:0",
		allowed: []string{"message", "edited_message", "callback_query", "my_chat_member"}}
	return s, s.Up()
}

// URL is the server's address, the same for its whole life.
func (s *Server) URL() string { return "http://" + s.addr }

// Up makes the server reachable again after Down, at the address it had. It does nothing while the
// server is up, and fails when something else has taken the port meanwhile.
func (s *Server) Up() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.http != nil {
		return nil
	}
	l, err := net.Listen("tcp4", s.addr)
	if err != nil {
		return err
	}
	s.addr = l.Addr().String()
	h := &http.Server{Handler: s, ReadHeaderTimeout: time.Minute}
	s.http = h
	go func() { _ = h.Serve(l) }() // it ends by Down
	s.change()
	return nil
}

// Down cuts every connection and refuses new ones. What was taken stays taken, what waits waits.
func (s *Server) Down() {
	s.mu.Lock()
	h := s.http
	s.http = nil
	s.held = false
	s.change()
	s.mu.Unlock()
	if h != nil {
		_ = h.Close() // it only says that the listener was closed already
	}
}

// Close ends the server: every connection is cut, every waiting poll ends.
func (s *Server) Close() { s.Down() }

// Now is the server's clock.
func (s *Server) Now() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.now
}

// Set sets the server's clock, forward or back.
func (s *Server) Set(t time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = t
	s.change()
}

// Advance moves the server's clock.
func (s *Server) Advance(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = s.now.Add(d)
	s.change()
}

// change wakes whoever waits for a change. The lock is held.
func (s *Server) change() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// Until waits until ok says so, asking again after every change of the server. It fails when ctx
// ends first. ok may call the server's methods.
func (s *Server) Until(ctx context.Context, ok func() bool) error {
	for {
		s.mu.Lock()
		changed := s.changed
		s.mu.Unlock()
		if ok() {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return errors.Join(errors.New("fake: it did not happen"), ctx.Err())
		}
	}
}

// Sent is what was taken so far, in order.
func (s *Server) Sent() []Sent {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.sent)
}

// Calls counts the requests for a method, refused ones too.
func (s *Server) Calls(method string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.calls[method]
}

// Most is the largest number of requests, polls not counted, that were under way together.
func (s *Server) Most() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.most
}

// Flying are the chats of the requests, polls not counted, that are under way; 0 for one that is
// for no chat.
func (s *Server) Flying() []int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Collect(maps.Values(s.flying))
}

// Hold keeps every request but polls waiting, before anything of it is done, until Release.
func (s *Server) Hold() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.held = true
}

// Release lets the requests that Hold kept go on.
func (s *Server) Release() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.held = false
	s.change()
}

// object is text as JSON; what cannot be JSON is a mistake of the test.
func object(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return b
}
