package fake

import "slices"

// Fault is something that goes wrong with one request. Make it with the functions below; the zero
// value is an answer of status 200 without a body.
type Fault struct {
	status  int
	body    string
	accept  bool  // the request is carried out all the same
	cut     bool  // the connection ends without an answer
	stall   bool  // no answer comes until the client leaves
	chat    int64 // only for this chat; 0: any
	refusal *reply
}

// Flood refuses with 429 and the seconds to wait (Query.cpp, set_retry_after_error).
func Flood(seconds int) Fault {
	r := no(429, "Too Many Requests: retry after "+itoa(seconds))
	r.retryAfter = seconds
	return Fault{refusal: &r}
}

// Refuse refuses with an error code and the server's words for it.
func Refuse(code int, description string) Fault {
	r := no(code, description)
	return Fault{refusal: &r}
}

// Garbage answers with a status and a body that is no answer, as a proxy on the way might, and
// does not carry the request out.
func Garbage(status int, body string) Fault { return Fault{status: status, body: body} }

// Spoil carries the request out and answers with a status and a body of its own.
func Spoil(status int, body string) Fault {
	return Fault{status: status, body: body, accept: true}
}

// Cut ends the connection without carrying the request out.
func Cut() Fault { return Fault{cut: true} }

// Swallow carries the request out and ends the connection without an answer.
func Swallow() Fault { return Fault{cut: true, accept: true} }

// Stall carries the request out and never answers.
func Stall() Fault { return Fault{stall: true, accept: true} }

// For limits a fault to requests for one chat.
func (f Fault) For(chat int64) Fault {
	f.chat = chat
	return f
}

// order is a fault that is to happen n times; below 0 for ever.
type order struct {
	method string
	n      int
	Fault
}

// Fail lets the next n requests for a method go wrong; below 0 all of them, until Mend.
func (s *Server) Fail(method string, n int, how Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults = append(s.faults, &order{method, n, how})
}

// Mend takes back all that Fail ordered.
func (s *Server) Mend() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults = nil
}

// fault takes the first fault that fits a request, nil for none. The lock is held.
func (s *Server) fault(method string, p params) *Fault {
	for i, o := range s.faults {
		if o.method != method || o.chat != 0 && o.chat != p.integer("chat_id", 0) || o.n == 0 {
			continue
		}
		if o.n--; o.n == 0 {
			s.faults = slices.Delete(s.faults, i, i+1)
		}
		return &o.Fault
	}
	return nil
}
