package journal

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
)

// pair is an entry of a page: on a leaf a key and its value, on a branch the lowest key of a child
// and the child's page. Key and value alias the page.
type pair struct {
	flags    uint32
	child    uint64
	key, val []byte
}

// pageError is a page that cannot be what it should be.
type pageError struct {
	page   uint64
	reason string
}

func (e *pageError) Error() string { return fmt.Sprintf("page %d: %s", e.page, e.reason) }

// badPage makes a pageError of a format.
func badPage(id uint64, f string, args ...any) error {
	return &pageError{id, fmt.Sprintf(f, args...)}
}

// walk reads trees of pages. It meets a page once at most, so that it ends on any damage, and
// reads only through r, never through a map, so that nothing can fault.
type walk struct {
	r    io.ReaderAt
	head head
	met  []bool // by page: read, or passed over as the rest of one that was read
}

// newWalk begins a walk. The two head pages are met already.
func newWalk(r io.ReaderAt, h head) *walk {
	w := &walk{r: r, head: h, met: make([]bool, h.pages)}
	for i := 0; i < 2 && i < len(w.met); i++ {
		w.met[i] = true
	}
	return w
}

// read gives a page with its overflow (the pages after it that a long value takes), all marked as
// met. A page carries its own number, so that a write that went astray is seen here.
func (w *walk) read(id uint64) ([]byte, error) {
	if id < 2 || id >= w.head.pages {
		return nil, badPage(id, "outside the file's %d pages", w.head.pages)
	}
	page := make([]byte, w.head.size)
	off := int64(id) * int64(w.head.size)
	if _, err := w.r.ReadAt(page, off); err != nil {
		return nil, badPage(id, "unreadable: %v", err)
	}
	if got := binary.NativeEndian.Uint64(page); got != id {
		return nil, badPage(id, "calls itself page %d", got)
	}
	over := uint64(binary.NativeEndian.Uint32(page[12:]))
	if id+over >= w.head.pages {
		return nil, badPage(id, "runs %d pages on, past the end", over)
	}
	for i := id; i <= id+over; i++ {
		if w.met[i] {
			return nil, badPage(i, "used twice")
		}
		w.met[i] = true
	}
	if over > 0 {
		whole := make([]byte, int(over+1)*w.head.size)
		if _, err := w.r.ReadAt(whole, off); err != nil {
			return nil, badPage(id, "unreadable: %v", err)
		}
		page = whole
	}
	return page, nil
}

// tree visits the leaves below a page in order. Keys below it must be at least low and, unless
// high is nil, less than high: otherwise bbolt, which searches by halving, would miss some. A page
// that is above itself is met twice, so that the way down ends; level only keeps the stack small.
func (w *walk) tree(id uint64, low, high []byte, level int,
	leaf func(id uint64, pairs []pair) error) error {
	if level > deepest {
		return badPage(id, "more than %d levels down", deepest)
	}
	page, err := w.read(id)
	if err != nil {
		return err
	}
	pairs, err := entries(id, page, low, high)
	if err != nil {
		return err
	}
	if binary.NativeEndian.Uint16(page[8:]) == isLeaf {
		return leaf(id, pairs)
	}
	for i, p := range pairs {
		end := high
		if i+1 < len(pairs) {
			end = pairs[i+1].key
		}
		if err := w.tree(p.child, p.key, end, level+1, leaf); err != nil {
			return err
		}
	}
	return nil
}

// entries takes a branch or a leaf apart. bbolt leaves no room between the keys and values of a
// page, and so each has one place where it can be: a wrong count or length is seen at once.
func entries(id uint64, page, low, high []byte) ([]pair, error) {
	u := binary.NativeEndian
	kind, n := u.Uint16(page[8:]), int(u.Uint16(page[10:]))
	if kind != isLeaf && kind != isBranch {
		return nil, badPage(id, "neither branch nor leaf (%#x)", kind)
	}
	mayBeEmpty := kind == isLeaf && low == nil // the root of an empty bucket
	if pageHead+n*elemSize > len(page) || n == 0 && !mayBeEmpty {
		return nil, badPage(id, "says it has %d entries", n)
	}
	pairs := make([]pair, n)
	next := uint64(pageHead + n*elemSize)
	for i := range pairs {
		p, at := &pairs[i], uint64(pageHead+i*elemSize)
		e := page[at:]
		a, b, c, d := u.Uint32(e), u.Uint32(e[4:]), u.Uint32(e[8:]), u.Uint32(e[12:])
		pos, k, v := uint64(b), uint64(c), uint64(d)
		p.flags = a
		if kind == isBranch {
			pos, k, v = uint64(a), uint64(b), 0
			p.flags, p.child = 0, u.Uint64(e[8:])
		}
		if at+pos != next || next+k+v > uint64(len(page)) {
			return nil, badPage(id, "entry %d of %d is not in its place", i, n)
		}
		p.key, p.val = page[next:next+k], page[next+k:next+k+v]
		next += k + v
		if !inOrder(p.key, low, high, i > 0) {
			return nil, badPage(id, "key %d (%x) is out of order", i, p.key)
		}
		low = p.key
	}
	return pairs, nil
}

// inOrder says whether a key lies where its page allows: from low, or after it when low is the
// neighbour before, and below high.
func inOrder(key, low, high []byte, after bool) bool {
	c := bytes.Compare(key, low)
	return len(key) > 0 && (c > 0 || c == 0 && !after) &&
		(high == nil || bytes.Compare(key, high) < 0)
}

// bucket is a bucket as its pair in the root tells it, and the page that pair is on.
type bucket struct {
	page uint64
	val  []byte
}

// root is the bucket's own first page, or the one it lies in when it is small.
func (b bucket) root() uint64 {
	if root := binary.NativeEndian.Uint64(b.val); root != 0 {
		return root
	}
	return b.page
}

// buckets reads the file's root: every bucket by its name. A pair that is no bucket is somebody
// else's.
func (w *walk) buckets() (map[string]bucket, error) {
	found := map[string]bucket{}
	err := w.tree(w.head.root, nil, nil, 0, func(id uint64, pairs []pair) error {
		for _, p := range pairs {
			if p.flags != isBucket || len(p.val) < pageHead {
				return badPage(id, "%q is no bucket", p.key)
			}
			found[string(p.key)] = bucket{id, p.val}
		}
		return nil
	})
	return found, err
}

// leaves visits the leaves of a bucket. A small one lies whole in its value, as a leaf without a
// number of its own.
func (w *walk) leaves(b bucket, leaf func(id uint64, pairs []pair) error) error {
	if root := b.root(); root != b.page {
		return w.tree(root, nil, nil, 1, leaf)
	}
	inner := b.val[pageHead:]
	if len(inner) < pageHead {
		return badPage(b.page, "bucket of %d bytes", len(b.val))
	}
	if f := binary.NativeEndian.Uint16(inner[8:]); f != isLeaf {
		return badPage(b.page, "bucket without a leaf (%#x)", f)
	}
	pairs, err := entries(b.page, inner, nil, nil)
	if err != nil {
		return err
	}
	return leaf(b.page, pairs)
}

// unused checks the list of free pages, after all buckets have been walked: with the pages met it
// must make up the whole file. A page that is both used and free would be written over one day;
// one that is neither hints at a branch that lost a child.
func (w *walk) unused() error {
	id := w.head.free
	page, err := w.read(id)
	if err != nil {
		return err
	}
	u := binary.NativeEndian
	if f := u.Uint16(page[8:]); f != isFreelist {
		return badPage(id, "not the list of free pages (%#x)", f)
	}
	n, list := uint64(u.Uint16(page[10:])), page[pageHead:]
	if n == math.MaxUint16 { // too many for two bytes: the first entry is the count
		n, list = u.Uint64(list), list[8:]
	}
	if n > uint64(len(list)/8) {
		return badPage(id, "says it has %d free pages", n)
	}
	for i := range n {
		free := u.Uint64(list[8*i:])
		if free >= w.head.pages || w.met[free] {
			return badPage(id, "calls page %d free", free)
		}
		w.met[free] = true
	}
	for i, met := range w.met {
		if !met {
			return badPage(uint64(i), "neither used nor free")
		}
	}
	return nil
}

// checkPages walks every page of an open file that nobody is writing. It reads no value: what it
// finds whole is safe to be opened and written by bbolt, and no more. For a million events it reads
// some 90 MB.
func checkPages(path string, f *os.File) error {
	h, err := newestHead(path, f)
	if err != nil {
		return err
	}
	w := newWalk(f, h)
	all, err := w.buckets()
	if err != nil {
		return damagedPage(path, "", err)
	}
	for name, b := range all {
		err := w.leaves(b, func(uint64, []pair) error { return nil })
		if err != nil {
			return damagedPage(path, name, err)
		}
	}
	if err := w.unused(); err != nil {
		return damagedPage(path, "", err)
	}
	return nil
}

// damagedPage is a page error as damage of the file; any other error stays itself.
func damagedPage(path, box string, err error) error {
	if p, ok := err.(*pageError); ok {
		return &Damaged{Path: path, Found: []Damage{{Box: box, Page: p.page, Reason: p.reason}}}
	}
	return err
}
