// Package telegram carries messages between Lotbell and the Telegram Bot API. It decides nothing:
// what comes in goes as it came into the journal's inbox, what waits in the journal's outbox goes
// out.
//
// Read [Link] first, then [Link.Receive] (own loop over getUpdates: an update is on disk before
// its offset is used), [Decode] (one stored update as a [bot.Message]), [Link.Send] (the outbox)
// and pace.go (who goes next). wire.go is the only place where a request is made. The library
// go-telegram/bot serves for its models and its sending calls; its own loop is not used, because
// it confirms updates that nobody has stored yet.
//
// What is known of the far side is read from the Bot API manual (core.telegram.org/bots/api) and
// from the open server's source (github.com/tdlib/telegram-bot-api, Client.cpp, of May 2026);
// nothing was tried against the real service. Package fake, beside this one, is a server that
// follows the same rules and serves the tests.
//
// The package reads no clock: Options hands in the time and a way to wait. It writes no log; what
// an operator must know goes to Options.Alert. The token is in no error and no alert.
package telegram

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	tg "github.com/go-telegram/bot"

	"lotbell/bot"
	"lotbell/state"
	"lotbell/state/journal"
)

// Via is the transport's name in addresses and in the journal's rows.
const Via = "telegram"

// Home is the address of the real service, used when Options.URL is empty.
const Home = "https://api.telegram.org"

// Box is the part of the journal that a transport needs: the inbox with its cursors, and the
// outbox. [journal.DB] is one; the tests have a second, whose disk can be full.
type Box interface {
	Receive(rows []journal.In, cursors map[string]string) (fresh int, err error)
	Cursor(name string) (string, error)
	Outbox(via string, limit int) ([]journal.Out, error)
	Sent(no uint64, at state.Instant) error
	Retry(no uint64, notBefore state.Instant) error
	Dead(no uint64, reason string) error
	Queued() <-chan struct{}
}

// Second is the kind of trouble when somebody else takes the bot's messages away.
const Second = "second"

// Options says where the far side is and whom to tell. Token, Now and Wait are needed, the rest
// may be zero. The functions are called from the loops and must not block.
type Options struct {
	Token string // "123456:letters", as BotFather gave it
	URL   string // "": Home; http:// only for this machine's loopback
	Now   func() time.Time
	Wait  func(ctx context.Context, d time.Duration) error // ends early with ctx

	Answer time.Duration // how long an answer may take; 0: 30 s; a long poll gets 50 s more

	// Asks begins each request; what it returns takes the far side's own time, when that answers.
	Asks func() (answer func(at time.Time))
	// Alert tells the operator about trouble, once until it is over, and that it is over; then kind
	// is "". Of the kinds [Second] is one that chat can tell of.
	Alert func(kind, text string)
	// Unreachable names an address ("telegram:4711") that refuses messages. The same is put into
	// the inbox, where the desk finds it as a Blocked message even after a crash.
	Unreachable func(address string)
	// Dropped is called for a row that is given up, with the reason the outbox keeps.
	Dropped func(row journal.Out, reason string)
	// Missed says that messages sent between the two instants are gone from the far side. After a
	// crash, or while the journal cannot be written, it may be said again.
	Missed func(from, to state.Instant)
	// Cries says whether words cry for help; nil: none does. A file under such words is not waited
	// for.
	Cries func(words string) bool
	// Unkept is called once for each message that could not be stored: nothing of it is confirmed
	// and it comes again, but its sender may be told with [Link.Say], and a cry for help be heard.
	Unkept func(m bot.Message)
}

// Link is one connection to the Bot API, for one token and one journal. Make it with [New]. Run
// [Link.Receive] and [Link.Send] in a goroutine each; both end with their context.
type Link struct {
	o    Options
	box  Box
	wire *wire // for short calls
	poll *wire // for getUpdates
	api  *tg.Bot

	underWay atomic.Int32
}

// New makes a link. It makes no request: [Link.Name] is the first one to try. It fails with a
// [TokenError], or on an address that would send the token unprotected over a network.
func New(o Options, box Box) (*Link, error) {
	o.Token = strings.TrimSpace(o.Token)
	if err := checkToken(o.Token); err != nil {
		return nil, err
	}
	if o.Now == nil || o.Wait == nil || box == nil {
		return nil, errors.New("telegram: Now, Wait and a journal are needed")
	}
	if o.URL == "" {
		o.URL = Home
	}
	if err := checkURL(o.URL); err != nil {
		return nil, err
	}
	o.URL = strings.TrimSuffix(o.URL, "/")
	if o.Answer <= 0 {
		o.Answer = 30 * time.Second
	}
	o.fill()
	l := &Link{o: o, box: box}
	road := transport()
	l.wire = newWire(road, o, o.Answer)
	l.poll = newWire(road, o, o.Answer+pollSeconds*time.Second)
	api, err := tg.New(o.Token, tg.WithSkipGetMe(), tg.WithServerURL(o.URL),
		tg.WithHTTPClient(o.Answer, l.wire),
		tg.WithErrorsHandler(func(error) {})) // it would log; every error also comes back
	if err != nil {
		return nil, fmt.Errorf("telegram: %s", l.wire.hush(err.Error()))
	}
	l.api = api
	return l, nil
}

// fill gives every report that nobody wants an empty function.
func (o *Options) fill() {
	if o.Asks == nil {
		o.Asks = func() func(time.Time) { return func(time.Time) {} }
	}
	if o.Alert == nil {
		o.Alert = func(string, string) {}
	}
	if o.Unreachable == nil {
		o.Unreachable = func(string) {}
	}
	if o.Dropped == nil {
		o.Dropped = func(journal.Out, string) {}
	}
	if o.Missed == nil {
		o.Missed = func(state.Instant, state.Instant) {}
	}
	if o.Cries == nil {
		o.Cries = func(string) bool { return false }
	}
	if o.Unkept == nil {
		o.Unkept = func(bot.Message) {}
	}
}

// Name asks the far side for the bot's own name, without the @. A [Refused] with code 401 or 404
// means that the token is not taken.
func (l *Link) Name(ctx context.Context) (string, error) {
	me, err := l.api.GetMe(ctx)
	if err != nil {
		return "", l.clean(err)
	}
	return me.Username, nil
}

// Say sends at once, past outbox and pacing: the emergency line when the journal cannot be
// written. id is the chat's, as in [bot.Address]. What it sends is nowhere recorded.
func (l *Link) Say(ctx context.Context, id string, m bot.Outgoing) error {
	chat, err := strconv.ParseInt(id, 10, 64)
	if err != nil {
		return fmt.Errorf("telegram: %q is no chat: a chat is a whole number, such as 4711", id)
	}
	texts := parts(m)
	for i := range texts {
		if err := l.post(ctx, chat, m, texts, i); err != nil {
			return l.clean(err)
		}
	}
	return nil
}

// UnderWay is the number of sendings whose outcome is not noted yet, at most a few.
func (l *Link) UnderWay() int { return int(l.underWay.Load()) }

// now is the instant, as the journal counts it.
func (l *Link) now() state.Instant { return state.At(l.o.Now()) }
