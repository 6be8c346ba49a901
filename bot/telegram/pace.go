package telegram

import (
	"time"

	"golang.org/x/time/rate"

	"lotbell/state"
)

// The courtesy that the far side asks of a bot: about 30 messages a second in all, one a second to
// a chat with a few at once, 20 a minute to a group (Bot API FAQ, "My bot is hitting limits").
// These are guidance; the law is retry_after, see sender.refused.
const (
	allPerSecond   = 30
	allAtOnce      = 10
	chatPerSecond  = 1
	groupPerMinute = 20
	chatAtOnce     = 3
	manyChats      = 1000 // more than this and the buckets begin anew
)

// pacer keeps the courtesy, at the instants it is given.
type pacer struct {
	all   *rate.Limiter
	chats map[int64]*rate.Limiter
	seen  time.Time
}

// newPacer begins with full buckets, so that the first few messages need not wait.
func newPacer() *pacer {
	return &pacer{all: rate.NewLimiter(allPerSecond, allAtOnce), chats: map[int64]*rate.Limiter{}}
}

// wait is how long a message to a chat should wait, 0 for not at all. What is urgent waits for
// the whole's courtesy but not for the chat's. When the clock was set back the buckets begin anew:
// they would not fill before it has caught up.
func (p *pacer) wait(chat int64, now time.Time, urgent bool) time.Duration {
	if now.Before(p.seen) {
		*p = *newPacer()
	}
	p.seen = now
	d := lacking(p.all, now)
	if !urgent {
		d = max(d, lacking(p.chat(chat), now))
	}
	return d
}

// take counts a message to a chat. What was urgent leaves a debt, so that chatter after it waits
// the longer.
func (p *pacer) take(chat int64, now time.Time) {
	p.all.ReserveN(now, 1)
	p.chat(chat).ReserveN(now, 1)
}

// chat is a chat's bucket, made when first asked for. Strangers may write by the thousand, so all
// are forgotten when there are many; a full bucket too early costs courtesy only.
func (p *pacer) chat(chat int64) *rate.Limiter {
	l := p.chats[chat]
	if l == nil {
		if len(p.chats) >= manyChats {
			clear(p.chats)
		}
		r := rate.Limit(chatPerSecond)
		if chat < 0 { // groups have negative numbers
			r = rate.Limit(groupPerMinute / 60.0)
		}
		l = rate.NewLimiter(r, chatAtOnce)
		p.chats[chat] = l
	}
	return l
}

// lacking is the time until a bucket holds one whole token, rounded up to a millisecond.
func lacking(l *rate.Limiter, now time.Time) time.Duration {
	short := 1 - l.TokensAt(now)
	if short < 1e-6 { // the bucket counts in floating point
		return 0
	}
	d := time.Duration(short / float64(l.Limit()) * float64(time.Second))
	return d.Truncate(time.Millisecond) + time.Millisecond
}

// hold keeps something back until an instant. The zero value holds nothing. A clock that was set
// to before the hold began ends it, so that an alarm is not kept for the hours that were undone.
type hold struct{ from, until state.Instant }

// left is how long the hold lasts at an instant, 0 when it does not.
func (h hold) left(at state.Instant) time.Duration {
	if at < h.from || at >= h.until {
		return 0
	}
	return h.until.Sub(at)
}

// soonest finds the shortest of several waits. The zero value has seen none.
type soonest time.Duration

// see takes a wait into account. 0 and less are no wait.
func (s *soonest) see(d time.Duration) {
	if d > 0 && (*s == 0 || d < time.Duration(*s)) {
		*s = soonest(d)
	}
}
