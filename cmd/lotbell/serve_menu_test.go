package main

import (
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram"
	"lotbell/bot/telegram/fake"
)

// TestServeSetsMenus: strangers have a menu in their language that tells nothing of the mill, each
// of the mill one of their role and language, and another once those change.
func TestServeSetsMenus(t *testing.T) {
	m := newMade(t, 2)
	stop := m.start()
	menu := func(chat int64, lang, with, without string) func() bool {
		return func() bool {
			last := fake.Sent{}
			for _, s := range m.far.Sent() {
				if s.Method == "setMyCommands" && s.Chat == chat && s.Lang == lang {
					last = s
				}
			}
			return last.Scope == map[bool]string{true: "all_private_chats", false: "chat"}[chat == 0] &&
				strings.Contains(last.Text, `"`+with+`"`) && !strings.Contains(last.Text, `"`+without+`"`)
		}
	}
	m.until("strangers'", menu(0, "", "help", "board"))
	m.until("strangers' in Spanish", menu(0, "es", "ayuda", "pizarra"))
	m.until("a keeper's", menu(900, "", "limits", "pizarra"))
	m.until("a worker's", menu(1000, "", "due", "limits"))
	m.until("it is done", m.answered(m.far.Say(900, "person 1000 worker tank es")))
	m.pass(time.Minute, lookEvery, 1)
	m.until("a worker's in Spanish", menu(1000, "", "ayuda", "help"))
	m.until("she is removed", m.answered(m.far.Say(900, "remove 1001")))
	m.far.Say(900, "yes")
	m.pass(time.Minute, lookEvery, 1)
	m.until("a stranger's again", menu(1001, "", "help", "due"))
	stop()
}

// TestServeTellsTheKeepers: a keeper hears, once a day, that another program takes the messages away,
// and that no copy can be written.
func TestServeTellsTheKeepers(t *testing.T) {
	m := newMade(t, 1)
	if err := os.Mkdir(m.path+".backup", 0o700); err != nil { // no copy can take its place
		t.Fatal(err)
	}
	if err := os.WriteFile(m.path+".backup/x", nil, 0o600); err != nil {
		t.Fatal(err)
	}
	stop := m.start()
	for range 2 {
		m.far.Fail("getUpdates", 2, fake.Refuse(409, "Conflict: terminated by other getUpdates request"))
		m.pass(10*time.Minute, lookEvery, 1)
		m.until("it is over", m.answered(m.far.Say(1000, "t1?")))
	}
	m.pass(backupEvery, time.Minute, 1)
	m.until("the keeper hears of the copy", m.told("No copy of the journal"))
	stop()
	for _, words := range []string{"takes this mill's messages away", "No copy of the journal"} {
		if a, b := m.count(900, 0, words), m.count(1000, 0, words); a != 1 || b != 0 {
			t.Errorf("%q: the keeper heard it %d times, a worker %d", words, a, b)
		}
	}
	if !m.log.has("a second program fetches") || !m.log.has("no copy was written") {
		t.Error("the operator was not told")
	}
}

// TestTypingWhileWorkIsSlow: whoever waits for slow work sees that it is under way, as long as it
// is and no longer.
func TestTypingWhileWorkIsSlow(t *testing.T) {
	m := newMade(t, 1)
	s := m.server()
	stop := m.run(s)
	signs := func() int {
		n := 0
		for _, s := range m.far.Sent() {
			if s.Method == "sendChatAction" && s.Chat == 900 && s.Text == "typing" {
				n++
			}
		}
		return n
	}
	work, over := make(chan struct{}), make(chan struct{})
	s.background(bot.Address{Via: telegram.Via, ID: "900"}, func() { <-work; close(over) })
	m.until("three signs", func() bool { return signs() == 3 })
	close(work)
	<-over
	m.pass(time.Minute, typingEvery, 0)
	m.until("what comes after it", m.answered(m.far.Say(1000, "t1?")))
	if n := signs(); n > 4 { // one may have been under way
		t.Errorf("%d signs, the last after the work", n)
	}
	stop()
	if slices.ContainsFunc(m.far.Sent(), func(s fake.Sent) bool {
		return s.Method == "sendChatAction" && s.Chat != 900
	}) {
		t.Error("others see the sign too")
	}
}
