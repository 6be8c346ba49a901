package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"time"

	"lotbell/bot"
	"lotbell/bot/telegram"
)

// health is a port on which this machine may ask whether serve is well. It tells numbers only.
// The desk answers for itself, so that a desk that hangs is seen.
type health struct {
	asks chan chan<- counted
	wait time.Duration // how long the desk may take
}

// counted is the desk's answer.
type counted struct {
	bot.Counts
	failing bool // the last step could not be finished
	err     error
}

// deskWait is how long the desk may take to answer before it counts as hanging.
const deskWait = 10 * time.Second

// listenHere opens a port that only this machine reaches; any other address is refused.
func listenHere(address string) (net.Listener, error) {
	const example = "for example 127.0.0.1:8077"
	at, err := netip.ParseAddrPort(address)
	if err != nil {
		return nil, fmt.Errorf("-health %q is no address and port: %s", address, example)
	}
	if !at.Addr().IsLoopback() {
		return nil, fmt.Errorf("-health %s could be asked by other machines: only a loopback address "+
			"is taken, %s", address, example)
	}
	l, err := net.Listen("tcp", at.String())
	if err != nil {
		return nil, fmt.Errorf("-health %s: %w", address, err)
	}
	return l, nil
}

// serve answers on a listener until ctx ends.
func (h *health) serve(ctx context.Context, l net.Listener) error {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /health", h.well)
	mux.HandleFunc("GET /metrics", h.metrics)
	srv := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second,
		WriteTimeout: h.wait + 5*time.Second, MaxHeaderBytes: 8 << 10}
	stop := context.AfterFunc(ctx, func() { srv.Close() })
	defer stop()
	if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// ask lets the desk count. It fails when the desk does not answer.
func (h *health) ask(ctx context.Context) (counted, error) {
	ctx, cancel := context.WithTimeout(ctx, h.wait)
	defer cancel()
	answer := make(chan counted, 1)
	select {
	case h.asks <- answer:
	case <-ctx.Done():
		return counted{}, fmt.Errorf("the desk does not answer within %s", h.wait)
	}
	select {
	case c := <-answer:
		return c, c.err
	case <-ctx.Done():
		return counted{}, fmt.Errorf("the desk does not answer within %s", h.wait)
	}
}

// well says "ok" and 200, or what is wrong and 503.
func (h *health) well(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	c, err := h.ask(r.Context())
	switch {
	case err != nil:
		w.WriteHeader(http.StatusServiceUnavailable)
		fmt.Fprintln(w, err)
	case c.failing:
		w.WriteHeader(http.StatusServiceUnavailable)
		fmt.Fprintln(w, "the desk could not finish its last step; see the log")
	default:
		fmt.Fprintln(w, "ok")
	}
}

// metrics writes the counts in the text form that collectors read (Prometheus text exposition
// format 0.0.4: prometheus.io/docs/instrumenting/exposition_formats).
func (h *health) metrics(w http.ResponseWriter, r *http.Request) {
	c, err := h.ask(r.Context())
	if err != nil {
		http.Error(w, err.Error(), http.StatusServiceUnavailable)
		return
	}
	w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
	writeCounts(w, c)
}

func writeCounts(w io.Writer, c counted) {
	up := 1
	if c.failing {
		up = 0
	}
	for _, m := range []struct {
		name, help string
		value      float64
	}{
		{"well", "1 when the desk finished its last step", float64(up)},
		{"events", "events in the journal", float64(c.Events)},
		{"heard_seconds", "when the last event was heard, seconds since 1970",
			float64(c.Heard) / 1000},
		{"book", "version of the rule book in force", float64(c.Book)},
		{"people", "people of the mill", float64(c.People)},
		{"reachable", "people whom a message can reach", float64(c.Reachable)},
		{"on_shift", "people on shift", float64(c.OnShift)},
		{"lots", "lots that lie somewhere", float64(c.Lots)},
		{"doubts", "doubts that nobody has settled", float64(c.Doubts)},
		{"calls", "calls that stand", float64(c.Calls)},
		{"calls_unheard", "calls that nobody has taken", float64(c.Unheard)},
		{"calls_urgent", "calls of the first priority that nobody has taken", float64(c.Urgent)},
		{"inbox", "messages not yet taken", float64(c.Inbox)},
		{"inbox_delayed", "messages that wait because their phone sent too many",
			float64(c.Delayed)},
		{"set_aside", "messages that could not be read", float64(c.SetAside)},
		{"outbox", "messages not yet sent", float64(c.Outbox)},
	} {
		fmt.Fprintf(w, "# HELP lotbell_%s %s\n# TYPE lotbell_%s gauge\nlotbell_%s %v\n", m.name,
			m.help, m.name, m.name, m.value)
	}
}

// count answers one question of the port, in the desk's own goroutine.
func (s *server) count(answer chan<- counted) {
	c := counted{failing: s.failing}
	c.Counts, c.err = s.desk.Counts(telegram.Via)
	answer <- c
}
