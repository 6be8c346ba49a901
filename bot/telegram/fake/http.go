package fake

import (
	"context"
	"encoding/json"
	"io"
	"mime/multipart"
	"net/http"
	"strconv"
	"strings"
)

// params are a request's fields, whichever of the manual's three ways they came by ("Making
// requests"): JSON, a form, or a form with files. Values are as text; what is no text is JSON.
type params struct {
	values map[string]string
	files  map[string]*multipart.FileHeader
}

// integer is a whole number, or other when there is none.
func (p params) integer(name string, other int64) int64 {
	n, err := strconv.ParseInt(p.values[name], 10, 64)
	if err != nil {
		return other
	}
	return n
}

// reply is an answer: a result, or an error code with its words and what may go with it. cut ends
// the connection instead.
type reply struct {
	code       int // 0: yes
	text       string
	retryAfter int
	migrateTo  int64
	result     json.RawMessage
	file       []byte // instead of all this: a file's bytes
	cut        bool
}

// yes is an answer with a result.
func yes(result any) reply { return reply{result: object(result)} }

// no is a refusal: an error code, and the server's words for it.
func no(code int, description string) reply {
	return reply{code: code, text: description}
}

// itoa is a whole number as text.
func itoa(n int) string { return strconv.Itoa(n) }

// ServeHTTP answers one request. The address holds token and method, or token and a file's path; a
// token of another bot is refused before anything is read (ClientManager.cpp, send).
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	p, err := read(r)
	path, isFile := strings.CutPrefix(r.URL.Path, "/file")
	token, method, ok := strings.Cut(strings.TrimPrefix(path, "/bot"), "/")
	if isFile {
		p.values["path"], method = method, fileMethod
	}
	switch {
	case !strings.HasPrefix(path, "/bot") || !ok:
		no(404, "Not Found").write(w)
	case token != s.token:
		no(401, "Unauthorized").write(w)
	case err != nil:
		no(400, "Bad Request: "+err.Error()).write(w)
	default:
		s.serve(w, r, method, p)
	}
}

// serve carries one request out, or lets it go wrong. Everything but the waiting happens under the
// one lock, so requests are carried out one after another.
func (s *Server) serve(w http.ResponseWriter, r *http.Request, method string, p params) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.calls[method]++
	if method != "getUpdates" {
		s.requests++
		number := s.requests
		s.flying[number] = p.integer("chat_id", 0)
		s.most = max(s.most, len(s.flying))
		defer func() { delete(s.flying, number); s.change() }()
	}
	s.change()
	up := s.http
	for s.held && method != "getUpdates" && r.Context().Err() == nil {
		s.pause(r.Context(), nil)
	}
	if s.http != up {
		panic(http.ErrAbortHandler) // Down came first: nothing is done
	}
	f := s.fault(method, p)
	answer := reply{cut: true}
	switch {
	case f == nil || f.accept:
		answer = s.do(r.Context(), method, p)
	case f.refusal != nil:
		answer = *f.refusal
	}
	for f != nil && f.stall && s.http == up && r.Context().Err() == nil {
		s.pause(r.Context(), nil)
	}
	w.Header().Set("Date", s.now.UTC().Format(http.TimeFormat)) // RFC 9110, 6.6.1
	switch {
	case f != nil && f.refusal == nil && !f.cut && !f.stall:
		w.WriteHeader(f.status)
		_, _ = io.WriteString(w, f.body) // a client that left is no concern
	case answer.cut || f != nil && f.refusal == nil:
		panic(http.ErrAbortHandler) // net/http's own way to end a connection
	default:
		answer.write(w)
	}
}

// pause waits for a change, for the client to leave, or for ended. The lock is held, except
// meanwhile.
func (s *Server) pause(ctx context.Context, ended chan struct{}) {
	changed := s.changed
	s.mu.Unlock()
	select {
	case <-changed:
	case <-ctx.Done():
	case <-ended:
	}
	s.mu.Lock()
}

// read takes a request apart. It reads to the end: only then does the standard server notice that
// a client leaves.
func read(r *http.Request) (params, error) {
	p := params{map[string]string{}, map[string]*multipart.FileHeader{}}
	kind := r.Header.Get("Content-Type")
	switch {
	case strings.HasPrefix(kind, "application/json"):
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return p, err
		}
		var fields map[string]json.RawMessage
		if err := json.Unmarshal(body, &fields); err != nil {
			return p, err
		}
		for k, v := range fields {
			var text string
			if json.Unmarshal(v, &text) != nil {
				text = string(v)
			}
			p.values[k] = text
		}
		return p, nil
	case strings.HasPrefix(kind, "multipart/form-data"):
		// The library sends a form without any part for a method without fields.
		if err := r.ParseMultipartForm(64 << 20); err != nil && err != io.EOF &&
			!strings.Contains(err.Error(), io.EOF.Error()) {
			return p, err
		}
		_, _ = io.Copy(io.Discard, r.Body) // to the end, so that a client that leaves is noticed
	default:
		if err := r.ParseForm(); err != nil {
			return p, err
		}
	}
	for k, v := range r.Form {
		p.values[k] = v[0]
	}
	if r.MultipartForm != nil {
		for k, v := range r.MultipartForm.File {
			p.files[k] = v[0]
		}
	}
	return p, nil
}

// write sends an answer in the manual's frame, its error code also as the status.
func (r reply) write(w http.ResponseWriter) {
	if r.file != nil {
		_, _ = w.Write(r.file)
		return
	}
	frame := map[string]any{"ok": r.code == 0}
	if r.code == 0 {
		frame["result"] = r.result
	} else {
		frame["error_code"], frame["description"] = r.code, r.text
	}
	if r.retryAfter > 0 {
		frame["parameters"] = map[string]any{"retry_after": r.retryAfter}
		w.Header().Set("Retry-After", itoa(r.retryAfter))
	}
	if r.migrateTo != 0 {
		frame["parameters"] = map[string]any{"migrate_to_chat_id": r.migrateTo}
	}
	w.Header().Set("Content-Type", "application/json")
	if r.code != 0 {
		w.WriteHeader(r.code)
	}
	_, _ = w.Write(object(frame)) // a client that left is no concern
}
