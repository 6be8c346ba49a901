package main

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"lotbell/bot/telegram/fake"
)

// tellsNothing: the token comes from a file and is neither among the program's arguments nor in what
// it logs. The log is a line of JSON each, and tells of people neither words nor names nor numbers,
// whatever goes wrong; only the owner can read journal and copy.
func tellsNothing(t *testing.T, program string) {
	r := newRunning(t, program, 2)
	file := filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(file, []byte(testToken+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "serve", "-db", r.path, "-api", r.far.URL())
	cmd.Env = append(os.Environ(), tokenName+"=", tokenFile+"="+file)
	log := &tail{t: t}
	cmd.Stderr, cmd.Stdout = log, log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	r.until("a poll stands open", r.far.Polling)
	if args, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", cmd.Process.Pid)); err == nil &&
		(strings.Contains(string(args), testToken) || !strings.Contains(string(args), r.path)) {
		t.Errorf("its arguments: %q", args)
	}
	r.far.Say(900, "person josefina worker tank es")
	r.until("somebody new", got(r.far, 900, "josefina"))
	r.far.Say(1000, "t1 add 3000")
	r.far.Say(1000, "d1 load 2000kg")
	r.far.Say(1000, "d1 72")
	r.until("the alarm", got(r.far, 1000, "Too hot"))
	r.far.Raw(`"message":"zanzibar"`) // it cannot be read, and is set aside
	r.far.Say(77, "zanzibar")
	r.far.Say(1001, "zanzibar t1?")
	r.far.Block(1001)
	r.far.Fail("sendMessage", 1, fake.Refuse(400, "Bad Request: no").For(900))
	r.far.Say(900, "t1?")
	r.far.Say(1000, "help zanzibar")
	r.until("help", got(r.far, 900, "zanzibar"))
	stopped(t, cmd)
	all := ""
	for line := range strings.Lines(strings.Join(log.lines, "")) {
		var fields map[string]any
		if err := json.Unmarshal([]byte(line), &fields); err != nil || fields["msg"] == "" {
			t.Errorf("no line of a log: %s", line)
		}
		delete(fields, "time")
		all += strings.ReplaceAll(fmt.Sprintln(fields), r.path, "mill.db")
	}
	for _, told := range []string{"zanzibar", "josefina", "1000", "1001", "900", "3000"} {
		if strings.Contains(all, told) {
			t.Errorf("the log tells %q:\n%s", told, all)
		}
	}
	for _, says := range []string{"set aside", "drum-70", "refused", "given up"} {
		if !strings.Contains(all, says) {
			t.Errorf("the log does not tell %q:\n%s", says, all)
		}
	}
	for _, path := range []string{r.path, r.path + ".backup"} {
		if is, err := os.Stat(path); err != nil || is.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", path, is, err)
		}
	}
}
