package telegram

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

// meet makes chats known to the server.
func (r *rig) meet(chats ...int64) {
	for _, c := range chats {
		r.srv.Meet(c)
	}
}

// times are the instants at which a chat got its messages, in seconds after noon.
func (r *rig) times(chat int64) []float64 {
	var s []float64
	for _, m := range r.srv.Sent() {
		if m.Chat == chat {
			s = append(s, m.At.Sub(noon()).Seconds())
		}
	}
	return s
}

func TestOrderOfAChat(t *testing.T) {
	r := newRig(t)
	var want [5][]string
	for i := range 100 {
		chat, text := i%5, fmt.Sprint("line ", i)
		r.meet(int64(chat + 1))
		r.put(row(int64(chat+1), 1+i%4, text))
		want[chat] = append(want[chat], text)
	}
	r.srv.Fail("sendMessage", 3, fake.Flood(2).For(2))
	r.srv.Fail("sendMessage", 2, fake.Refuse(500, "Internal Server Error: restart").For(3))
	r.sendAll()
	for chat := range want {
		same(t, fmt.Sprint("chat ", chat+1), r.sentTo(int64(chat+1)), want[chat])
	}
}

// TestAlarmsFirst: an alarm goes before what waited longer for others, and does not wait for the
// chat's courtesy behind the chatter of its own chat.
func TestAlarmsFirst(t *testing.T) {
	r := newRig(t)
	for chat := int64(1); chat <= 20; chat++ {
		r.meet(chat)
		r.put(row(chat, 4, "chatter"), row(chat, 4, "more"))
		if chat == 10 {
			r.meet(50, 60)
			for range 10 {
				r.put(row(50, 3, "answer"))
				r.put(row(60, 3, "answer"))
			}
		}
	}
	r.put(row(50, 1, "d1: air 72"))
	r.sendAll()
	order := r.srv.Sent()
	last := slices.IndexFunc(order, func(m fake.Sent) bool { return m.Text == "d1: air 72" })
	before := map[int64]int{}
	for _, m := range order[:last] {
		before[m.Chat]++
	}
	same(t, "own chatter goes before it", before[50], 10)
	// Eleven of the alarm's chat, one at a time; the other lanes are free meanwhile, and the
	// courtesy of the whole is ten at once, then 30 a second.
	if alarm := r.times(50)[10]; alarm > 1 {
		t.Errorf("the alarm waited %.1f s", alarm)
	}
	if plain := r.times(60)[9]; plain < 6.9 {
		t.Errorf("ten answers to one chat in %.1f s: no courtesy", plain)
	}
}

// TestCourtesy: the figures of pace.go, from the service's own FAQ.
func TestCourtesy(t *testing.T) {
	t.Run("a chat", func(t *testing.T) {
		r := newRig(t)
		r.meet(7)
		for range 6 {
			r.put(row(7, 3, "a"))
		}
		r.sendAll()
		for i, at := range r.times(7) {
			if want := float64(max(i-2, 0)); at < want-0.001 || at > want+0.1 {
				t.Errorf("message %d at %.3f s, want %.0f", i, at, want)
			}
		}
	})
	t.Run("a group", func(t *testing.T) {
		r := newRig(t)
		r.meet(-7)
		for range 6 {
			r.put(row(-7, 3, "a"))
		}
		r.sendAll()
		if last := r.times(-7)[5]; last < 8.99 || last > 9.1 {
			t.Errorf("six messages to a group took %.3f s, want 9", last)
		}
	})
	t.Run("all", func(t *testing.T) {
		r := newRig(t)
		for chat := int64(1); chat <= 100; chat++ {
			r.meet(chat)
			r.put(row(chat, 3, "a"))
		}
		r.sendAll()
		var at []float64
		for _, m := range r.srv.Sent() {
			at = append(at, m.At.Sub(noon()).Seconds())
		}
		for i := range at {
			n := 0
			for j := i; j < len(at) && at[j] < at[i]+1; j++ {
				n++
			}
			if n > allPerSecond+allAtOnce {
				t.Errorf("%d messages in the second after %.2f s", n, at[i])
			}
		}
		if last := at[99]; last < 2.9 || last > 3.5 {
			t.Errorf("a hundred messages took %.2f s, want 3", last)
		}
	})
}

func TestFewAtOnce(t *testing.T) {
	r := newRig(t)
	r.srv.Hold()
	for chat := int64(1); chat <= 9; chat++ {
		r.meet(chat)
		r.put(row(chat, 1, "a"))
	}
	stop := r.run(r.link.Send)
	r.until("all lanes are taken", func() bool { return len(r.srv.Flying()) == lanes })
	r.srv.Release()
	r.until("all is sent", r.drained)
	stop()
	same(t, "most at once", r.srv.Most(), 4)
}

// TestMostUrgentFirst: of many alarms the most urgent is among the first few.
func TestMostUrgentFirst(t *testing.T) {
	r := newRig(t)
	for chat := int64(1); chat <= 9; chat++ {
		r.meet(chat)
		priority := 2
		if chat == 5 {
			priority = 1
		}
		r.put(row(chat, priority, "a"))
	}
	r.srv.Hold()
	stop := r.run(r.link.Send)
	r.until("all lanes are taken", func() bool { return len(r.srv.Flying()) == lanes })
	same(t, "the most urgent is under way", slices.Contains(r.srv.Flying(), 5), true)
	r.srv.Release()
	r.until("all is sent", r.drained)
	stop()
}

// TestLaneForAlarms: answers that nobody takes leave a lane free.
func TestLaneForAlarms(t *testing.T) {
	r := newRig(t)
	for chat := int64(1); chat <= 9; chat++ {
		r.meet(chat)
		r.put(row(chat, 3, "a"))
	}
	r.meet(50)
	r.srv.Hold()
	stop := r.run(r.link.Send)
	r.until("answers are under way", func() bool { return len(r.srv.Flying()) == lanes-1 })
	r.put(row(50, 1, "d1: air 72"))
	r.until("the alarm too", func() bool { return slices.Contains(r.srv.Flying(), 50) })
	same(t, "nothing else was asked", r.srv.Calls("sendMessage"), lanes)
	r.srv.Release()
	r.until("all is sent", r.drained)
	stop()
}

func TestWholeMessage(t *testing.T) {
	r := newRig(t)
	id := r.srv.Say(7, "due")
	r.put(rowOf(7, 3, bot.Outgoing{Text: "t3: wash now", ReplyTo: fmt.Sprint(id),
		Keys: [][]string{{"ok 14", "later 14 20m"}, {"why t3"}}}))
	r.put(rowOf(7, 3, bot.Outgoing{Text: "to a line that is gone", ReplyTo: "99999"}))
	press := r.srv.Press(7, "ok 14")
	r.put(rowOf(7, 3, bot.Outgoing{Text: "taken", ReplyTo: pressed + press}))
	r.put(rowOf(7, 3, bot.Outgoing{Text: "late", ReplyTo: pressed + "5"}))
	r.sendAll()
	got := r.srv.Sent()
	same(t, "keys", got[0].Keys, [][]string{{"ok 14", "later 14 20m"}, {"why t3"}})
	same(t, "answers", []int{got[0].ReplyTo, got[1].ReplyTo}, []int{id, 0})
	same(t, "the press is answered", []string{got[2].Method, got[2].Text},
		[]string{"answerCallbackQuery", press})
	same(t, "texts", r.sentTo(7),
		[]string{"t3: wash now", "to a line that is gone", "taken", "late"})
}

func TestLongText(t *testing.T) {
	r := newRig(t)
	id := r.srv.Say(7, "slate")
	var lines []string
	for i := range 400 {
		lines = append(lines, fmt.Sprintf("t%d: 4200 kg 😀, since 05:%02d", i, i%60))
	}
	text := strings.Join(lines, "\n")
	nos := r.put(rowOf(7, 3, bot.Outgoing{Text: text, ReplyTo: fmt.Sprint(id),
		Keys: [][]string{{"due"}}}), row(7, 3, "after"))
	r.srv.Fail("sendMessage", 1, fake.Flood(5))
	stop := r.run(r.link.Send)
	r.until("all is sent", r.drained)
	stop()
	got := r.srv.Sent()
	n := len(got) - 1
	if n < 3 {
		t.Fatalf("%d parts", n)
	}
	var parts []string
	for i, m := range got[:n] {
		parts = append(parts, m.Text)
		same(t, "reply at the first only", m.ReplyTo == id, i == 0)
		same(t, "keys at the last only", len(m.Keys) == 1, i == n-1)
	}
	same(t, "nothing is lost", strings.Join(parts, "\n"), text)
	same(t, "order", got[n].Text, "after")
	same(t, "ends", []string{r.ends()[nos[0]], r.ends()[nos[1]]}, []string{"sent", "sent"})
}

func TestUnreachable(t *testing.T) {
	r := newRig(t)
	r.meet(7, 8)
	r.srv.Block(8)
	r.receiveAll()
	nos := r.put(row(8, 1, "d1: air 72"), row(99, 2, "nobody"), row(7, 3, "fine"))
	r.sendAll()
	ends := r.ends()
	for i, says := range []string{"unreachable: Forbidden: bot was blocked by the user",
		"unreachable: Bad Request: chat not found", "sent"} {
		same(t, "end", ends[nos[i]], says)
	}
	slices.Sort(r.shut)
	same(t, "told", r.shut, []string{"telegram:8", "telegram:99"})
	var shut []string
	for _, m := range r.inbox()[1:] { // the first is the server's own word
		if m.Kind != bot.Blocked || m.At == 0 {
			t.Errorf("inbox has %+v", m)
		}
		shut = append(shut, m.From.String())
	}
	slices.Sort(shut)
	same(t, "the desk hears of it", shut, []string{"telegram:8", "telegram:99"})
	same(t, "arrived", r.sentTo(7), []string{"fine"})
}

// TestUnreachableSurvives: the desk's message is on disk before the row is gone.
func TestUnreachableSurvives(t *testing.T) {
	r := newRig(t)
	r.srv.Meet(8)
	r.srv.Block(8)
	no := r.put(row(8, 1, "d1: air 72"))[0]
	r.box.full.Store(true)
	stop := r.run(r.link.Send)
	r.until("refused", func() bool { return len(r.told()) == 1 })
	stop()
	r.box.full.Store(false)
	same(t, "not ended", r.drained(), false)
	r.connect(patient)
	r.sendAll()
	same(t, "told once", len(r.inbox()), 1)
	same(t, "ended", r.ends()[no] != "", true)
}

func TestRefusedIsSetAside(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	nos := r.put(rowOf(7, 3, bot.Outgoing{Text: "a", Keys: [][]string{{""}}}), row(7, 3, "b"),
		row(7, 3, " \n "), journal.Out{Via: Via, To: "rosa", Priority: 3, Body: []byte(`{"Text":"a"}`)},
		journal.Out{Via: Via, To: "7", Priority: 3, Body: []byte("{")})
	r.sendAll()
	ends := r.ends()
	for i, says := range []string{"text is empty", "sent", "there is no text", `"rosa" is no chat`,
		"cannot be read"} {
		if !strings.Contains(ends[nos[i]], says) {
			t.Errorf("row %d ended %q, want %q", i, ends[nos[i]], says)
		}
	}
	same(t, "dropped", len(r.dropped), 4)
	if told := r.told(); len(told) != 1 || !strings.Contains(told[0], "set aside") {
		t.Errorf("told %q", told)
	}
}

func TestMovedChat(t *testing.T) {
	r := newRig(t)
	r.srv.Migrate(-6, -1006000000000)
	r.put(row(-6, 3, "summary"), row(-6, 3, "more"))
	r.sendAll()
	same(t, "arrived", r.sentTo(-1006000000000), []string{"summary", "more"})
	same(t, "asked the old number once", r.srv.Calls("sendMessage"), 3)
	m := r.inbox()
	if len(m) != 1 || m[0].Kind != bot.Moved || m[0].From.ID != "-6" ||
		m[0].To.ID != "-1006000000000" {
		t.Errorf("the desk hears %+v", m)
	}
}

func TestExpired(t *testing.T) {
	r := newRig(t)
	r.meet(7, 8)
	late, soon := row(8, 1, "in 10 minutes"), row(7, 1, "in 20 s")
	late.Expires = state.At(noon()) // at this instant it is already untrue
	soon.Expires = state.At(noon().Add(20 * time.Second))
	nos := r.put(late, soon, row(7, 1, "always"))
	r.srv.Fail("sendMessage", 1, fake.Flood(30).For(7))
	r.sendAll()
	same(t, "arrived", append(r.sentTo(7), r.sentTo(8)...), []string{"always"})
	same(t, "ends", []string{r.ends()[nos[0]], r.ends()[nos[1]]}, []string{"expired", "expired"})
	same(t, "dropped", len(r.dropped), 2)
}

// TestNoAnswer: what went out whole and was not answered. An alarm is sent again, chatter is not.
func TestNoAnswer(t *testing.T) {
	for _, x := range []struct {
		name           string
		how            fake.Fault
		alarm, chatter int    // times arrived
		end            string // the chatter's
	}{
		{"taken, then cut", fake.Swallow(), 2, 1, maybe},
		{"taken, then silence", fake.Stall(), 2, 1, maybe},
		{"taken, and the answer spoilt", fake.Spoil(200, `{"ok":tr`), 2, 1, maybe},
		{"taken, and the gateway tired", fake.Spoil(504, "<html>"), 2, 1, maybe},
		{"a page from the way", fake.Garbage(502, "<html>"), 1, 1, "sent"},
		{"a portal's page", fake.Garbage(302, "<html>"), 1, 1, "sent"},
		{"taken, and described in words of tomorrow", fake.Spoil(200, `{"ok":true,"result":{`+
			`"message_id":1,"paid_media":{"paid_media":[{"type":"unheard of"}]}}}`), 1, 1, "sent"},
	} {
		t.Run(x.name, func(t *testing.T) {
			r := newRig(t)
			if x.name == "taken, then silence" {
				r.connect(time.Second) // the one wait that takes its time
			}
			r.meet(1, 2)
			r.srv.Fail("sendMessage", 1, x.how.For(1))
			r.srv.Fail("sendMessage", 1, x.how.For(2))
			nos := r.put(row(1, 2, "alarm"), row(2, 3, "chatter"))
			r.sendAll()
			same(t, "alarm", len(r.sentTo(1)), x.alarm)
			same(t, "chatter", len(r.sentTo(2)), x.chatter)
			same(t, "ends", []string{r.ends()[nos[0]], r.ends()[nos[1]]}, []string{"sent", x.end})
		})
	}
}

// TestOutOfReach: what cannot have arrived is sent later, chatter too.
func TestOutOfReach(t *testing.T) {
	r := newRig(t)
	r.meet(1, 2)
	r.srv.Down()
	r.put(row(1, 2, "alarm"), row(2, 4, "chatter"))
	stop := r.run(r.link.Send)
	waited := func(n int) func() bool {
		return func() bool { r.mu.Lock(); defer r.mu.Unlock(); return len(r.waits) >= n }
	}
	r.until("it backs off", waited(8))
	if err := r.srv.Up(); err != nil {
		t.Fatal(err)
	}
	r.until("all is sent", r.drained)
	stop()
	same(t, "arrived", append(r.sentTo(1), r.sentTo(2)...), []string{"alarm", "chatter"})
	var pauses []int
	for _, d := range r.waits[:8] {
		if s := int(d / time.Second); len(pauses) == 0 || s != pauses[len(pauses)-1] {
			pauses = append(pauses, s)
		}
	}
	same(t, "pauses", pauses, []int{1, 2, 4, 8, 16, 30})
	if told := r.told(); len(told) == 0 || !strings.Contains(told[0], "cannot be sent") {
		t.Errorf("told %q", told)
	}
}

// TestRetryAfter: the chat waits as long as it was told, the others do not.
func TestRetryAfter(t *testing.T) {
	r := newRig(t)
	r.meet(1, 2)
	r.srv.Fail("sendMessage", 1, fake.Flood(40).For(1))
	no := r.put(row(1, 1, "alarm"), row(2, 4, "chatter"))[0]
	stop := r.run(r.link.Send)
	r.until("all is sent", r.drained)
	stop()
	if at := r.times(1)[0]; at < 40 || at > 40.1 {
		t.Errorf("sent after %.1f s, told 40", at)
	}
	if at := r.times(2)[0]; at > 1 {
		t.Errorf("another chat waited %.1f s", at)
	}
	list, err := r.box.Endings(0)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(list, func(e journal.Ended) bool { return e.No == no })
	same(t, "failed once", list[i].Tries, 1)
}

func TestDeadTokenKeepsRows(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	r.srv.Fail("sendMessage", 2, fake.Refuse(401, "Unauthorized"))
	r.put(row(7, 4, "a"))
	r.sendAll()
	same(t, "arrived", r.sentTo(7), []string{"a"})
	if at := r.times(7)[0]; at < 60 {
		t.Errorf("three tries in %.1f s", at)
	}
	if told := r.told(); len(told) != 1 || !strings.Contains(told[0], "LOTBELL_TELEGRAM_TOKEN") {
		t.Errorf("told %q", told)
	}
}

// TestOutcomeNotOnDisk: a message whose end cannot be written is not sent again meanwhile.
func TestOutcomeNotOnDisk(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	no := r.put(row(7, 3, "a"))[0]
	r.box.full.Store(true)
	stop := r.run(r.link.Send)
	r.until("several tries to write", func() bool {
		r.mu.Lock()
		defer r.mu.Unlock()
		return len(r.waits) >= 3
	})
	r.box.full.Store(false)
	r.until("written", r.drained)
	stop()
	same(t, "arrived", r.sentTo(7), []string{"a"})
	same(t, "end", r.ends()[no], "sent")
	if told := r.told(); len(told) != 1 || !strings.Contains(told[0], "sent twice") {
		t.Errorf("told %q", told)
	}
}

// TestStopFinishes: a request under way is waited for and its outcome noted.
func TestStopFinishes(t *testing.T) {
	r := newRig(t)
	r.meet(1, 2)
	nos := r.put(row(1, 3, "a"), row(1, 3, "b"))
	r.srv.Hold()
	stop := r.run(r.link.Send)
	r.until("one is under way", func() bool { return len(r.srv.Flying()) == 1 })
	ended := make(chan struct{})
	go func() { stop(); close(ended) }()
	r.srv.Release()
	<-ended
	same(t, "the first has ended", r.ends()[nos[0]], "sent")
	r.connect(patient)
	r.sendAll()
	same(t, "each arrived once", r.sentTo(1), []string{"a", "b"})
}
