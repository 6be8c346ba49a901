package telegram

import (
	"bytes"
	"context"
	"errors"
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

// The loop. It picks a job (queue.go), starts it in a goroutine, and goes on picking until the
// lanes are taken or nothing may go now. Then it rests until a job comes back, a row is put into
// the outbox, or the time has come for one that waits. What a job brought back is made an outcome
// of (outcome.go) before anything else is picked, so that a chat that was told to wait waits.

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
	plain  map[uint64]bool // rows that go without their picture
	moved  map[int64]int64 // chats by their old number

	pace    *pacer
	holds   map[int64]hold // chats the far side wants left alone
	all     hold           // everything, while the far side is out of reach
	bad     *trouble
	results chan result
	flight  context.Context // of requests: it outlives the loop's by grace
	unsaved []func() error  // what the journal would not take yet
}

// result is a job that was tried.
type result struct {
	*job
	movedTo int64
	ugly    string // why the picture was refused, when the words went alone
	err     error
}

// grace is how long requests under way may take after the loop was told to stop. Who stops a
// program waits some seconds before it is killed.
const grace = 2 * time.Second

// Send sends what waits in the outbox until ctx ends, which is no error; requests under way are
// waited for, at most 2 s, and noted.
//
// To one chat rows go in the order of their numbers; among chats the one goes first for which the
// most urgent row waits (lower Priority first). A row past its Expires is never sent. What the far
// side says is followed: retry_after keeps that chat waiting, 403 and a chat that does not exist
// end the row and put a Blocked message into the inbox, 400 ends it, a moved chat is followed at
// once and put into the inbox as Moved. While the far side is out of reach everything waits, 1 s
// doubling to 30 s. A request that went out whole and was not answered may have been carried out:
// a row of priority 1 or 2 is sent again, any other is given up. A picture that is refused or not
// answered is left out, and its words are sent alone.
//
// The outcome is on disk after the message is sent. A crash between the two sends it twice.
func (l *Link) Send(ctx context.Context) error {
	s := &sender{Link: l, stale: true, pace: newPacer(), bad: newTrouble(l.o.Alert),
		flying: map[uint64]bool{}, skip: map[uint64]bool{}, busy: map[int64]bool{},
		part: map[uint64]int{}, tried: map[uint64]bool{}, plain: map[uint64]bool{},
		moved: map[int64]int64{},
		holds: map[int64]hold{}, results: make(chan result, lanes)}
	flight, land := context.WithCancel(context.WithoutCancel(ctx))
	defer land()
	s.flight = flight
	for {
		s.settle()
		pause := s.launch(ctx)
		if !s.rest(ctx, pause) {
			break
		}
	}
	s.land(land)
	s.settle()
	return nil
}

// land waits for the requests under way, and ends those that take longer than the grace: what is
// not answered then is as one that the line swallowed.
func (s *sender) land(end func()) {
	if len(s.flying) == 0 {
		return
	}
	waiting, stop := context.WithCancel(s.flight)
	over := make(chan struct{})
	go func() {
		defer close(over)
		if s.o.Wait(waiting, grace) == nil {
			end()
		}
	}()
	for len(s.flying) > 0 {
		s.record(<-s.results)
	}
	stop()
	<-over
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
		go func() { s.results <- s.try(s.flight, j) }()
	}
	return 0
}

// rest waits for a result, a new row, or the end of a pause. False ends the loop. The pause runs
// in a goroutine of its own, which has ended when rest returns.
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

// try sends one job. A chat that has moved is followed once; the loop learns of it by the result. A
// picture that is refused leaves its words, which go alone.
func (s *sender) try(ctx context.Context, j *job) result {
	r := result{job: j, err: s.post(ctx, j.chat, j.m, j.texts, j.part)}
	chat := j.chat
	var no *Refused
	if errors.As(r.err, &no) && no.MovedTo != 0 {
		r.movedTo, chat = no.MovedTo, no.MovedTo
		r.err = s.post(ctx, chat, j.m, j.texts, j.part)
	}
	if j.pictured() && errors.As(r.err, &no) && badPicture(no) {
		r.ugly, j.m.Picture = no.Reason, nil
		r.err = s.post(ctx, chat, j.m, j.texts, j.part)
	}
	return r
}

// pictured says whether the part of a job that is to be sent has a picture.
func (j *job) pictured() bool { return j.part == 0 && hasPicture(j.m) }

// badPicture tells a no that may be about the picture from one about the chat or the far side.
func badPicture(no *Refused) bool {
	return no.Code >= 400 && no.Code < 500 && no.MovedTo == 0 && !noChat(no.Reason) &&
		no.Code != 401 && no.Code != 403 && no.Code != 404 && no.Code != 429
}

// post sends part i of a message: the first one as the reply and with the picture, the last one
// with the keyboard and the file. Links are sent without a preview, which costs a cheap phone data.
// It fails with [Refused] or silence.
func (l *Link) post(ctx context.Context, chat int64, m bot.Outgoing, texts []string, i int) error {
	var reply *models.ReplyParameters
	if i == 0 {
		reply = l.replyTo(ctx, m.ReplyTo)
	}
	var keys models.ReplyMarkup
	last := i == len(texts)-1
	if len(m.Keys) > 0 && last {
		keys = keyboard(m.Keys)
	}
	var err error
	if hasPicture(m) && i == 0 {
		_, err = l.api.SendPhoto(ctx, &tg.SendPhotoParams{ChatID: chat, Caption: texts[i],
			Photo: &models.InputFileUpload{Filename: fileName(m.Picture.Name),
				Data: bytes.NewReader(m.Picture.Body)},
			ReplyParameters: reply, ReplyMarkup: keys})
	} else if hasFile(m) && last {
		_, err = l.api.SendDocument(ctx, &tg.SendDocumentParams{ChatID: chat, Caption: texts[i],
			Document: &models.InputFileUpload{Filename: m.File.Name,
				Data: strings.NewReader(m.File.Body)},
			ReplyParameters: reply, ReplyMarkup: keys})
	} else {
		_, err = l.api.SendMessage(ctx, &tg.SendMessageParams{ChatID: chat, Text: texts[i],
			LinkPreviewOptions: &models.LinkPreviewOptions{IsDisabled: tg.True()},
			ReplyParameters:    reply, ReplyMarkup: keys})
	}
	var no *Refused
	var mute *silence
	if errors.As(err, &no) || errors.As(err, &mute) {
		return err
	}
	return nil // a yes; what the library cannot read of the message it describes is no matter
}

// fileName is the name under which a picture travels, "curve-d1.png".
func fileName(name string) string { return strings.ReplaceAll(name, " ", "-") + ".png" }

// replyTo is the mark that a message answers another, nil for none. A reply to a message that was
// deleted meanwhile still goes out, only not as a reply. A press has no message to answer: its
// waiting sign is ended instead.
func (l *Link) replyTo(ctx context.Context, id string) *models.ReplyParameters {
	if press, ok := strings.CutPrefix(id, pressed); ok {
		// Too late a press is refused, and no harm.
		_, _ = l.api.AnswerCallbackQuery(ctx, &tg.AnswerCallbackQueryParams{CallbackQueryID: press})
		return nil
	}
	n, err := strconv.ParseInt(id, 10, 32)
	if err != nil || n <= 0 {
		return nil
	}
	return &models.ReplyParameters{MessageID: int(n), AllowSendingWithoutReply: true}
}

// keyboard is a reply keyboard. It is of plain texts, so a press on it is a message like any other
// and keeps for a day.
func keyboard(rows [][]string) *models.ReplyKeyboardMarkup {
	board := &models.ReplyKeyboardMarkup{ResizeKeyboard: true}
	for _, row := range rows {
		var keys []models.KeyboardButton
		for _, text := range row {
			keys = append(keys, models.KeyboardButton{Text: text})
		}
		board.Keyboard = append(board.Keyboard, keys)
	}
	return board
}
