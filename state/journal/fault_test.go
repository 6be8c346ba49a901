package journal

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"go.etcd.io/bbolt"
)

// TestLostWrites puts each page of a file back to what it was some commits before, as a disk that
// lost a write does; or gives it the content of its neighbour, or none. Sequence and CRC of every
// record may still be right then. Verify must see it, or the mill must be the right one.
func TestLostWrites(t *testing.T) {
	d, dir := fresh(t), t.TempDir()
	older, newer := filepath.Join(dir, "older.db"), filepath.Join(dir, "newer.db")
	fillBoxes(t, d, 950)
	must(t, d.Backup(older))
	fillBoxes(t, d, 1000)
	must(t, d.Backup(newer))
	was, err := os.ReadFile(older)
	must(t, err)
	now, err := os.ReadFile(newer)
	must(t, err)
	want, rows := loadAt(t, newer), rowsAt(t, newer)
	page, seen := os.Getpagesize(), 0
	for at := 0; at+2*page <= len(now); at += page {
		for name, content := range map[string][]byte{
			"older":     was[min(at, len(was)-page):][:page],
			"neighbour": now[at+page:][:page],
			"zeros":     make([]byte, page),
		} {
			bad := bytes.Clone(now)
			copy(bad[at:], content)
			if bytes.Equal(bad, now) {
				continue
			}
			said, err := tryBad(newer, bad, want)
			must(t, err)
			switch {
			case isNamed(said):
				seen++
			case said != "whole":
				t.Errorf("page %d with %s: %s", at/page, name, said)
			case !reflect.DeepEqual(rowsAt(t, newer), rows):
				t.Errorf("page %d with %s: called whole with wrong rows", at/page, name)
			}
		}
	}
	if seen < 100 {
		t.Errorf("only %d of these were seen", seen)
	}
}

// rowsAt is every record of every box of a file.
func rowsAt(t *testing.T, path string) map[string]string {
	t.Helper()
	d := open(t, path)
	defer func() { must(t, d.Close()) }()
	return everything(t, d)
}

// TestMeddled changes records behind the journal's back, each with a right CRC on sound pages:
// what each box must hold tells.
func TestMeddled(t *testing.T) {
	key, other := number(50), note(7)
	rec, err := encodeEvent(&other)
	must(t, err)
	for name, c := range map[string]struct {
		box    string
		change func(x *bbolt.Bucket) error
		want   string
		mill   bool // Load must see it too
	}{
		"gap": {"events",
			func(x *bbolt.Bucket) error { return x.Delete(key) },
			"event 50 should", true},
		"last": {"events",
			func(x *bbolt.Bucket) error { return x.Delete(number(100)) },
			"99 records where 100", true},
		"too many": {"events",
			func(x *bbolt.Bucket) error { return x.Put(number(101), seal("events", number(101), rec)) },
			"101 records where 100", true},
		"other": {"events",
			func(x *bbolt.Bucket) error { return x.Put(key, seal("events", key, rec)) },
			"CRCs of all 100", true},
		"not JSON": {"events",
			func(x *bbolt.Bucket) error { return x.Put(key, seal("events", key, rec[:9])) },
			"event 50", true},
		"no row": {"outbox",
			func(x *bbolt.Bucket) error { return x.Delete(number(7)) },
			"records where", false},
		"old row": {"words",
			func(x *bbolt.Bucket) error { return x.Put(number(1), seal("words", number(1), key)) },
			"CRCs of all", false},
		"bad row": {"words",
			func(x *bbolt.Bucket) error { return x.Put(number(1), key) },
			"words of message 1", false},
		"box": {"more", func(*bbolt.Bucket) error { return nil }, "not known", false},
	} {
		t.Run(name, func(t *testing.T) {
			path := filled(t, 100)
			b, err := bbolt.Open(path, 0o600, nil)
			must(t, err)
			must(t, b.Update(func(tx *bbolt.Tx) error {
				x, err := tx.CreateBucketIfNotExists([]byte(c.box))
				return errors.Join(err, c.change(x))
			}))
			must(t, b.Close())
			_, err = Verify(path)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("%v, want %q", err, c.want)
			}
			_, err = loadQuiet(path)
			if c.mill && (err == nil || !strings.Contains(err.Error(), c.want)) {
				t.Fatalf("loading: %v, want %q", err, c.want)
			}
		})
	}
}

// TestEachFault makes one fault of each kind that a walk looks for and wants it called by name.
func TestEachFault(t *testing.T) {
	d, path := fresh(t), filepath.Join(t.TempDir(), "mill.db")
	fillBoxes(t, d, 1000)
	must(t, d.Commit(&Batch{Handled: []uint64{2}})) // leaves a free page
	must(t, d.Backup(path))
	good, err := os.ReadFile(path)
	must(t, err)
	f, err := os.Open(path)
	must(t, err)
	h, err := newestHead(path, f)
	must(t, err)
	w := newWalk(f, h)
	all, err := w.buckets()
	must(t, err)
	root := all["events"].root()
	var leaves []uint64
	must(t, w.leaves(all["events"], func(id uint64, _ []pair) error {
		leaves = append(leaves, id)
		return nil
	}))
	must(t, f.Close())
	u := binary.NativeEndian
	at := func(b []byte, id uint64) []byte { return b[int(id)*h.size:][:h.size] }
	child := func(id uint64) func(b []byte) { // the first child of the root becomes id
		return func(b []byte) { u.PutUint64(at(b, root)[pageHead+8:], id) }
	}
	count := func(page uint64, n uint16) func(b []byte) {
		return func(b []byte) { u.PutUint16(at(b, page)[10:], n) }
	}
	less := func(page uint64) func(b []byte) { return func(b []byte) { at(b, page)[10]-- } }
	for name, c := range map[string]struct {
		fault func(b []byte)
		want  string
	}{
		"loop":      {child(root), "used twice"},
		"shared":    {child(leaves[1]), "is out of order"},
		"outside":   {child(h.pages), "outside the file"},
		"head":      {child(1), "outside the file"},
		"kind":      {func(b []byte) { u.PutUint16(at(b, root)[8:], isFreelist) }, "neither branch"},
		"overlap":   {func(b []byte) { u.PutUint32(at(b, leaves[0])[12:], 1<<7) }, "past the end"},
		"none left": {count(leaves[3], 0), "says it has 0 entries"},
		"one less":  {less(leaves[3]), "not in its place"},
		"renamed": {func(b []byte) {
			page := at(b, all[about].page)
			copy(page[bytes.Index(page, []byte(about)):], "lotbelt")
		}, "format of lotbell: missing"},
		"no child":  {count(root, 0), "says it has 0 entries"},
		"moved":     {func(b []byte) { at(b, root)[pageHead+elemSize]++ }, "not in its place"},
		"nested":    {func(b []byte) { at(b, leaves[3])[pageHead] = isBucket }, "not a record"},
		"free used": {func(b []byte) { u.PutUint64(at(b, h.free)[pageHead:], root) }, "calls page"},
		"no free":   {less(h.free), "neither used nor free"},
		"many free": {count(h.free, 999), "has 999 free pages"},
		"huge":      {count(h.free, 0xffff), "page"}, // the first one is read as the count
	} {
		bad := bytes.Clone(good)
		c.fault(bad)
		must(t, os.WriteFile(path, bad, 0o600))
		_, err := Verify(path)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
		if _, err := loadQuiet(path); err == nil {
			t.Errorf("%s: loaded all the same", name)
		}
	}
}

// FuzzPage reads any bytes as a page: it may fail, and what it gives lies in the page and in order.
func FuzzPage(f *testing.F) {
	leaf := make([]byte, 64)
	binary.NativeEndian.PutUint16(leaf[8:], isLeaf)
	f.Add(leaf, []byte(nil), []byte(nil))
	leaf = bytes.Clone(leaf)
	leaf[10], leaf[20], leaf[24], leaf[28] = 1, elemSize, 1, 2 // one pair: "k" and "va"
	copy(leaf[32:], "kva")
	f.Add(leaf, []byte("a"), []byte("z"))
	f.Fuzz(func(t *testing.T, page, low, high []byte) {
		if len(page) < pageHead {
			return
		}
		pairs, err := entries(2, page, low, high)
		if err != nil {
			return
		}
		size := pageHead + elemSize*len(pairs)
		for i, p := range pairs {
			size += len(p.key) + len(p.val)
			if i > 0 && bytes.Compare(pairs[i-1].key, p.key) >= 0 {
				t.Fatalf("%q after %q", p.key, pairs[i-1].key)
			}
		}
		if size > len(page) {
			t.Fatalf("%d bytes of %d", size, len(page))
		}
	})
}
