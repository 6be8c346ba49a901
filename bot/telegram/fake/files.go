package fake

import (
	"fmt"
	"image"
	_ "image/jpeg" // the kinds of picture that are sent
	_ "image/png"
	"io"
	"mime/multipart"
	"strings"
	"time"
)

// The life of a file that a person sends: its message names it by an id; getFile turns the id into
// a path, which is good for at least an hour (manual, getFile: here exactly an hour); the bytes
// come from the path. Bots fetch up to 20 MB (manual, File).
const (
	fetchMost = 20 << 20
	keepPath  = time.Hour
)

// fileMethod stands for the download of a file where a method's name is wanted: in Fail and Calls.
const fileMethod = "file"

// upload is a file that a person sent.
type upload struct {
	body  []byte
	until time.Time // the path's end; zero before getFile
}

// Document lets a person send a file in their own chat. It returns the message's number.
func (s *Server) Document(who int64, name string, body []byte, caption string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	id := fmt.Sprintf("BQAC%06d", len(s.files)+1)
	s.files[id] = upload{body: body}
	fields := map[string]any{"document": map[string]any{"file_id": id, "file_unique_id": "U" + id,
		"file_name": name, "mime_type": "text/plain", "file_size": len(body)}}
	if caption != "" {
		fields["caption"] = caption
	}
	return s.message(who, who, fields)
}

// getFile gives a file's path (do_get_file: wrong ids are told apart from files too big).
func (s *Server) getFile(p params) reply {
	id := p.values["file_id"]
	f, ok := s.files[id]
	switch {
	case id == "":
		return no(400, "Bad Request: file_id not specified")
	case !ok:
		return no(400, "Bad Request: wrong file_id or the file is temporarily unavailable")
	case len(f.body) > fetchMost:
		return no(400, "Bad Request: file is too big")
	}
	f.until = s.now.Add(keepPath)
	s.files[id] = f
	return yes(map[string]any{"file_id": id, "file_unique_id": "U" + id,
		"file_size": len(f.body), "file_path": "documents/" + id})
}

// download gives the bytes under a path while that is good.
func (s *Server) download(p params) reply {
	f, ok := s.files[strings.TrimPrefix(p.values["path"], "documents/")]
	if !ok || !f.until.After(s.now) {
		return no(404, "Not Found")
	}
	return reply{file: append([]byte{}, f.body...)}
}

// content is what an uploaded file holds; "" when it cannot be read.
func content(h *multipart.FileHeader) string {
	f, err := h.Open()
	if err != nil {
		return ""
	}
	defer f.Close()
	body, err := io.ReadAll(f)
	if err != nil {
		return ""
	}
	return string(body)
}

// photo looks into a picture: it must be one, its sides together at most 10000 pixels and one at
// most 20 times the other (manual, sendPhoto). The words are those that users of the service tell.
func photo(h *multipart.FileHeader) *reply {
	size, _, err := image.DecodeConfig(strings.NewReader(content(h)))
	w, l := size.Width, size.Height
	switch {
	case err != nil:
		bad := no(400, "Bad Request: IMAGE_PROCESS_FAILED")
		return &bad
	case w+l > 10000 || w > 20*l || l > 20*w:
		bad := no(400, "Bad Request: PHOTO_INVALID_DIMENSIONS")
		return &bad
	}
	return nil
}
