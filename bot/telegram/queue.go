package telegram

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"time"

	"lotbell/bot"
	"lotbell/state"
	"lotbell/state/journal"
)

// The order of sending. Within a chat rows go as they are numbered, always: "14 is over" must not
// arrive before "14 rings". So an alarm cannot overtake the answers before it to the same chat;
// instead they become as urgent as the alarm, go before everything for others, and the chat's
// courtesy of one message a second is not kept for them. 429 is obeyed all the same.

// window is how many unsent rows are looked at together.
const window = 5000

// fresh is how long rows that were read are believed: so much later at most is a row still sent
// that the desk has withdrawn.
const fresh = time.Second

// nap is the pause after the journal could not be read or written.
const nap = 5 * time.Second

// alarm is the last priority that is an alarm's: such a row is rather sent twice than not at all.
const alarm = 2

// job is one message to be sent: a row's whole text, or the next part of a long one.
type job struct {
	row   journal.Out
	chat  int64
	m     bot.Outgoing
	texts []string
	part  int
}

// waiting is what waits for one chat: the oldest row, which is the only one that may go, and how
// urgent the most urgent of them is, for that one waits behind it.
type waiting struct {
	chat   int64
	head   journal.Out
	urgent int
}

// pick takes the next job out of the outbox, after giving up what has expired. Without one it
// says how long until there may be one, 0 when nothing waits for time alone.
func (s *sender) pick() (*job, time.Duration) {
	now := s.o.Now()
	at := state.At(now)
	if !s.refresh(at) {
		return nil, nap
	}
	s.expire(at)
	if d := s.all.left(at); d > 0 {
		return nil, d
	}
	var soon soonest
	for _, w := range s.queues(at, &soon) {
		if w.urgent > alarm && len(s.flying) >= lanes-1 {
			break // and so are all behind it; a result will wake the loop
		}
		if d := s.pace.wait(w.chat, now, w.urgent <= alarm); d > 0 {
			soon.see(d)
			continue
		}
		j, why := s.load(w)
		if why != "" {
			s.giveUp(w.head, why)
			soon.see(time.Millisecond) // for what waits behind it
			continue
		}
		s.pace.take(w.chat, now)
		return j, 0
	}
	return nil, time.Duration(soon)
}

// refresh reads the unsent rows anew when they may have changed. False means that it could not.
func (s *sender) refresh(at state.Instant) bool {
	if age := at.Sub(s.readAt); !s.stale && age >= 0 && age < fresh {
		return true
	}
	rows, err := s.box.Outbox(Via, window)
	if err != nil {
		s.bad.say("read", at, "telegram: the outbox cannot be read ("+s.wire.hush(err.Error())+
			"). Next: `lotbell verify`")
		return false
	}
	s.rows, s.readAt, s.stale = rows, at, false
	s.bad.over("read", at, "telegram: the outbox can be read again")
	known := map[uint64]bool{}
	for _, r := range rows {
		known[r.No] = true
	}
	gone := func(no uint64) bool { return !known[no] }
	maps.DeleteFunc(s.part, func(no uint64, _ int) bool { return gone(no) })
	maps.DeleteFunc(s.tried, func(no uint64, _ bool) bool { return gone(no) })
	maps.DeleteFunc(s.plain, func(no uint64, _ bool) bool { return gone(no) })
	return true
}

// longest is how long a row is kept that failed before a restart. More is of a clock that was ahead;
// what the far side still wants left alone it refuses once more.
const longest = time.Hour

// ahead is how far the making of a row may lie ahead of now before the clock of then is not
// believed.
const ahead = 5 * time.Minute

// expire gives up what is true no longer.
func (s *sender) expire(at state.Instant) {
	var late []journal.Out
	for _, r := range s.rows {
		if untrue(r, at) != "" && !s.skip[r.No] {
			late = append(late, r)
		}
	}
	for _, r := range late {
		s.giveUp(r, untrue(r, at))
	}
}

// untrue is why a row is not to be sent at an instant; "" while it is. What a clock wrote that was
// ahead was true for a while, and nobody knows for how long; an alarm goes out all the same.
func untrue(r journal.Out, at state.Instant) string {
	switch {
	case r.Expires == 0:
	case at >= r.Expires:
		return "expired"
	case r.Made.Sub(at) > ahead && r.Priority > alarm:
		return "written by a clock that was ahead"
	}
	return ""
}

// queues are the chats that could be sent to now, the most urgent first, then the longest
// waiting. A row that is planned for later lets others pass; one that failed does not, so that
// the order within a chat is kept.
func (s *sender) queues(at state.Instant, soon *soonest) []*waiting {
	chats := map[int64]*waiting{}
	var list []*waiting
	for _, r := range s.rows {
		if s.skip[r.No] && !s.flying[r.No] {
			continue // its end is only not yet on disk
		}
		if r.Tries == 0 && r.NotBefore > at && !s.tried[r.No] {
			soon.see(r.NotBefore.Sub(at))
			continue
		}
		chat := s.home(r.To)
		w := chats[chat]
		if w == nil {
			w = &waiting{chat, r, r.Priority}
			chats[chat] = w
			list = append(list, w)
		}
		w.urgent = min(w.urgent, r.Priority)
	}
	list = slices.DeleteFunc(list, func(w *waiting) bool {
		d := s.holds[w.chat].left(at)
		later := w.head.NotBefore.Sub(at)
		if w.head.Tries > 0 && !s.tried[w.head.No] && later <= longest { // before this program started
			d = max(d, later)
		}
		soon.see(d)
		return d > 0 || s.busy[w.chat]
	})
	slices.SortStableFunc(list, func(a, b *waiting) int { return a.urgent - b.urgent })
	return list
}

// home is a chat's number, after all moves that are known. A text that is no number is chat 0,
// which load turns back.
func (s *sender) home(to string) int64 {
	chat, err := strconv.ParseInt(to, 10, 64)
	if err != nil {
		return 0
	}
	if now, ok := s.moved[chat]; ok {
		return now
	}
	return chat
}

// load reads a row. The reason says why it can never be sent.
func (s *sender) load(w *waiting) (j *job, why string) {
	j = &job{row: w.head, chat: w.chat, part: s.part[w.head.No]}
	if w.chat == 0 {
		return nil, "the address " + strconv.Quote(w.head.To) + " is no chat number"
	}
	if err := json.Unmarshal(w.head.Body, &j.m); err != nil {
		return nil, "the row cannot be read: " + err.Error()
	}
	j.texts = parts(j.m)
	if s.plain[w.head.No] { // in the same parts: some may have been sent
		j.m.Picture = nil
	}
	if j.part >= len(j.texts) {
		return nil, "there is no text"
	}
	return j, ""
}
