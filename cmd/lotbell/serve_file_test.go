package main

import (
	"slices"
	"strings"
	"testing"

	"lotbell/bot/telegram/fake"
)

// bookFile waits until the keeper got a file of a name, and gives what is in it.
func (m *made) bookFile(name string) (text string) {
	m.t.Helper()
	m.until(name, func() bool {
		sent := m.far.Sent()
		i := slices.IndexFunc(sent, func(s fake.Sent) bool { return s.Chat == 900 && s.File == name })
		if i >= 0 {
			text = sent[i].Content
		}
		return i >= 0
	})
	return text
}

// TestServeCarriesTheBook: the keeper asks for the book, gets it as a file, changes a figure, sends
// it back, and has it in force after a yes. A file that does not arrive changes nothing and is
// answered too.
func TestServeCarriesTheBook(t *testing.T) {
	m := newMade(t, 1)
	stop := m.start()
	m.far.Say(900, "book")
	first := m.bookFile("book-1.toml")
	const was, is = "[limit.drum_air_wet]\nvalue = 60", "[limit.drum_air_wet]\nvalue = 58"
	changed := strings.Replace(first, was, is, 1)
	if changed == first {
		t.Fatalf("no %q in the book: %.300s", was, first)
	}
	m.far.Document(900, "my book.toml", []byte(changed), "mine")
	m.until("it is asked for a yes", func() bool {
		return strings.Contains(strings.Join(m.texts(900, 0), "\n"), "yes")
	})
	m.far.Fail("getFile", -1, fake.Refuse(400, "Bad Request: file is too big"))
	m.until("an answer", m.answered(m.far.Document(900, "lost.toml", []byte(first), "")))
	if all := strings.Join(m.texts(900, 0), "\n"); !strings.Contains(all, "did not arrive") {
		t.Errorf("its sender is not told: %s", all)
	}
	if !m.log.has("a file did not arrive") || m.log.has("lost.toml") {
		t.Error("the operator hears that a file is missing, and not its name")
	}
	m.far.Mend()
	m.far.Document(900, "my book.toml", []byte(changed), "mine")
	m.until("it is asked again", func() bool {
		return strings.Count(strings.Join(m.texts(900, 0), "\n"), "yes") == 2
	})
	m.until("it is in force", m.answered(m.far.Say(900, "yes")))
	m.far.Say(900, "book")
	if got := m.bookFile("book-2.toml"); got != changed {
		t.Errorf("another book is in force: %.300s", got)
	}
	stop()
}
