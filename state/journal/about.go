package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"go.etcd.io/bbolt"
)

// about is the bucket that makes a file a journal: its format, who wrote it, and its standing. It
// is read in two ways, through bbolt and through a walk of ours, and is sealed like any record.
const about = "lotbell"

// nameAtMost bounds the program's name in bytes: the bucket must stay small enough to lie whole
// in the root page.
const nameAtMost = 100

// written says in which format the file is and which program wrote it last. Format counts changes
// that an older program must not open at all; a new kind of event is none, since the older program
// finds out when it reads one.
type written struct {
	Format  int    `json:"format"`
	Program string `json:"program,omitempty"`
}

// look reads an old file's format and standing, and says whether the file is ready as it is: then
// opening it writes nothing. A bbolt file without any bucket is one whose making was broken off
// before anything could be said to be on disk, and is begun again.
func (d *DB) look(tx *bbolt.Tx) (ready bool, err error) {
	if tx.Bucket([]byte(about)) == nil {
		var names []string
		c := tx.Cursor()
		for k, _ := c.First(); k != nil; k, _ = c.Next() {
			names = append(names, string(k))
		}
		if len(names) == 0 {
			return false, nil
		}
		return false, nameless(d.path, names)
	}
	w, err := readWritten(d.path, tx)
	if err != nil {
		return false, err
	}
	ready = w == d.mark(w)
	for _, name := range boxNames() {
		ready = ready && tx.Bucket([]byte(name)) != nil
	}
	return ready, readStanding(d.path, tx, &d.standing)
}

// nameless says what a file without the about bucket is, by the names of its buckets.
func nameless(path string, names []string) error {
	for _, name := range boxNames() {
		if slices.Contains(names, name) {
			return aboutDamage(path, "format", errors.New("missing"))
		}
	}
	if len(names) == 0 {
		return &Foreign{path, "an empty database"}
	}
	return &Foreign{path, fmt.Sprintf("a database with %q in it", slices.Min(names))}
}

// create makes what a file has not yet: the boxes, its standing and the program's name.
func (d *DB) create(tx *bbolt.Tx) error {
	for _, name := range boxNames() {
		if _, err := tx.CreateBucketIfNotExists([]byte(name)); err != nil {
			return err
		}
	}
	var was written
	if tx.Bucket([]byte(about)) == nil {
		if _, err := tx.CreateBucket([]byte(about)); err != nil {
			return err
		}
	} else {
		var err error
		if was, err = readWritten(d.path, tx); err != nil {
			return err
		}
	}
	b, err := json.Marshal(d.mark(was))
	if err != nil {
		return err
	}
	return errors.Join(putAbout(tx, "format", b), putAbout(tx, "standing", d.standing.encode()))
}

// mark is what a file says of its writer from now on.
func (d *DB) mark(was written) written {
	if d.program == "" {
		return written{format, was.Program}
	}
	return written{format, d.program}
}

// putAbout writes a sealed value of the about bucket.
func putAbout(tx *bbolt.Tx, key string, val []byte) error {
	return tx.Bucket([]byte(about)).Put([]byte(key), seal(about, []byte(key), val))
}

// readAbout opens a sealed value of the about bucket.
func readAbout(path string, b []byte, key string) ([]byte, error) {
	val, err := unseal(about, []byte(key), b)
	if err != nil {
		return nil, aboutDamage(path, key, err)
	}
	return val, nil
}

// aboutDamage is damage of one of the two values.
func aboutDamage(path, key string, err error) error {
	return &Damaged{Path: path, Found: []Damage{{Box: about, Record: key, Reason: err.Error()}}}
}

// readWritten reads and checks the format.
func readWritten(path string, tx *bbolt.Tx) (written, error) {
	return parseWritten(path, tx.Bucket([]byte(about)).Get([]byte("format")))
}

// parseWritten reads it from its sealed value. A format of tomorrow is Newer, which names who wrote
// the file.
func parseWritten(path string, b []byte) (w written, err error) {
	val, err := readAbout(path, b, "format")
	if err != nil {
		return w, err
	}
	if err := json.Unmarshal(val, &w); err != nil {
		return w, aboutDamage(path, "format", err)
	}
	if w.Format > format {
		return w, &Newer{Path: path, Kind: "file", Version: w.Format, Program: w.Program}
	}
	return w, nil
}

// readStanding reads where the file stands.
func readStanding(path string, tx *bbolt.Tx, s *standing) error {
	return parseStanding(path, tx.Bucket([]byte(about)).Get([]byte("standing")), s)
}

// parseStanding reads it from its sealed value.
func parseStanding(path string, b []byte, s *standing) error {
	val, err := readAbout(path, b, "standing")
	if err != nil {
		return err
	}
	if err := s.decode(val); err != nil {
		return aboutDamage(path, "standing", err)
	}
	return nil
}
