package journal

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"lotbell/state"
)

// flip is one bit of a file.
type flip struct {
	off int64
	bit uint
}

// flips are the bits to try: of each page's heading one bit of every byte of its number and every
// bit of the rest, every bit of what the two head pages say, and one bit of every hundredth byte;
// a sample of them when the test is to be short.
func flips(size int64, page int, short bool) []flip {
	var all []flip
	for at := int64(0); at < size; at += int64(page) {
		n := int64(pageHead)
		if at < 2*int64(page) {
			n += headSize
		}
		for i := range n {
			for bit := range uint(8) {
				if i >= 8 || bit == uint(i) {
					all = append(all, flip{at + i, bit})
				}
			}
		}
	}
	for at := int64(0); at < size; at += 100 {
		all = append(all, flip{at, uint(at/100) % 8})
	}
	if !short {
		return all
	}
	var some []flip
	for i := 0; i < len(all); i += 41 {
		some = append(some, all[i])
	}
	return some
}

// flipAsTold reads flips from its input, tries each on the file and says what came of it.
func flipAsTold(path string) error {
	whole, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	want, err := loadQuiet(path)
	if err != nil {
		return err
	}
	for {
		var f flip
		if _, err := fmt.Scan(&f.off, &f.bit); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
		bad := bytes.Clone(whole)
		bad[f.off] ^= 1 << f.bit
		said, err := tryBad(path, bad, want)
		if err != nil {
			return err
		}
		fmt.Println(said)
	}
}

// tryBad writes a damaged file and looks at it. It says "whole" or "damaged: " and the damage;
// anything that must not happen begins with "wrong".
func tryBad(path string, bad []byte, want []state.Event) (string, error) {
	if err := os.WriteFile(path, bad, 0o600); err != nil {
		return "", err
	}
	_, told := Verify(path)
	got, err := loadQuiet(path)
	var damaged *Damaged
	var cut *Truncated
	switch {
	case err == nil && !reflect.DeepEqual(got, want):
		return fmt.Sprintf("wrong mill of %d events (verify: %v)", len(got), told), nil
	case told == nil && err != nil:
		return fmt.Sprintf("wrong: verified, and then %v", err), nil
	case errors.As(told, &damaged) || errors.As(told, &cut):
		return "damaged: " + told.Error(), nil
	case told != nil:
		return fmt.Sprintf("wrong: %v", told), nil
	}
	return "whole", nil
}

// loadQuiet loads a journal, without waiting for the disk.
func loadQuiet(path string) ([]state.Event, error) {
	d, err := Open(path, Options{NoSync: true})
	if err != nil {
		return nil, err
	}
	got, err := d.Load()
	return got, errors.Join(err, d.Close())
}

// patience is how long one flip may take: the two seconds that a person waits.
const patience = 2 * time.Second

// TestDamage flips one bit at a time in a file with 1,000 records, in processes of their own.
// Verify ends in time and finds the file whole, with the right mill in it, or names the damaged
// spot and how to restore. Opening and loading never gives a wrong mill, whatever was flipped.
func TestDamage(t *testing.T) {
	d, exact := fresh(t), filepath.Join(t.TempDir(), "exact.db")
	fillBoxes(t, d, 1000)
	must(t, d.Backup(exact)) // a copy has no room at its end, where a flip tells nothing
	content, err := os.ReadFile(exact)
	must(t, err)
	all := flips(int64(len(content)), os.Getpagesize(), testing.Short())
	var told sync.Map
	var work sync.WaitGroup
	const processes = 2
	for n := range processes {
		path := filepath.Join(t.TempDir(), "mill.db")
		must(t, os.WriteFile(path, content, 0o600))
		work.Go(func() {
			if err := runFlips(path, all, n, processes, &told); err != nil {
				t.Error(err)
			}
		})
	}
	work.Wait()
	whole, damaged := 0, 0
	for _, f := range all {
		said, _ := told.Load(f)
		switch s := fmt.Sprint(said); {
		case s == "whole":
			whole++
		case isNamed(s):
			damaged++
		default:
			t.Errorf("byte %d, bit %d: %s", f.off, f.bit, s)
		}
	}
	t.Logf("%d bytes, %d flips: %d whole, %d damaged", len(content), len(all), whole, damaged)
	if whole == 0 || damaged == 0 {
		t.Error("one of the two never happened")
	}
}

// isNamed says whether a report names the damaged spot and how to restore.
func isNamed(said string) bool {
	spot := regexp.MustCompile(`page \d|event \d|row |words of|card of|` +
		`(format|standing) of|cut short`)
	return strings.HasPrefix(said, "damaged: ") && strings.Contains(said, "cp BACKUP") &&
		spot.MatchString(said)
}

// runFlips has a child try every step-th flip. A child that dies or takes too long is an error
// that names the flip it was at.
func runFlips(path string, all []flip, first, step int, told *sync.Map) error {
	c := child("flip", path)
	in, err := c.StdinPipe()
	if err != nil {
		return err
	}
	out, err := c.StdoutPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return err
	}
	dog := time.AfterFunc(10*patience, func() { _ = c.Process.Kill() })
	defer dog.Stop()
	lines := bufio.NewScanner(out)
	for i := first; i < len(all); i += step {
		f := all[i]
		if _, err := fmt.Fprintln(in, f.off, f.bit); err != nil {
			return fmt.Errorf("before byte %d, bit %d: %w", f.off, f.bit, err)
		}
		dog.Reset(patience)
		if lines.Scan() {
			told.Store(f, lines.Text())
		}
		if _, ok := told.Load(f); !ok {
			return fmt.Errorf("byte %d, bit %d: the process died or took over %v: %v", f.off,
				f.bit, patience, c.Wait())
		}
	}
	return errors.Join(in.Close(), c.Wait())
}
