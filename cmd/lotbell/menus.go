package main

import (
	"context"
	"slices"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram"
	"lotbell/state"
)

// menus is what chats are to have as their command menu. The desk's goroutine says which; another
// one sets them, so that a slow network holds up nobody.
type menus struct {
	want chan []bot.Chat
	next state.Instant
	last []bot.Chat
}

// menusEvery is how often it is looked who has another role or language.
const menusEvery = 30 * time.Second

// due hands on what chats are to have, when it is another than before.
func (m *menus) due(d *bot.Desk, now state.Instant) {
	if m.want == nil || now < m.next {
		return
	}
	m.next = now.Add(menusEvery)
	chats := d.Chats(telegram.Via)
	if m.last != nil && slices.Equal(chats, m.last) {
		return
	}
	select {
	case m.want <- chats:
		m.last = append([]bot.Chat{}, chats...)
	default: // the one before is still being set: next time
	}
}

// setMenus sets the menus of those whose menu has changed, and a stranger's for those who left. A
// menu is a convenience: what cannot be set is tried once more with the next change.
func (s *server) setMenus(ctx context.Context) {
	set := map[string]bot.Chat{}
	if err := s.link.SetStrangersMenu(ctx, "", bot.Menu("en", "")); err == nil {
		_ = s.link.SetStrangersMenu(ctx, "es", bot.Menu("es", "")) // English is there already
	}
	for {
		var want []bot.Chat
		select {
		case want = <-s.menus.want:
		case <-ctx.Done():
			return
		}
		here := map[string]bool{}
		for _, c := range want {
			here[c.ID] = true
			if set[c.ID] != c && s.setMenu(ctx, c) {
				set[c.ID] = c
			}
		}
		for id, c := range set {
			if c.Role = ""; !here[id] && s.setMenu(ctx, c) {
				delete(set, id)
			}
		}
	}
}

// setMenu sets one menu and says whether that went well.
func (s *server) setMenu(ctx context.Context, c bot.Chat) bool {
	err := s.link.SetMenu(ctx, c.ID, bot.Menu(c.Lang, c.Role))
	if err != nil && ctx.Err() == nil {
		s.log.Info("a menu was not set", "why", err.Error())
	}
	return err == nil
}

// nameAgain is how long it is waited before the far side is asked again for the bot's name.
const nameAgain = time.Minute

// learnName asks for the bot's own name, which links need, until it is known.
func (s *server) learnName(ctx context.Context) {
	for s.name.Load() == nil && wait(ctx, nameAgain) == nil {
		s.askName(ctx)
	}
}

// askName asks for the name once.
func (s *server) askName(ctx context.Context) {
	if name, err := s.link.Name(ctx); err == nil && name != "" {
		s.name.Store(&name)
	}
}

// deepLink is a link that opens a chat with the bot and brings a code; "" until its name is known.
func (s *server) deepLink(code string) string {
	name := s.name.Load()
	if name == nil {
		return ""
	}
	return "https://t.me/" + *name + "?start=" + code
}
