package journal

import (
	"fmt"
	"path/filepath"
	"reflect"
	"testing"

	"lotbell/state"
)

// isSignalled takes a signal if there is one.
func isSignalled(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

// TestOnce takes a message once, whatever its transport repeats, and counts the fresh ones.
func TestOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mill.db")
	d := open(t, path)
	rows := []In{{Via: "tg", ID: "7", Raw: []byte("hi\x00\xff"), Got: 5}, {Via: "tg", ID: "8"},
		{Via: "tg", ID: "7", Raw: []byte("other")}, {Via: "sms", ID: "7"}, {Via: "tty"},
		{Via: "tty"}}
	n, err := d.Receive(rows, map[string]string{"tg": "9"})
	if err != nil || n != 5 {
		t.Fatalf("%d fresh, %v; want 5", n, err)
	}
	if !isSignalled(d.Arrived()) {
		t.Fatal("no signal")
	}
	must(t, d.Commit(&Batch{Handled: []uint64{1, 3}}))
	must(t, d.Close())
	d = open(t, path)
	if !isSignalled(d.Arrived()) {
		t.Fatal("no signal after opening")
	}
	n, err = d.Receive(rows[:4], map[string]string{"tg": "10"})
	if err != nil || n != 0 || isSignalled(d.Arrived()) {
		t.Fatalf("%d fresh, %v after opening again; want none and no signal", n, err)
	}
	if at, err := d.Cursor("tg"); at != "10" || err != nil {
		t.Fatalf("cursor %q, %v", at, err)
	}
	if at, err := d.Cursor("none"); at != "" || err != nil {
		t.Fatalf("cursor %q, %v", at, err)
	}
	got, err := d.Inbox(0)
	must(t, err)
	want := []In{{No: 2, Via: "tg", ID: "8"}, {No: 4, Via: "tty"}, {No: 5, Via: "tty"}}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("inbox %v, want %v", got, want)
	}
	if got, err = d.Inbox(1); err != nil || len(got) != 1 || got[0].No != 2 {
		t.Fatalf("the oldest is %v, %v", got, err)
	}
}

// TestAside keeps a row that cannot be taken, out of the way of the others.
func TestAside(t *testing.T) {
	d := fresh(t)
	_, err := d.Receive([]In{{Via: "v", ID: "1", Raw: []byte("bad"), Got: 3}, {Via: "v", ID: "2"}},
		nil)
	must(t, err)
	must(t, d.Commit(&Batch{Aside: map[uint64]string{1: "not JSON"}}))
	in, err := d.Inbox(0)
	must(t, err)
	if len(in) != 1 || in[0].No != 2 {
		t.Fatalf("inbox %v", in)
	}
	got, err := d.Asides(0)
	must(t, err)
	want := []Aside{{In{1, "v", "1", []byte("bad"), 3}, "not JSON"}}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("aside %v, want %v", got, want)
	}
	if n, err := d.Receive([]In{{Via: "v", ID: "1"}}, nil); n != 0 || err != nil {
		t.Fatalf("taken again: %d, %v", n, err)
	}
}

// TestOutbox follows rows from their commit to their end.
func TestOutbox(t *testing.T) {
	d := fresh(t)
	b := Batch{Events: []state.Event{note(1)}, Out: []Out{
		{Via: "tg", To: "a", Key: "call 1", Person: 4, Priority: 1, Made: 1, Expires: 9,
			NotBefore: 2, Cause: 1, Body: []byte("first")},
		{Via: "tg", To: "a", Body: []byte("answer")},
		{Via: "sms", To: "a", Key: "call 1", Body: []byte("other way")},
		{Via: "tg", To: "b", Key: "call 1", Body: []byte("other person")},
	}}
	must(t, d.Commit(&b))
	if !isSignalled(d.Queued()) {
		t.Fatal("no signal")
	}
	for i, o := range b.Out {
		if o.No != uint64(i+1) {
			t.Fatalf("row %d has number %d", i, o.No)
		}
	}
	check := func(via, want string) {
		t.Helper()
		rows, err := d.Outbox(via, 0)
		must(t, err)
		got := ""
		for _, r := range rows {
			got += fmt.Sprintf("%d %s %d; ", r.No, r.Body, r.Tries)
		}
		if got != want {
			t.Fatalf("outbox of %s: %q, want %q", via, got, want)
		}
	}
	check("tg", "1 first 0; 2 answer 0; 4 other person 0; ")
	if rows, err := d.Outbox("tg", 0); err != nil || !reflect.DeepEqual(rows[0], b.Out[0]) {
		t.Fatalf("%+v came back as %+v", b.Out[0], rows[0])
	}
	must(t, d.Commit(&Batch{Out: []Out{{Via: "tg", To: "a", Key: "call 1", Body: []byte("newer")}}}))
	check("tg", "2 answer 0; 4 other person 0; 5 newer 0; ")
	check("sms", "3 other way 0; ")
	must(t, d.Retry(2, 77))
	check("tg", "2 answer 1; 4 other person 0; 5 newer 0; ")
	must(t, d.Sent(5, 88))
	must(t, d.Dead(4, "blocked"))
	must(t, d.Sent(1, 99)) // replaced meanwhile
	must(t, d.Retry(1, 99))
	check("tg", "2 answer 1; ")
	must(t, d.Commit(&Batch{Out: []Out{{Via: "tg", To: "a", Key: "call 1", Body: []byte("3rd")}},
		Drop: []uint64{2, 2, 40}}))
	check("tg", "6 3rd 0; ")
	if rows, err := d.Outbox("tg", 0); err != nil || rows[0].NotBefore != 0 {
		t.Fatalf("%+v, %v", rows, err)
	}
	got, err := d.Endings(0)
	must(t, err)
	want := []Ended{{Out: Out{No: 4, Via: "tg", To: "b", Key: "call 1"}, Dead: "blocked"},
		{Out: Out{No: 5, Via: "tg", To: "a", Key: "call 1"}, Sent: 88}}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("ended %+v, want %+v", got, want)
	}
	if n := d.standing.tally[keyed].n; n != 2 {
		t.Fatalf("%d keys are kept, two unsent rows have one", n)
	}
	if got, err = d.Endings(1); err != nil || len(got) != 1 || got[0].No != 5 {
		t.Fatalf("the newest ending is %+v, %v", got, err)
	}
}

// TestQueuedAfterOpening wakes the senders for rows that a stopped program left.
func TestQueuedAfterOpening(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mill.db")
	d := open(t, path)
	must(t, d.Commit(&Batch{Out: []Out{{Via: "tg", To: "a"}}}))
	must(t, d.Close())
	d = open(t, path)
	if !isSignalled(d.Queued()) || isSignalled(d.Arrived()) {
		t.Fatal("signals after opening are wrong")
	}
	must(t, d.Sent(1, 5))
	must(t, d.Close())
	if d = open(t, path); isSignalled(d.Queued()) {
		t.Fatal("signal for an empty outbox")
	}
}

// TestSmallRows puts and takes away cards, words, pending rows and lines.
func TestSmallRows(t *testing.T) {
	d := fresh(t)
	full := []Card{{Person: 1, Name: "Ana", At: []string{"tg:1", "sms:+570"}, Code: "42", Until: 9,
		Short: "salt"}, {Person: 300, Name: "Bea"}}
	must(t, d.Commit(&Batch{Cards: full, Words: map[state.Seq]string{3: "t3 ph 4.2", 4: "x"},
		Pending: map[string][]byte{"tg:1": {}, "tg:2": []byte("q")},
		Lines:   map[string]state.Seq{"tg/5/6": 3}}))
	got, err := d.Cards()
	if err != nil || !reflect.DeepEqual(got, full) {
		t.Fatalf("cards %v, %v", got, err)
	}
	if row, err := d.Pending("tg:1"); row == nil || len(row) != 0 || err != nil {
		t.Fatalf("an empty row is %v, %v", row, err)
	}
	if seq, ok, err := d.Line("tg/5/6"); seq != 3 || !ok || err != nil {
		t.Fatalf("line %d, %v, %v", seq, ok, err)
	}
	if seq, ok, err := d.Line("tg/5/7"); seq != 0 || ok || err != nil {
		t.Fatalf("unknown line %d, %v, %v", seq, ok, err)
	}
	must(t, d.Commit(&Batch{Cards: []Card{{Person: 1, Code: "42"}},
		Words:   map[state.Seq]string{3: ""},
		Pending: map[string][]byte{"tg:1": nil, "tg:2": []byte("r")},
		Lines:   map[string]state.Seq{"tg/5/6": 4}}))
	if got, err = d.Cards(); err != nil || !reflect.DeepEqual(got, full[1:]) {
		t.Fatalf("cards %v, %v after one was erased", got, err)
	}
	for _, c := range []struct {
		msg  state.Seq
		want string
	}{{3, ""}, {4, "x"}} {
		if w, err := d.Words(c.msg); w != c.want || err != nil {
			t.Fatalf("words of %d: %q, %v", c.msg, w, err)
		}
	}
	one, _ := d.Pending("tg:1")
	two, err := d.Pending("tg:2")
	if one != nil || string(two) != "r" || err != nil {
		t.Fatalf("pending %v, %q, %v", one, two, err)
	}
	if seq, _, err := d.Line("tg/5/6"); seq != 4 || err != nil {
		t.Fatalf("line %d, %v", seq, err)
	}
	for i := range byte(50) { // what was read is the reader's own, whatever becomes of its page
		must(t, d.Commit(&Batch{Pending: map[string][]byte{"tg:2": {i}}}))
	}
	if string(two) != "r" {
		t.Fatalf("a row read earlier became %q", two)
	}
}

// TestExpire forgets what is old and keeps the last thousand arrivals however old they look.
func TestExpire(t *testing.T) {
	d := fresh(t)
	const all = 1500
	for i := range all {
		at := state.Instant(i)
		_, err := d.Receive([]In{{Via: "v", ID: fmt.Sprint(i), Got: at}}, nil)
		must(t, err)
		must(t, d.Commit(&Batch{Handled: []uint64{uint64(i + 1)},
			Lines: map[string]state.Seq{fmt.Sprint("line ", i): 1},
			Out:   []Out{{Via: "v", To: "a", Made: at}}}))
		must(t, d.Sent(uint64(i+1), at+1))
	}
	_, err := d.Receive([]In{{Via: "v", ID: "bad", Got: all}}, nil)
	must(t, err)
	must(t, d.Commit(&Batch{Aside: map[uint64]string{all + 1: "unreadable"}}))
	n, err := d.Expire(200)
	if want := 200 + 200 + 199; n != want || err != nil { // the 200th was sent at 200
		t.Fatalf("%d expired, %v; want %d", n, err, want)
	}
	known := func(i int) bool {
		_, line, err := d.Line(fmt.Sprint("line ", i))
		must(t, err)
		k, err := d.one(once, joined("v", fmt.Sprint(i)))
		must(t, err)
		if line != (k != nil) {
			t.Fatalf("message %d is half forgotten", i)
		}
		return line
	}
	if known(0) || known(199) || !known(200) || !known(all-1) {
		t.Fatal("the wrong ones are forgotten")
	}
	n, err = d.Expire(all * 2) // all are old: the last thousand stay
	if want := 2*301 + all - 199 + 1; n != want || err != nil {
		t.Fatalf("%d expired, %v; want %d", n, err, want)
	}
	if known(all-keepLatest) || !known(all-keepLatest+1) {
		t.Fatal("not the last thousand are kept")
	}
	if fresh, err := d.Receive([]In{{Via: "v", ID: "3"}, {Via: "v", ID: "1400"}}, nil); fresh != 1 {
		t.Fatalf("%d fresh, %v; want only the forgotten one", fresh, err)
	}
	must(t, d.Close())
	_, err = Verify(d.Path())
	must(t, err)
}

// TestLineAge keeps a line for as long as its event is young, counted from when it was first said.
func TestLineAge(t *testing.T) {
	d := fresh(t)
	receive := func(n int, got state.Instant) {
		t.Helper()
		var rows []In
		for i := range n {
			rows = append(rows, In{Via: "v", ID: fmt.Sprint(got, "-", i), Got: got})
		}
		_, err := d.Receive(rows, nil)
		must(t, err)
	}
	say := func(seq state.Seq) {
		t.Helper()
		must(t, d.Commit(&Batch{Events: []state.Event{note(seq)}, // heard at seq seconds and 5 ms
			Lines: map[string]state.Seq{"tg/1": seq}}))
	}
	receive(1, 100)
	say(1)
	receive(1, 2000)
	say(2)
	receive(1500, 3000)
	for _, c := range []struct {
		before state.Instant
		n      int
		known  bool
	}{{1000, 1, true}, {1006, 1, false}, {2001, 1, false}, {2999, 0, false}} {
		if n, err := d.Expire(c.before); n != c.n || err != nil {
			t.Fatalf("before %d: %d expired, %v; want %d", c.before, n, err, c.n)
		}
		if seq, known, err := d.Line("tg/1"); known != c.known || known && seq != 2 || err != nil {
			t.Fatalf("before %d: line is %d, %v, %v", c.before, seq, known, err)
		}
	}
}
