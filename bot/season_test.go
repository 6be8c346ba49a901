package bot

import (
	"cmp"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"lotbell/state"
)

var updateSeason = flag.Bool("update-season", false, "live the made-up season anew and write its script")

const seasonScript = "../testdata/chats/season.chat"

// mostPerDecision is how many rings a decision of the made-up season takes. It may only fall: a ring
// that nobody needs is a defect.
const mostPerDecision = 0.89

// TestSeasonRings: two weeks of a mill whose people answer as people do take no more rings for each
// decision than they did, and nobody is rung more often than the book allows.
func TestSeasonRings(t *testing.T) {
	if *updateSeason {
		f := newFloor(t)
		f.live(14)
		f.write()
	}
	tally := TallyOf(played(t, seasonScript).Events)
	if got := tally.PerDecision(); got > mostPerDecision {
		t.Errorf("%s: more than %.2f each", tally, mostPerDecision)
	}
	if tally.Decisions < 200 {
		t.Errorf("%s: no season", tally)
	}
}

// floorSim is a made-up floor that answers its calls: what is in its places is known to it, and its
// people see it when they look. All of it is made up: times, paces and habits have no source.
type floorSim struct {
	t      testing.TB
	p      *player
	rng    *rand.Rand
	script []string
	queue  []saying
	seen   map[string]bool // calls that somebody is about to answer

	tanks, patios, drums map[string]*charge
	waits                []string // tanks whose coffee found no patio
}

// charge is coffee in one place: since when, and how it goes there.
type charge struct {
	from  state.Instant
	ready state.Instant // a tank's
	sun   float64       // a patio's hours of sun, as of seen
	seen  state.Instant
	wet   float64 // % wet basis when it came
}

// saying is a line that somebody is going to write; what it says is seen when it is written.
type saying struct {
	at   state.Instant
	who  string
	text func() string
}

func newFloor(t testing.TB) *floorSim {
	t.Helper()
	p, err := newPlayer(Beside("../testdata/chats"), "", nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.close)
	f := &floorSim{t: t, p: p, rng: rand.New(rand.NewPCG(26, 1)), seen: map[string]bool{},
		tanks: map[string]*charge{}, patios: map[string]*charge{}, drums: map[string]*charge{}}
	f.script = strings.Split("# Two weeks of a mill that does not exist, written by a simulation in which people\n"+
		"# answer their calls: go test ./bot -run SeasonRings -update-season writes it anew.\n"+
		"mill testdata/mills/small.chat\nmill testdata/mills/all-crew.chat\n@ 2026-01-05 06:00", "\n")
	for _, line := range f.script {
		if err := p.line(line); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// live lets some days pass.
func (f *floorSim) live(days int) {
	first := f.p.now
	for day := range days {
		f.plan(first.Add(time.Duration(day)*24*time.Hour), day)
	}
	end := first.Add(time.Duration(days) * 24 * time.Hour)
	for f.p.now < end {
		f.answer()
		next := end
		if due := f.p.desk.Next(); due != 0 {
			next = min(next, minute(due))
		}
		if len(f.queue) > 0 && f.queue[0].at <= next {
			f.say()
			continue
		}
		if err := f.p.until(max(next, f.p.now)); err != nil {
			f.t.Fatal(err)
		}
	}
}

// minute is the next full minute.
func minute(i state.Instant) state.Instant {
	const m = state.Instant(60_000)
	return (i + m - 1) / m * m
}

// later plans a line some minutes from now, half as much again at most.
func (f *floorSim) later(minutes int, who string, text func() string) {
	d := time.Duration(float64(minutes)*(1+0.5*f.rng.Float64())) * time.Minute
	f.plans(minute(f.p.now.Add(d)), who, text)
}

func (f *floorSim) plans(at state.Instant, who string, text func() string) {
	f.queue = append(f.queue, saying{at, who, text})
	slices.SortStableFunc(f.queue, func(a, b saying) int { return cmp.Compare(a.at, b.at) })
}

// say writes the next line of all, if there is still something to say.
func (f *floorSim) say() {
	s := f.queue[0]
	f.queue = f.queue[1:]
	if s.at > f.p.now {
		if err := f.p.until(s.at); err != nil {
			f.t.Fatal(err)
		}
	}
	text := s.text()
	if text == "" {
		return
	}
	here := f.p.now.Time().In(f.p.zone())
	if here.Second() == 0 {
		f.script = append(f.script, "@ "+here.Format("2006-01-02 15:04"))
	}
	f.script = append(f.script, s.who+"> "+text)
	if err := f.p.send(s.who, text); err != nil {
		f.t.Fatal(err)
	}
}

// write plays what was said once more and keeps it as a script.
func (f *floorSim) write() {
	run, err := Play(strings.Join(f.script, "\n"), Beside("../testdata/chats"), "", nil)
	if err == nil {
		err = os.WriteFile(seasonScript, []byte(run.Text), 0o644)
	}
	if err != nil {
		f.t.Fatal(err)
	}
}

// plan is what a day brings of itself: two tanks of fruit, the patios' round, readings.
func (f *floorSim) plan(morning state.Instant, day int) {
	at := func(hours float64) state.Instant {
		return minute(morning.Add(time.Duration(hours * float64(time.Hour))))
	}
	f.plans(at(0.5), "paco", func() string { return fmt.Sprintf("yard %d C rh %d", 16+f.rng.IntN(4), 80+f.rng.IntN(8)) })
	f.plans(at(8), "paco", func() string { return fmt.Sprintf("yard %d C rh %d", 22+f.rng.IntN(4), 58+f.rng.IntN(8)) })
	for i := range 1 + day%4/3 { // on every fourth day two tanks
		f.fill(at(7+1.5*float64(i)+0.5*f.rng.Float64()), at(8+1.5*float64(i)+f.rng.Float64()/2))
	}
	for _, patio := range []string{"p1", "p2", "p3"} {
		for _, hour := range []float64{1.5, 4, 6.3, 8.6} {
			f.plans(at(hour+0.4*f.rng.Float64()), "paco", func() string {
				if f.patios[patio] == nil {
					return ""
				}
				return patio + " movido"
			})
		}
		f.plans(at(9+0.3*f.rng.Float64()), "paco", func() string { return f.reads(patio) })
	}
	for hour := 0.0; hour < 24; hour += 2 {
		for i, drum := range []string{"d1", "d2"} {
			f.plans(at(hour+0.3*float64(i)+0.2*f.rng.Float64()), "beto", func() string { return f.reads(drum) })
		}
	}
	if day == 4 {
		f.plans(at(8.2), "paco", func() string { return "llueve" })
		f.plans(at(10), "paco", func() string { return "ya no llueve" })
	}
	if day == 7 {
		f.plans(at(20.1), "luis", func() string { return "power out" })
		f.plans(at(20.9), "luis", func() string { return "power back" })
	}
}

// fill puts two loads into a free tank.
func (f *floorSim) fill(first, second state.Instant) {
	tank := ""
	f.plans(first, "ana", func() string {
		for _, name := range []string{"t1", "t2", "t3", "t4"} {
			if f.tanks[name] == nil {
				tank = name
				hours := 20 * (1 + 0.06*f.rng.NormFloat64())
				f.tanks[name] = &charge{from: f.p.now, ready: f.p.now.Add(time.Duration(hours * float64(time.Hour)))}
				return fmt.Sprintf("%s entro %d", name, 1600+50*f.rng.IntN(9))
			}
		}
		return ""
	})
	f.plans(second, "ana", func() string {
		if tank == "" {
			return ""
		}
		return fmt.Sprintf("%s entro %d", tank, 1400+50*f.rng.IntN(9))
	})
}

// moisture is what is in a patio or a drum now, % wet basis.
func (f *floorSim) moisture(place string) float64 {
	if c := f.drums[place]; c != nil {
		return 5 + (c.wet-5)*math.Exp(-f.p.now.Sub(c.from).Hours()/13)
	}
	c := f.patios[place]
	for ; c.seen < f.p.now; c.seen = c.seen.Add(10 * time.Minute) {
		if h := c.seen.Time().In(f.p.zone()).Hour(); h >= 9 && h < 16 {
			c.sun += 1.0 / 6
		}
	}
	return 9 + (c.wet-9)*math.Exp(-c.sun/14)
}

// reads is a reading of moisture, as a worker types it; "" where nothing is.
func (f *floorSim) reads(place string) string {
	if f.drums[place] == nil && f.patios[place] == nil {
		return ""
	}
	m := f.moisture(place) + 0.2*f.rng.NormFloat64()
	word := "hum "
	if f.drums[place] != nil && m < 24 {
		word = ""
	}
	if f.patios[place] != nil && m <= 22 {
		f.later(15, "beto", func() string { return f.load(place) })
	}
	return place + " " + word + strings.ReplaceAll(fmt.Sprintf("%.1f", m), ".", ",")
}

// load takes a patio to a free drum.
func (f *floorSim) load(patio string) string {
	if f.patios[patio] == nil {
		return ""
	}
	for _, drum := range []string{"d1", "d2"} {
		if f.drums[drum] == nil {
			m := f.moisture(patio)
			f.drums[drum] = &charge{from: f.p.now, wet: m}
			delete(f.patios, patio)
			if len(f.waits) > 0 {
				from := f.waits[0]
				f.waits = f.waits[1:]
				f.later(20, "paco", func() string { return f.spread(from) })
			}
			return fmt.Sprintf("%s cargada %s %dkg hum %.1f", drum, patio, 1500+10*f.rng.IntN(20), m)
		}
	}
	return ""
}

// spread takes what was washed to a free patio.
func (f *floorSim) spread(from string) string {
	for _, patio := range []string{"p1", "p2", "p3"} {
		if f.patios[patio] == nil {
			f.patios[patio] = &charge{from: f.p.now, seen: f.p.now, wet: 52}
			return patio + " tendido lo de " + from
		}
	}
	f.waits = append(f.waits, from)
	return ""
}

// unload takes a drum down when it is dry, else reads it.
func (f *floorSim) unload(drum string) string {
	c := f.drums[drum]
	if c == nil {
		return ""
	}
	if m := f.moisture(drum); m <= 10.8 {
		delete(f.drums, drum)
		f.later(100, "beto", func() string { return "s1 guardado lo de " + drum })
		return fmt.Sprintf("%s bajada %.1f %dkg", drum, m, 1350+10*f.rng.IntN(15))
	}
	f.later(25, "beto", func() string { return f.unload(drum) })
	return f.reads(drum)
}

// answer plans an answer to every call that asks for one.
func (f *floorSim) answer() {
	for _, c := range f.p.desk.mill.Calls() {
		key := fmt.Sprint(c.ID, c.RungAt)
		if c.State != state.Unacknowledged || f.seen[key] {
			continue
		}
		f.seen[key] = true
		who, text := f.reply(c)
		f.later(8, who, func() string {
			if now := f.p.desk.mill.Standing(c.Key()); now == nil || now.ID != c.ID {
				return ""
			}
			return text()
		})
	}
}

// reply is who answers a call, and with what.
func (f *floorSim) reply(c *state.Call) (who string, text func() string) {
	place := c.Of.Name
	says := func(text string) func() string { return func() string { return text } }
	switch c.Rule {
	case "hand-test":
		return "ana", func() string {
			if tank := f.tanks[place]; tank != nil && f.p.now < tank.ready {
				return place + " resbala"
			}
			return place + " aspera"
		}
	case "wash", "wash-asked", "tank-late":
		return "marta", says(place + " lavar")
	case "wash-order":
		return "ana", func() string {
			delete(f.tanks, place)
			f.later(25, "paco", func() string { return f.spread(place) })
			return place + " lavada"
		}
	case "wet-waits":
		return "paco", func() string { return "en remojo" }
	case "patio-forgotten":
		return "paco", says(place + " movido")
	case "patio-night":
		return "paco", says(place + " tapado")
	case "rain":
		return "paco", func() string {
			var open []string
			for _, name := range []string{"p1", "p2", "p3"} {
				if f.patios[name] != nil {
					open = append(open, name)
				}
			}
			return strings.Join(open, " ") + " tapados"
		}
	case "patio-ready":
		return "beto", func() string { return f.load(place) }
	case "read-moisture", "first-moisture":
		return "beto", func() string { return f.reads(place) }
	case "air-again":
		return "beto", says(place + " 50")
	case "unload":
		return "beto", func() string { return f.unload(place) }
	}
	who = "marta"
	if len(c.Told) > 0 {
		who = f.p.desk.name(c.Told[0])
	}
	return who, says(fmt.Sprintf("ok %d", c.Number))
}
