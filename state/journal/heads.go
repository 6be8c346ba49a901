package journal

import (
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
	deepest     = 32   // levels of a tree: with two children a page, enough for 2^32 pages
)

// head is what one of the two head pages says: the size of a page in bytes, the pages where the
// root and the list of free pages begin, how many pages the file has, and which transaction wrote
// it. The file is what the head with the later transaction says; that of the one before is whole
// too, which is how a commit that breaks off leaves no trace.
type head struct {
	size              int
	root, free, pages uint64
	tx                uint64
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

// newestHead reads both head pages and gives the newer one. One bad head is damage, although bbolt
// would open the file on the other: that may be the one of the commit before, and then what it
// opens is a mill of the past, without the last thing somebody was told is noted. A head page is
// written in one piece smaller than a sector, so that no power cut leaves a bad one.
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
		return head{}, &Damaged{Path: path, Found: []Damage{{Reason: err0.Error()}}}
	case err1 != nil && st.Size() < 4*int64(first.size):
		return head{}, &Truncated{path, st.Size(), int64(first.size) * int64(first.pages)}
	case err1 != nil:
		return head{}, &Damaged{Path: path, Found: []Damage{{Page: 1, Reason: err1.Error()}}}
	}
	if second.tx > first.tx {
		first = second
	}
	if want := int64(first.size) * int64(first.pages); st.Size() < want {
		return head{}, &Truncated{path, st.Size(), want}
	}
	return first, nil
}

// noHead tells a file of somebody else's from one of ours without a good head. A machine of the
// other byte order would see the magic reversed: such a file counts as somebody else's.
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
	return &Damaged{Path: path, Found: []Damage{{Reason: "both head pages are bad"}}}
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

// headAt reads a head page and checks it: magic, version, heading, and the FNV-1a of 64 bits that
// bbolt keeps over what it says.
func headAt(r io.ReaderAt, off int64, id uint64) (head, error) {
	var b [pageHead + headSize]byte
	if _, err := r.ReadAt(b[:], off); err != nil {
		return head{}, fmt.Errorf("head unreadable: %w", err)
	}
	u, m := binary.NativeEndian, b[pageHead:]
	sum := fnv.New64a()
	_, _ = sum.Write(m[:56])
	h := head{int(u.Uint32(m[8:])), u.Uint64(m[16:]), u.Uint64(m[32:]), u.Uint64(m[40:]),
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
