package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram"
	"lotbell/bot/telegram/fake"
	"lotbell/state"
	"lotbell/state/journal"
)

// lineOf is what worker i writes as the n-th message: all lines differ, and some ring.
func lineOf(i, n int) string {
	switch n {
	case 0:
		return fmt.Sprintf("t%d add %d", i+1, 3000+i)
	case 1:
		return fmt.Sprintf("d%d load 2%03dkg", i+1, 100+i)
	case 2:
		return fmt.Sprintf("d%d %d", i+1, 50+i%9)
	case 3:
		if i < 6 {
			return fmt.Sprintf("t%d rough", i+1) // the manager is called
		}
		return fmt.Sprintf("t%d slippery", i+1)
	}
	if i < 20 && n == 4 {
		return fmt.Sprintf("d%d %d", i+1, 71+i%9) // over 70 C: an alarm
	}
	return fmt.Sprintf("t%d ph %d.%02d", i+1, 4+i%2, n)
}

// TestServeKilled kills the real serve 100 times under load, with updates offered twice after half
// of the kills and the network cut after some. Nothing may be lost and nothing taken twice: each
// line stands once in the journal, each has its answer, every call that rang was sent, and the
// mill is that of a run that nobody killed.
func TestServeKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills the real program")
	}
	const workers, lines, kills = 40, 10, 100
	const each = workers * lines / kills
	program, dir, at := builtProgram(t), t.TempDir(), time.Now()
	path := filepath.Join(dir, "mill.db")
	serveMill(t, path, workers, at)
	far := farSide(t, at, workers)
	ctx, cancel := context.WithTimeout(t.Context(), 120*time.Second)
	defer cancel()
	sent, dice := map[int64][]string{}, rand.New(rand.NewPCG(7, 8))
	cmd := startServe(t, program, path, far.URL())
	for k := range kills {
		far.Advance(time.Second)
		for n := k * each; n < (k+1)*each; n++ {
			who, line := int64(1000+n%workers), lineOf(n%workers, n/workers)
			far.Say(who, line)
			sent[who] = append(sent[who], line)
		}
		confirmed := k*each + dice.IntN(each+1)
		messages := len(far.Sent()) + dice.IntN(4)
		if err := far.Until(ctx, func() bool {
			return len(far.Confirmed()) >= confirmed && len(far.Sent()) >= messages
		}); err != nil {
			t.Fatalf("before kill %d: %v", k, err)
		}
		killed(t, cmd)
		far.Repeat(3 * (k % 2))
		if k%10 == 9 {
			far.Down()
		}
		cmd = startServe(t, program, path, far.URL())
		if err := far.Up(); err != nil {
			t.Fatal(err)
		}
	}
	last := time.Now()
	if err := far.Until(ctx, func() bool {
		return far.Waiting() == 0 && len(unanswered(far, sent)) == 0
	}); err != nil {
		t.Errorf("%d wait, not answered: %v", far.Waiting(), unanswered(far, sent))
	}
	drained := time.Since(last)
	stopped(t, cmd)
	checkLines(t, path, workers, lines)
	calls := checkJournal(t, path, far)
	calm := filepath.Join(dir, "calm.db")
	serveMill(t, calm, workers, at)
	a, b := slateOf(t, path), calmSlate(t, calm, workers, lines, at)
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) || a[i] != b[i] {
			t.Fatalf("the mill says %q, of a run that nobody killed %q", a[i:], b[i:])
		}
	}
	t.Logf("%d kills in %.1f s, %d updates, %d calls rang, %d requests taken; the last answers went "+
		"out in %.1f s", kills, last.Sub(at).Seconds(), workers*lines, calls, len(far.Sent()),
		drained.Seconds())
}

// unanswered counts the messages of each chat that no message of the bot answers.
func unanswered(far *fake.Server, sent map[int64][]string) map[int64]int {
	replies := map[int64]map[int]bool{}
	for _, m := range far.Sent() {
		if m.ReplyTo != 0 {
			if replies[m.Chat] == nil {
				replies[m.Chat] = map[int]bool{}
			}
			replies[m.Chat][m.ReplyTo] = true
		}
	}
	out := map[int64]int{}
	for chat, lines := range sent {
		if n := len(lines) - len(replies[chat]); n > 0 {
			out[chat] = n
		}
	}
	return out
}

// checkLines holds a journal to what was written to it: each line stands there once.
func checkLines(t *testing.T, path string, workers, lines int) {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	es, err := db.Load()
	if err != nil {
		t.Fatal(err)
	}
	times := map[string]int{}
	for _, e := range es {
		if e.Seq == e.Msg && e.By != 0 {
			text, err := db.Words(e.Msg)
			if err != nil {
				t.Fatal(err)
			}
			times[text]++
		}
	}
	for i := range workers {
		for n := range lines {
			if k := times[lineOf(i, n)]; k != 1 {
				t.Errorf("%q stands %d times in the journal", lineOf(i, n), k)
			}
		}
	}
}

// checkJournal holds the sendings to the journal: each call that rang was sent, no alarm given up.
// It returns how many calls rang, counted for each person.
func checkJournal(t *testing.T, path string, far *fake.Server) int {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	es, err := db.Load()
	if err != nil {
		t.Fatal(err)
	}
	rang := map[string]bool{}
	for _, e := range es {
		if s, ok := e.Body.(state.CallStep); ok && s.What == state.Rang {
			for _, id := range s.To {
				rang[fmt.Sprintf("(%d)/%d", s.Number, id)] = true
			}
		}
	}
	if len(rang) < 20 {
		t.Errorf("only %d calls rang", len(rang))
	}
	calls := len(rang)
	cards, err := db.Cards()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cards {
		for _, m := range far.Sent() {
			if slices.Contains(c.At, fmt.Sprintf("telegram:%d", m.Chat)) {
				for _, number := range called.FindAllString(m.Text, -1) {
					delete(rang, fmt.Sprintf("%s/%d", number, c.Person))
				}
			}
		}
	}
	if len(rang) > 0 {
		t.Errorf("calls that rang and were never sent: %v", rang)
	}
	ends, err := db.Endings(0)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range ends {
		if e.Dead != "" && e.Priority <= 2 {
			t.Errorf("an alarm was given up: %s", e.Dead)
		}
	}
	return calls
}

// called is a call's number in a message; one message may hold many.
var called = regexp.MustCompile(`\(\d+\)`)

// timeless takes clock times and call numbers out of a slate: calls of one instant may be numbered
// in the order in which the messages came.
var timeless = regexp.MustCompile(`\d\d:\d\d|\(\d+\) |\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun) `)

// slateOf is the slate of a journal without times, in a fixed order.
func slateOf(t *testing.T, path string) []string {
	t.Helper()
	db, err := journal.Open(path, journal.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	desk, err := bot.Open(db, bot.Options{})
	if err != nil {
		t.Fatal(err)
	}
	lines := desk.Slate("en", state.At(time.Now()))
	for i := range lines {
		lines[i] = timeless.ReplaceAllString(lines[i], "")
	}
	slices.Sort(lines)
	return lines
}

// calmSlate runs the same messages through a desk in this process that nobody kills.
func calmSlate(t *testing.T, path string, workers, lines int, at time.Time) []string {
	t.Helper()
	db, err := journal.Open(path, journal.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	desk, err := bot.Open(db, bot.Options{Program: version, Decode: map[string]bot.Decode{
		telegram.Via: bot.DecodeJSON}})
	if err != nil {
		t.Fatal(err)
	}
	now := state.At(at)
	for n := range lines {
		now = now.Add(time.Second)
		for i := range workers {
			now = now.Add(time.Millisecond)
			raw := fmt.Appendf(nil, `{"From":{"Via":"telegram","ID":"%d"},"ID":"%d","At":%d,`+
				`"Kind":"text","Text":%q}`, 1000+i, n, now, lineOf(i, n))
			if _, err := db.Receive([]journal.In{{Via: telegram.Via, ID: fmt.Sprint(n, "-", i),
				Raw: raw, Got: now}}, nil); err != nil {
				t.Fatal(err)
			}
			if err := desk.Run(now); err != nil {
				t.Fatal(err)
			}
		}
	}
	db.Close()
	return slateOf(t, path)
}
