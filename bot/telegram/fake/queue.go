package fake

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sort"
	"time"
)

// The server's times. A message is kept for a day from when it was sent or edited
// (add_message_update), a press for 150 s (process_new_callback_query_queue). A poll may wait 50 s
// (LONG_POLL_MAX_TIMEOUT). After a week without updates ids begin anew at random (manual, Update).
const (
	keepMessage = 24 * time.Hour
	keepPress   = 150 * time.Second
	longestPoll = 50
	silentWeek  = 7 * 24 * time.Hour
	answerSize  = 4 << 20 // JsonUpdates
	tooFar      = 10      // TQueue: an offset this far past the end is not heeded
	tooOld      = 1000000 // TQueue: nor one this far before the beginning
)

// The life of an update: pushed, and kept only if the bot's last poll asked for its kind; offered
// by every poll until one comes with a higher offset, which confirms it; or expired before that,
// which nobody is told.

// update is one update that is kept.
type update struct {
	id      int64
	fields  string // JSON without the id
	expires time.Time
}

// json is the update as a poll gives it.
func (u update) json() json.RawMessage {
	return json.RawMessage(fmt.Sprintf(`{"update_id":%d,%s}`, u.id, u.fields))
}

// Push gives the bot an update of a kind ("message", "callback_query", …) with its body, and
// returns its id. 0 means that the server would not keep it: a kind the bot did not ask for, or a
// message that is a day old already.
func (s *Server) Push(kind string, body any) int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.push(kind, body)
}

// push is Push with the lock held.
func (s *Server) push(kind string, body any) int64 {
	if !slices.Contains(s.allowed, kind) {
		return 0
	}
	raw := object(body)
	return s.raw(fmt.Sprintf("%q:%s", kind, raw), s.expiry(kind, raw))
}

// Raw gives the bot an update with these fields as they stand, such as `"message":5`. It is kept
// for a day.
func (s *Server) Raw(fields string) int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.raw(fields, s.now.Add(keepMessage))
}

// raw gives an update its id, the next one or, after a silent week, a random one.
func (s *Server) raw(fields string, expires time.Time) int64 {
	if !expires.After(s.now) {
		return 0
	}
	if s.now.Sub(s.pushed) >= silentWeek && len(s.queue) == 0 {
		s.next = 2000001 + s.dice.Int64N(1<<30) // TQueue::push
	}
	id := s.next
	s.next++
	s.pushed = s.now
	s.queue = append(s.queue, update{id, fields, expires})
	s.change()
	return id
}

// expiry is until when an update is kept.
func (s *Server) expiry(kind string, body []byte) time.Time {
	if kind == "callback_query" {
		return s.now.Add(keepPress)
	}
	var dated struct {
		Date     int64
		EditDate int64 `json:"edit_date"`
	}
	if json.Unmarshal(body, &dated) != nil || dated.Date == 0 {
		return s.now.Add(keepMessage)
	}
	return time.Unix(max(dated.Date, dated.EditDate), 0).Add(keepMessage)
}

// Say lets a person write a text in their own chat, which is made known by it. It returns the
// message's number.
func (s *Server) Say(who int64, text string) int {
	return s.Message(who, who, map[string]any{"text": text})
}

// Message lets a person write anything in a chat: fields are those of the manual's Message
// besides number, date, chat and sender. It returns the message's number.
func (s *Server) Message(chat, from int64, fields map[string]any) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.message(chat, from, fields)
}

// message is Message with the lock held. A sender of 0 is the service itself.
func (s *Server) message(chat, from int64, fields map[string]any) int {
	s.messages++
	s.meet(chat).messages[s.messages] = true
	m := map[string]any{"message_id": s.messages, "date": s.now.Unix(),
		"chat": s.chatObject(chat)}
	if from != 0 {
		m["from"] = person(from)
	}
	for k, v := range fields {
		m[k] = v
	}
	s.push("message", m)
	return s.messages
}

// Edit lets a person change the text of a message sent at an instant.
func (s *Server) Edit(who int64, id int, sent time.Time, text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.push("edited_message", map[string]any{"message_id": id, "date": sent.Unix(),
		"edit_date": s.now.Unix(), "chat": s.chatObject(who), "from": person(who), "text": text})
}

// Press lets a person press a button under a message of the bot, and returns the query's id.
func (s *Server) Press(who int64, data string) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	id := fmt.Sprintf("%d%09d", who, len(s.presses)+1)
	s.meet(who)
	s.presses[id] = s.now
	s.push("callback_query", map[string]any{"id": id, "from": person(who), "data": data,
		"chat_instance": "1", "message": map[string]any{"message_id": 1, "date": 0,
			"chat": s.chatObject(who)}})
	return id
}

// person is a made-up user with a number (manual, User).
func person(id int64) map[string]any {
	return map[string]any{"id": id, "is_bot": false, "first_name": fmt.Sprint("P", id),
		"language_code": "es"}
}

// chatObject is a chat as messages name it (manual, Chat).
func (s *Server) chatObject(id int64) map[string]any {
	return map[string]any{"id": id, "type": s.meet(id).kind, "title": fmt.Sprint("chat ", id)}
}

// OnConfirm has f called, with the id, whenever an update is confirmed. The server waits for f,
// which must not call it.
func (s *Server) OnConfirm(f func(id int64)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.onConfirm = f
}

// Confirmed are the ids that polls have confirmed, in order.
func (s *Server) Confirmed() []int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	var ids []int64
	for _, u := range s.done {
		ids = append(ids, u.id)
	}
	return ids
}

// Lost are the ids that expired before they were confirmed.
func (s *Server) Lost() []int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.expire()
	return slices.Clone(s.lost)
}

// Waiting is the number of updates that are not confirmed.
func (s *Server) Waiting() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.expire()
	return len(s.queue)
}

// Repeat lets the server forget its last n confirmations, as after a crash of its own: these
// updates are offered once more, and the next poll's offset is not heeded.
func (s *Server) Repeat(n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	n = min(n, len(s.done))
	back := s.done[len(s.done)-n:]
	s.done = slices.Clone(s.done[:len(s.done)-n])
	s.queue = append(slices.Clone(back), s.queue...)
	s.rewind = n > 0
	s.change()
}

// getUpdates is a poll. It may confirm, and it may wait. The lock is held,
// except while waiting.
func (s *Server) getUpdates(ctx context.Context, p params) reply {
	offset, limit := p.integer("offset", 0), p.integer("limit", pollMost)
	limit = min(max(limit, 1), pollMost)
	timeout := min(max(p.integer("timeout", 0), 0), longestPoll)
	s.allow(p.values["allowed_updates"])
	if offset == s.offset && s.now.Sub(s.polled) < time.Second/2 && !s.polled.IsZero() {
		limit = 1 // process_get_updates_query: no hammering
	}
	s.offset, s.polled = offset, s.now
	s.expire()
	s.confirm(offset)
	deadline := s.now.Add(time.Duration(timeout) * time.Second)
	mine := make(chan struct{})
	for {
		s.expire()
		batch := s.batch(int(limit))
		switch {
		case len(batch) > 0 || !s.now.Before(deadline) || ctx.Err() != nil:
			s.leave(mine)
			return yes(batch)
		case !s.wait(mine):
			return no(409, "Conflict: terminated by other getUpdates request; "+
				"make sure that only one bot instance is running")
		}
		s.pause(ctx, mine)
	}
}

// pollMost is the most updates of one poll (manual, getUpdates).
const pollMost = 100

// wait makes a poll the one that waits, unless it was ended. It ends an older one: it is the older
// that is told of the conflict (abort_long_poll).
func (s *Server) wait(mine chan struct{}) bool {
	select {
	case <-mine:
		return false
	default:
	}
	if s.waiting != nil && s.waiting != mine {
		close(s.waiting)
	}
	s.waiting = mine
	return true
}

// leave ends a poll's waiting.
func (s *Server) leave(mine chan struct{}) {
	if s.waiting == mine {
		s.waiting = nil
		s.change()
	}
}

// Polling says whether a poll waits for updates.
func (s *Server) Polling() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.waiting != nil
}

// allow remembers the kinds of update that a poll asks for. They count for what is pushed later.
func (s *Server) allow(list string) {
	var kinds []string
	if json.Unmarshal([]byte(list), &kinds) == nil && len(kinds) > 0 {
		s.allowed = kinds
	}
}

// confirm drops what lies before an offset. A negative one keeps that many from the end; one out
// of range confirms nothing (do_get_updates).
func (s *Server) confirm(offset int64) {
	if s.rewind {
		s.rewind = false
		return
	}
	head := s.next
	if len(s.queue) > 0 {
		head = s.queue[0].id
	}
	switch {
	case offset < 0 && int(-offset) < len(s.queue):
		offset = s.queue[len(s.queue)+int(offset)].id
	case offset <= 0 || offset > s.next+tooFar || offset < head-tooOld:
		return
	}
	n := sort.Search(len(s.queue), func(i int) bool { return s.queue[i].id >= offset })
	for _, u := range s.queue[:n] {
		if s.onConfirm != nil {
			s.onConfirm(u.id)
		}
	}
	s.done = append(s.done, s.queue[:n]...)
	s.queue = slices.Clone(s.queue[n:])
	if n > 0 {
		s.change()
	}
}

// expire drops what is too old.
func (s *Server) expire() {
	s.queue = slices.DeleteFunc(s.queue, func(u update) bool {
		old := !u.expires.After(s.now)
		if old {
			s.lost = append(s.lost, u.id)
		}
		return old
	})
}

// batch is what a poll gets, up to a number and a size. Nothing is taken out by it.
func (s *Server) batch(limit int) []json.RawMessage {
	list, left := []json.RawMessage{}, answerSize
	for _, u := range s.queue {
		left -= 50 + len(u.fields)
		if len(list) == limit || left <= 0 {
			break
		}
		list = append(list, u.json())
	}
	return list
}
