package main

import (
	"strings"
	"testing"
	"time"
)

// clockWas is what the manager hears once the machine's clock is right again, readNow what the drum
// hand hears two hours after a reading of moisture, resend what all hear after an outage of a day.
const (
	clockWas = "clock was wrong"
	readNow  = "moisture now?"
	resend   = "send again"
)

// count is how many messages to a chat have some words, from the i-th sending on.
func (m *made) count(chat int64, from int, words string) int {
	n := 0
	for _, text := range m.texts(chat, from) {
		n += strings.Count(text, words)
	}
	return n
}

// told says whether the manager has heard some words.
func (m *made) told(words string) func() bool {
	return func() bool { return m.count(900, 0, words) > 0 }
}

// noResend holds that nobody was asked to send anything again.
func (m *made) noResend() {
	m.t.Helper()
	for _, chat := range []int64{900, 1000, 1001} {
		if n := m.count(chat, 0, resend); n != 0 {
			m.t.Errorf("%d was asked to send again %d times", chat, n)
		}
	}
}

// TestServeClockIsSet: the machine's clock is set forward by three days, then back to where it
// was, then an hour too far back. Every line is answered and every alarm rings, whatever the clock
// shows; the operator hears that it is wrong, the manager once that it was.
func TestServeClockIsSet(t *testing.T) {
	for _, x := range []struct {
		name string
		by   []time.Duration
		told string // the operator, that the clock is wrong; "": nothing
	}{
		{"forward and back", []time.Duration{72 * time.Hour, -72 * time.Hour}, "clock is ahead"},
		{"back and forward", []time.Duration{-time.Hour, time.Hour}, "clock is behind"},
		{"a little back", []time.Duration{-2 * time.Minute}, ""},
	} {
		t.Run(x.name, func(t *testing.T) {
			m := newMade(t, 4)
			stop := m.start()
			m.drumOn()
			for i, by := range x.by {
				m.set(by)
				m.pass(time.Minute, lookEvery, 1)
				before := len(m.far.Sent())
				drum := "d" + string(rune('2'+i))
				m.until("a load", m.answered(m.far.Say(1000, drum+" load 2000kg")))
				id := m.far.Say(1000, drum+" 72")
				m.until("the answer", m.answered(id))
				m.until("the alarm", m.rang(1000, before, tooHot))
			}
			if x.told != "" {
				m.until("the manager hears of it", m.told(clockWas))
			}
			stop()
			for _, told := range []string{"clock is ahead", "clock is behind", "clock is right again"} {
				want := x.told != "" && (told == x.told || strings.Contains(told, "again"))
				if m.log.has(told) != want {
					t.Errorf("the operator was told %q: %t, want %t", told, !want, want)
				}
			}
			if n := m.count(900, 0, clockWas); n != len(x.by)-1 {
				t.Errorf("the manager was told %d times", n)
			}
			for _, e := range m.ends() {
				if e.Dead != "" && e.Priority <= 2 {
					t.Errorf("an alarm was given up: %s", e.Dead)
				}
			}
		})
	}
}

// TestServeGoesOnInAJump: the clock jumps 30 hours forward while polls go on, and back again. That
// is no outage, nothing rings early, and what is due rings at its hour.
func TestServeGoesOnInAJump(t *testing.T) {
	m := newMade(t, 2)
	stop := m.start()
	m.drumOn()
	m.until("a reading", m.answered(m.far.Say(1000, "d1 hum 21")))
	before := len(m.far.Sent())
	m.pass(10*time.Minute, lookEvery, 1)
	m.set(30 * time.Hour)
	m.until("it is noticed", func() bool { return m.log.has("clock is ahead") })
	m.pass(20*time.Minute, lookEvery, 1)
	m.set(-30 * time.Hour)
	m.pass(80*time.Minute, lookEvery, 1)
	if n := m.count(1000, before, readNow); n != 0 {
		t.Errorf("the reading was asked for %d times too early", n)
	}
	m.pass(15*time.Minute, lookEvery, 1)
	m.until("the reading is asked for", m.rang(1000, before, readNow))
	m.until("the manager hears of the clock", m.told(clockWas))
	stop()
	m.noResend()
}

// TestServeStartsInAnotherYear: the program starts by a clock that is a year ahead, and goes on by
// the right one: the far side tells its time at the start, later, or to the next program. Nobody is
// asked to send again, and what is due rings at its hour, the morning's summary too.
func TestServeStartsInAnotherYear(t *testing.T) {
	for _, x := range []struct {
		name          string
		cut, restarts bool
	}{{"with the far side", false, false}, {"without it", true, false},
		{"without it, started again", true, true}} {
		t.Run(x.name, func(t *testing.T) {
			m := newMade(t, 2)
			stop := m.start()
			m.drumOn()
			m.until("a reading", m.answered(m.far.Say(1000, "d1 hum 21")))
			stop()
			before := len(m.far.Sent())
			loops := 1
			if x.cut {
				m.far.Down()
				loops = 2
			}
			m.set(365 * 24 * time.Hour)
			stop = m.start()
			m.pass(10*time.Minute, lookEvery, loops)
			if x.restarts {
				stop()
			}
			m.set(-365 * 24 * time.Hour)
			m.up()
			if x.restarts {
				stop = m.start()
			}
			m.until("it goes on", m.answered(m.far.Say(1000, "d1?")))
			m.pass(90*time.Minute, lookEvery, 1)
			if n := m.count(1000, before, readNow); n != 0 {
				t.Errorf("the reading was asked for %d times too early", n)
			}
			after := len(m.far.Sent())
			m.pass(20*time.Minute, lookEvery, 1)
			m.until("the reading is asked for", m.rang(1000, after, readNow))
			m.until("the manager hears of the clock", m.told(clockWas))
			if x.cut {
				m.pass(20*time.Hour, 4*time.Minute, 1)
				m.until("the morning's summary", m.told("UP: "))
			}
			stop()
			m.noResend()
			if n := m.count(900, 0, clockWas); n != 1 {
				t.Errorf("the manager was told %d times", n)
			}
		})
	}
}
