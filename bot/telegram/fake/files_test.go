package fake

import (
	"bytes"
	"encoding/json"
	"errors"
	"image"
	"image/png"
	"io"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"
)

func TestUpload(t *testing.T) {
	s := start(t)
	s.Meet(7)
	upload := func(method, field string, size int) answer {
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		f, err := form.CreateFormFile(field, "curve.png")
		if err != nil {
			t.Fatal(err)
		}
		content := make([]byte, size)
		if field == "photo" {
			copy(content, drawn(t, 720, 400))
		}
		if _, err := f.Write(content); err != nil {
			t.Fatal(err)
		}
		if err := form.WriteField("chat_id", "7"); err != nil {
			t.Fatal(err)
		}
		if err := form.Close(); err != nil {
			t.Fatal(err)
		}
		req, err := http.NewRequest(http.MethodPost, s.URL()+"/bot"+token+"/"+method, &body)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", form.FormDataContentType())
		a, err := send(req)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	same(t, "a picture", upload("sendPhoto", "photo", 13000).OK, true)
	same(t, "noted", []any{s.Sent()[0].File, s.Sent()[0].Bytes}, []any{"curve.png", 13000})
	same(t, "10 MB of picture", upload("sendPhoto", "photo", 10<<20+1).ErrorCode, 413)
	same(t, "the same as a document", upload("sendDocument", "document", 10<<20+1).OK, true)
	same(t, "nothing", upload("sendDocument", "document", 0).ErrorCode, 400)
}

// drawn is a white picture.
func drawn(t *testing.T, wide, high int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, wide, high))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestPictureLimits: what is no picture is refused, and one that is too large or too long (manual,
// sendPhoto: width and height together at most 10000, their ratio at most 20).
func TestPictureLimits(t *testing.T) {
	s := start(t)
	s.Meet(7)
	for _, x := range []struct {
		body []byte
		want string
	}{
		{drawn(t, 720, 400), ""},
		{drawn(t, 9999, 500), "PHOTO_INVALID_DIMENSIONS"},
		{drawn(t, 5000, 5000), ""},
		{drawn(t, 5001, 5000), "PHOTO_INVALID_DIMENSIONS"},
		{drawn(t, 200, 10), ""},
		{drawn(t, 201, 10), "PHOTO_INVALID_DIMENSIONS"},
		{drawn(t, 10, 201), "PHOTO_INVALID_DIMENSIONS"},
		{[]byte("no picture"), "IMAGE_PROCESS_FAILED"},
		{drawn(t, 720, 400)[:20], "IMAGE_PROCESS_FAILED"},
	} {
		var body bytes.Buffer
		form := multipart.NewWriter(&body)
		f, err := form.CreateFormFile("photo", "curve.png")
		if err != nil {
			t.Fatal(err)
		}
		_, _ = f.Write(x.body) // a buffer takes all
		if err := errors.Join(form.WriteField("chat_id", "7"), form.Close()); err != nil {
			t.Fatal(err)
		}
		req, err := http.NewRequest(http.MethodPost, s.URL()+"/bot"+token+"/sendPhoto", &body)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", form.FormDataContentType())
		a, err := send(req)
		if err != nil {
			t.Fatal(err)
		}
		if a.OK != (x.want == "") || !strings.Contains(a.Description, x.want) {
			t.Errorf("answered %v %q, want %q", a.OK, a.Description, x.want)
		}
	}
}

// TestFiles: an id gives a path for an hour, and the path the bytes; nobody without the token.
func TestFiles(t *testing.T) {
	s := start(t)
	s.Document(7, "book.toml", []byte("x = 1"), "mine")
	a := must(t, s, "getUpdates", nil)
	var list []struct {
		Message struct {
			Caption  string
			Document struct {
				ID   string `json:"file_id"`
				Size int    `json:"file_size"`
			}
		}
	}
	if err := json.Unmarshal(a.Result, &list); err != nil || len(list) != 1 {
		t.Fatalf("%v in %s", err, a.Result)
	}
	d := list[0].Message.Document
	same(t, "the message", []any{list[0].Message.Caption, d.Size}, []any{"mine", 5})
	fetch := func(url string) (int, string) {
		resp, err := http.Get(url)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, string(body)
	}
	path := s.URL() + "/file/bot" + token + "/documents/" + d.ID
	code, _ := fetch(path)
	same(t, "before getFile", code, 404)
	same(t, "another id", must(t, s, "getFile", map[string]any{"file_id": "x"}).ErrorCode, 400)
	same(t, "no id", must(t, s, "getFile", nil).ErrorCode, 400)
	a = must(t, s, "getFile", map[string]any{"file_id": d.ID})
	if !strings.Contains(string(a.Result), `"file_path":"documents/`+d.ID) {
		t.Errorf("no path in %s", a.Result)
	}
	code, body := fetch(path)
	same(t, "the file", []any{code, body}, []any{200, "x = 1"})
	code, _ = fetch(strings.Replace(path, token, "4711:other", 1))
	same(t, "another token", code, 401)
	s.Advance(keepPath)
	code, _ = fetch(path)
	same(t, "after an hour", code, 404)
	s.Document(7, "huge.toml", make([]byte, fetchMost+1), "")
	same(t, "over 20 MB", must(t, s, "getFile",
		map[string]any{"file_id": "BQAC000002"}).ErrorCode, 400)
}
