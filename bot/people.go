package bot

import (
	"lotbell/state"
	"lotbell/state/journal"
)

// Book is the text and version of the rule book in force.
func (d *Desk) Book() (string, int) { return d.mill.Book() }

// FirstCode is the code by which the first keeper enrols, as long as nobody of the mill can be
// reached; "" afterwards. It is made once and kept.
func (d *Desk) FirstCode(now state.Instant) (string, error) {
	for _, c := range d.cards {
		if len(c.At) > 0 {
			return "", nil
		}
	}
	for _, c := range d.cards {
		if c.Code != "" {
			return c.Code, nil
		}
	}
	if d.o.Code == nil {
		return "", nil
	}
	t := d.turn(now)
	c := journal.Card{Person: t.mill.NextPerson(), Name: "keeper", Code: d.o.Code()}
	t.card(c)
	t.own(state.Staff{Person: c.Person, Roles: []state.Role{state.Manager, state.Keeper},
		Lang: "en"})
	return c.Code, d.finish(t)
}

// CannotWrite is the one line that goes out unsaved when nothing can be stored.
func (d *Desk) CannotWrite(lang string) string {
	if !d.voice.Speaks(lang) {
		return d.voice.Say("es", "cannot-write") + " / " + d.voice.Say("en", "cannot-write")
	}
	return d.voice.Say(lang, "cannot-write")
}

// HelpAddresses are where a cry for help goes, by a transport.
func (d *Desk) HelpAddresses(via string) []string {
	var out []string
	for _, p := range d.mill.Persons() {
		if !p.Is(state.Manager) && !p.At(state.Safety) && !p.Is(state.Watch) && !p.Is(state.Lead) {
			continue
		}
		for _, a := range d.cards[p.ID].At {
			if x := ParseAddress(a); x.Via == via {
				out = append(out, x.ID)
			}
		}
	}
	return out
}
