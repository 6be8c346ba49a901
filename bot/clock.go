package bot

import (
	"slices"
	"strconv"
	"time"

	"lotbell/state"
	"lotbell/state/journal"
)

// A clock that was ahead leaves instants behind it that lie ahead of the right one: what was heard,
// when calls rang, which summaries were seen to. Without more they would keep everything that goes
// by the clock waiting until it has come there again.

// clockBehind is how far a clock may be behind the journal before it is not believed.
const clockBehind = 5 * time.Minute

// PutRight tells the desk that now is right for sure. When what was heard lies well ahead of it the
// clock had been wrong: then that is noted, everything counts on from now, and since is when the
// clock may have gone wrong. 0: it has not.
func (d *Desk) PutRight(now state.Instant) (since state.Instant, err error) {
	was := max(d.mill.Heard(), d.lastAlive())
	if was.Sub(now) <= clockBehind {
		return 0, nil
	}
	if since, err = d.heardBefore(now); err != nil {
		return 0, err
	}
	t := d.turn(now)
	t.at = now
	t.own(state.Clock{Was: was, Is: now})
	for _, s := range d.watch.Book.Summaries {
		if d.slot(s) > now {
			d.slots[s.Name] = now
			t.b.Cursors[slotName(s)] = strconv.FormatInt(int64(now), 10)
		}
	}
	for _, id := range d.peopleIDs() {
		if c := d.cards[id]; c.Until > now.Add(invitedFor) {
			c.Until = now.Add(invitedFor)
			t.card(c)
		}
	}
	return since, d.finish(t)
}

// heardBefore is when something was last heard that does not lie ahead of an instant; that instant
// when nothing was.
func (d *Desk) heardBefore(now state.Instant) (state.Instant, error) {
	es, err := d.db.Load()
	for _, e := range slices.Backward(es) {
		if e.Heard <= now {
			return e.Heard, nil
		}
	}
	return now, err
}

// clockWas tells the managers that the machine's clock was wrong, and from when to when.
func (t *turn) clockWas() {
	for _, p := range t.mill.Persons() {
		if p.Is(state.Manager) {
			lang := t.langOf(p.ID)
			t.tell(p.ID, journal.Out{Priority: 4, Key: "clock"}, Outgoing{Text: t.voice.Say(lang,
				"clock.was-wrong", "from", t.clockAt(t.msg.At, t.at, lang), "to",
				t.clockAt(t.msg.Until, t.at, lang))})
		}
	}
}
