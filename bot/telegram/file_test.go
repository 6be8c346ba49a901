package telegram

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram/fake"
)

// TestFileIsFetched: the text of a book is in the inbox with its update, byte for byte but for the
// mark some editors put before it; what is no text file, or too large, is not even asked for.
func TestFileIsFetched(t *testing.T) {
	r := newRig(t)
	text := "# ñ\r\n[limits]\r\nx = 1 \"}\" \\ \n"
	r.srv.Document(7, "Book.TOML", []byte("\ufeff"+text), "my book")
	r.srv.Document(7, "notes.txt", []byte("a"), "")
	r.srv.Document(7, "curve.png", []byte("a"), "see")
	r.srv.Document(7, "huge.toml", make([]byte, fileLimit+1), "")
	r.srv.Document(7, "most.toml", []byte(strings.Repeat("a", fileLimit)), "")
	r.receiveAll()
	var kinds []string
	in := r.inbox()
	for _, m := range in {
		kinds = append(kinds, string(m.Kind))
	}
	same(t, "kinds", kinds, []string{"document", "document", "other", "other", "document"})
	same(t, "texts", texts(in[:4]), []string{text, "a", "see", ""})
	same(t, "under it", []string{in[0].Text, in[1].Text}, []string{"my book", ""})
	same(t, "the largest", len(in[4].File), fileLimit)
	same(t, "asked for", []int{r.srv.Calls("getFile"), r.srv.Calls("file")}, []int{3, 3})
	rows, err := r.box.Inbox(0)
	if err != nil || !strings.Contains(string(rows[0].Raw), `"file_name":"Book.TOML"`) {
		t.Errorf("the update itself is gone: %s, %v", rows[0].Raw, err)
	}
}

// TestFileThatDoesNotCome: whatever goes wrong on the way, the update is stored and confirmed as a
// document without text, and the operator hears of it once, without the file's name.
func TestFileThatDoesNotCome(t *testing.T) {
	for name, f := range map[string]struct {
		method string
		how    fake.Fault
		says   string
	}{
		"refused":    {"getFile", fake.Refuse(400, "Bad Request: file is too big"), "too big"},
		"no path":    {"getFile", fake.Garbage(200, `{"ok":true,"result":{}}`), "without a path"},
		"a path up":  {"getFile", fake.Garbage(200, `{"ok":true,"result":{"file_path":"../x"}}`), "path"},
		"a page":     {"getFile", fake.Garbage(502, "<html>"), "502"},
		"cut":        {"file", fake.Cut(), "no answer"},
		"gone":       {"file", fake.Refuse(404, "Not Found"), "404"},
		"not UTF-8":  {"file", fake.Garbage(200, "se\xf1al"), "UTF-8"},
		"UTF-16":     {"file", fake.Garbage(200, "\xff\xfea\x00"), "UTF-8"},
		"with zeros": {"file", fake.Garbage(200, "a\x00b"), "UTF-8"},
		"grown":      {"file", fake.Garbage(200, strings.Repeat("a", fileLimit+1)), "256 kB"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.srv.Fail(f.method, -1, f.how) // the standard client repeats a GET by itself
			r.srv.Document(7, "secret-name.toml", []byte("x = 1"), "words")
			r.srv.Say(7, "after it")
			r.receiveAll()
			in := r.inbox()
			same(t, "kind", in[0].Kind, bot.Document)
			same(t, "texts", texts(in), []string{"", "after it"})
			same(t, "from", in[0].From.ID, "7")
			told := r.told()
			if len(told) != 1 || !strings.Contains(told[0], f.says) ||
				strings.Contains(told[0], "secret-name") {
				t.Errorf("told %q, want %q", told, f.says)
			}
		})
	}
}

// TestNobodyWaitsForAFile: while the far side keeps a file back, what others wrote is in the
// inbox already; what its sender wrote stays in order behind it; all of it once.
func TestNobodyWaitsForAFile(t *testing.T) {
	r := newRig(t)
	r.srv.Say(8, "before")
	r.srv.Document(7, "book.toml", []byte("x = 1"), "")
	r.srv.Say(7, "yes")
	help := r.srv.Say(9, "help")
	r.srv.Hold()
	stop := r.receive()
	r.until("a cry for help is stored", func() bool {
		return slices.Contains(texts(r.inbox()), "help")
	})
	same(t, "inbox meanwhile", texts(r.inbox()), []string{"before", "help"})
	same(t, "confirmed meanwhile", len(r.srv.Confirmed()), 0)
	r.srv.Release()
	r.until("all is confirmed", func() bool { return r.srv.Waiting() == 0 })
	stop()
	in := r.inbox()
	same(t, "inbox", texts(in), []string{"before", "help", "x = 1", "yes"})
	same(t, "the cry", in[1].ID, fmt.Sprint(help))
}

// TestACryWaitsForNoFile: who cries for help under a file is in the inbox before it, and the file is
// not asked for.
func TestACryWaitsForNoFile(t *testing.T) {
	r := newRig(t)
	r.srv.Document(7, "book.toml", []byte("x = 1"), "")
	r.srv.Document(8, "notes.txt", []byte("a"), "ayuda en d1")
	r.srv.Hold()
	stop := r.receive()
	r.until("the cry is stored", func() bool { return len(r.inbox()) == 1 })
	same(t, "inbox meanwhile", texts(r.inbox()), []string{"ayuda en d1"})
	r.srv.Release()
	r.until("all is confirmed", func() bool { return r.srv.Waiting() == 0 })
	stop()
	same(t, "inbox", texts(r.inbox()), []string{"ayuda en d1", "x = 1"})
	same(t, "asked for", r.srv.Calls("getFile"), 1)
}

// TestStopWhileAFileComes: nothing is stored of the sender's and nothing confirmed; the next start
// has the file.
func TestStopWhileAFileComes(t *testing.T) {
	r := newRig(t)
	r.srv.Document(7, "book.toml", []byte("x = 1"), "")
	r.srv.Hold()
	stop := r.run(r.link.Receive)
	r.until("it is asked for", func() bool { return r.srv.Calls("getFile") == 1 })
	stop()
	same(t, "inbox", len(r.inbox()), 0)
	same(t, "told", len(r.told()), 0)
	r.srv.Release()
	r.connect(patient)
	r.receiveAll()
	same(t, "inbox", texts(r.inbox()), []string{"x = 1"})
}

// TestNoFileForAFullDisk: what cannot be stored is not fetched, however often it comes again.
func TestNoFileForAFullDisk(t *testing.T) {
	r := newRig(t)
	r.srv.Document(7, "book.toml", []byte("x = 1"), "")
	r.box.full.Store(true)
	stop := r.receive()
	r.until("three tries", func() bool { r.mu.Lock(); defer r.mu.Unlock(); return len(r.waits) >= 3 })
	same(t, "fetched", r.srv.Calls("getFile"), 0)
	r.box.full.Store(false)
	r.until("stored", func() bool { return r.srv.Waiting() == 0 })
	stop()
	same(t, "inbox", texts(r.inbox()), []string{"x = 1"})
}

// TestFileIsSent: with its text where that fits, else after it; the keyboard and the answered line
// where they belong; an empty file not at all.
func TestFileIsSent(t *testing.T) {
	r := newRig(t)
	id := r.srv.Say(7, "book")
	file := &bot.File{Name: "book-3.toml", Body: "[limits]\nñ = 1\n"}
	long := strings.Repeat("a line of words\n", 70) + "end"
	keys := [][]string{{"ok"}}
	r.put(rowOf(7, 3, bot.Outgoing{Text: "book 3", ReplyTo: fmt.Sprint(id), Keys: keys, File: file}))
	r.put(rowOf(7, 3, bot.Outgoing{Text: long, ReplyTo: fmt.Sprint(id), Keys: keys, File: file}))
	r.put(rowOf(7, 3, bot.Outgoing{File: file}))
	r.put(rowOf(7, 3, bot.Outgoing{Text: "none", File: &bot.File{Name: "empty.toml"}}))
	r.sendAll()
	var got []string
	for _, m := range r.srv.Sent() {
		got = append(got, fmt.Sprintf("%s %d %t %s", m.Method, len(m.Text), len(m.Keys) > 0, m.File))
		if m.File != "" {
			same(t, "content", m.Content, file.Body)
		}
	}
	same(t, "sent", got, []string{
		"sendDocument 6 true book-3.toml",
		fmt.Sprintf("sendMessage %d false ", len(long)), "sendDocument 0 true book-3.toml",
		"sendDocument 0 false book-3.toml",
		"sendMessage 4 false "})
	same(t, "answers", []int{r.srv.Sent()[0].ReplyTo, r.srv.Sent()[1].ReplyTo,
		r.srv.Sent()[2].ReplyTo}, []int{id, id, 0})
	edge := []string{strings.Repeat("ñ", captionLimit), strings.Repeat("ñ", captionLimit+1)}
	same(t, "the limit of a caption", []int{len(parts(bot.Outgoing{Text: edge[0], File: file})),
		len(parts(bot.Outgoing{Text: edge[1], File: file}))}, []int{1, 2})
}

// TestStopEndsWhatHangs: a request that is not answered keeps the loop no longer than its grace.
// What may have arrived then is given up, or for an alarm kept.
func TestStopEndsWhatHangs(t *testing.T) {
	r := newRig(t)
	r.meet(1, 2)
	nos := r.put(row(1, 3, "answer"), row(2, 1, "alarm"))
	r.srv.Fail("sendMessage", 2, fake.Stall())
	asked := make(chan time.Duration, 9)
	r.link.o.Wait = func(ctx context.Context, d time.Duration) error {
		if d == grace && ctx.Err() == nil {
			asked <- d
			return nil // it is over
		}
		<-ctx.Done()
		return ctx.Err()
	}
	stop := r.run(r.link.Send)
	r.until("both hang", func() bool { return len(r.srv.Sent()) == 2 })
	stop()
	same(t, "the grace was waited", <-asked, grace)
	same(t, "the answer", r.ends(), map[uint64]string{nos[0]: maybe})
	r.connect(patient)
	r.srv.Advance(time.Minute)
	r.sendAll()
	same(t, "the alarm", r.sentTo(2), []string{"alarm", "alarm"})
}
