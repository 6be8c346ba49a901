package fake

import (
	"context"
	"encoding/json"
	"regexp"
	"strings"
	"unicode/utf16"
)

// The limits of what may be sent (manual: sendMessage, sendPhoto, sendDocument,
// InlineKeyboardButton, BotCommand, setMyCommands). Texts are counted in UTF-16 units, which is
// the strict reading of "characters after entities parsing". Where the source names no words for
// a refusal (they come from further behind) they are those that users of the service report.
const (
	longestText    = 4096
	longestCaption = 1024
	longestPress   = 64 // bytes
	largestPhoto   = 10 << 20
	largestFile    = 50 << 20
	mostCommands   = 100
	commandForm    = `^[a-z0-9_]{1,32}$`
)

// do carries out a method. The lock is held. Names are taken as the manual spells them; the real
// service also takes them in any case, which no program should rest on.
func (s *Server) do(ctx context.Context, method string, p params) reply {
	switch method {
	case "getUpdates":
		return s.getUpdates(ctx, p)
	case "getMe":
		return yes(map[string]any{"id": 123, "is_bot": true, "first_name": "Lotbell",
			"username": "lotbell_test_bot"})
	case "getFile":
		return s.getFile(p)
	case fileMethod:
		return s.download(p)
	case "sendMessage":
		return s.sendMessage(p)
	case "sendPhoto":
		return s.sendFile(method, "photo", largestPhoto, p)
	case "sendDocument":
		return s.sendFile(method, "document", largestFile, p)
	case "sendChatAction":
		return s.sendChatAction(p)
	case "answerCallbackQuery":
		return s.answerPress(p)
	case "setMyCommands":
		return s.setCommands(p)
	}
	return no(404, "Not Found: method not found") // on_cmd
}

// open finds the chat a message is for, or says why there is none (check_chat_access). A bot cannot
// begin a conversation: a chat is known only after somebody wrote in it.
func (s *Server) open(p params) (int64, *reply) {
	id := p.integer("chat_id", 0)
	c := s.chats[id]
	var r reply
	switch {
	case p.values["chat_id"] == "":
		r = no(400, "Bad Request: chat_id is empty")
	case c == nil:
		r = no(400, "Bad Request: chat not found")
	case c.movedTo != 0:
		r = no(400, "Bad Request: group chat was upgraded to a supergroup chat")
		r.migrateTo = c.movedTo
	case c.blocked && id < 0:
		r = no(403, "Forbidden: bot was kicked from the group chat")
	case c.blocked:
		r = no(403, "Forbidden: bot was blocked by the user")
	default:
		return id, nil
	}
	return 0, &r
}

// sendMessage takes a text. An empty one is refused before the chat is looked for, any other fault
// after it.
func (s *Server) sendMessage(p params) reply {
	text := p.values["text"]
	if text == "" {
		return no(400, "Bad Request: message text is empty") // get_input_message_text
	}
	chat, refused := s.open(p)
	switch {
	case refused != nil:
		return *refused
	case strings.TrimSpace(text) == "":
		return no(400, "Bad Request: text must be non-empty")
	case units(text) > longestText:
		return no(400, "Bad Request: message is too long")
	}
	return s.deliver(Sent{Method: "sendMessage", Chat: chat, Text: text}, p)
}

// sendFile takes an upload; a file by its id or address is taken as it is.
func (s *Server) sendFile(method, field string, largest int64, p params) reply {
	chat, refused := s.open(p)
	if refused != nil {
		return *refused
	}
	caption := p.values["caption"]
	if units(caption) > longestCaption {
		return no(400, "Bad Request: message caption is too long")
	}
	out := Sent{Method: method, Chat: chat, Text: caption, File: p.values[field]}
	if f := p.files[field]; f != nil {
		switch {
		case f.Size == 0:
			return no(400, "Bad Request: file must be non-empty")
		case f.Size > largest:
			return no(413, "Request Entity Too Large")
		}
		if field == "photo" {
			if refused := photo(f); refused != nil {
				return *refused
			}
		}
		out.File, out.Bytes = f.Filename, int(f.Size)
		if field == "document" {
			out.Content = content(f)
		}
	}
	if out.File == "" {
		return no(400, "Bad Request: there is no "+field+" in the request")
	}
	return s.deliver(out, p)
}

// deliver checks what every message may carry, then takes the message.
func (s *Server) deliver(out Sent, p params) reply {
	reply, refused := s.replyTo(out.Chat, p.values["reply_parameters"])
	if refused != nil {
		return *refused
	}
	keys, refused := keyboard(p.values["reply_markup"])
	if refused != nil {
		return *refused
	}
	s.messages++
	s.chats[out.Chat].messages[s.messages] = true
	out.At, out.MessageID, out.ReplyTo, out.Keys = s.now, s.messages, reply, keys
	s.sent = append(s.sent, out)
	return yes(map[string]any{"message_id": out.MessageID, "date": s.now.Unix(),
		"chat": s.chatObject(out.Chat), "text": out.Text})
}

// replyTo reads which message is answered: 0 for none, or for one that is gone where that is
// allowed.
func (s *Server) replyTo(chat int64, raw string) (int, *reply) {
	if raw == "" {
		return 0, nil
	}
	var r struct {
		ID    *int `json:"message_id"`
		Allow bool `json:"allow_sending_without_reply"`
	}
	if json.Unmarshal([]byte(raw), &r) != nil || r.ID == nil {
		bad := no(400, "Bad Request: can't parse reply parameters JSON object")
		return 0, &bad
	}
	if s.chats[chat].messages[*r.ID] {
		return *r.ID, nil
	}
	if !r.Allow {
		bad := no(400, "Bad Request: message to be replied not found")
		return 0, &bad
	}
	return 0, nil
}

// keyboard reads a reply keyboard's texts, and checks the presses of an inline one.
func keyboard(raw string) ([][]string, *reply) {
	if raw == "" {
		return nil, nil
	}
	var k struct {
		Keyboard [][]struct{ Text string }
		Inline   [][]struct {
			Text string
			Data string `json:"callback_data"`
		} `json:"inline_keyboard"`
	}
	if json.Unmarshal([]byte(raw), &k) != nil {
		bad := no(400, "Bad Request: can't parse reply keyboard markup JSON object")
		return nil, &bad
	}
	for _, row := range k.Inline {
		for _, b := range row {
			if b.Text == "" || b.Data == "" || len(b.Data) > longestPress {
				bad := no(400, "Bad Request: BUTTON_DATA_INVALID")
				return nil, &bad
			}
		}
	}
	var keys [][]string
	for _, row := range k.Keyboard {
		var texts []string
		for _, b := range row {
			if b.Text == "" {
				bad := no(400, "Bad Request: can't parse keyboard button: text is empty")
				return nil, &bad
			}
			texts = append(texts, b.Text)
		}
		keys = append(keys, texts)
	}
	return keys, nil
}

// actions are the signs that a bot may show (manual, sendChatAction).
const actions = " typing upload_photo record_video upload_video record_voice upload_voice " +
	"upload_document choose_sticker find_location record_video_note upload_video_note "

// sendChatAction takes a sign such as "typing".
func (s *Server) sendChatAction(p params) reply {
	chat, refused := s.open(p)
	if refused != nil {
		return *refused
	}
	if a := p.values["action"]; a == "" || !strings.Contains(actions, " "+a+" ") {
		return no(400, "Bad Request: wrong parameter action in request")
	}
	s.sent = append(s.sent, Sent{Method: "sendChatAction", At: s.now, Chat: chat,
		Text: p.values["action"]})
	return yes(true)
}

// answerPress takes an answer to a press while the press is kept.
func (s *Server) answerPress(p params) reply {
	id := p.values["callback_query_id"]
	at, ok := s.presses[id]
	if !ok || s.now.Sub(at) > keepPress {
		return no(400, "Bad Request: query is too old and response timeout expired or "+
			"query ID is invalid")
	}
	s.sent = append(s.sent, Sent{Method: "answerCallbackQuery", At: s.now, Text: id})
	return yes(true)
}

// scopes are for whom a menu may be (manual, BotCommandScope). Those of a chat name it.
const scopes = " default all_private_chats all_group_chats all_chat_administrators chat " +
	"chat_administrators chat_member "

// menuFor reads for whom a menu is: the kind of scope, and its chat, 0 for none.
func (s *Server) menuFor(p params) (kind string, chat int64, refused *reply) {
	scope := struct {
		Type string
		Chat int64 `json:"chat_id"`
	}{Type: "default"}
	raw, bad := p.values["scope"], no(400, "Bad Request: can't parse BotCommandScope JSON object")
	if raw != "" && json.Unmarshal([]byte(raw), &scope) != nil ||
		!strings.Contains(scopes, " "+scope.Type+" ") {
		return "", 0, &bad
	}
	if strings.HasPrefix(scope.Type, "chat") && s.chats[scope.Chat] == nil {
		bad = no(400, "Bad Request: chat not found")
		return "", 0, &bad
	}
	lang := p.values["language_code"]
	if lang != "" && !regexp.MustCompile(`^[a-z]{2}$`).MatchString(lang) {
		bad = no(400, "Bad Request: BOT_COMMAND_LANGUAGE_INVALID")
		return "", 0, &bad
	}
	return scope.Type, scope.Chat, nil
}

// setCommands takes a menu of commands.
func (s *Server) setCommands(p params) reply {
	scope, chat, refused := s.menuFor(p)
	if refused != nil {
		return *refused
	}
	var list []struct{ Command, Description string }
	if json.Unmarshal([]byte(p.values["commands"]), &list) != nil {
		return no(400, "Bad Request: can't parse commands JSON object")
	}
	if len(list) > mostCommands {
		return no(400, "Bad Request: BOT_COMMANDS_TOO_MUCH")
	}
	form := regexp.MustCompile(commandForm)
	for _, c := range list {
		if !form.MatchString(c.Command) {
			return no(400, "Bad Request: BOT_COMMAND_INVALID")
		}
		if n := units(c.Description); n == 0 || n > 256 {
			return no(400, "Bad Request: BOT_COMMAND_DESCRIPTION_INVALID")
		}
	}
	s.sent = append(s.sent, Sent{Method: "setMyCommands", At: s.now, Chat: chat, Scope: scope,
		Lang: p.values["language_code"], Text: p.values["commands"]})
	return yes(true)
}

// units is a text's length in UTF-16 units.
func units(s string) int { return len(utf16.Encode([]rune(s))) }
