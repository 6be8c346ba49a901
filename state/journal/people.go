package journal

import (
	"encoding/binary"
	"fmt"

	"lotbell/state"
)

// Card is what the address book knows of a person: what the mill calls them, where they can be
// reached ("via:id", the preferred one first; several persons may share one), the code of an
// invitation that is open until an instant (0: without end), and the salted hash of the short code
// for orders from a shared phone. Nothing of it is in any event.
type Card struct {
	Person state.PersonID `json:"-"`
	Name   string         `json:",omitempty"`
	At     []string       `json:",omitempty"`
	Code   string         `json:",omitempty"`
	Until  state.Instant  `json:",omitempty"`
	Short  string         `json:",omitempty"`
}

// Cards gives the whole address book, by PersonID.
func (d *DB) Cards() ([]Card, error) {
	return list(d, cards, 0, func(key []byte, c *Card) bool {
		c.Person = state.PersonID(binary.BigEndian.Uint32(key))
		return true
	})
}

// Words are a message as it was written, "" when it was never kept or has been erased. Erased
// words leave the box at once; the bytes of the freed page stay until that page is used again.
func (d *DB) Words(msg state.Seq) (string, error) {
	val, err := d.one(words, number(uint64(msg)))
	return string(val), err
}

// putCards writes address book entries; one without name and address is erased. Whether two people
// share an address is for the caller to know.
func (t *txn) putCards(all []Card) error {
	for _, c := range all {
		key := binary.BigEndian.AppendUint32(nil, uint32(c.Person))
		var err error
		if c.Name == "" && len(c.At) == 0 {
			err = t.box(cards).remove(key)
		} else {
			err = t.box(cards).putJSON(key, c)
		}
		if err != nil {
			return fmt.Errorf("card of person %d: %w", c.Person, err)
		}
	}
	return nil
}

// putWords writes messages as written; an empty one is erased.
func (t *txn) putWords(all map[state.Seq]string) error {
	for msg, text := range all {
		key := number(uint64(msg))
		var err error
		if text == "" {
			err = t.box(words).remove(key)
		} else {
			err = t.box(words).put(key, []byte(text))
		}
		if err != nil {
			return fmt.Errorf("words of message %d: %w", msg, err)
		}
	}
	return nil
}
