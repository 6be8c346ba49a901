package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	tg "github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"lotbell/bot"
	"lotbell/state"
	"lotbell/state/journal"
)

// lanes is how many requests are under way at once. The last one is kept for alarms, so that
// answers to a line that has gone silent do not hold them up.
const lanes = 4

// maybe is why a row is given up that was sent without an answer.
const maybe = "no answer: it may have arrived"

// sender is the state of the sending loop. One goroutine owns it; a request runs in a goroutine
// of its own and comes back as a result.
type sender struct {
	*Link
	rows   []journal.Out // unsent, as read at readAt, less those that ended since
	readAt state.Instant
	stale  bool

	flying map[uint64]bool // rows under way
	skip   map[uint64]bool // rows under way, or ended without that being on disk yet
	busy   map[int64]bool  // chats with a request under way
	part   map[uint64]int  // parts of a long text already sent
	tried  map[uint64]bool // rows that failed since the start
	moved  map[int64]int64 // chats by their old number

	pace    *pacer
	holds   map[int64]hold // chats the far side wants left alone
	all     hold           // everything, while the far side is out of reach
	bad     *trouble
	results chan result
	unsaved []func() error // what the journal would not take yet
}

// result is a job that was tried.
type result struct {
	*job
	movedTo int64
	err     error
}

// Send sends what waits in the outbox until ctx ends, which is no error; requests under way are
// waited for, at most Options.Answer each, and noted.
//
// To one chat rows go in the order of their numbers; among chats the one goes first for which the
// most urgent row waits (lower Priority first). A row past its Expires is never sent. What the far
// side says is followed: retry_after keeps that chat waiting, 403 and a chat that does not exist
// end the row and put a Blocked message into the inbox, 400 ends it, a moved chat is followed at
// once and put into the inbox as Moved. While the far side is out of reach everything waits, 1 s
// doubling to 30 s. A request that went out whole and was not answered may have been carried out:
// a row of priority 1 or 2 is sent again, any other is given up.
//
// The outcome is on disk after the message is sent. A crash between the two sends it twice.
func (l *Link) Send(ctx context.Context) error {
	s := &sender{Link: l, stale: true, pace: newPacer(), bad: newTrouble(l.o.Alert),
		flying: map[uint64]bool{}, skip: map[uint64]bool{}, busy: map[int64]bool{},
		part: map[uint64]int{}, tried: map[uint64]bool{}, moved: map[int64]int64{},
		holds: map[int64]hold{}, results: make(chan result, lanes)}
	for {
		s.settle()
		pause := s.launch(ctx)
		if !s.rest(ctx, pause) {
			break
		}
	}
	for len(s.flying) > 0 {
		s.record(<-s.results)
	}
	s.settle()
	return nil
}

// launch starts what may go now and says how long until more may, 0 for no saying.
func (s *sender) launch(ctx context.Context) time.Duration {
	for len(s.flying) < lanes && ctx.Err() == nil {
		j, pause := s.pick()
		if j == nil {
			return pause
		}
		s.underWay.Add(1)
		s.flying[j.row.No], s.skip[j.row.No], s.busy[j.chat] = true, true, true
		go func() { s.results <- s.try(context.WithoutCancel(ctx), j) }()
	}
	return 0
}

// rest waits for a result, a new row, or the end of a pause. False ends the loop.
func (s *sender) rest(ctx context.Context, pause time.Duration) bool {
	soon := soonest(pause)
	if len(s.unsaved) > 0 {
		soon.see(nap)
	}
	var over chan struct{}
	if soon > 0 {
		waiting, stop := context.WithCancel(ctx)
		over = make(chan struct{})
		go func() {
			defer close(over)
			_ = s.o.Wait(waiting, time.Duration(soon)) // ends early only with the context
		}()
		defer func() { stop(); <-over }()
	}
	select {
	case r := <-s.results:
		s.record(r)
	case <-s.box.Queued():
		s.stale = true
	case <-over:
	case <-ctx.Done():
		return false
	}
	return true
}

// try sends one job. A chat that has moved is followed once.
func (s *sender) try(ctx context.Context, j *job) result {
	r := result{job: j, err: s.post(ctx, j.chat, j.m, j.texts, j.part)}
	var no *Refused
	if errors.As(r.err, &no) && no.MovedTo != 0 {
		r.movedTo = no.MovedTo
		r.err = s.post(ctx, no.MovedTo, j.m, j.texts, j.part)
	}
	return r
}

// post sends part i of a message: the first one as the reply, the last one with the keyboard.
func (l *Link) post(ctx context.Context, chat int64, m bot.Outgoing, texts []string, i int) error {
	p := &tg.SendMessageParams{ChatID: chat, Text: texts[i],
		LinkPreviewOptions: &models.LinkPreviewOptions{IsDisabled: tg.True()}}
	if press, ok := strings.CutPrefix(m.ReplyTo, pressed); ok && i == 0 {
		// It only ends the waiting sign on the button: too late a press is refused, and no harm.
		_, _ = l.api.AnswerCallbackQuery(ctx, &tg.AnswerCallbackQueryParams{CallbackQueryID: press})
	} else if id, err := strconv.ParseInt(m.ReplyTo, 10, 32); err == nil && id > 0 && i == 0 {
		p.ReplyParameters = &models.ReplyParameters{MessageID: int(id),
			AllowSendingWithoutReply: true}
	}
	if len(m.Keys) > 0 && i == len(texts)-1 {
		board := &models.ReplyKeyboardMarkup{ResizeKeyboard: true}
		for _, row := range m.Keys {
			var keys []models.KeyboardButton
			for _, text := range row {
				keys = append(keys, models.KeyboardButton{Text: text})
			}
			board.Keyboard = append(board.Keyboard, keys)
		}
		p.ReplyMarkup = board
	}
	_, err := l.api.SendMessage(ctx, p)
	var no *Refused
	var mute *silence
	if errors.As(err, &no) || errors.As(err, &mute) {
		return err
	}
	return nil // a yes; what the library cannot read of the message it describes is no matter
}

// record notes what became of a job.
func (s *sender) record(r result) {
	row, at := r.row.No, s.now()
	s.underWay.Add(-1)
	delete(s.flying, row)
	delete(s.busy, r.chat)
	if r.movedTo != 0 {
		s.follow(r.chat, r.movedTo, at)
	}
	var no *Refused
	var mute *silence
	switch {
	case errors.As(r.err, &no):
		s.refused(r, no, at)
	case errors.As(r.err, &mute):
		s.unanswered(r, mute, at)
	default:
		s.sent(r, at)
	}
}

// sent follows a yes: the next part of a long text, or the row's end.
func (s *sender) sent(r result, at state.Instant) {
	s.well(at)
	no := r.row.No
	if r.part+1 < len(r.texts) {
		s.part[no] = r.part + 1
		delete(s.skip, no)
		return
	}
	s.end(no, func() error { return s.box.Sent(no, at) })
}

// well ends the troubles that an answer disproves.
func (s *sender) well(at state.Instant) {
	s.bad.fails = 0
	s.bad.over("net", at, "telegram: messages are sent again")
	s.bad.over("token", at, "telegram: the token is taken again")
}

// refused follows a no.
func (s *sender) refused(r result, no *Refused, at state.Instant) {
	switch {
	case no.Code == 429:
		s.again(r, at, max(no.RetryAfter, time.Second))
	case no.Code == 401 || no.Code == 404:
		s.bad.say("token", at, "telegram: the token is not taken ("+no.Reason+
			"); nothing is sent. Next: put the one from BotFather into LOTBELL_TELEGRAM_TOKEN")
		s.all = hold{at, at.Add(backoff(patience * 2))}
		s.again(r, at, 0)
	case no.Code >= 500:
		s.away(no, at)
		s.again(r, at, 0)
	case no.Code == 403 || noChat(no.Reason):
		s.well(at)
		s.unreachable(r, no, at)
	default:
		s.well(at)
		s.bad.say("no:"+no.Reason, at, fmt.Sprintf(
			"telegram: row %d of the outbox was refused and is set aside: %s", r.row.No, no.Reason))
		s.giveUp(r.row, no.Reason)
	}
}

// noChat tells a 400 that is about the chat from one about the message (Client.cpp, check_chat
// and check_chat_access).
func noChat(reason string) bool {
	return strings.Contains(reason, "chat not found") || strings.Contains(reason, "user not found")
}

// unanswered follows a silence.
func (s *sender) unanswered(r result, mute *silence, at state.Instant) {
	s.away(mute, at)
	if mute.written && r.row.Priority > alarm {
		s.giveUp(r.row, maybe)
		return
	}
	s.again(r, at, 0)
}

// away lets everything wait a while, longer each time. Requests that were under way together
// count once.
func (s *sender) away(why error, at state.Instant) {
	if s.all.left(at) > 0 {
		return
	}
	s.bad.fails++
	s.all = hold{at, at.Add(backoff(s.bad.fails))}
	if s.bad.fails >= patience {
		s.bad.say("net", at, "telegram: messages cannot be sent ("+why.Error()+
			"); they wait in the outbox. Next: look at this machine's network")
	}
}

// again keeps a row for later, at the head of its chat.
func (s *sender) again(r result, at state.Instant, pause time.Duration) {
	if pause > 0 {
		s.holds[s.home(r.row.To)] = hold{at, at.Add(pause)}
	}
	no, until := r.row.No, at.Add(max(pause, s.all.left(at)))
	s.tried[no] = true
	delete(s.skip, no)
	s.save(func() error { return s.box.Retry(no, until) })
}

// unreachable ends a row whose chat takes no messages. The desk hears of it through the inbox,
// before the row is gone.
func (s *sender) unreachable(r result, no *Refused, at state.Instant) {
	chat, row := s.home(r.row.To), r.row
	s.o.Unreachable(address(chat).String())
	s.o.Dropped(row, "unreachable: "+no.Reason)
	note := noted{Chat: chat, Refuses: true, At: at}
	s.end(row.No, func() error {
		if err := s.note("refuses-"+strconv.FormatUint(row.No, 10), note); err != nil {
			return err
		}
		return s.box.Dead(row.No, "unreachable: "+no.Reason)
	})
}

// follow remembers that a chat has a new number and tells the desk.
func (s *sender) follow(from, to int64, at state.Instant) {
	for old, now := range s.moved {
		if now == from {
			s.moved[old] = to
		}
	}
	s.moved[from] = to
	id := fmt.Sprintf("moved-%d-%d", from, to)
	s.save(func() error { return s.note(id, noted{Chat: from, MovedTo: to, At: at}) })
}

// note puts an update of our own into the inbox, where [Decode] reads it.
func (s *sender) note(id string, n noted) error {
	raw, err := json.Marshal(struct {
		Lotbell noted `json:"lotbell"`
	}{n})
	if err != nil {
		return err
	}
	_, err = s.box.Receive([]journal.In{{Via: Via, ID: id, Raw: raw, Got: n.At}}, nil)
	return err
}

// giveUp ends a row that will not be sent.
func (s *sender) giveUp(row journal.Out, reason string) {
	s.o.Dropped(row, reason)
	s.end(row.No, func() error { return s.box.Dead(row.No, reason) })
}

// end notes the end of a row. Until that is on disk the row is not looked at again.
func (s *sender) end(no uint64, write func() error) {
	s.skip[no] = true
	s.save(func() error {
		if err := write(); err != nil {
			return err
		}
		delete(s.skip, no)
		for i, r := range s.rows {
			if r.No == no {
				s.rows = append(s.rows[:i:i], s.rows[i+1:]...)
				break
			}
		}
		return nil
	})
}

// save writes to the journal, after what it would not take before.
func (s *sender) save(write func() error) {
	s.unsaved = append(s.unsaved, write)
	s.settle()
}

// settle writes what is not on disk yet, in order, until the journal will not take it.
func (s *sender) settle() {
	for len(s.unsaved) > 0 {
		if err := s.unsaved[0](); err != nil {
			s.bad.say("save", s.now(), "telegram: the journal cannot be written ("+
				s.wire.hush(err.Error())+"); after a restart some messages would be sent twice. "+
				"Next: make room on the disk")
			return
		}
		s.unsaved = s.unsaved[1:]
	}
	s.bad.over("save", s.now(), "telegram: the journal can be written again")
}
