package journal

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"os"
)

// The parts of bbolt's file format that are read here. A page begins with id (8 bytes), flags (2),
// count (2) and overflow (4). On a branch page follow, for each child, pos (4), ksize (4) and page
// (8); on a leaf, for each pair, flags (4), pos (4), ksize (4) and vsize (4), pos from the
// element's own start. Pages 0 and 1 are heads, written in turn. Source: bbolt 1.5.0,
// internal/common/page.go and meta.go.
const (
	boltMagic   = 0xED0CDAED
	boltVersion = 2
	pageHead    = 16
	elemSize    = 16
	headSize    = 64
	isBranch    = 0x01
	isLeaf      = 0x02
	isHead      = 0x04
	isFreelist  = 0x10
	isBucket    = 0x01 // of a pair: the value is root page (8), sequence (8), or a page itself
	deepest     = 32   // levels of a tree; 2^32 pages need no more
)

// head is one of the two head pages.
type head struct {
	page              uint64
	size              int // of a page, in bytes
	root, free, pages uint64
	tx                uint64
}

// pair is a key and its value on a leaf. Both alias the page.
type pair struct {
	flags    uint32
	key, val []byte
}

// pageError is a page that cannot be what it should be.
type pageError struct {
	page   uint64
	reason string
}

func (e *pageError) Error() string { return fmt.Sprintf("page %d: %s", e.page, e.reason) }

func badPage(id uint64, f string, args ...any) error {
	return &pageError{id, fmt.Sprintf(f, args...)}
}

// probe looks at a file before bbolt may: on a damaged list of free pages bbolt panics with the
// file locked and mapped. No file is fine: it will be made.
func probe(path string, o Options) error {
	release, err := hold(path, o)
	if err != nil {
		return err
	}
	defer release()
	f, err := os.Open(path)
	if os.IsNotExist(err) {
		return nil
	}
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }()
	return checkPages(path, f)
}

// newestHead reads both head pages and gives the newer one. One bad head is damage: the other may
// be that of the commit before, and then it is a mill of the past.
func newestHead(path string, f *os.File) (head, error) {
	st, err := f.Stat()
	switch {
	case err != nil:
		return head{}, err
	case !st.Mode().IsRegular():
		return head{}, &Foreign{path, "not a plain file"}
	case st.Size() == 0:
		return head{}, &Empty{Path: path}
	}
	first, err0 := headAt(f, 0, 0)
	second, err1 := secondHead(f, first, err0 == nil)
	switch {
	case err0 != nil && err1 != nil:
		return head{}, noHead(path, f, st.Size())
	case err0 != nil:
		return head{}, &Damaged{path, []Damage{{Reason: err0.Error()}}}
	case err1 != nil && st.Size() < 4*int64(first.size):
		return head{}, &Truncated{path, st.Size(), int64(first.size) * int64(first.pages)}
	case err1 != nil:
		return head{}, &Damaged{path, []Damage{{Page: 1, Reason: err1.Error()}}}
	}
	if second.tx > first.tx {
		first = second
	}
	if want := int64(first.size) * int64(first.pages); st.Size() < want {
		return head{}, &Truncated{path, st.Size(), want}
	}
	return first, nil
}

// noHead tells a file of somebody else's from one of ours without a good head.
func noHead(path string, f *os.File, size int64) error {
	var b [pageHead + 4]byte
	if _, err := f.ReadAt(b[:], 0); err != nil {
		return &Foreign{path, "too short to be one"}
	}
	if binary.NativeEndian.Uint32(b[pageHead:]) != boltMagic {
		return &Foreign{path, "it does not begin like one"}
	}
	if size < 4*1024 {
		return &Truncated{path, size, 4 * int64(os.Getpagesize())}
	}
	return &Damaged{path, []Damage{{Reason: "both head pages are bad"}}}
}

// secondHead finds the second head: after the first, or at any page size when that one is bad.
func secondHead(r io.ReaderAt, first head, ok bool) (head, error) {
	if ok {
		h, err := headAt(r, int64(first.size), 1)
		if err == nil && h.size != first.size {
			err = fmt.Errorf("head of another page size, %d", h.size)
		}
		return h, err
	}
	for size := 1 << 10; size <= 1<<16; size <<= 1 {
		if h, err := headAt(r, int64(size), 1); err == nil && h.size == size {
			return h, nil
		}
	}
	return head{}, fmt.Errorf("no head")
}

// headAt reads a head page and checks it: magic, version and FNV-1a over what it says.
func headAt(r io.ReaderAt, off int64, id uint64) (head, error) {
	var b [pageHead + headSize]byte
	if _, err := r.ReadAt(b[:], off); err != nil {
		return head{}, fmt.Errorf("head unreadable: %w", err)
	}
	u, m := binary.NativeEndian, b[pageHead:]
	sum := fnv.New64a()
	_, _ = sum.Write(m[:56])
	h := head{id, int(u.Uint32(m[8:])), u.Uint64(m[16:]), u.Uint64(m[32:]), u.Uint64(m[40:]),
		u.Uint64(m[48:])}
	switch {
	case u.Uint32(m) != boltMagic || u.Uint32(m[4:]) != boltVersion:
		return h, fmt.Errorf("not a head page")
	case u.Uint64(m[56:]) != sum.Sum64():
		return h, fmt.Errorf("head does not match its checksum")
	case u.Uint64(b[:]) != id || u.Uint16(b[8:]) != isHead:
		return h, fmt.Errorf("head page with another page's heading")
	case h.size < 1<<10 || h.size > 1<<16 || h.pages > math.MaxInt64/(1<<16):
		return h, fmt.Errorf("head with impossible sizes")
	}
	return h, nil
}

// walk reads trees of pages. It meets a page once at most, so that it ends on any damage, and
// reads only through r, never through a map, so that nothing can fault.
type walk struct {
	r    io.ReaderAt
	head head
	met  []bool
}

func newWalk(r io.ReaderAt, h head) *walk {
	w := &walk{r: r, head: h, met: make([]bool, h.pages)}
	for i := 0; i < 2 && i < len(w.met); i++ {
		w.met[i] = true
	}
	return w
}

// read gives a page with its overflow, marked as met.
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
// high is nil, less than high.
func (w *walk) tree(id uint64, low, high []byte, level int,
	leaf func(id uint64, pairs []pair) error) error {
	if level > deepest {
		return badPage(id, "more than %d levels down", deepest)
	}
	page, err := w.read(id)
	if err != nil {
		return err
	}
	if binary.NativeEndian.Uint16(page[8:]) == isLeaf {
		pairs, err := leafPairs(id, page, low, high)
		if err != nil {
			return err
		}
		return leaf(id, pairs)
	}
	keys, children, err := branchPairs(id, page, low, high)
	if err != nil {
		return err
	}
	for i, child := range children {
		end := high
		if i+1 < len(keys) {
			end = keys[i+1]
		}
		if err := w.tree(child, keys[i], end, level+1, leaf); err != nil {
			return err
		}
	}
	return nil
}

// leafPairs takes a leaf page apart.
func leafPairs(id uint64, page, low, high []byte) ([]pair, error) {
	u := binary.NativeEndian
	if f := u.Uint16(page[8:]); f != isLeaf {
		return nil, badPage(id, "neither branch nor leaf (%#x)", f)
	}
	n := int(u.Uint16(page[10:]))
	if pageHead+n*elemSize > len(page) || n == 0 && low != nil { // only a root may be empty
		return nil, badPage(id, "says it has %d pairs", n)
	}
	pairs := make([]pair, n)
	next := uint64(pageHead + n*elemSize) // bbolt leaves no room between pairs
	for i := range pairs {
		at := uint64(pageHead + i*elemSize)
		e := page[at:]
		pos, k, v := uint64(u.Uint32(e[4:])), uint64(u.Uint32(e[8:])), uint64(u.Uint32(e[12:]))
		if at+pos != next || next+k+v > uint64(len(page)) {
			return nil, badPage(id, "pair %d of %d is not in its place", i, n)
		}
		pairs[i] = pair{u.Uint32(e), page[next : next+k], page[next+k : next+k+v]}
		next += k + v
		if !inOrder(pairs[i].key, low, high, i > 0) {
			return nil, badPage(id, "key %d (%x) out of order", i, pairs[i].key)
		}
		low = pairs[i].key
	}
	return pairs, nil
}

// branchPairs takes a branch page apart.
func branchPairs(id uint64, page, low, high []byte) (keys [][]byte, children []uint64, err error) {
	u := binary.NativeEndian
	if f := u.Uint16(page[8:]); f != isBranch {
		return nil, nil, badPage(id, "neither branch nor leaf (%#x)", f)
	}
	n := int(u.Uint16(page[10:]))
	if pageHead+n*elemSize > len(page) || n == 0 {
		return nil, nil, badPage(id, "says it has %d children", n)
	}
	next := uint64(pageHead + n*elemSize)
	for i := range n {
		at := uint64(pageHead + i*elemSize)
		e := page[at:]
		pos, k := uint64(u.Uint32(e)), uint64(u.Uint32(e[4:]))
		if at+pos != next || next+k > uint64(len(page)) {
			return nil, nil, badPage(id, "child %d of %d is not in its place", i, n)
		}
		key := page[next : next+k]
		next += k
		if !inOrder(key, low, high, i > 0) {
			return nil, nil, badPage(id, "key %d (%x) out of order", i, key)
		}
		keys, children = append(keys, key), append(children, u.Uint64(e[8:]))
		low = key
	}
	return keys, children, nil
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

// leaves visits the leaves of a bucket. A small one lies whole in its value.
func (w *walk) leaves(b bucket, leaf func(id uint64, pairs []pair) error) error {
	if root := b.root(); root != b.page {
		return w.tree(root, nil, nil, 1, leaf)
	}
	inner := b.val[pageHead:]
	if len(inner) < pageHead {
		return badPage(b.page, "bucket of %d bytes", len(b.val))
	}
	pairs, err := leafPairs(b.page, inner, nil, nil)
	if err != nil {
		return err
	}
	return leaf(b.page, pairs)
}

// unused checks the list of free pages: with the pages met it must make up the whole file.
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

// checkPages walks every page of an open file that nobody is writing. It reads no value.
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
		return &Damaged{path, []Damage{{Box: box, Page: p.page, Reason: p.reason}}}
	}
	return err
}
