package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode/utf8"

	"lotbell/state/journal"
)

// A text file that somebody sends is fetched before its update is stored, and stored with it: the
// far side gives a file's address for an hour only, and what is in the inbox must be whole. An
// update whose file did not come is stored all the same, so that its sender is told.

// fileLimit is the largest file that is fetched, in bytes; a rule book has some ten thousand.
const fileLimit = 256 << 10

// fileTime is how long the files of one batch may take together. Others' messages wait for none of
// it, only the next poll does.
const fileTime = 10 * time.Second

// byteOrderMark is what some editors put before a text.
const byteOrderMark = "\ufeff"

// document is a file that came with a message (Bot API manual, Document). The size may be untold.
type document struct {
	ID   string `json:"file_id"`
	Name string `json:"file_name"`
	Size int64  `json:"file_size"`
}

// wanted says whether a document is a text file that is small enough to be fetched.
func (d *document) wanted() bool {
	name := strings.ToLower(d.Name)
	return (strings.HasSuffix(name, ".toml") || strings.HasSuffix(name, ".txt")) &&
		d.Size <= fileLimit
}

// attached is what is stored beside an update with such a document: the file's text, or why there
// is none.
type attached struct {
	Text string `json:",omitempty"`
	Why  string `json:",omitempty"`
}

// besideKey is the key under which it stands in the stored update.
const besideKey = "lotbell_file"

// filed is the chat of an update and the document in it, nil for none that is wanted. Who cries for
// help under a file is heard without it.
func (r *receiver) filed(raw []byte) (chat int64, d *document) {
	var u struct {
		Message struct {
			Chat     struct{ ID int64 }
			Caption  string
			Document *document
		}
	}
	if json.Unmarshal(raw, &u) != nil {
		return 0, nil
	}
	if d = u.Message.Document; d == nil || d.ID == "" || !d.wanted() ||
		r.o.Cries(u.Message.Caption) {
		return u.Message.Chat.ID, nil
	}
	return u.Message.Chat.ID, d
}

// attach fetches the files of a batch and puts each beside its update. Before that it stores what
// came from chats without a file, under the old offset, so that a cry for help waits for nobody's
// file: the batch is stored whole afterwards, and what is known by then is skipped. The order
// within a chat stays. It fails when the journal cannot be written, or when ctx ends: then nothing
// is to be confirmed and the batch comes again.
func (r *receiver) attach(ctx context.Context, rows []journal.In) error {
	files, busy := map[int]*document{}, map[int64]bool{}
	chats := make([]int64, len(rows))
	for i, row := range rows {
		if chats[i], files[i] = r.filed(row.Raw); files[i] != nil {
			busy[chats[i]] = true
		}
	}
	if len(busy) == 0 {
		return nil
	}
	var others []journal.In
	for i, row := range rows {
		if !busy[chats[i]] {
			others = append(others, row)
		}
	}
	if _, err := r.box.Receive(others, nil); err != nil {
		return err
	}
	limited, stop := context.WithTimeout(ctx, fileTime)
	defer stop()
	for i := range rows {
		if files[i] == nil {
			continue
		}
		text, err := r.wire.file(limited, files[i].ID)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		rows[i].Raw = beside(rows[i].Raw, r.fetched(text, err))
	}
	return nil
}

// fetched is what is stored of a file. The operator hears of one that did not come, without its
// name.
func (r *receiver) fetched(text string, err error) attached {
	if err != nil {
		r.bad.say("file", r.now(), "telegram: a file did not arrive ("+err.Error()+
			"); its sender is told")
		return attached{Why: err.Error()}
	}
	r.bad.over("file", r.now(), "telegram: files arrive again")
	return attached{Text: text}
}

// beside puts a file into a stored update, which stays as it came otherwise.
func beside(raw []byte, a attached) []byte {
	inner, err := json.Marshal(a)
	end := bytes.LastIndexByte(raw, '}')
	if err != nil || end < 0 {
		return raw // it was read as an object before, so it ends like one
	}
	return fmt.Appendf(nil, "%s,%q:%s}", raw[:end], besideKey, inner)
}

// file fetches a text file by its id: getFile gives its path, under which it is kept for an hour
// (Bot API manual, getFile). It fails with [Refused], with silence, or because the file is too
// large or is no UTF-8 text.
func (w *wire) file(ctx context.Context, id string) (string, error) {
	result, err := w.call(ctx, "getFile", map[string]string{"file_id": id})
	if err != nil {
		return "", err
	}
	var f struct {
		Path string `json:"file_path"`
	}
	if json.Unmarshal(result, &f) != nil || f.Path == "" || strings.HasPrefix(f.Path, "/") ||
		strings.Contains(f.Path, "..") {
		return "", &silence{written: true, why: "a file without a path"}
	}
	body, err := w.download(ctx, f.Path)
	if err != nil {
		return "", err
	}
	text := strings.TrimPrefix(string(body), byteOrderMark)
	if !utf8.ValidString(text) || strings.ContainsRune(text, 0) {
		return "", errors.New("the file is no UTF-8 text; save it as UTF-8 and send it again")
	}
	return text, nil
}

// download reads a file of the far side.
func (w *wire) download(ctx context.Context, path string) ([]byte, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet,
		w.files+(&url.URL{Path: path}).EscapedPath(), nil)
	if err != nil {
		return nil, errors.New(w.hush(err.Error()))
	}
	resp, err := w.client.Do(req)
	if err != nil {
		return nil, &silence{why: w.reason(err)}
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return nil, &silence{written: true, why: fmt.Sprintf("status %d for a file",
			resp.StatusCode)}
	}
	body, err := io.ReadAll(io.LimitReader(resp.Body, fileLimit+1))
	if err != nil {
		return nil, &silence{written: true, why: w.reason(err)}
	}
	if len(body) > fileLimit {
		return nil, fmt.Errorf("the file is larger than %d kB", fileLimit>>10)
	}
	return body, nil
}
