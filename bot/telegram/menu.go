package telegram

import (
	"context"
	"fmt"
	"strconv"

	tg "github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"lotbell/bot"
)

// SetMenu gives a private chat its command menu, past outbox and pacing: a menu that comes late or
// twice does no harm. id is the chat's, as in [bot.Address].
func (l *Link) SetMenu(ctx context.Context, id string, menu []bot.Command) error {
	chat, err := strconv.ParseInt(id, 10, 64)
	if err != nil {
		return fmt.Errorf("telegram: %q is no chat: a chat is a whole number, such as 4711", id)
	}
	return l.setMenu(ctx, menu, &models.BotCommandScopeChat{ChatID: chat}, "")
}

// Typing shows a chat for some seconds that an answer is on its way. id is the chat's, as in
// [bot.Address].
func (l *Link) Typing(ctx context.Context, id string) error {
	_, err := l.api.SendChatAction(ctx, &tg.SendChatActionParams{ChatID: id,
		Action: models.ChatActionTyping})
	if err != nil {
		return l.clean(err)
	}
	return nil
}

// SetStrangersMenu gives every private chat that has no menu of its own one in a language, "" for
// all others.
func (l *Link) SetStrangersMenu(ctx context.Context, lang string, menu []bot.Command) error {
	return l.setMenu(ctx, menu, &models.BotCommandScopeAllPrivateChats{}, lang)
}

func (l *Link) setMenu(ctx context.Context, menu []bot.Command, scope models.BotCommandScope,
	lang string) error {
	var list []models.BotCommand
	for _, c := range menu {
		list = append(list, models.BotCommand{Command: c.Name, Description: c.Text})
	}
	_, err := l.api.SetMyCommands(ctx, &tg.SetMyCommandsParams{Commands: list, Scope: scope,
		LanguageCode: lang})
	if err != nil {
		return l.clean(err)
	}
	return nil
}
