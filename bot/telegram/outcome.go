package telegram

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// maybe is why a row is given up that was sent without an answer.
const maybe = "no answer: it may have arrived"

// What the sending loop makes of an answer:
//
//	yes                  sent; of a long text the next part
//	429                  later; this chat waits as long as retry_after says
//	401, 404             later; all wait 30 s, the operator is told: the token is not taken
//	403, no such chat    given up; the desk finds a Blocked message in the inbox
//	400 and the like     given up with its reason; the operator is told
//	500 and above        later; all wait 1 s doubling to 30 s
//	none, not sent whole later; all wait likewise
//	none, sent whole     an alarm later, all wait likewise; anything else given up
//	400, of a picture    its words at once, alone; the operator is told
//	none, of a picture   its words later, alone, all wait likewise
//
// What the journal will not take is tried again until it does; meanwhile the row is not sent.

// record notes what became of a job.
func (s *sender) record(r result) {
	row, at := r.row.No, s.now()
	s.underWay.Add(-1)
	delete(s.flying, row)
	delete(s.busy, r.chat)
	if r.movedTo != 0 {
		s.follow(r.chat, r.movedTo, at)
	}
	if r.ugly != "" {
		s.bad.say("picture:"+r.ugly, at, fmt.Sprintf("telegram: the picture of row %d of the outbox "+
			"was refused; its words go alone: %s", row, r.ugly))
		s.plain[row] = true
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

// refused follows a no. One that is about the far side's own state leaves the row for later, one
// about the chat or the message ends it.
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

// unanswered follows a silence. There is no way to ask whether the message arrived, and no key by
// which the far side would know a repeat: an alarm twice is better than none, an answer twice only
// confuses.
func (s *sender) unanswered(r result, mute *silence, at state.Instant) {
	s.away(mute, at)
	if r.pictured() { // a slow line may never carry it, and what it shows the words say
		s.plain[r.row.No] = true
	} else if mute.written && r.row.Priority > alarm {
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

// again keeps a row for later, at the head of its chat. The journal notes it too, for a restart;
// this run goes by its own holds, which a clock that is set back cannot lengthen.
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

// follow remembers that a chat has a new number and tells the desk, once for each move however many
// rows met it. Until the desk writes to the new number, rows for the old one are led there.
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
		s.rows = slices.DeleteFunc(s.rows, func(r journal.Out) bool { return r.No == no })
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
