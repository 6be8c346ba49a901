package bot

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
)

// scripts lists every conversation script of the project.
func scripts(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../testdata/chats/*.chat")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	return append(files, "../cmd/lotbell/demo.chat")
}

func TestScripts(t *testing.T) {
	for _, name := range scripts(t) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			t.Parallel()
			want, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			got := played(t, name).Text
			if d := Differences(string(want), got); d != "" {
				t.Error(d)
			}
			checkLines(t, got)
		})
	}
}

// runs are the scripts that were played, by name: several tests look at one run.
var runs sync.Map

// played is the run of a script.
func played(t testing.TB, name string) Played {
	t.Helper()
	run, _ := runs.LoadOrStore(name, sync.OnceValues(func() (Played, error) {
		text, err := os.ReadFile(name)
		if err != nil {
			return Played{}, err
		}
		return Play(string(text), Beside(filepath.Dir(name)), "", nil)
	}))
	p, err := run.(func() (Played, error))()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// checkLines holds what people received to the rules of the voice: every first line is a plain
// message and no name of a value was left unfilled.
func checkLines(t *testing.T, script string) {
	t.Helper()
	for _, line := range strings.Split(script, "\n") {
		who, text, ok := strings.Cut(line, "< ")
		if !ok || strings.ContainsAny(who, " #>") {
			continue
		}
		if n := voice.Septets(text); n > 160 {
			t.Errorf("a first line of %d characters: %s", n, text)
		}
		if strings.Contains(text, "{") || strings.Contains(text, "%!") {
			t.Errorf("a value was not filled in: %s", text)
		}
	}
}

// TestRehearsalRepeatsScripts replays the journal of every script under the books then in force:
// the calls must come out as they rang, to the millisecond.
func TestRehearsalRepeatsScripts(t *testing.T) {
	for _, name := range scripts(t) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			t.Parallel()
			es := played(t, name).Events
			run, err := rules.Rehearse(es, nil, rules.Parse)
			if err != nil {
				t.Fatal(err)
			}
			steps := run.Steps
			var rang []state.Event
			for _, e := range es {
				if s, ok := e.Body.(state.CallStep); ok && rules.Own(e, s) {
					rang = append(rang, e)
				}
			}
			defer func() {
				if len(rang) != len(steps) {
					t.Errorf("%d steps rang, %d were rehearsed", len(rang), len(steps))
				}
			}()
			for i := range min(len(rang), len(steps)) {
				a, b := rang[i].Body.(state.CallStep), steps[i].Body.(state.CallStep)
				if rang[i].At != steps[i].At || a.Rule != b.Rule || a.Of != b.Of ||
					a.What != b.What || a.Number != b.Number || !slices.Equal(a.To, b.To) ||
					!slices.Equal(a.Why, b.Why) || a.Window != b.Window || a.Since != b.Since {
					t.Fatalf("step %d:\n rang      %v %+v\n rehearsed %v %+v", i,
						rang[i].At.Time(), a, steps[i].At.Time(), b)
				}
			}
		})
	}
}
