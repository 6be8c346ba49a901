package fake

// chat is what the server knows of a chat.
type chat struct {
	kind     string // "private", "group" or "supergroup"
	blocked  bool
	movedTo  int64
	messages map[int]bool
}

// Meet makes a chat known, as somebody does who presses Start. Chats below 0 are groups.
func (s *Server) Meet(id int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.meet(id)
}

// meet is Meet with the lock held; a chat that is known stays as it is.
func (s *Server) meet(id int64) *chat {
	c := s.chats[id]
	if c == nil {
		c = &chat{kind: "private", messages: map[int]bool{}}
		if id < 0 {
			c.kind = "group"
		}
		s.chats[id] = c
	}
	return c
}

// Block lets a person shut the chat: what is sent there is refused, and the bot hears of it.
func (s *Server) Block(id int64) { s.standing(id, true, "member", "kicked") }

// Unblock opens the chat again.
func (s *Server) Unblock(id int64) { s.standing(id, false, "kicked", "member") }

// standing changes how the bot stands in a chat and tells it (manual, ChatMemberUpdated).
func (s *Server) standing(id int64, blocked bool, was, is string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.meet(id).blocked = blocked
	bot := map[string]any{"id": 123, "is_bot": true, "first_name": "Lotbell"}
	member := func(status string) map[string]any {
		return map[string]any{"status": status, "user": bot, "until_date": 0}
	}
	s.push("my_chat_member", map[string]any{"chat": s.chatObject(id), "from": person(id),
		"date": s.now.Unix(), "old_chat_member": member(was), "new_chat_member": member(is)})
}

// Migrate gives a group a new number, as happens when it becomes a supergroup: the old one is
// refused with the new one, and the bot hears of it in both.
func (s *Server) Migrate(from, to int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.meet(from).movedTo = to
	s.meet(to).kind = "supergroup"
	s.message(from, 0, map[string]any{"migrate_to_chat_id": to})
	s.message(to, 0, map[string]any{"migrate_from_chat_id": from})
}
