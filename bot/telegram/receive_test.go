package telegram

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"strings"
	"testing"
	"time"

	"lotbell/bot/telegram/fake"
	"lotbell/state"
)

// receive runs the receiving loop; stop also waits until the server has noticed that the last poll
// is gone.
func (r *rig) receive() (stop func()) {
	end := r.run(r.link.Receive)
	return func() {
		r.t.Helper()
		end()
		r.until("the poll has ended", func() bool { return !r.srv.Polling() })
	}
}

// receiveAll runs the receiving loop until the server has nothing left and a poll waits.
func (r *rig) receiveAll() {
	r.t.Helper()
	stop := r.receive()
	r.until("everything is confirmed", func() bool {
		return r.srv.Waiting() == 0 && r.srv.Polling()
	})
	stop()
}

func say(r *rig, from, n int) []string {
	var want []string
	for i := range n {
		want = append(want, fmt.Sprintf("t3 top %d,5", from+i))
		r.srv.Say(int64(7+i%5), want[i])
	}
	return want
}

func TestStoredBeforeConfirmedAndInOrder(t *testing.T) {
	r := newRig(t)
	want := say(r, 0, 250)
	r.srv.OnConfirm(func(id int64) {
		if !r.box.has(id) {
			t.Errorf("update %d was confirmed before it was stored", id)
		}
	})
	r.receiveAll()
	same(t, "inbox", texts(r.inbox()), want)
	same(t, "confirmed", len(r.srv.Confirmed()), 250)
}

// TestDiesAroundTheStore ends the program right before and right after a batch is stored, at
// random, and starts it again.
func TestDiesAroundTheStore(t *testing.T) {
	r := newRig(t)
	dice := rand.New(rand.NewPCG(3, 4))
	var want []string
	for range 30 {
		want = append(want, say(r, len(want), 1+dice.IntN(120))...)
		ctx, die := context.WithCancel(r.ctx)
		before := dice.IntN(2) == 0
		r.box.mu.Lock()
		r.box.around = func(store func() error) error {
			defer die()
			if before {
				return errFull
			}
			if err := store(); err != nil {
				return err
			}
			return errFull // the program never hears that it was stored
		}
		r.box.mu.Unlock()
		if err := r.link.Receive(ctx); err != nil {
			t.Fatal(err)
		}
		r.srv.Advance(time.Second)
		r.connect(patient)
	}
	r.box.mu.Lock()
	r.box.around = nil
	r.box.mu.Unlock()
	r.receiveAll()
	same(t, "inbox", texts(r.inbox()), want)
}

func TestRepeatsAreSkipped(t *testing.T) {
	r := newRig(t)
	want := say(r, 0, 20)
	r.receiveAll()
	r.srv.Repeat(15)
	more := say(r, 20, 5)
	r.srv.Advance(time.Second)
	r.receiveAll()
	same(t, "inbox", texts(r.inbox()), append(want, more...))
}

// TestIdsBeginAnew: after a silent week ids are random, and may be lower (manual, Update).
func TestIdsBeginAnew(t *testing.T) {
	r := newRig(t)
	say(r, 0, 2)
	r.receiveAll()
	r.srv.Advance(8 * 24 * time.Hour)
	say(r, 2, 2)
	r.receiveAll()
	same(t, "inbox", len(r.inbox()), 4)
}

func TestPoisonBlocksNobody(t *testing.T) {
	r := newRig(t)
	r.srv.Say(7, "t3 rough")
	r.srv.Raw(`"message":5`)
	r.srv.Raw(`"message_reaction":{"new_reaction":[{"type":"unheard of"}]}`)
	r.srv.Raw(`"my_chat_member":{"chat":{"id":7},"new_chat_member":{"status":"ghost"}}`)
	r.srv.Message(8, 8, map[string]any{"text": "d1 57", "reply_to_message": map[string]any{
		"message_id": 1, "paid_media": map[string]any{"paid_media": []any{
			map[string]any{"type": "unheard of"}}}}})
	r.srv.Say(7, "t3 slippery")
	r.receiveAll()
	got := texts(r.inbox())
	if len(got) != 6 {
		t.Fatalf("inbox %q", got)
	}
	same(t, "the good ones", []string{got[0], got[4], got[5]},
		[]string{"t3 rough", "d1 57", "t3 slippery"})
	for _, s := range got[1:4] {
		if !strings.HasPrefix(s, "? telegram: ") {
			t.Errorf("poison was read as %q", s)
		}
	}
}

// TestPollsThatFail: what is waited, and what the operator is told, for everything that a poll
// can meet.
func TestPollsThatFail(t *testing.T) {
	conflict := "Conflict: terminated by other getUpdates request"
	webhook := "Conflict: can't use getUpdates method while webhook is active"
	for _, x := range []struct {
		name  string
		n     int
		how   fake.Fault
		waits []int // seconds
		told  string
	}{
		{"one lost request", 1, fake.Cut(), []int{1}, ""},
		{"a far side in trouble", 8, fake.Refuse(502, "Bad Gateway"),
			[]int{1, 2, 4, 8, 16, 30, 30, 30}, "cannot be fetched (telegram refused (502)"},
		{"retry_after", 3, fake.Flood(17), []int{17, 17, 17}, ""},
		{"a second program", 3, fake.Refuse(409, conflict), []int{1, 2, 4}, "a second program"},
		{"a webhook", 2, fake.Refuse(409, webhook), []int{1, 2}, "deleteWebhook"},
		{"a dead token", 2, fake.Refuse(401, "Unauthorized"), []int{1, 2}, "LOTBELL_TELEGRAM_TOKEN"},
		{"a proxy's page", 3, fake.Garbage(200, "<html>"), []int{1, 2, 4}, "no answer"},
		{"half an answer", 3, fake.Garbage(200, `{"ok":true,"resu`), []int{1, 2, 4}, "no answer"},
		{"a yes without a list", 3, fake.Garbage(200, `{"ok":true,"result":{}}`), []int{1, 2, 4},
			"no list"},
		{"updates without an id", 2, fake.Garbage(200, `{"ok":true,"result":[{"message":{}},5]}`),
			[]int{1, 2}, "without an id"},
		{"polls that are not held", 3, fake.Garbage(200, `{"ok":true,"result":[]}`),
			[]int{1, 1, 1}, ""},
		{"more than any answer has", 1, fake.Garbage(200, strings.Repeat("x", answerLimit+1)),
			[]int{1}, ""},
	} {
		t.Run(x.name, func(t *testing.T) {
			r := newRig(t)
			r.srv.Fail("getUpdates", x.n, x.how)
			want := say(r, 0, 3)
			r.receiveAll()
			same(t, "inbox", texts(r.inbox()), want)
			var waits []int
			for _, d := range r.waits {
				waits = append(waits, int(d/time.Second))
			}
			same(t, "waits", waits, x.waits)
			switch told := r.told(); {
			case x.told == "" && len(told) > 0:
				t.Errorf("told for nothing: %q", told)
			case x.told != "" && (len(told) != 1 || !strings.Contains(told[0], x.told)):
				t.Errorf("told %q, want once %q", told, x.told)
			}
		})
	}
}

// TestBackoffBeginsAnew: a poll that works ends the row of failures.
func TestBackoffBeginsAnew(t *testing.T) {
	r := newRig(t)
	for range 3 {
		r.srv.Fail("getUpdates", 2, fake.Cut())
		r.srv.Say(7, "due")
		stop := r.receive()
		r.until("it is fetched", func() bool { return r.srv.Waiting() == 0 })
		r.srv.Fail("getUpdates", 1, fake.Cut().For(0))
		r.until("a poll waits", r.srv.Polling)
		r.srv.Advance(pollSeconds * time.Second) // it ends, and the next one fails
		r.until("one more failure", func() bool {
			r.mu.Lock()
			defer r.mu.Unlock()
			return len(r.waits)%3 == 0
		})
		stop()
	}
	for i, d := range r.waits {
		if want := []time.Duration{1, 2, 1}[i%3] * time.Second; d != want {
			t.Errorf("wait %d: %v, want %v", i, d, want)
		}
	}
}

// TestGoesOnWhereItWas: the first poll after a restart confirms what was stored before.
func TestGoesOnWhereItWas(t *testing.T) {
	r := newRig(t)
	want := say(r, 0, 3)
	ctx, die := context.WithCancel(r.ctx)
	r.box.around = func(store func() error) error { defer die(); return store() }
	if err := r.link.Receive(ctx); err != nil {
		t.Fatal(err)
	}
	same(t, "nothing is confirmed yet", r.srv.Waiting(), 3)
	r.box.around = nil
	r.connect(patient)
	polls := r.srv.Calls("getUpdates")
	r.receiveAll()
	same(t, "one poll was enough", r.srv.Calls("getUpdates")-polls, 1)
	same(t, "inbox", texts(r.inbox()), want)
}

func TestPollWithoutAnswer(t *testing.T) {
	r := newRig(t)
	r.link.poll.client.Timeout = 50 * time.Millisecond
	r.srv.Fail("getUpdates", 1, fake.Stall())
	want := say(r, 0, 1)
	stop := r.receive()
	r.until("it is fetched", func() bool { return len(r.inbox()) == 1 })
	stop()
	same(t, "inbox", texts(r.inbox()), want)
}

// TestTroubleIsToldOver: once when it comes, once when it has been away for a while.
func TestTroubleIsToldOver(t *testing.T) {
	r := newRig(t)
	conflict := fake.Refuse(409, "Conflict: terminated by other getUpdates request")
	r.srv.Fail("getUpdates", 1, conflict)
	stop := r.receive()
	quiet := func() { // a whole poll without updates
		r.t.Helper()
		r.until("a poll waits", r.srv.Polling)
		n := r.srv.Calls("getUpdates")
		r.srv.Advance(pollSeconds * time.Second)
		r.until("the next one waits", func() bool {
			return r.srv.Calls("getUpdates") > n && r.srv.Polling()
		})
	}
	quiet()
	r.srv.Fail("getUpdates", 1, conflict)
	quiet()
	quiet()
	same(t, "it comes and goes", len(r.told()), 1)
	quiet()
	quiet()
	stop()
	if told := r.told(); len(told) != 2 || !strings.Contains(told[1], "nobody else") {
		t.Errorf("told %q", told)
	}
}

func TestFullDisk(t *testing.T) {
	r := newRig(t)
	want := say(r, 0, 3)
	r.box.full.Store(true)
	stop := r.receive()
	r.until("three tries", func() bool { r.mu.Lock(); defer r.mu.Unlock(); return len(r.waits) >= 3 })
	same(t, "confirmed", len(r.srv.Confirmed()), 0)
	same(t, "shown once each", r.unkept, want)
	told := r.told()
	if len(told) != 1 || !strings.Contains(told[0], "no space left") ||
		!strings.Contains(told[0], "make room") {
		t.Errorf("told %q", told)
	}
	r.box.full.Store(false)
	r.until("stored", func() bool { return r.srv.Waiting() == 0 })
	stop()
	same(t, "inbox", texts(r.inbox()), want)
}

func TestMissedAfterADay(t *testing.T) {
	r := newRig(t)
	r.srv.Say(7, "due")
	r.receiveAll()
	r.srv.Advance(20 * time.Hour)
	r.srv.Say(7, "due")
	r.receiveAll()
	same(t, "after 20 hours", len(r.missed), 0)
	last := state.At(r.srv.Now())
	r.srv.Advance(30 * time.Hour)
	r.srv.Say(7, "due")
	r.receiveAll()
	same(t, "after 30 hours", r.missed,
		[][2]state.Instant{{last, last.Add(6 * time.Hour)}})
}

// TestStopKeepsTheBatch ends the loop after an answer has arrived and before it is stored.
func TestStopKeepsTheBatch(t *testing.T) {
	r := newRig(t)
	want := say(r, 0, 3)
	ctx, stop := context.WithCancel(r.ctx)
	road := r.link.poll.client.Transport
	r.link.poll.client.Transport = trip(func(req *http.Request) (*http.Response, error) {
		resp, err := road.RoundTrip(req)
		if err != nil {
			return nil, err
		}
		body, err := io.ReadAll(resp.Body)
		resp.Body = io.NopCloser(strings.NewReader(string(body)))
		stop()
		return resp, err
	})
	if err := r.link.Receive(ctx); err != nil {
		t.Fatal(err)
	}
	same(t, "inbox", texts(r.inbox()), want)
}

type trip func(*http.Request) (*http.Response, error)

func (f trip) RoundTrip(r *http.Request) (*http.Response, error) { return f(r) }

func TestAsksForWhatItReads(t *testing.T) {
	r := newRig(t)
	r.receiveAll()
	var kept []string
	for _, kind := range []string{"message", "edited_message", "callback_query", "my_chat_member",
		"chat_member", "channel_post", "poll"} {
		if r.srv.Push(kind, map[string]any{}) != 0 {
			kept = append(kept, kind)
		}
	}
	same(t, "kinds", kept, []string{"message", "edited_message", "callback_query",
		"my_chat_member"})
}

func TestBadCursor(t *testing.T) {
	r := newRig(t)
	if _, err := r.box.DB.Receive(nil, map[string]string{offsetCursor: "x"}); err != nil {
		t.Fatal(err)
	}
	want := say(r, 0, 2)
	r.receiveAll()
	same(t, "inbox", texts(r.inbox()), want)
}
