package bot

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
)

// madeUp is a mill of random size with random names, as long as names may be, on which a random day
// has passed.
func madeUp(t *testing.T, r *rand.Rand) *rig {
	x := bareRig(t)
	var lines []string
	places := map[string][]string{}
	for _, kind := range []string{"intake", "tank", "tank", "patio", "drum", "drum", "silo"} {
		for range r.IntN(6) {
			name := fmt.Sprintf("%s%d", strings.Repeat(string(rune('a'+r.IntN(26))), 1+r.IntN(9)), r.IntN(99))
			if _, is := x.desk.mill.Place(name); is || len(name) > 12 || x.desk.taken(name, state.Tank) {
				continue
			}
			size := []string{"", " 6000", " 300000"}[r.IntN(3)]
			lines = append(lines, "place "+name+" "+kind+size)
			places[kind] = append(places[kind], name)
		}
	}
	lines = append(lines, "set usual_h "+fmt.Sprint(8+r.IntN(40)))
	if err := x.desk.Setup(strings.Join(lines, "\n"), x.now); err != nil {
		t.Fatal(err)
	}
	told := map[string][]string{"tank": {"add 4200", "rough", "foam", "wash?", "full"},
		"patio": {"spread 2000kg", "hum 14", "mould", "turned"}, "silo": {"stored 7000kg hum 12", "warm",
			"aw .71", "hold"}, "drum": {"load 2800kg hum 30", "73", "smoke", "hum 12", "unload 9 1900kg"},
		"intake": {"9000 kg", "12 t group 4"}}
	for range 5 + r.IntN(25) {
		x.now = x.now.Add(time.Duration(r.IntN(80)) * time.Minute)
		for _, kind := range []string{"tank", "patio", "silo", "drum", "intake"} {
			if n := len(places[kind]); n > 0 && r.IntN(2) == 0 {
				x.say("marta", places[kind][r.IntN(n)]+" "+told[kind][r.IntN(len(told[kind]))])
			}
		}
	}
	if r.IntN(2) == 0 {
		x.say("marta", fmt.Sprintf("tomorrow %d t", 1+r.IntN(900)))
	}
	x.run()
	return x
}

// TestManagersLineHolds: over many mills, in both languages, at every hour and at the season's end, the
// first word says whether to get up, and the first line is one plain message.
func TestManagersLineHolds(t *testing.T) {
	firsts := map[string][2]string{"en": {"UP", "SLEEP"}, "es": {"ARRIBA", "SIGA DURMIENDO"}}
	all := &rules.Summary{Shows: rules.Parts()[:len(rules.Parts())-1]}
	season := &rules.Summary{Shows: []string{"season"}}
	ups, long, most := 0, 0, 0
	for seed := range uint64(24) {
		r := rand.New(rand.NewPCG(seed, 3))
		x := madeUp(t, r)
		at := x.desk.turn(x.now).at
		for _, alone := range []bool{false, true} {
			for lang, first := range firsts {
				for _, hour := range []int{5, 12, 18} {
					z := at.Time().In(x.desk.mill.Zone())
					due := state.At(time.Date(z.Year(), z.Month(), z.Day(), hour, 0, 0, 0, z.Location()))
					for _, s := range append(x.desk.watch.Book.Summaries, all, season) {
						tr := x.desk.turn(x.now)
						tr.alone = alone
						text := tr.manager(s, lang, due)
						line := voice.FirstLine(text)
						n := voice.Septets(line)
						most = max(most, n)
						up := strings.HasPrefix(line, first[0])
						if !up && !strings.HasPrefix(line, first[1]) || n > 160 || voice.Plain(line) != line {
							t.Errorf("seed %d: %d letters: %q", seed, n, line)
						}
						u := &turn{Desk: x.desk, at: tr.at, msg: &Message{Lang: lang, At: tr.at}, alone: alone}
						if got := len(u.toDecide()) > 0; got != up {
							t.Errorf("seed %d: something to decide: %v, and the line is %q", seed, got, line)
						}
						if up {
							ups++
						}
						if strings.Contains(text, "\n") {
							long++
						}
					}
				}
			}
		}
	}
	if ups < 100 || long < 100 || most < 150 {
		t.Errorf("too easy: %d lines say up, %d go on below, the longest has %d letters", ups, long, most)
	}
}
