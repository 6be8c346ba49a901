package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strings"
	"sync/atomic"
	"time"
)

// answerLimit bounds an answer. The open server cuts a getUpdates answer at 4 MiB
// (Client.cpp, JsonUpdates).
const answerLimit = 8 << 20

// Refused is an answer of the far side that says no. Code is its error code: 400 the request is
// wrong, 401 and 404 the token is not taken, 403 the chat refuses the bot, 409 somebody else
// fetches, 429 too many requests, 500 and above the far side is in trouble.
type Refused struct {
	Code       int
	Reason     string
	RetryAfter time.Duration // 429 only
	MovedTo    int64         // the chat has this number now; 0: it has not moved
}

// Error gives code and reason in the far side's words.
func (e *Refused) Error() string {
	return fmt.Sprintf("telegram refused (%d): %s", e.Code, e.Reason)
}

// silence is a request without a readable answer. Written says that the request went out whole,
// so that it may have been carried out all the same.
type silence struct {
	written bool
	why     string
}

// Error says why there was no answer.
func (e *silence) Error() string { return "telegram gave no answer: " + e.why }

// A request ends in a yes, in [Refused] or in silence, and nothing else. The three ask
// different things of the caller, so they are told apart here, where the whole answer is seen.

// wire makes the requests, both its own and the library's, for which it is the HTTP client. It
// turns every answer other than a yes into [Refused] or silence, so that nothing above has to
// tell a proxy's page from an answer, and keeps the token out of every error.
type wire struct {
	client *http.Client
	base   string // of methods
	files  string // of files
	token  string
	asks   func() (answer func(at time.Time))
}

// transport is HTTP/1.1 alone: with many requests on one connection a line that has died holds
// them all until it is noticed. Idle connections are given up early, before the far side does,
// since a request lost that way cannot be told from one that was taken.
func transport() *http.Transport {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.Protocols = new(http.Protocols)
	t.Protocols.SetHTTP1(true)
	t.IdleConnTimeout = 20 * time.Second
	t.MaxIdleConnsPerHost = lanes + 1
	return t
}

// newWire makes requests on a road, each limited from its first byte to the last of its answer.
func newWire(road http.RoundTripper, o Options, limit time.Duration) *wire {
	return &wire{base: o.URL + "/bot" + o.Token + "/", files: o.URL + "/file/bot" + o.Token + "/",
		token: o.Token, asks: o.Asks, client: &http.Client{
			Transport: road,
			Timeout:   limit,
			CheckRedirect: func(*http.Request, []*http.Request) error {
				return http.ErrUseLastResponse // a redirect would carry the token elsewhere
			},
		}}
}

// envelope is the frame of every answer (Bot API manual, "Making requests"). The chat number is
// 64 bits wide here, which the library's int is not on a small board.
type envelope struct {
	OK          bool
	Result      json.RawMessage
	ErrorCode   int `json:"error_code"`
	Description string
	Parameters  struct {
		RetryAfter int64 `json:"retry_after"`
		MigrateTo  int64 `json:"migrate_to_chat_id"`
	}
}

// call makes one request of our own and gives its result. It fails with [Refused] or silence, or
// when ctx ends.
func (w *wire) call(ctx context.Context, method string, params any) (json.RawMessage, error) {
	body, err := json.Marshal(params)
	if err != nil {
		return nil, err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, w.base+method,
		bytes.NewReader(body))
	if err != nil {
		return nil, errors.New(w.hush(err.Error()))
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := w.Do(req)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	var e envelope
	err = json.NewDecoder(resp.Body).Decode(&e)
	return e.Result, err
}

// Do makes a request whose answer is a yes, with its body already read. All else is an error. The
// library calls it.
func (w *wire) Do(req *http.Request) (*http.Response, error) {
	var written atomic.Bool
	if err := rewind(req); err != nil {
		return nil, &Refused{Code: 400, Reason: "the request cannot be built: " + err.Error()}
	}
	ctx := httptrace.WithClientTrace(req.Context(), &httptrace.ClientTrace{
		WroteRequest: func(i httptrace.WroteRequestInfo) { written.Store(i.Err == nil) },
	})
	answer := w.asks()
	resp, err := w.client.Do(req.WithContext(ctx))
	if err != nil {
		return nil, &silence{written: written.Load(), why: w.reason(err)}
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, answerLimit+1))
	if err != nil {
		return nil, &silence{written: true, why: w.reason(err)}
	}
	var e envelope
	if err := json.Unmarshal(body, &e); err != nil || len(body) > answerLimit ||
		!e.OK && e.ErrorCode == 0 || e.OK && len(e.Result) == 0 {
		return nil, &silence{written: perhaps(resp.StatusCode), why: fmt.Sprintf(
			"status %d and %d bytes that are no answer", resp.StatusCode, len(body))}
	}
	if at, err := http.ParseTime(resp.Header.Get("Date")); err == nil { // RFC 9110, 6.6.1
		answer(at)
	}
	if !e.OK {
		return nil, &Refused{Code: e.ErrorCode, Reason: w.hush(short(e.Description)),
			RetryAfter: time.Duration(e.Parameters.RetryAfter) * time.Second,
			MovedTo:    e.Parameters.MigrateTo}
	}
	resp.Body = io.NopCloser(bytes.NewReader(body))
	return resp, nil
}

// perhaps says whether a request may have been carried out whose answer is not the far side's own,
// by the answer's status: 200 may be an answer that was spoilt, and 504 is a gateway that waited
// in vain (RFC 9110, 15.6.5). All other such pages come from something on the way.
func perhaps(status int) bool {
	return status == http.StatusOK || status == http.StatusGatewayTimeout
}

// rewind reads the request's body into memory: then it has a length, and the standard client can
// begin anew by itself when nothing of it was written.
func rewind(req *http.Request) error {
	if req.Body == nil || req.GetBody != nil {
		return nil
	}
	body, err := io.ReadAll(req.Body)
	req.Body.Close()
	if err != nil {
		return err
	}
	req.ContentLength = int64(len(body))
	req.GetBody = func() (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(body)), nil
	}
	req.Body, err = req.GetBody()
	return err
}

// reason is an error of the standard client without the address, which holds the token.
func (w *wire) reason(err error) string {
	var u *url.Error
	if errors.As(err, &u) {
		if u.Timeout() {
			return "time is over"
		}
		err = u.Err
	}
	return w.hush(err.Error())
}

// hush takes the token out of a text.
func (w *wire) hush(s string) string {
	return strings.ReplaceAll(s, w.token, "(token)")
}

// clean takes the library's words, and the token, off an error.
func (l *Link) clean(err error) error {
	var no *Refused
	var mute *silence
	switch {
	case errors.As(err, &no):
		return no
	case errors.As(err, &mute):
		return mute
	}
	return errors.New("telegram: " + l.wire.hush(err.Error()))
}

// short cuts a foreign text to what a report can bear.
func short(s string) string {
	r := []rune(s)
	if len(r) <= 200 {
		return s
	}
	return string(r[:200]) + "…"
}
