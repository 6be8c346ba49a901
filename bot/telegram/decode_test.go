package telegram

import (
	"strings"
	"testing"

	"lotbell/bot"
	"lotbell/state"
)

// TestDecode has one update of each kind, with the fields of the manual's Update and Message.
func TestDecode(t *testing.T) {
	const head = `"message_id":17,"date":1768219200,"chat":{"id":7,"type":"private"},` +
		`"from":{"id":7,"first_name":"Rosa","last_name":"P","language_code":"es-CO"}`
	const at = state.Instant(1768219200000)
	rosa := bot.Message{From: bot.Address{Via: Via, ID: "7"}, ID: "17", At: at, Name: "Rosa P",
		Lang: "es"}
	with := func(kind bot.MessageKind, text string) bot.Message {
		m := rosa
		m.Kind, m.Text = kind, text
		return m
	}
	group := bot.Message{From: bot.Address{Via: Via, ID: "-5"}, ID: "3", At: at, Kind: bot.Moved,
		Group: true, To: bot.Address{Via: Via, ID: "-1005000000000"}}
	press := bot.Message{From: bot.Address{Via: Via, ID: "7"}, ID: "press-4382", Kind: bot.Text,
		Text: "ok 14", Name: "rosa_p"}
	blocked := bot.Message{From: bot.Address{Via: Via, ID: "7"}, At: at, Kind: bot.Blocked,
		Name: "Rosa"}
	unblocked := blocked
	unblocked.Kind = bot.Unblocked
	filed := with(bot.Document, "help")
	filed.File = "x = 1"
	member := func(status string) string {
		return `"my_chat_member":{"chat":{"id":7,"type":"private"},"date":1768219200,"from":` +
			`{"id":7,"first_name":"Rosa"},"old_chat_member":{"status":"member","user":{"id":1}},` +
			`"new_chat_member":{"status":"` + status + `","user":{"id":1}}}`
	}
	for _, x := range []struct {
		name, raw string
		want      bot.Message
	}{
		{"text", `"message":{` + head + `,"text":"t3 áspero 😀"}`, with(bot.Text, "t3 áspero 😀")},
		{"start", `"message":{` + head + `,"text":"/start Ab_9-x"}`, with(bot.Text, "start Ab_9-x")},
		{"command", `"message":{` + head + `,"text":"/ok@mill_bot 14","entities":[{"type":` +
			`"bot_command","offset":0,"length":12}]}`, with(bot.Text, "ok 14")},
		{"voice", `"message":{` + head + `,"voice":{"file_id":"a","duration":3}}`,
			with(bot.Voice, "")},
		{"round video", `"message":{` + head + `,"video_note":{"file_id":"a"}}`, with(bot.Voice, "")},
		{"photo", `"message":{` + head + `,"photo":[{"file_id":"a"}],"caption":"t3 rough"}`,
			with(bot.Photo, "t3 rough")},
		{"sticker", `"message":{` + head + `,"sticker":{"type":"unheard of"}}`,
			with(bot.Sticker, "")},
		{"location", `"message":{` + head + `,"location":{"latitude":4.5,"longitude":-75.6}}`,
			with(bot.Location, "")},
		{"document", `"message":{` + head + `,"document":{"file_id":"a"},"caption":"book"}`,
			with(bot.Other, "book")},
		{"document that was fetched", `"message":{` + head + `,"document":{"file_id":"a"},"caption":` +
			`"/help@mill_bot"},"lotbell_file":{"Text":"x = 1"}`, filed},
		{"contact", `"message":{` + head + `,"contact":{"phone_number":"1"}}`, with(bot.Other, "")},
		{"a kind of tomorrow", `"message":{` + head + `,"smell":{"type":"sour"}}`,
			with(bot.Other, "")},
		{"edited", `"edited_message":{` + head + `,"edit_date":1768219300,"text":"t3 ph 4.1"}`,
			with(bot.Edited, "t3 ph 4.1")},
		{"edited without words", `"edited_message":{` + head + `,"location":{}}`,
			with(bot.Edited, "")},
		{"press", `"callback_query":{"id":"4382","from":{"id":7,"username":"rosa_p"},"data":` +
			`"ok 14","message":{"message_id":9,"date":0,"chat":{"id":7,"type":"private"}}}`, press},
		{"press without message", `"callback_query":{"id":"4382","from":{"id":7,"username":` +
			`"rosa_p"},"data":"/ok 14","inline_message_id":"x"}`, press},
		{"moved to", `"message":{"message_id":3,"date":1768219200,"chat":{"id":-5,"type":"group"},` +
			`"migrate_to_chat_id":-1005000000000}`, group},
		{"moved from", `"message":{"message_id":3,"date":1768219200,"chat":{"id":-1005000000000,` +
			`"type":"supergroup"},"migrate_from_chat_id":-5}`, group},
		{"group", `"message":{"message_id":3,"date":1768219200,"chat":{"id":-5,"type":"group"},` +
			`"from":{"id":7,"first_name":"Rosa"},"text":"/group@mill_bot summaries"}`,
			bot.Message{From: bot.Address{Via: Via, ID: "-5"}, ID: "3", At: at, Kind: bot.Text,
				Text: "group summaries", Name: "Rosa", Group: true,
				By: bot.Address{Via: Via, ID: "7"}}},
		{"blocked", member("kicked"), blocked},
		{"left", member("left"), blocked},
		{"unblocked", member("member"), unblocked},
		{"made an administrator", member("administrator"), unblocked},
	} {
		got, err := Decode([]byte(`{"update_id":410000001,` + x.raw + `}`))
		if err != nil {
			t.Errorf("%s: %v", x.name, err)
			continue
		}
		same(t, x.name, got, x.want)
	}
}

func TestDecodeRefuses(t *testing.T) {
	for raw, says := range map[string]string{
		``:                                 "unreadable",
		`[]`:                               "unreadable",
		`{"update_id":5}`:                  "update 5 is of a kind",
		`{"update_id":5,"poll":{}}`:        "not asked for",
		`{"message":5}`:                    "unreadable",
		`{"message":{"text":"t3"}}`:        "without chat",
		`{"message":{"chat":{"id":7}}}`:    "without chat or number",
		`{"callback_query":{"data":"ok"}}`: "without sender",
		`{"my_chat_member":{"new_chat_member":{"status":"member","user":{}}}}`:      "without chat",
		`{"my_chat_member":{"chat":{"id":7},"new_chat_member":{"status":"ghost"}}}`: "unreadable",
		`{"lotbell":{"Chat":7}}`:                                                         "says nothing",
		`{"lotbell":{"Refuses":true}}`:                                                   "says nothing",
		`{"lotbell":{"Chat":7,"Refuses":true,"MovedTo":8}}`:                              "says nothing",
		`{"message":{"message_id":1,"chat":{"id":9223372036854775808}}}`:                 "unreadable",
		`{"message":{"message_id":1,"chat":{"id":"7"},"text":"a number, not a string"}}`: "unreadable",
	} {
		m, err := Decode([]byte(raw))
		if err == nil || !strings.HasPrefix(err.Error(), "telegram: ") ||
			!strings.Contains(err.Error(), says) {
			t.Errorf("%s: %+v, %v, want %q", raw, m, err, says)
		}
	}
}

// FuzzDecode: whatever a server sends, Decode answers, and what it makes has a sender.
func FuzzDecode(f *testing.F) {
	f.Add(`{"update_id":1,"message":{"message_id":1,"chat":{"id":7},"text":"/ok@b 1"}}`)
	f.Add(`{"callback_query":{"id":"1","from":{"id":7},"data":"x"}}`)
	f.Add(`{"my_chat_member":{"chat":{"id":7},"new_chat_member":{"status":"kicked"}}}`)
	f.Add(`{"lotbell":{"Chat":7,"MovedTo":8}}`)
	f.Fuzz(func(t *testing.T, raw string) {
		m, err := Decode([]byte(raw))
		if err == nil && (m.From.Via != Via || m.From.ID == "" || m.From.ID == "0" || m.Kind == "") {
			t.Errorf("%q gave %+v", raw, m)
		}
	})
}
