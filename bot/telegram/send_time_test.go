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
	"lotbell/state"
	"lotbell/state/journal"
)

// TestLater: a row planned for later lets others pass; one that failed before a restart does not.
func TestLater(t *testing.T) {
	r := newRig(t)
	r.meet(1, 2)
	planned := row(1, 3, "at six")
	planned.NotBefore = state.At(noon().Add(time.Hour))
	failed := r.put(planned, row(1, 3, "now"), row(2, 3, "first"), row(2, 3, "second"))[2]
	if err := r.box.DB.Retry(failed, state.At(noon().Add(time.Minute))); err != nil {
		t.Fatal(err)
	}
	r.sendAll()
	same(t, "planned", r.sentTo(1), []string{"now", "at six"})
	if at := r.times(1)[1]; at < 3600 || at > 3601 {
		t.Errorf("planned for 3600 s, sent at %.0f", at)
	}
	same(t, "failed", r.sentTo(2), []string{"first", "second"})
	if at := r.times(2)[0]; at < 60 || at > 61 {
		t.Errorf("due again at 60 s, sent at %.0f", at)
	}
}

// TestWithdrawn: what the desk takes back or replaces while something else is under way is not
// sent, though the loop knew it already and nobody woke it.
func TestWithdrawn(t *testing.T) {
	r := newRig(t)
	r.meet(7, 8)
	first := row(7, 3, "in 30 minutes")
	first.Key = "t3"
	nos := r.put(first, row(7, 3, "nonsense"), row(7, 3, "kept"))
	r.srv.Fail("sendMessage", 1, fake.Flood(30).For(7))
	r.srv.Hold()
	stop := r.run(r.link.Send)
	r.until("the first is under way", func() bool { return len(r.srv.Flying()) == 1 })
	newer := row(7, 3, "in 20 minutes")
	newer.Key = "t3"
	r.put(newer, row(8, 1, "now"))
	r.until("the new rows are seen", func() bool { return slices.Contains(r.srv.Flying(), 8) })
	if err := r.box.Commit(&journal.Batch{Drop: []uint64{nos[1]}}); err != nil {
		t.Fatal(err)
	}
	r.srv.Release()
	r.until("all is sent", r.drained)
	stop()
	same(t, "arrived", r.sentTo(7), []string{"kept", "in 20 minutes"})
}

// TestClockThatWasAhead: what was written, or is to be tried again, by a clock that was a year ahead.
// An alarm goes out now; what would be true for a while only does not.
func TestClockThatWasAhead(t *testing.T) {
	r := newRig(t)
	r.meet(1, 2, 3)
	year := state.At(noon().AddDate(1, 0, 0))
	prompt, heat := row(1, 3, "in 10 minutes"), row(2, 1, "d1: air 72")
	for _, o := range []*journal.Out{&prompt, &heat} {
		o.Made, o.Expires = year, year.Add(10*time.Minute)
	}
	nos := r.put(prompt, row(1, 3, "answer"), heat, row(3, 1, "d2: air 72"))
	if err := r.box.DB.Retry(nos[3], year.Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	r.sendAll()
	same(t, "arrived", [][]string{r.sentTo(1), r.sentTo(2), r.sentTo(3)},
		[][]string{{"answer"}, {"d1: air 72"}, {"d2: air 72"}})
	same(t, "given up", r.ends(), map[uint64]string{nos[0]: "written by a clock that was ahead",
		nos[1]: "sent", nos[2]: "sent", nos[3]: "sent"})
	if at := r.times(3)[0]; at > 60 {
		t.Errorf("tried again after %.0f s", at)
	}
}

// TestClockSetBack: hours that are undone do not keep an alarm waiting.
func TestClockSetBack(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	r.link.o.Wait = func(ctx context.Context, d time.Duration) error {
		if r.link.UnderWay() > 0 {
			<-ctx.Done()
			return ctx.Err()
		}
		r.srv.Set(noon().Add(d - 5*time.Hour))
		return ctx.Err()
	}
	r.srv.Fail("sendMessage", 1, fake.Flood(30))
	r.put(row(7, 1, "d1: air 72"))
	r.sendAll()
	if at := r.times(7)[0]; at > -4*3600 {
		t.Errorf("sent at %.0f s after noon, of a clock that was set back by 5 h", at)
	}
}

// TestCourtesyAfterClockSetBack: a chat that has used up its courtesy does not wait until the clock
// has caught up.
func TestCourtesyAfterClockSetBack(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	stop := r.run(r.link.Send)
	for range chatAtOnce {
		r.put(row(7, 3, "before"))
	}
	r.until("the first are sent", r.drained)
	r.srv.Set(noon().Add(-5 * time.Hour))
	for range 2 * chatAtOnce {
		r.put(row(7, 3, "after"))
	}
	r.until("all is sent", r.drained)
	stop()
	if at := r.times(7)[len(r.srv.Sent())-1]; at > -5*3600+10 {
		t.Errorf("the last went out %.0f s after noon", at)
	}
}

// TestWakesForNewRows: the loop sleeps without rows and needs no clock to wake.
func TestWakesForNewRows(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	stop := r.run(r.link.Send)
	for i := range 5 {
		r.put(row(7, 1, fmt.Sprint(i)))
		r.until("it is sent", func() bool { return len(r.sentTo(7)) == i+1 })
	}
	r.until("noted", r.drained)
	stop()
	same(t, "waits", len(r.waits), 0)
}

func TestSay(t *testing.T) {
	r := newRig(t)
	r.meet(7)
	long := strings.Repeat("keep it on paper ", 300)
	if err := r.link.Say(r.ctx, "7", bot.Outgoing{Text: long}); err != nil {
		t.Fatal(err)
	}
	same(t, "parts", len(r.sentTo(7)), 2)
	r.srv.Fail("sendMessage", 1, fake.Spoil(200, `{"ok":true,"result":{"message_id":"?"}}`))
	if err := r.link.Say(r.ctx, "7", bot.Outgoing{Text: "taken"}); err != nil {
		t.Errorf("a yes in words of tomorrow: %v", err)
	}
	for id, says := range map[string]string{"rosa": "such as 4711", "99": "chat not found"} {
		err := r.link.Say(r.ctx, id, bot.Outgoing{Text: "a"})
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", id, err)
		}
	}
}
