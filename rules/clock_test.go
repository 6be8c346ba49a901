package rules

import (
	"testing"
	"time"

	"lotbell/state"
)

// putRight is a clock that had been ahead for some time and is right now.
func (l *live) putRight(by time.Duration) {
	was := l.m.Heard()
	l.now = max(was.Add(-by), l.es[0].Heard.Add(time.Minute))
	if l.now >= was {
		return
	}
	l.look(l.note(said{body: state.Clock{Was: was, Is: l.now}}, l.now), l.now)
}

// TestClockThatWasAhead: by a clock that is 30 hours ahead calls ring 30 hours early. Once it is put
// right, what has no ground is taken back and rings at its hour; what stands rings on from now. A
// rehearsal finds the same.
func TestClockThatWasAhead(t *testing.T) {
	t.Parallel()
	for rings, want := range map[string]string{
		"age > 2h": "1 09:40:00 taken back sample d1\n1 11:00:00.001 rang sample d1\n" +
			"1 11:30:00.001 again sample d1",
		"air > 45": "1 10:10:00 again sample d1\n1 10:40:00 again sample d1\n" +
			"1 11:10:00 again sample d1\n1 11:40:00 again sample d1",
		"age > 30h": "1 09:40:00 taken back sample d1",
		"age > 40h": "",
	} {
		l := lived(t, sample("rings = \""+rings+"\"\nper = \"place\"\nagain = \"30min\"\n"),
			"1 09:00 d1 load p1\n1 09:30 d1 air_c 50\n1 09:40")
		l.to(on(2, "15:40"))
		l.step([]said{{body: state.Start{Program: "test"}}}) // the last that the wrong clock sees
		before := len(Rang(l.es))
		l.putRight(30 * time.Hour)
		l.to(on(1, "11:40"))
		if got := brief(Rang(l.es)[before:]); got != want {
			t.Errorf("%s:\n%s", rings, got)
		}
		run, err := Rehearse(l.es, nil, Parse)
		if err != nil || brief(run.Steps) != brief(Rang(l.es)) {
			t.Errorf("%s, rehearsed (%v):\n%s", rings, err, brief(run.Steps))
		}
	}
}
