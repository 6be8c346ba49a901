package telegram

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/go-telegram/bot/models"

	"lotbell/bot"
	"lotbell/state"
)

// What is read is little: who, where, when, which words, and what kind of thing it was. Everything
// else in an update (entities, quoted messages, file sizes, forward marks) is not looked at, so it
// cannot go wrong.

// pressed marks the ID of a message that was a pressed button, so that an answer to it can end
// the waiting sign on that button.
const pressed = "press-"

// update is what we read of an update. Of a message only the fields below are read, by the
// library's models where they are plain: a kind of content that the library does not know yet,
// or one inside a quoted message, must not make the words unreadable.
type update struct {
	Message  *message
	Edited   *message                  `json:"edited_message"`
	Press    *press                    `json:"callback_query"`
	Member   *models.ChatMemberUpdated `json:"my_chat_member"`
	Noted    *noted                    `json:"lotbell"`
	File     *attached                 `json:"lotbell_file"`
	UpdateID json.Number               `json:"update_id"`
}

// message is a message of the far side. Of what it may hold besides words only the presence
// counts, so that is left raw.
type message struct {
	ID       int         `json:"message_id"`
	Date     int64       // s since 1970; 0 of a message that is gone
	Chat     models.Chat // private chats have the number of their user
	From     *models.User
	Text     string
	Caption  string
	Voice    json.RawMessage
	Audio    json.RawMessage
	Note     json.RawMessage `json:"video_note"`
	Photo    json.RawMessage
	Sticker  json.RawMessage
	Location json.RawMessage
	MovedTo  int64 `json:"migrate_to_chat_id"`
	MovedOff int64 `json:"migrate_from_chat_id"`
}

// press is a pressed inline button. Lotbell sends none, for they expire after 150 s; but one that
// a keeper made by other means is answered all the same.
type press struct {
	ID      string
	From    models.User
	Message *message
	Data    string
}

// noted is an update of our own making: what sending learned of a chat.
type noted struct {
	Chat    int64
	Refuses bool  `json:",omitempty"` // it does not take messages
	MovedTo int64 `json:",omitempty"`
	At      state.Instant
}

// Decode reads a stored update. Kinds: text (also a command, without its slash and the bot's
// name, so "/start CODE" is "start CODE"; also a pressed button), edited (Text is empty when it
// has no words), voice, photo, sticker, location, document (a text file that was fetched), other (other documents, contacts and all else), and blocked,
// unblocked, moved. At is when it was first sent, 0 for a press, which is not dated. In
// a group From is the group and Name the speaker. ReplyTo of an answer is the message's ID.
//
// It fails on what is no update, on an update of a kind that was not asked for, and on a member
// status nobody knows; the desk sets such a row aside.
func Decode(raw []byte) (bot.Message, error) {
	var u update
	if err := json.Unmarshal(raw, &u); err != nil {
		return bot.Message{}, fmt.Errorf("telegram: unreadable update: %w", err)
	}
	switch {
	case u.Noted != nil:
		return u.Noted.read()
	case u.Message != nil:
		out, err := u.Message.read(u.Message.kind())
		if u.File != nil {
			out.Kind, out.File = bot.Document, u.File.Text
		}
		return out, err
	case u.Edited != nil:
		return u.Edited.read(bot.Edited)
	case u.Press != nil:
		return u.Press.read()
	case u.Member != nil:
		return readMember(u.Member)
	}
	return bot.Message{}, errors.New("telegram: update " + u.UpdateID.String() +
		" is of a kind that was not asked for")
}

// kind is what a new message holds. Words count before what they come with.
func (m *message) kind() bot.MessageKind {
	switch {
	case m.MovedTo != 0 || m.MovedOff != 0:
		return bot.Moved
	case m.Text != "":
		return bot.Text
	case m.Voice != nil || m.Audio != nil || m.Note != nil:
		return bot.Voice
	case m.Photo != nil:
		return bot.Photo
	case m.Sticker != nil:
		return bot.Sticker
	case m.Location != nil:
		return bot.Location
	}
	return bot.Other
}

// read makes a message of one whose kind is known. A group that became a supergroup says so twice,
// in the old chat and in the new; both come out the same.
func (m *message) read(kind bot.MessageKind) (bot.Message, error) {
	if m.Chat.ID == 0 || m.ID == 0 {
		return bot.Message{}, errors.New("telegram: a message without chat or number")
	}
	out := bot.Message{
		From: address(m.Chat.ID),
		ID:   strconv.Itoa(m.ID),
		At:   seconds(m.Date),
		Kind: kind,
		Text: commands(m.Text),
		// Private, group, supergroup and channel are the chat types of the manual.
		Group: m.Chat.Type != models.ChatTypePrivate,
	}
	if m.Text == "" {
		out.Text = commands(m.Caption)
	}
	sign(&out, m.From)
	if out.Group && m.From != nil { // a person's private chat has the person's number
		out.By = address(m.From.ID)
	}
	if m.MovedTo != 0 {
		out.To = address(m.MovedTo)
	} else if m.MovedOff != 0 {
		out.From, out.To = address(m.MovedOff), out.From
	}
	return out, nil
}

// read makes a message of a press: its data is the text. It comes from the chat of the message it
// was under, or from the presser's own when that is not told.
func (p *press) read() (bot.Message, error) {
	out := bot.Message{From: address(p.From.ID), ID: pressed + p.ID, Kind: bot.Text,
		Text: commands(p.Data)}
	if p.Message != nil && p.Message.Chat.ID != 0 {
		out.From = address(p.Message.Chat.ID)
		out.Group = p.Message.Chat.Type != models.ChatTypePrivate
	}
	if out.From.ID == "0" || p.ID == "" {
		return bot.Message{}, errors.New("telegram: a press without sender or id")
	}
	if p.Data == "" {
		out.Kind = bot.Other
	}
	sign(&out, &p.From)
	return out, nil
}

// readMember reads a change of the bot's own standing in a chat.
func readMember(m *models.ChatMemberUpdated) (bot.Message, error) {
	if m.Chat.ID == 0 {
		return bot.Message{}, errors.New("telegram: a member update without chat")
	}
	out := bot.Message{From: address(m.Chat.ID), At: seconds(int64(m.Date)), Kind: bot.Unblocked,
		Group: m.Chat.Type != models.ChatTypePrivate}
	switch m.NewChatMember.Type {
	case models.ChatMemberTypeLeft, models.ChatMemberTypeBanned:
		out.Kind = bot.Blocked
	}
	sign(&out, &m.From)
	return out, nil
}

// read makes a message of what sending learned. A note says one thing: a refusal or a move.
func (n *noted) read() (bot.Message, error) {
	out := bot.Message{From: address(n.Chat), At: n.At, Kind: bot.Blocked, Group: n.Chat < 0}
	switch {
	case n.Chat == 0 || n.Refuses == (n.MovedTo != 0):
		return bot.Message{}, errors.New("telegram: a note that says nothing")
	case n.MovedTo != 0:
		out.Kind, out.To = bot.Moved, address(n.MovedTo)
	}
	return out, nil
}

// sign puts name and language of the sender on a message.
func sign(m *bot.Message, u *models.User) {
	if u == nil {
		return
	}
	m.Name = strings.TrimSpace(u.FirstName + " " + u.LastName)
	if m.Name == "" {
		m.Name = u.Username
	}
	if lang, _, _ := strings.Cut(u.LanguageCode, "-"); len(lang) == 2 {
		m.Lang = strings.ToLower(lang)
	}
}

// address is a chat's address, by its number.
func address(chat int64) bot.Address {
	return bot.Address{Via: Via, ID: strconv.FormatInt(chat, 10)}
}

// seconds is an instant as the far side gives it, in whole seconds since 1970.
func seconds(s int64) state.Instant { return state.Instant(s * 1000) }
