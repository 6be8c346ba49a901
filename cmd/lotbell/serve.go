package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram"
	"lotbell/state"
	"lotbell/state/journal"
)

// The variables that hold the token, or name the file that does. It is never a flag, which other
// users could see.
const (
	tokenName = "LOTBELL_TELEGRAM_TOKEN"
	tokenFile = tokenName + "_FILE"
)

// token is the token without the line's end.
func (e env) token() (string, error) {
	token, file := e.getenv(tokenName), e.getenv(tokenFile)
	if token == "" && file != "" {
		text, err := optionalFile(file)
		if err != nil {
			return "", fmt.Errorf("read the token: %w", err)
		}
		token = text
	}
	if token = strings.TrimSpace(token); token == "" {
		return "", fmt.Errorf("no token: %s is empty", tokenName)
	}
	return token, nil
}

// serveCommand runs the real thing until it is told to stop.
func serveCommand(e env, args []string) int {
	flags := newFlags(e, "serve", "[-db FILE] [-book FILE] [-health 127.0.0.1:8077]   (the token in "+
		tokenName+")")
	file := flags.String("db", "lotbell.db", "the mill's journal")
	book := flags.String("book", "", "the rule book for an empty journal")
	api := flags.String("api", "", "another address of the Bot API, for trials on this machine")
	port := flags.String("health", "", "a loopback address that tells whether all is well, in "+
		"numbers only; off when empty")
	if rest, ok := parse(flags, args); !ok || len(rest) > 0 {
		flags.Usage()
		return exitUsage
	}
	text, err := optionalFile(*book)
	if err != nil {
		return e.fail(err, "lotbell check -default > book.toml")
	}
	began := e.now()
	s := &server{env: e, file: *file, wait: wait, first: firstCode{onTerminal: terminal(e.out)},
		passed: func() time.Duration { return e.now().Sub(began) },
		log:    slog.New(slog.NewJSONHandler(e.err, nil))}
	if *port != "" {
		if s.port, err = listenHere(*port); err != nil {
			return e.fail(err, "lotbell serve -health 127.0.0.1:8077")
		}
		defer s.port.Close()
		s.log.Info("health is told here", "address", s.port.Addr().String())
	}
	if err := s.open(text, *api); err != nil {
		try := "export " + tokenName + "=…, then lotbell serve -db " + *file
		if held(err) {
			try = "stop the other one first, or use the copy beside it: " + *file + ".backup"
		}
		return e.fail(err, try)
	}
	defer s.db.Close()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := s.run(ctx); err != nil {
		return e.fail(err, "lotbell verify "+*file)
	}
	return exitDone
}

// server wires a desk to a link. It decides nothing.
type server struct {
	env
	file string
	wait func(ctx context.Context, d time.Duration) error // ends early with ctx
	log  *slog.Logger

	passed func() time.Duration // time that passes whatever the clock is set to
	clock  *clock
	db     *journal.DB
	desk   *bot.Desk
	link   *telegram.Link
	help   atomic.Pointer[[]string] // who hears a cry for help when nothing can be stored

	name    atomic.Pointer[string] // the bot's own name, once it is known
	first   firstCode
	port    net.Listener        // of -health; nil: off
	asks    chan chan<- counted // questions from that port; nil: none
	failing bool                // the last step could not be finished
	menus   menus
}

func (s *server) at() state.Instant { return state.At(s.clock.now()) }

// open opens the journal, the desk and the link, and starts the desk.
func (s *server) open(book, api string) (err error) {
	token, err := s.token()
	if err != nil {
		return err
	}
	s.clock = &clock{machine: s.now, passed: s.passed, wrong: s.clockWrong, again: s.clockAgain}
	if s.db, err = journal.Open(s.file, journal.Options{Program: version}); err != nil {
		return err
	}
	s.desk, err = bot.Open(s.db, bot.Options{Program: version, Book: book, Code: newCode,
		Link:       s.deepLink,
		Report:     func(line string) { s.log.Info(line) },
		Decode:     map[string]bot.Decode{telegram.Via: telegram.Decode},
		Background: s.background})
	if err == nil {
		s.link, err = telegram.New(telegram.Options{Token: token, URL: api, Now: s.clock.now,
			Asks: s.clock.asks, Wait: s.wait, Alert: s.alert,
			Missed: s.missed, Unkept: s.unkept, Cries: s.desk.Cries,
			Dropped: func(row journal.Out, reason string) {
				s.log.Warn("message given up", "row", row.No, "priority", row.Priority, "why", reason)
			}}, s.db)
	}
	if err == nil {
		s.learnTime()
		err = errors.Join(s.putRight(), s.desk.Start(s.at()))
	}
	if err != nil {
		s.db.Close()
		return err
	}
	_, inForce := s.desk.Book()
	s.log.Info("started", "program", version, "journal", s.file, "events", uint64(s.db.Next()-1),
		"book", inForce)
	if book != "" && inForce > 1 {
		s.log.Info("the file given with -book counts for an empty journal only; " +
			"send changes by chat")
	}
	s.help.Store(&[]string{})
	return s.showCode()
}

// run receives, sends and lets the desk work until ctx ends; then it finishes what is in hand.
func (s *server) run(ctx context.Context) error {
	var all sync.WaitGroup
	for name, loop := range map[string]func(context.Context) error{
		"receive": s.link.Receive, "send": s.link.Send} {
		all.Go(func() {
			if err := loop(ctx); err != nil && !errors.Is(err, context.Canceled) {
				s.log.Error(name+" ended", "why", err.Error())
			}
		})
	}
	all.Go(func() { s.learnName(ctx) })
	s.menus.want = make(chan []bot.Chat, 1)
	all.Go(func() { s.setMenus(ctx) })
	if s.port != nil {
		s.asks = make(chan chan<- counted)
		all.Go(func() {
			if err := (&health{s.asks, deskWait}).serve(ctx, s.port); err != nil {
				s.log.Error("health ended", "why", err.Error())
			}
		})
	}
	backup := s.at().Add(backupEvery)
	for ctx.Err() == nil {
		pause := s.work()
		if s.at() >= backup {
			s.expire()
			s.backup()
			backup = s.at().Add(backupEvery)
		}
		over, stop := s.after(ctx, pause)
		select {
		case <-ctx.Done():
		case <-s.db.Arrived():
		case answer := <-s.asks:
			s.count(answer)
		case <-over:
		}
		stop()
	}
	all.Wait()
	s.work()
	s.backup()
	s.log.Info("stopped")
	return nil
}

// after closes a channel when a pause is over; stop ends the pause early.
func (s *server) after(ctx context.Context, d time.Duration) (over <-chan struct{}, stop func()) {
	waiting, stop := context.WithCancel(ctx)
	end := make(chan struct{})
	go func() {
		defer close(end)
		_ = s.wait(waiting, d) // ends early only with the context
	}()
	return end, stop
}

// How long work must take before whoever waits for it sees that it is under way, and how often the
// sign is given anew: it goes by itself after 5 s (Bot API manual, sendChatAction).
const (
	typingAfter = time.Second
	typingEvery = 4 * time.Second
)

// background runs slow work beside the desk and shows whoever waits for it that it is under way.
func (s *server) background(waits bot.Address, work func()) {
	ctx, done := context.WithCancel(context.Background())
	go func() {
		defer done()
		work()
	}()
	go func() {
		for pause := typingAfter; s.wait(ctx, pause) == nil; pause = typingEvery {
			_ = s.link.Typing(ctx, waits.ID) // a sign that does not arrive is no matter
		}
	}()
}

// How often the wall clock is looked at, how long after a failure, and how often a copy is made.
const (
	lookEvery   = 30 * time.Second
	afterFault  = 2 * time.Second
	backupEvery = 6 * time.Hour
)

// work lets the desk do what is due and says how long it may then rest.
func (s *server) work() time.Duration {
	err := s.putRight()
	if err == nil {
		err = s.desk.Run(s.at())
	}
	if err == nil && s.first.shown != "" {
		err = s.showCode()
	}
	if s.failing = err != nil; s.failing {
		s.log.Error("the desk could not finish; it will try again", "why", err.Error())
		return afterFault
	}
	help := s.desk.HelpAddresses(telegram.Via)
	s.help.Store(&help)
	s.menus.due(s.desk, s.at())
	if next := s.desk.Next(); next != 0 {
		return max(0, min(lookEvery, next.Sub(s.at())))
	}
	return lookEvery
}

// backup writes the copy that other commands may read while this program holds the journal.
func (s *server) backup() {
	if err := s.db.Backup(s.file + ".backup"); err != nil {
		s.log.Error("no copy was written", "why", err.Error())
		s.trouble(bot.NoCopy)
	}
}

// alert tells the operator of trouble with the far side. The keepers hear of what chat can tell.
func (s *server) alert(kind, text string) {
	s.log.Warn(text)
	if kind == telegram.Second {
		s.trouble(bot.TakenAway)
	}
}

// trouble lets the desk tell the keepers of something that the operator must mend, once a day.
func (s *server) trouble(what string) {
	at := s.at()
	s.tell(bot.Message{Kind: bot.Trouble, Text: what, At: at, Until: at},
		fmt.Sprint(what, "-", at.Time().Format(time.DateOnly)))
}

// keptFor is how long rows that were sent, once-keys and messages set aside are kept. They hold
// chat numbers; a transport repeats a message for a day at most.
const keptFor = 7 * 24 * time.Hour

// expire forgets what is older.
func (s *server) expire() {
	for n, err := 1, error(nil); n > 0; {
		if n, err = s.db.Expire(s.at().Add(-keptFor)); err != nil {
			s.log.Error("old rows could not be forgotten", "why", err.Error())
			return
		}
	}
}

// missed lets the desk tell everyone to send again what the far side no longer has.
func (s *server) missed(from, to state.Instant) {
	s.log.Warn("messages are gone from the far side", "from", from.Time(), "to", to.Time())
	s.tell(bot.Message{Kind: bot.Missed, At: from, Until: to}, fmt.Sprint("missed-", from))
}

// tell puts a message of the program's own into the inbox, once for an id.
func (s *server) tell(m bot.Message, id string) {
	raw, err := json.Marshal(m)
	if err == nil {
		_, err = s.db.Receive([]journal.In{{Via: bot.OwnVia, ID: id, Raw: raw, Got: m.Until}}, nil)
	}
	if err != nil {
		s.log.Error("nobody was told of it", "why", err.Error())
	}
}

// unkept answers a message that could not be stored, unsaved: keep it on paper; a cry for help is
// passed on all the same.
func (s *server) unkept(m bot.Message) {
	ctx, cancel := context.WithTimeout(context.Background(), lookEvery)
	defer cancel()
	text := s.desk.CannotWrite(m.Lang)
	if err := s.link.Say(ctx, m.From.ID, bot.Outgoing{Text: text}); err != nil {
		s.log.Error("the emergency line did not go out", "why", err.Error())
	}
	if !s.desk.Cries(m.Text) {
		return
	}
	for _, a := range *s.help.Load() {
		if err := s.link.Say(ctx, a, bot.Outgoing{Text: "HELP / AYUDA: " + m.Text}); err != nil {
			s.log.Error("a cry for help did not go out", "why", err.Error())
		}
	}
}

// wait waits for a time or for the end of ctx.
func wait(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
