package main

import (
	"context"
	"fmt"
	"sync"
	"time"

	"lotbell/bot"
	"lotbell/state"
)

// clock is serve's clock. A small board may start in another year, and a clock may be set while the
// program runs, right or wrong. The far side tells its own time with every answer: once it has, the
// machine's clock is not followed where it is more than believed away from it, nor over a jump that
// no answer has confirmed yet. Meanwhile the time goes on by what has passed.
type clock struct {
	machine func() time.Time
	passed  func() time.Duration // since some moment; nobody can set it
	wrong   func(by time.Duration)
	again   func(from, to time.Time)

	mu    sync.Mutex
	told  bool          // the far side has told its time
	right time.Time     // what the time was
	at    time.Duration // when so much had passed
	since time.Time     // the machine's clock is wrong since; zero: it is right
}

// believed is how far the machine's clock may be from the far side's. Messages take seconds; minutes
// are a clock that somebody has set.
const believed = 5 * time.Minute

// near says whether two times are as good as the same.
func near(a, b time.Time) bool { return a.Sub(b).Abs() <= believed }

// now is the time.
func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	shows, passed := c.shows(), c.passed()
	if on := c.right.Add(passed - c.at); c.told && !near(shows, on) {
		return on
	}
	c.right, c.at = shows, passed
	return shows
}

// shows is what the machine's clock shows, without what Go keeps beside it to measure spans, which
// goes on when the clock is set.
func (c *clock) shows() time.Time { return c.machine().Round(0) }

// sure says whether the time is known from the far side.
func (c *clock) sure() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.told
}

// asks begins a request. Its answer brings the time that the far side has told.
func (c *clock) asks() (answer func(t time.Time)) {
	sent := c.passed()
	return func(t time.Time) { c.far(t, c.passed()-sent) }
}

// far takes a time that the far side told within a request that took so long; one that took too long
// tells nothing against the machine. The operator hears when the machine's clock goes wrong, and by
// how much it is ahead; again is called when it is right again.
func (c *clock) far(t time.Time, took time.Duration) {
	c.mu.Lock()
	shows, since := c.shows(), c.since
	is := t.Sub(shows) > believed || shows.Sub(t.Add(took)) > believed
	if is && took > believed {
		c.mu.Unlock()
		return
	}
	c.told, c.right, c.at, c.since = true, shows, c.passed(), time.Time{}
	if is {
		c.right, c.since = t, t
		if !since.IsZero() {
			c.since = since
		}
	}
	c.mu.Unlock()
	switch {
	case is && since.IsZero():
		c.wrong(shows.Sub(t))
	case !is && !since.IsZero():
		c.again(since, t)
	}
}

// wasWrong takes from the journal since when the clock was wrong.
func (c *clock) wasWrong(since time.Time) {
	now := c.now()
	c.mu.Lock()
	still := !c.since.IsZero()
	if still {
		c.since = since
	}
	c.mu.Unlock()
	if !still {
		c.again(since, now)
	}
}

// timeWait is how long the start waits for the far side's time.
const timeWait = 5 * time.Second

// learnTime asks the far side for its time, before anything is done by the machine's clock alone.
// Its answer brings the bot's name too. Where nobody answers, the machine is believed.
func (s *server) learnTime() {
	ctx, cancel := context.WithTimeout(context.Background(), timeWait)
	defer cancel()
	s.askName(ctx)
}

// putRight lets the desk go on from the right time when the journal ends ahead of it.
func (s *server) putRight() error {
	if !s.clock.sure() {
		return nil
	}
	since, err := s.desk.PutRight(s.at())
	if err == nil && since != 0 {
		s.log.Warn("the clock had been ahead: everything counts on from now", "since", since.Time())
		s.clock.wasWrong(since.Time())
	}
	return err
}

// clockWrong and clockAgain say that the machine's clock is wrong, and that it was.
func (s *server) clockWrong(by time.Duration) {
	is := "ahead"
	if by < 0 {
		is, by = "behind", -by
	}
	s.log.Warn("this machine's clock is "+is+"; the far side's is believed. Next: set it", "by",
		by.Round(time.Second).String())
}

func (s *server) clockAgain(from, to time.Time) {
	s.log.Warn("this machine's clock is right again", "wrong since", from)
	s.tell(bot.Message{Kind: bot.ClockWas, At: state.At(from), Until: state.At(to)},
		fmt.Sprint("clock-", from.Unix()))
}
