package telegram

import (
	"bytes"
	"image"
	"image/png"
	"strings"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

// withPicture is a row with a white picture of a size.
func withPicture(chat int64, priority int, text string, wide, high int) journal.Out {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, wide, high))); err != nil {
		panic(err)
	}
	return rowOf(chat, priority, bot.Outgoing{Text: text, Keys: [][]string{{"due"}},
		Picture: &bot.Picture{Name: "curve d1", Wide: wide, High: high, Body: b.Bytes()}})
}

// arrivals are what came to a chat: the method and the text.
func (r *rig) arrivals(chat int64) []string {
	var out []string
	for _, m := range r.srv.Sent() {
		if m.Chat == chat {
			out = append(out, m.Method+" "+m.Text)
		}
	}
	return out
}

func TestPicture(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	no := r.put(withPicture(7, 3, "d1: 12 %", 720, 400), row(7, 3, "after"))[0]
	r.sendAll()
	same(t, "arrived", r.arrivals(7), []string{"sendPhoto d1: 12 %", "sendMessage after"})
	first := r.srv.Sent()[0]
	same(t, "file", first.File, "curve-d1.png")
	same(t, "keys", first.Keys, [][]string{{"due"}})
	same(t, "end", r.ends()[no], "sent")
}

// TestPictureOfLongText: the caption ends at a line below 1024 units, the keys come last.
func TestPictureOfLongText(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	line := strings.Repeat("ñ", 99)
	text := strings.TrimSpace(strings.Repeat(line+"\n", 60))
	r.put(withPicture(7, 3, text, 720, 400))
	r.sendAll()
	sent := r.srv.Sent()
	same(t, "parts", len(sent), 3)
	same(t, "caption", sent[0].Text, strings.TrimSpace(strings.Repeat(line+"\n", 10)))
	same(t, "methods", []string{sent[0].Method, sent[1].Method, sent[2].Method},
		[]string{"sendPhoto", "sendMessage", "sendMessage"})
	same(t, "nothing lost", sent[0].Text+"\n"+sent[1].Text+"\n"+sent[2].Text, text)
	same(t, "keys", []int{len(sent[0].Keys), len(sent[1].Keys), len(sent[2].Keys)}, []int{0, 0, 1})
}

// TestPictureRefused: the words go alone at once, whoever waits behind, and the operator is told.
func TestPictureRefused(t *testing.T) {
	r := newRig(t)
	r.meet(7, 8)
	r.srv.Fail("sendPhoto", 1, fake.Refuse(413, "Request Entity Too Large").For(8))
	nos := r.put(withPicture(7, 4, "thin", 4000, 10), withPicture(8, 4, "fat", 720, 400),
		rowOf(7, 4, bot.Outgoing{Text: "no picture at all",
			Picture: &bot.Picture{Name: "x", Body: []byte("x")}}))
	r.sendAll()
	same(t, "arrived", append(r.arrivals(7), r.arrivals(8)...), []string{"sendMessage thin",
		"sendMessage no picture at all", "sendMessage fat"})
	for _, no := range nos {
		same(t, "end", r.ends()[no], "sent")
	}
	told := strings.Join(r.told(), "\n")
	for _, why := range []string{"PHOTO_INVALID_DIMENSIONS", "IMAGE_PROCESS_FAILED", "Too Large"} {
		if !strings.Contains(told, why) {
			t.Errorf("told %q, want %s", told, why)
		}
	}
}

// TestPictureRefusedChat: a no that is about the chat is followed as ever.
func TestPictureRefusedChat(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	r.srv.Block(7)
	r.srv.Migrate(-6, -1006000000000)
	nos := r.put(withPicture(7, 3, "a", 720, 400), withPicture(-6, 3, "b", 720, 400),
		withPicture(99, 3, "c", 720, 400))
	r.sendAll()
	same(t, "moved", r.arrivals(-1006000000000), []string{"sendPhoto b"})
	for _, i := range []int{0, 2} {
		if end := r.ends()[nos[i]]; !strings.HasPrefix(end, "unreachable") {
			t.Errorf("row %d ended %q", i, end)
		}
	}
	same(t, "no words alone", r.srv.Calls("sendMessage"), 0)
}

// TestPictureUnanswered: whatever swallows a picture, the words arrive alone, chatter too.
func TestPictureUnanswered(t *testing.T) {
	for name, x := range map[string]struct {
		how  fake.Fault
		want []string
	}{
		"taken, then cut": {fake.Swallow(), []string{"sendPhoto words", "sendMessage words"}},
		"cut":             {fake.Cut(), []string{"sendMessage words"}},
		"garbage":         {fake.Garbage(502, "<html>"), []string{"sendMessage words"}},
		"taken, and slow": {fake.Stall(), []string{"sendPhoto words", "sendMessage words"}},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			if name == "taken, and slow" {
				r.connect(time.Second)
			}
			r.meet(7)
			r.srv.Fail("sendPhoto", 1, x.how)
			no := r.put(withPicture(7, 4, "words", 720, 400))[0]
			r.sendAll()
			same(t, "arrived", r.arrivals(7), x.want)
			same(t, "end", r.ends()[no], "sent")
		})
	}
}

// TestPictureLater: told to wait, the picture waits and goes out as one.
func TestPictureLater(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	r.srv.Fail("sendPhoto", 1, fake.Flood(40))
	r.put(withPicture(7, 3, "d1", 720, 400))
	r.sendAll()
	same(t, "arrived", r.arrivals(7), []string{"sendPhoto d1"})
	if at := r.times(7)[0]; at < 40 || at > 41 {
		t.Errorf("sent after %.1f s, told 40", at)
	}
}

// TestPictureExpires: it is as old as its words.
func TestPictureExpires(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	late := withPicture(7, 3, "the night", 720, 400)
	late.Expires = state.At(noon())
	no := r.put(late)[0]
	r.sendAll()
	same(t, "arrived", len(r.arrivals(7)), 0)
	same(t, "end", r.ends()[no], "expired")
}

// TestPictureAfterRestart: a row committed before the program stopped goes out with its picture
// after it, once.
func TestPictureAfterRestart(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	no := r.put(withPicture(7, 3, "d1", 720, 400))[0]
	r.srv.Down()
	stop := r.run(r.link.Send)
	r.until("it has failed", func() bool {
		r.mu.Lock()
		defer r.mu.Unlock()
		return len(r.waits) > 0
	})
	stop()
	if err := r.srv.Up(); err != nil {
		t.Fatal(err)
	}
	r.connect(patient)
	r.sendAll()
	same(t, "arrived", r.arrivals(7), []string{"sendPhoto d1"})
	same(t, "end", r.ends()[no], "sent")
}
