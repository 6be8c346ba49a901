package bot

import "lotbell/state"

// Counts says how a mill and its desk are, in numbers only: no name, no place, no text.
type Counts struct {
	Events    int           // in the journal
	Heard     state.Instant // when the last one was heard; 0: never
	Book      int           // version in force
	People    int
	Reachable int // of them
	OnShift   int
	Lots      int // that lie somewhere
	Doubts    int // that nobody has settled
	Calls     int // that stand
	Unheard   int // of them, that nobody has taken or put aside
	Urgent    int // of those, of the first priority
	Inbox     int // messages not yet taken
	Delayed   int // of them, because their phone sent too many
	SetAside  int // messages that could not be read
	Outbox    int // messages not yet sent, by every transport
}

// Counts counts. It reads the boxes of the journal, which are short when all is well.
func (d *Desk) Counts(vias ...string) (Counts, error) {
	_, book := d.mill.Book()
	c := Counts{Events: int(d.mill.Next() - 1), Heard: d.mill.Heard(), Book: book,
		Lots: len(d.mill.OpenStays()), Doubts: len(d.mill.Conflicts()), Delayed: len(d.delayed)}
	for _, p := range d.mill.Persons() {
		c.People++
		if p.Reachable {
			c.Reachable++
		}
		if p.OnDuty(c.Heard) {
			c.OnShift++
		}
	}
	for _, call := range d.mill.Calls() {
		c.Calls++
		if call.State == state.Unacknowledged {
			c.Unheard++
			if call.Priority == 1 {
				c.Urgent++
			}
		}
	}
	in, err := d.db.Inbox(0)
	if err != nil {
		return c, err
	}
	aside, err := d.db.Asides(0)
	if err != nil {
		return c, err
	}
	c.Inbox, c.SetAside = len(in), len(aside)
	for _, via := range vias {
		out, err := d.db.Outbox(via, 0)
		if err != nil {
			return c, err
		}
		c.Outbox += len(out)
	}
	return c, nil
}
