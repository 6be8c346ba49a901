package telegram

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram/fake"
	"lotbell/state/journal"
)

// childEnv tells this test's binary to be the program that is killed: address, journal and hour.
const childEnv = "LOTBELL_TELEGRAM_TEST_CHILD"

type childSpec struct {
	URL, Path string
	Hour      int
}

// TestKilled kills a program that fetches, answers and sends, at random under load. No update is
// lost, none is answered by two rows, every answer arrives, and to each chat in order.
func TestKilled(t *testing.T) {
	if raw := os.Getenv(childEnv); raw != "" {
		beChild(t, raw)
		return
	}
	kills, each := 25, 20
	if testing.Short() {
		kills = 4
	}
	srv, err := fake.New(token4711, noon())
	if err != nil {
		t.Fatal(err)
	}
	defer srv.Close()
	ctx, stop := context.WithTimeout(t.Context(), 2*time.Minute)
	defer stop()
	spec := childSpec{srv.URL(), filepath.Join(t.TempDir(), "mill.db"), 0}
	dice := rand.New(rand.NewPCG(5, 6))
	want := map[int64][]string{}
	for n := range kills {
		for i := range each {
			chat, text := int64(1+dice.IntN(30)), fmt.Sprintf("line %d", n*each+i)
			want[chat] = append(want[chat], text)
			srv.Say(chat, text)
		}
		confirmed := len(srv.Confirmed()) + dice.IntN(each)
		sent := len(srv.Sent()) + dice.IntN(each)
		end := startChild(t, spec, n)
		if err := srv.Until(ctx, func() bool {
			return len(srv.Confirmed()) >= confirmed && len(srv.Sent()) >= sent
		}); err != nil {
			t.Fatal(err)
		}
		end()
		srv.Advance(time.Second)
	}
	end := startChild(t, spec, kills)
	first := func(chat int64) (list []string) {
		for _, m := range srv.Sent() {
			if m.Chat == chat && !slices.Contains(list, m.Text) {
				list = append(list, m.Text)
			}
		}
		return list
	}
	if err := srv.Until(ctx, func() bool {
		n := 0
		for chat := range want {
			n += len(first(chat))
		}
		return n == kills*each
	}); err != nil {
		t.Fatal(err)
	}
	end()
	for chat, texts := range want {
		same(t, fmt.Sprint("chat ", chat), first(chat), texts)
	}
	rows := answerRows(t, spec.Path)
	same(t, "rows", rows, kills*each)
	t.Logf("%d kills, %d updates, %d sendings of %d answers", kills, kills*each, len(srv.Sent()), rows)
}

// answerRows counts the rows of the outbox ever made.
func answerRows(t *testing.T, path string) int {
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	ended, err := db.Endings(0)
	if err != nil {
		t.Fatal(err)
	}
	unsent, err := db.Outbox(Via, 0)
	if err != nil {
		t.Fatal(err)
	}
	return len(ended) + len(unsent)
}

// startChild starts the program and gives the function that kills it.
func startChild(t *testing.T, spec childSpec, hour int) (end func()) {
	t.Helper()
	spec.Hour = hour
	raw, err := json.Marshal(spec)
	if err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), self, "-test.run=^TestKilled$", "-test.timeout=1m")
	c.Env = append(os.Environ(), childEnv+"="+string(raw))
	c.Stdout, c.Stderr = os.Stderr, os.Stderr
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	return func() {
		_ = c.Process.Kill() // an end by itself is seen by what is missing
		_ = c.Wait()         // killed is what it is
	}
}

// beChild is a small program around a link: it answers every line with the line, each in one
// commit with the row it answers. Its clock moves by its waits, so that it takes no time.
func beChild(t *testing.T, raw string) {
	var spec childSpec
	if err := json.Unmarshal([]byte(raw), &spec); err != nil {
		t.Fatal(err)
	}
	db, err := journal.Open(spec.Path, journal.Options{Timeout: 10 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	var passed atomic.Int64
	link, err := New(Options{Token: token4711, URL: spec.URL,
		Now: func() time.Time {
			return noon().Add(time.Duration(spec.Hour)*time.Hour + time.Duration(passed.Load()))
		},
		Wait: func(ctx context.Context, d time.Duration) error {
			passed.Add(int64(d))
			return ctx.Err()
		}}, db)
	if err != nil {
		t.Fatal(err)
	}
	go func() { _ = link.Receive(t.Context()) }()
	go func() { _ = link.Send(t.Context()) }()
	for range db.Arrived() {
		rows, err := db.Inbox(0)
		if err != nil {
			t.Fatal(err)
		}
		for _, in := range rows {
			m, err := Decode(in.Raw)
			if err != nil {
				t.Fatal(err)
			}
			out, err := json.Marshal(bot.Outgoing{Text: m.Text})
			if err != nil {
				t.Fatal(err)
			}
			if err := db.Commit(&journal.Batch{Handled: []uint64{in.No}, Out: []journal.Out{
				{Via: Via, To: m.From.ID, Priority: 3, Body: out}}}); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// BenchmarkReceive: a thousand updates that wait, into a journal on disk.
func BenchmarkReceive(b *testing.B) {
	benchmark(b, func(r *rig) {
		for i := range 1000 {
			r.srv.Say(int64(1+i%20), "t3 top 21,5 mid 23 ph 4.9")
		}
	}, func(r *rig) {
		stop := r.run(r.link.Receive)
		r.until("all is confirmed", func() bool { return r.srv.Waiting() == 0 })
		stop()
	})
}

// BenchmarkSend: a thousand answers to twenty chats, with the pacing's waits taking no time.
func BenchmarkSend(b *testing.B) {
	benchmark(b, func(r *rig) {
		var rows []journal.Out
		for i := range 1000 {
			r.srv.Meet(int64(1 + i%20))
			rows = append(rows, row(int64(1+i%20), 3, "t3: 4200 kg, full; hand test at 19:20"))
		}
		r.put(rows...)
	}, func(r *rig) {
		stop := r.run(r.link.Send)
		r.until("all is asked", func() bool { return r.srv.Calls("sendMessage") == 1000 })
		r.until("all is sent", r.drained)
		stop()
	})
}

func benchmark(b *testing.B, prepare, do func(*rig)) {
	for b.Loop() {
		b.StopTimer()
		r := newRigOn(b, journal.Options{})
		prepare(r)
		b.StartTimer()
		do(r)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/1000, "µs/message")
}
