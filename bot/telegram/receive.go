package telegram

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// Why nothing is lost, and nothing is taken twice. The far side keeps an update until a poll comes
// with a higher offset. So the program may die
//
//   - before the batch is stored: the cursor stands where it was, and the same batch comes again;
//   - after it is stored: the cursor went to disk with the batch, the next poll confirms it;
//   - and the far side may lose a confirmation: the batch comes again, and the journal skips every
//     update whose id it knows.
//
// A webhook could feed the same inbox later: it would store the update and then answer 200.

// The figures of a poll. The server takes 1 to 100 updates and a wait of at most 50 s
// (Bot API manual, getUpdates; Client.h, LONG_POLL_MAX_TIMEOUT).
const (
	pollSeconds = 50
	pollBatch   = 100
)

// kept is how long the server keeps a message that nobody fetches (Client.cpp,
// add_message_update: 86400 s from its date).
const kept = 24 * time.Hour

// The cursors: the offset of the next poll, and when a poll was last answered, in ms since 1970.
const (
	offsetCursor = "telegram.offset"
	askedCursor  = "telegram.asked"
)

// ask is the request of a poll.
type ask struct {
	Offset  int64    `json:"offset,omitempty"`
	Limit   int      `json:"limit"`
	Timeout int      `json:"timeout"`
	Allowed []string `json:"allowed_updates"`
}

// receiver is the state of the loop, owned by one goroutine. next is the offset of the next poll, 0
// for the oldest that waits; unkept are the updates that Options.Unkept was called for.
type receiver struct {
	*Link
	next   int64
	asked  state.Instant
	bad    *trouble
	unkept map[string]bool
}

// Receive fetches updates into the inbox until ctx ends, which is no error. A batch is stored, in
// one transaction with its offset, before the offset is used: what was not stored comes again,
// and what comes again is told apart by its exact update id, never by its size, because ids start
// anew at random after a week of silence. A batch that has arrived when ctx ends is still stored.
//
// Failures are waited out, 1 s doubling to 30 s or what the server's retry_after says, and told to
// Options.Alert. Receive itself fails only when the cursors cannot be read.
func (l *Link) Receive(ctx context.Context) error {
	r := &receiver{Link: l, bad: newTrouble(l.o.Alert), unkept: map[string]bool{}}
	if err := r.resume(); err != nil {
		return fmt.Errorf("telegram: reading where the last poll ended: %w", err)
	}
	for ctx.Err() == nil {
		pause := r.turn(ctx)
		if pause > 0 && l.o.Wait(ctx, pause) != nil {
			break
		}
	}
	return nil
}

// resume reads the cursors. One that is no number counts as none: then the server begins with the
// oldest update it has, and repeats are skipped.
func (r *receiver) resume() error {
	next, err := r.box.Cursor(offsetCursor)
	if err != nil {
		return err
	}
	asked, err := r.box.Cursor(askedCursor)
	if err != nil {
		return err
	}
	r.next, _ = strconv.ParseInt(next, 10, 64)
	at, _ := strconv.ParseInt(asked, 10, 64)
	r.asked = state.Instant(at)
	return nil
}

// turn is one poll and what follows from it. It returns how long to wait before the next: a server
// that does not hold the poll open is not asked more than once a second.
func (r *receiver) turn(ctx context.Context) time.Duration {
	began := r.now()
	batch, err := r.fetch(ctx)
	if err != nil {
		if ctx.Err() != nil {
			return 0
		}
		return r.failed(err)
	}
	rows, next := r.rows(batch)
	if len(batch) > 0 && len(rows) == 0 {
		return r.failed(&silence{written: true, why: "updates without update_id"})
	}
	err = r.attach(ctx, rows)
	if err == nil {
		err = r.keep(rows, next)
	} else if ctx.Err() != nil {
		return 0 // with files not yet here: it comes again
	}
	if err != nil {
		return r.full(rows, err)
	}
	r.next = next
	r.well()
	if len(batch) == 0 && r.now().Sub(began) < time.Second {
		return time.Second
	}
	return 0
}

// fetch is one poll.
func (r *receiver) fetch(ctx context.Context) ([]json.RawMessage, error) {
	result, err := r.poll.call(ctx, "getUpdates", ask{r.next, pollBatch, pollSeconds,
		[]string{"message", "edited_message", "callback_query", "my_chat_member"}})
	if err != nil {
		return nil, err
	}
	var batch []json.RawMessage
	if json.Unmarshal(result, &batch) != nil {
		return nil, &silence{written: true, why: "the result is no list"}
	}
	return batch, nil
}

// well ends the troubles that a stored batch disproves.
func (r *receiver) well() {
	at := r.now()
	r.bad.fails = 0
	r.bad.over("net", at, "telegram: messages are fetched again")
	r.bad.over(Second, at, "telegram: nobody else fetches this bot's messages any more")
	r.bad.over("token", at, "telegram: the token is taken again")
	r.bad.over("full", at, "telegram: the journal can be written again; what waited is stored")
}

// rows turns a batch into inbox rows, as they came and in their order, and gives the offset that
// would confirm it. Nothing but the id is read here: what the rest means is for the desk to find
// out, after it is safe. An element without an id can neither be told from its repeat nor be
// confirmed by itself; it is left out and goes when a later one is confirmed.
func (r *receiver) rows(batch []json.RawMessage) ([]journal.In, int64) {
	rows, next, now := make([]journal.In, 0, len(batch)), r.next, r.now()
	for _, raw := range batch {
		var u struct {
			ID *int64 `json:"update_id"`
		}
		if err := json.Unmarshal(raw, &u); err != nil || u.ID == nil {
			r.bad.say("no-id", now, "telegram: an update without an id was left out")
			continue
		}
		next = *u.ID + 1
		rows = append(rows, journal.In{Via: Via, ID: strconv.FormatInt(*u.ID, 10), Raw: raw,
			Got: now})
	}
	return rows, next
}

// keep stores a batch. What was missed since the last answered poll is told first, so that a crash
// in between tells it again instead of never. Empty polls in quick succession are not noted one by
// one.
func (r *receiver) keep(rows []journal.In, next int64) error {
	now := r.now()
	since := now.Sub(r.asked)
	if len(rows) == 0 && since >= 0 && since < 30*time.Second {
		return nil
	}
	if r.asked != 0 && since > kept {
		r.o.Missed(r.asked, now.Add(-kept))
	}
	_, err := r.box.Receive(rows, map[string]string{
		offsetCursor: strconv.FormatInt(next, 10),
		askedCursor:  strconv.FormatInt(int64(now), 10),
	})
	if err != nil {
		return err
	}
	clear(r.unkept)
	r.asked = now
	return nil
}

// full is a batch that could not be stored: nothing is confirmed, the operator is told once, and
// each message is shown once to Options.Unkept.
func (r *receiver) full(rows []journal.In, err error) time.Duration {
	r.bad.fails++
	r.bad.say("full", r.now(), "telegram: the journal cannot be written ("+r.wire.hush(err.Error())+
		"); nothing is confirmed and messages wait at the server for 24 hours. "+
		"Next: make room on the disk, then `lotbell verify`")
	for _, row := range rows {
		if r.unkept[row.ID] {
			continue
		}
		r.unkept[row.ID] = true
		if m, err := Decode(row.Raw); err == nil {
			r.o.Unkept(m)
		}
	}
	return backoff(r.bad.fails)
}

// failed is a poll without a result: it tells the operator what must be told, and how long to
// wait.
func (r *receiver) failed(err error) time.Duration {
	r.bad.fails++
	pause, at := backoff(r.bad.fails), r.now()
	var no *Refused
	if !errors.As(err, &no) {
		if r.bad.fails >= patience {
			r.bad.say("net", at, "telegram: messages cannot be fetched ("+err.Error()+
				"); they wait at the server for 24 hours. Next: look at this machine's network")
		}
		return pause
	}
	switch {
	case no.Code == 409 && strings.Contains(no.Reason, "ebhook"):
		r.bad.say(Second, at, "telegram: the bot's messages go to a webhook ("+no.Reason+
			"). Next: delete it with deleteWebhook, or give Lotbell a token of its own")
	case no.Code == 409:
		r.bad.say(Second, at, "telegram: a second program fetches this bot's messages ("+
			no.Reason+"). Next: stop it, or give Lotbell a token of its own")
	case no.Code == 401 || no.Code == 404:
		r.bad.say("token", at, "telegram: the token is not taken ("+no.Reason+
			"). Next: put the one from BotFather into LOTBELL_TELEGRAM_TOKEN and start again")
	case no.Code == 429:
		return max(no.RetryAfter, time.Second)
	case r.bad.fails >= patience:
		r.bad.say("net", at, "telegram: messages cannot be fetched ("+no.Error()+
			"); they wait at the server for 24 hours")
	}
	return pause
}
