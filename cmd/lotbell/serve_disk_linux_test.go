package main

import (
	"os/exec"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"lotbell/state/journal"
)

// limitFiles sets how large a process that runs may make a file, in bytes. With 1 the disk is full
// for it; every write beyond fails with "file too large" where a full disk says "no space".
func limitFiles(t *testing.T, cmd *exec.Cmd, most uint64) {
	t.Helper()
	limit := syscall.Rlimit{Cur: most, Max: ^uint64(0)}
	if _, _, errno := syscall.RawSyscall6(syscall.SYS_PRLIMIT64, uintptr(cmd.Process.Pid),
		syscall.RLIMIT_FSIZE, uintptr(unsafe.Pointer(&limit)), 0, 0, 0); errno != 0 {
		t.Fatal(errno)
	}
}

// fullDisk: while nothing can be written nothing is applied or confirmed. Each sender gets
// the one emergency line, unsaved; a cry for help reaches the manager all the same. When there is
// room again all of it is taken, once, and answered.
func fullDisk(t *testing.T, program string) {
	const noLimit = ^uint64(0)
	r := newRunning(t, program, 2)
	cmd := r.start()
	r.far.Say(1000, "t1 add 3000")
	r.until("the first is answered", got(r.far, 1000, "3000 kg"))
	r.until("it is confirmed", func() bool { return r.far.Waiting() == 0 })
	confirmed := len(r.far.Confirmed())
	limitFiles(t, cmd, 1)
	r.far.Say(1001, "t2 add 2500")
	r.until("the emergency line", got(r.far, 1001, "papel"))
	r.far.Say(1000, "help")
	r.until("help passes", got(r.far, 900, "HELP"))
	asked := r.far.Calls("getUpdates")
	r.until("it comes again", func() bool { return r.far.Calls("getUpdates") > asked })
	if n := len(r.far.Confirmed()); n != confirmed {
		t.Errorf("%d updates were confirmed that nobody could write", n-confirmed)
	}
	lines := 0
	for _, m := range r.far.Sent() {
		if m.Chat == 1001 && m.Method == "sendMessage" {
			lines++
		}
	}
	if lines != 1 {
		t.Errorf("the sender got %d messages, want the one line", lines)
	}
	began := time.Now()
	limitFiles(t, cmd, noLimit)
	r.until("it is taken", got(r.far, 1001, "2500 kg"))
	r.until("help too", func() bool { return r.far.Waiting() == 0 })
	t.Logf("taken %.1f s after there was room again", time.Since(began).Seconds())
	stopped(t, cmd)
	if _, err := journal.Verify(r.path); err != nil {
		t.Errorf("the journal: %v", err)
	}
}
