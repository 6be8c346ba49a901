package fake

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"
)

const token = "4711:made-up_token"

func start(t *testing.T) *Server {
	t.Helper()
	s, err := New(token, time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// answer is the manual's frame.
type answer struct {
	OK          bool
	Result      json.RawMessage
	ErrorCode   int `json:"error_code"`
	Description string
	Parameters  struct {
		RetryAfter int   `json:"retry_after"`
		MigrateTo  int64 `json:"migrate_to_chat_id"`
	}
}

// call makes one request with JSON, or fails with the connection's error.
func call(ctx context.Context, s *Server, method string, fields map[string]any) (answer, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost,
		s.URL()+"/bot"+token+"/"+method, bytes.NewReader(object(fields)))
	if err != nil {
		return answer{}, err
	}
	req.Header.Set("Content-Type", "application/json")
	return send(req)
}

func send(req *http.Request) (answer, error) {
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return answer{}, err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return answer{}, err
	}
	var a answer
	err = json.Unmarshal(body, &a)
	return a, err
}

// must is call for a request that is answered.
func must(t *testing.T, s *Server, method string, fields map[string]any) answer {
	t.Helper()
	a, err := call(t.Context(), s, method, fields)
	if err != nil {
		t.Fatalf("%s: %v", method, err)
	}
	return a
}

// poll gives the ids of one poll that does not wait.
func poll(t *testing.T, s *Server, offset int64) []int64 {
	t.Helper()
	a := must(t, s, "getUpdates", map[string]any{"offset": offset})
	var list []struct {
		ID int64 `json:"update_id"`
	}
	if err := json.Unmarshal(a.Result, &list); err != nil {
		t.Fatalf("poll: %v in %s", err, a.Result)
	}
	var ids []int64
	for _, u := range list {
		ids = append(ids, u.ID)
	}
	return ids
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if g, w := string(object(got)), string(object(want)); g != w {
		t.Errorf("%s: got %s, want %s", what, g, w)
	}
}

func TestOffsetConfirms(t *testing.T) {
	s := start(t)
	var told []int64
	s.OnConfirm(func(id int64) { told = append(told, id) })
	for range 3 {
		s.Say(7, "t3 rough")
	}
	first := poll(t, s, 0)
	s.Advance(time.Second)
	same(t, "the same again", poll(t, s, 0), first)
	s.Advance(time.Second)
	same(t, "after the first", poll(t, s, first[0]+1), first[1:])
	same(t, "confirmed", s.Confirmed(), first[:1])
	same(t, "told", told, first[:1])
	s.Advance(time.Second)
	same(t, "far past the end: from the head", poll(t, s, first[2]+100), first[1:])
	s.Advance(time.Second)
	same(t, "the last one", poll(t, s, -1), first[2:])
	same(t, "waiting", s.Waiting(), 1)
}

func TestNoHammering(t *testing.T) {
	s := start(t)
	for range 3 {
		s.Say(7, "due")
	}
	same(t, "first", len(poll(t, s, 0)), 3)
	same(t, "at once again", len(poll(t, s, 0)), 1)
	s.Advance(time.Second / 2)
	same(t, "half a second later", len(poll(t, s, 0)), 3)
}

func TestLimitAndSize(t *testing.T) {
	s := start(t)
	for range 120 {
		s.Say(7, "due")
	}
	same(t, "a hundred at most", len(poll(t, s, 0)), 100)
	a := must(t, s, "getUpdates", map[string]any{"offset": s.Confirmed(), "limit": 5})
	same(t, "a bad offset is none", a.OK, true)

	big := start(t)
	for range 6 {
		big.Say(7, strings.Repeat("x", 1<<20))
	}
	same(t, "4 MiB at most", len(poll(t, big, 0)), 3)
}

// Kept: 24 h from sending or editing, 150 s for a press (Client.cpp, add_message_update and
// process_new_callback_query_queue).
func TestExpiry(t *testing.T) {
	s := start(t)
	sent := s.Now()
	s.Press(7, "ok 14")
	id := s.Say(7, "t3 rough")
	s.Advance(149 * time.Second)
	same(t, "both wait", s.Waiting(), 2)
	s.Advance(time.Second)
	same(t, "the press is gone", s.Waiting(), 1)
	s.Set(sent.Add(23 * time.Hour))
	s.Edit(7, id, sent, "t3 slippery")
	same(t, "message and edit", s.Waiting(), 2)
	s.Set(sent.Add(24 * time.Hour))
	same(t, "the edit is left", s.Waiting(), 1)
	same(t, "lost", len(s.Lost()), 2)
	old := map[string]any{"message_id": 1, "date": sent.Unix(), "text": "late"}
	same(t, "a day old is not kept", s.Push("message", old), 0)
}

func TestOnlyWhatWasAskedFor(t *testing.T) {
	s := start(t)
	same(t, "not by default", s.Push("message_reaction", map[string]any{}), 0)
	must(t, s, "getUpdates", map[string]any{"allowed_updates": []string{"message"}})
	s.Press(7, "ok")
	same(t, "no longer", s.Waiting(), 0)
	s.Say(7, "ok")
	same(t, "still", s.Waiting(), 1)
}

// After a week of silence ids begin anew at random (manual, Update); an old offset then starts
// from the head.
func TestIdsBeginAnew(t *testing.T) {
	s := start(t)
	s.Say(7, "due")
	old := poll(t, s, 0)[0]
	poll(t, s, old+1)
	s.Advance(7 * 24 * time.Hour)
	s.Say(7, "due")
	ids := poll(t, s, old+1)
	if len(ids) != 1 || ids[0] == old+1 {
		t.Errorf("after a silent week: %v, the old one was %d", ids, old)
	}
}

func TestLongPoll(t *testing.T) {
	s := start(t)
	ended := make(chan []byte, 1)
	wait := func(ctx context.Context) {
		a, err := call(ctx, s, "getUpdates", map[string]any{"timeout": 90})
		if err != nil {
			ended <- []byte(err.Error())
			return
		}
		ended <- append(a.Result, a.Description...)
	}
	parked := func(n int) func() bool {
		return func() bool { return s.Polling() && s.Calls("getUpdates") == n }
	}
	go wait(t.Context())
	if err := s.Until(t.Context(), parked(1)); err != nil {
		t.Fatal(err)
	}
	s.Advance(50 * time.Second)
	same(t, "50 s at most", string(<-ended), "[]")

	go wait(t.Context())
	if err := s.Until(t.Context(), parked(2)); err != nil {
		t.Fatal(err)
	}
	s.Say(7, "due")
	if got := <-ended; !bytes.Contains(got, []byte(`"text":"due"`)) {
		t.Errorf("woken by a message: %s", got)
	}
	poll(t, s, s.next)

	go wait(t.Context())
	if err := s.Until(t.Context(), parked(4)); err != nil {
		t.Fatal(err)
	}
	second, leave := context.WithCancel(t.Context())
	go func() { _, _ = call(second, s, "getUpdates", map[string]any{"timeout": 50}) }()
	if got := <-ended; !bytes.Contains(got, []byte("Conflict: terminated by other")) {
		t.Errorf("the older poll: %s", got)
	}
	leave()
	if err := s.Until(t.Context(), func() bool { return !s.Polling() }); err != nil {
		t.Fatal(err)
	}
}

// TestRefusals has what the real service refuses, with the place of each rule.
func TestRefusals(t *testing.T) {
	s := start(t)
	s.Meet(7)
	s.Meet(8)
	s.Block(8)
	s.Meet(-5)
	s.Block(-5)
	s.Migrate(-6, -1006)
	inline := func(data string) string {
		return string(object(map[string]any{"inline_keyboard": [][]any{{
			map[string]any{"text": "ok", "callback_data": data}}}}))
	}
	for _, x := range []struct {
		name, method string
		fields       map[string]any
		code         int
		says         string
	}{
		{"unknown method", "sendCoffee", nil, 404, "Not Found: method not found"},
		{"no chat", "sendMessage", map[string]any{"text": "a"}, 400, "chat_id is empty"},
		{"unknown chat", "sendMessage", map[string]any{"chat_id": 99, "text": "a"}, 400,
			"Bad Request: chat not found"},
		{"no text", "sendMessage", map[string]any{"chat_id": 7}, 400, "message text is empty"},
		{"blank text", "sendMessage", map[string]any{"chat_id": 7, "text": " \n"}, 400,
			"text must be non-empty"},
		{"4097 letters", "sendMessage", map[string]any{"chat_id": 7,
			"text": strings.Repeat("é", 4097)}, 400, "message is too long"},
		{"2049 faces of two units", "sendMessage", map[string]any{"chat_id": 7,
			"text": strings.Repeat("😀", 2049)}, 400, "message is too long"},
		{"65 bytes of data", "sendMessage", map[string]any{"chat_id": 7, "text": "a",
			"reply_markup": inline(strings.Repeat("x", 65))}, 400, "BUTTON_DATA_INVALID"},
		{"key without text", "sendMessage", map[string]any{"chat_id": 7, "text": "a",
			"reply_markup": `{"keyboard":[[{"text":""}]]}`}, 400, "text is empty"},
		{"reply to nothing", "sendMessage", map[string]any{"chat_id": 7, "text": "a",
			"reply_parameters": `{"message_id":5}`}, 400, "message to be replied not found"},
		{"blocked", "sendMessage", map[string]any{"chat_id": 8, "text": "a"}, 403,
			"Forbidden: bot was blocked by the user"},
		{"thrown out", "sendMessage", map[string]any{"chat_id": -5, "text": "a"}, 403,
			"Forbidden: bot was kicked from the group chat"},
		{"moved", "sendMessage", map[string]any{"chat_id": -6, "text": "a"}, 400,
			"group chat was upgraded to a supergroup chat"},
		{"no file", "sendPhoto", map[string]any{"chat_id": 7}, 400, "there is no photo"},
		{"long caption", "sendDocument", map[string]any{"chat_id": 7, "document": "id",
			"caption": strings.Repeat("x", 1025)}, 400, "caption is too long"},
		{"no action", "sendChatAction", map[string]any{"chat_id": 7}, 400, "wrong parameter action"},
		{"an action of its own", "sendChatAction", map[string]any{"chat_id": 7, "action": "thinking"},
			400, "wrong parameter action"},
		{"a menu for a chat nobody knows", "setMyCommands", map[string]any{"commands": "[]",
			"scope": `{"type":"chat","chat_id":99}`}, 400, "chat not found"},
		{"a menu for the moon", "setMyCommands", map[string]any{"commands": "[]",
			"scope": `{"type":"moon"}`}, 400, "BotCommandScope"},
		{"a menu in a language of three letters", "setMyCommands", map[string]any{"commands": "[]",
			"language_code": "spa"}, 400, "LANGUAGE"},
		{"unknown press", "answerCallbackQuery", map[string]any{"callback_query_id": "1"}, 400,
			"query is too old"},
		{"capital command", "setMyCommands", map[string]any{
			"commands": `[{"command":"Due","description":"what is due"}]`}, 400,
			"BOT_COMMAND_INVALID"},
		{"command without words", "setMyCommands", map[string]any{
			"commands": `[{"command":"due","description":""}]`}, 400,
			"BOT_COMMAND_DESCRIPTION_INVALID"},
		{"101 commands", "setMyCommands", map[string]any{"commands": "[" + strings.Repeat(
			`{"command":"due","description":"d"},`, 100) + `{"command":"due","description":"d"}]`},
			400, "BOT_COMMANDS_TOO_MUCH"},
	} {
		a := must(t, s, x.method, x.fields)
		if a.OK || a.ErrorCode != x.code || !strings.Contains(a.Description, x.says) {
			t.Errorf("%s: got %+v, want %d %q", x.name, a, x.code, x.says)
		}
		if moved := a.Parameters.MigrateTo; x.name == "moved" && moved != -1006 {
			t.Errorf("moved to %d", moved)
		}
	}
	same(t, "nothing was taken", len(s.Sent()), 0)
}

func TestWrongToken(t *testing.T) {
	s := start(t)
	for path, code := range map[string]int{"/bot1:other/getMe": 401, "/getMe": 404} {
		req, err := http.NewRequest(http.MethodPost, s.URL()+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		a, err := send(req)
		if err != nil || a.ErrorCode != code {
			t.Errorf("%s: %+v, %v", path, a, err)
		}
	}
}

func TestTaken(t *testing.T) {
	s := start(t)
	id := s.Say(7, "t3 rough")
	press := s.Press(7, "ok")
	for method, fields := range map[string]map[string]any{
		"sendMessage": {"chat_id": 7, "text": strings.Repeat("é", 4096),
			"reply_parameters": map[string]any{"message_id": id},
			"reply_markup":     map[string]any{"keyboard": [][]any{{map[string]any{"text": "due"}}}}},
		"sendDocument":        {"chat_id": 7, "document": "an id"},
		"sendChatAction":      {"chat_id": 7, "action": "typing"},
		"answerCallbackQuery": {"callback_query_id": press},
		"setMyCommands": {"commands": `[{"command":"due","description":"what is due"}]`,
			"scope": `{"type":"chat","chat_id":7}`, "language_code": "es"},
		"getMe": {},
	} {
		if a := must(t, s, method, fields); !a.OK {
			t.Errorf("%s: %+v", method, a)
		}
	}
	i := slices.IndexFunc(s.Sent(), func(m Sent) bool { return m.Method == "sendMessage" })
	got := s.Sent()[i]
	if got.Chat != 7 || got.ReplyTo != id || got.Keys[0][0] != "due" || !got.At.Equal(s.Now()) {
		t.Errorf("noted %+v", got)
	}
	i = slices.IndexFunc(s.Sent(), func(m Sent) bool { return m.Method == "setMyCommands" })
	menu := s.Sent()[i]
	same(t, "for whom a menu is", []any{menu.Scope, menu.Chat, menu.Lang}, []any{"chat", 7, "es"})
	a := must(t, s, "sendMessage", map[string]any{"chat_id": 7, "text": "b",
		"reply_parameters": map[string]any{"message_id": 999, "allow_sending_without_reply": true}})
	same(t, "a reply to what is gone, where allowed", a.OK, true)
	s.Advance(151 * time.Second)
	a = must(t, s, "answerCallbackQuery", map[string]any{"callback_query_id": press})
	same(t, "a press after 150 s", a.ErrorCode, 400)
}

// updates are the updates of one poll that does not wait, as they are offered.
func updates(t *testing.T, s *Server) []map[string]any {
	t.Helper()
	var list []map[string]any
	a := must(t, s, "getUpdates", nil)
	if err := json.Unmarshal(a.Result, &list); err != nil {
		t.Fatal(err)
	}
	return list
}

// TestMigration: a group that gets a new number is refused under the old one, which names the new,
// and is told to the bot in both (manual, ResponseParameters and Message).
func TestMigration(t *testing.T) {
	s := start(t)
	s.Migrate(-6, -1006)
	a := must(t, s, "sendMessage", map[string]any{"chat_id": -6, "text": "a"})
	same(t, "the old number", []int64{int64(a.ErrorCode), a.Parameters.MigrateTo}, []int64{400, -1006})
	same(t, "the new one", must(t, s, "sendMessage", map[string]any{"chat_id": -1006,
		"text": "a"}).OK, true)
	var told []any
	for _, u := range updates(t, s) {
		m := u["message"].(map[string]any)
		chat := m["chat"].(map[string]any)
		told = append(told, chat["id"], m["migrate_to_chat_id"], m["migrate_from_chat_id"])
	}
	same(t, "told", told, []any{-6, -1006, nil, -1006, nil, -6})
}

// TestBlocking: who shuts the chat and opens it again is told to the bot (manual,
// ChatMemberUpdated), and what is sent is refused meanwhile.
func TestBlocking(t *testing.T) {
	s := start(t)
	s.Meet(7)
	var got []any
	for _, block := range []func(int64){s.Block, s.Unblock} {
		block(7)
		got = append(got, must(t, s, "sendMessage", map[string]any{"chat_id": 7, "text": "a"}).ErrorCode)
	}
	for _, u := range updates(t, s) {
		m := u["my_chat_member"].(map[string]any)
		got = append(got, m["new_chat_member"].(map[string]any)["status"])
	}
	same(t, "refused, taken and told", got, []any{403, 0, "kicked", "member"})
}

// TestTellsItsTime: every answer is dated, by the server's own clock (RFC 9110, 6.6.1).
func TestTellsItsTime(t *testing.T) {
	s := start(t)
	s.Advance(26 * time.Hour)
	resp, err := http.Get(s.URL() + "/bot" + token + "/getMe")
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	at, err := http.ParseTime(resp.Header.Get("Date"))
	if err != nil || !at.Equal(s.Now()) {
		t.Errorf("it says %v, it is %v: %v", at, s.Now(), err)
	}
}

func TestFaults(t *testing.T) {
	s := start(t)
	s.Meet(7)
	s.Meet(8)
	hello := map[string]any{"chat_id": 7, "text": "hello"}
	s.Fail("sendMessage", 1, Flood(9))
	a := must(t, s, "sendMessage", hello)
	same(t, "flood", []int{a.ErrorCode, a.Parameters.RetryAfter}, []int{429, 9})
	s.Fail("sendMessage", 2, Refuse(500, "Internal Server Error: restart").For(7))
	same(t, "another chat", must(t, s, "sendMessage", map[string]any{"chat_id": 8, "text": "b"}).OK,
		true)
	same(t, "once", must(t, s, "sendMessage", hello).ErrorCode, 500)
	same(t, "twice", must(t, s, "sendMessage", hello).ErrorCode, 500)
	s.Fail("sendMessage", 1, Garbage(502, "<html>"))
	if _, err := call(t.Context(), s, "sendMessage", hello); err == nil {
		t.Error("garbage was read")
	}
	s.Fail("sendMessage", 1, Cut())
	if _, err := call(t.Context(), s, "sendMessage", hello); err == nil {
		t.Error("a cut connection answered")
	}
	same(t, "taken so far", len(s.Sent()), 1)
	s.Fail("sendMessage", 1, Swallow())
	if _, err := call(t.Context(), s, "sendMessage", hello); err == nil {
		t.Error("a swallowed request was answered")
	}
	same(t, "swallowed but taken", len(s.Sent()), 2)
	s.Fail("sendMessage", -1, Stall())
	ctx, leave := context.WithCancel(t.Context())
	over := make(chan error)
	go func() { _, err := call(ctx, s, "sendMessage", hello); over <- err }()
	if err := s.Until(t.Context(), func() bool { return len(s.Sent()) == 3 }); err != nil {
		t.Fatal(err)
	}
	leave()
	if err := <-over; err == nil {
		t.Error("a stalled request was answered")
	}
	s.Mend()
	same(t, "mended", must(t, s, "sendMessage", hello).OK, true)
	same(t, "asked for", s.Calls("sendMessage"), 9)
}

func TestRepeat(t *testing.T) {
	s := start(t)
	for range 3 {
		s.Say(7, "due")
	}
	ids := poll(t, s, 0)
	poll(t, s, ids[2]+1)
	s.Advance(time.Second)
	s.Repeat(2)
	same(t, "offered once more", poll(t, s, ids[2]+1), ids[1:])
	same(t, "confirmed", s.Confirmed(), ids[:1])
	s.Advance(time.Second)
	same(t, "the offset counts again", poll(t, s, ids[2]+1), nil)
}

func TestDownAndUp(t *testing.T) {
	s := start(t)
	s.Say(7, "due")
	url := s.URL()
	s.Down()
	if _, err := call(t.Context(), s, "getMe", nil); err == nil {
		t.Error("it answered while down")
	}
	if err := s.Up(); err != nil {
		t.Fatal(err)
	}
	same(t, "the same address", s.URL(), url)
	same(t, "what waited waits", len(poll(t, s, 0)), 1)
}

func TestHold(t *testing.T) {
	s := start(t)
	s.Meet(7)
	s.Hold()
	over := make(chan error, 2)
	for range 2 {
		go func() {
			_, err := call(t.Context(), s, "sendMessage", map[string]any{"chat_id": 7, "text": "a"})
			over <- err
		}()
	}
	if err := s.Until(t.Context(), func() bool { return len(s.Flying()) == 2 }); err != nil {
		t.Fatal(err)
	}
	same(t, "nothing is done yet", len(s.Sent()), 0)
	s.Release()
	for range 2 {
		if err := <-over; err != nil {
			t.Error(err)
		}
	}
	same(t, "both", []int{len(s.Sent()), s.Most()}, []int{2, 2})
}
