package bot

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// floorLine is one row of a table of floor lines: what was typed, what was known, and what it
// should mean in the tables' own notation.
type floorLine struct {
	lang, post, context, raw, kinds, facts, note string
}

// floorTable reads a table: five columns in the yardstick, seven in the made-up ones.
func floorTable(t testing.TB, name string) []floorLine {
	t.Helper()
	text, err := os.ReadFile("../testdata/floor/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var all []floorLine
	for _, row := range strings.Split(string(text), "\n") {
		c := strings.Split(strings.TrimSuffix(row, "\r"), "\t")
		if strings.HasPrefix(row, "#") || c[0] == "lang" || len(c) < 4 {
			continue
		}
		switch len(c) {
		case 5:
			all = append(all, floorLine{lang: c[0], raw: c[1], kinds: c[2], facts: c[3], note: c[4]})
		case 7:
			all = append(all, floorLine{c[0], c[1], c[2], c[3], c[4], c[5], c[6]})
		default:
			t.Fatalf("%s: a row of %d columns: %s", name, len(c), row)
		}
	}
	return all
}

// floorZone is the made-up mill's clock: five hours behind UTC the whole year.
func floorZone() *time.Location { return time.FixedZone("mill", -5*3600) }

// floorMill is the made-up mill of the tables: tanks t1 to t6 of 6000 kg, one channel, patios p1
// to p4, drums d1 to d3 of 3500 kg, silos s1 to s4, an intake, a laboratory, a pulper, a waiting
// place.
func floorMill() []PlaceView {
	var all []PlaceView
	add := func(kind state.Kind, letter string, n int, kg float64) {
		for i := 1; i <= n; i++ {
			all = append(all, PlaceView{Name: fmt.Sprintf("%s%d", letter, i), Kind: kind,
				Capacity: kg})
		}
	}
	add(state.Intake, "r", 1, 0)
	add(state.Tank, "t", 6, 6000)
	add(state.Channel, "c", 1, 0)
	add(state.Patio, "p", 4, 0)
	add(state.Drum, "d", 3, 3500)
	add(state.Silo, "s", 4, 0)
	add(state.Lab, "l", 1, 0)
	add(state.Meter, "m", 1, 0)
	return append(all, PlaceView{Name: "pulper", Kind: state.Pulper},
		PlaceView{Name: "waiting", Kind: state.Waiting})
}

// floorContext is what the desk would know when a line of the tables came in.
func floorContext(l floorLine) Context {
	c := Context{Zone: floorZone(), Lang: l.lang[:2], Places: floorMill(),
		Measures: map[string]map[string]float64{"lata": {"cherry": 12.5},
			"cajuela": {"cherry": 12.5}, "basin": {"wet": 25}}}
	c.Posts = floorPosts(l)
	known := floorKnown(l)
	for _, name := range floorList(known["holds"]) {
		floorPlace(c.Places, name).Holds = true
	}
	if d := known["dial"]; d != "" || known["post"] != "yardstick" {
		for i := range c.Places {
			if c.Places[i].Kind == state.Drum {
				c.Places[i].Dial = known["dial"]
			}
		}
	}
	for i, n := range floorList(known["call"]) {
		number := i + 1 // a call named by its place and rule
		fmt.Sscan(n, &number)
		c.Calls = append(c.Calls, number)
	}
	c.Decides = l.post == "manager" || known["role"] == "deputy"
	hour, minute := 10, 0
	if now := known["now"]; now != "" {
		fmt.Sscanf(now, "%d:%d", &hour, &minute)
	}
	c.At = state.At(time.Date(2026, 1, 12, hour, minute, 0, 0, c.Zone))
	c.Asked = floorAsked(known["asked"])
	c.People, c.Waiting = floorList(known["people"]), known["waiting"] != ""
	if line := known["line"]; line != "" { // which place was that line about?
		c.Asked = &Asked{What: AskPlace, Line: line}
	}
	return c
}

// floorKnown reads the context column; the yardstick, which has none, gets what its notes say.
func floorKnown(l floorLine) map[string]string {
	known := map[string]string{}
	for _, kv := range strings.Split(l.context, ";") {
		if k, v, ok := strings.Cut(strings.TrimSpace(kv), "="); ok {
			known[k] = v
		}
	}
	if l.post != "" {
		if _, ok := known["dial"]; !ok {
			known["dial"] = "C"
		}
		return known
	}
	known["holds"] = "t1,t2,t4,t6,c1,p1,p2,p3,p4,d1,d2,s1,s3"
	switch {
	case strings.Contains(l.raw, "530"), strings.Contains(l.raw, "blackout"):
		known["now"] = "18:00"
	case strings.Contains(l.raw, "a las 2"):
		known["now"] = "05:00"
	}
	if strings.HasPrefix(l.raw, "ok 14") {
		known["call"] = "14"
	}
	return known
}

// floorPosts are the sender's posts: the column of the made-up tables, or the kind of the place
// that the yardstick expects.
func floorPosts(l floorLine) []state.Kind {
	kinds := map[string]state.Kind{"tanks": state.Tank, "patio": state.Patio, "drums": state.Drum,
		"silo": state.Silo, "lab": state.Lab, "pulper": state.Pulper, "intake": state.Intake,
		"tank": state.Tank, "channel": state.Channel, "drum": state.Drum, "patios": state.Patio,
		"silos": state.Silo}
	post := l.post
	if post == "" {
		post = l.kinds
	}
	if k := kinds[post]; k != "" {
		return []state.Kind{k}
	}
	return nil
}

// floorAsked is the question that stands open for the sender.
func floorAsked(key string) *Asked {
	place, what, ok := strings.Cut(key, ".")
	if !ok {
		if key == "hand-over" {
			return &Asked{What: key}
		}
		return nil
	}
	a := &Asked{Place: place}
	switch what {
	case "hum":
		a.What = state.Moisture
	case "air":
		a.What = state.AirC
	case "hand":
		a.What = AskHand
	case "wash":
		a.What, a.Facts = Confirm, []Fact{{Place: place, What: state.WashOrdered}}
	case "unloaded":
		a.What, a.Facts = Confirm, []Fact{{Place: place, What: state.ActUnload}}
	case "dial":
		a.What = AskDial
		a.Facts = []Fact{{Place: place, What: state.AirC, Value: 57.2, Has: true, Said: "135 F"}}
	case "supplier":
		a.What = AskKind
	case "count":
		a.What = "kg"
		a.Facts = []Fact{{Place: place, What: state.ActIntake, Unit: "sack"}}
	case "picked":
		a.What = SaysPicked
	case "kg":
		a.What, a.Facts = "kg", []Fact{{Place: place, What: state.ActIntake}}
	default:
		if q, ok := state.QuantityOf(what); ok {
			a.What = q.Name
		}
	}
	return a
}

func floorPlace(places []PlaceView, name string) *PlaceView {
	for i := range places {
		if places[i].Name == name {
			return &places[i]
		}
	}
	return &PlaceView{}
}

func floorList(list string) []string {
	var all []string
	for _, s := range strings.Split(list, ",") {
		if s = strings.TrimSpace(s); s != "" {
			all = append(all, s)
		}
	}
	return all
}

// floorTally counts what became of the lines of a table.
type floorTally struct {
	lines, right, askedBack, wrongSaid, wrongTaken, grave int
}

// floorGrade reads every line of a table. A line is right when its facts and outcome are the
// table's; askedBack when it was asked about though the table takes it; wrong when facts differ,
// silently when no guess was said. Grave is wrong about what moves coffee, ends a call or names a
// person.
func floorGrade(t *testing.T, name string, show bool) floorTally {
	t.Helper()
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	var n floorTally
	for _, l := range floorTable(t, name) {
		c := floorContext(l)
		h := Read(l.raw, c, w)
		verdict, why := floorCompare(l, c, h)
		n.lines++
		switch verdict {
		case "right":
			n.right++
			continue
		case "asked":
			n.askedBack++
		case "said":
			n.wrongSaid++
		case "taken":
			n.wrongTaken++
			if strings.Contains(why, "!") {
				n.grave++
			}
		}
		if show {
			t.Logf("%-6s %q\n     want %s | %s\n     got  %s\n     why  %s", verdict, l.raw, l.facts,
				l.note, heardText(h), why)
		}
	}
	return n
}

// heardText is an outcome and its facts as one line.
func heardText(h Heard) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s ask=%s about=%q near=%q room=%v:", h.Outcome, h.Ask, h.About, h.Near, h.Room)
	for _, f := range h.Facts {
		fmt.Fprintf(&b, " [%s %s", f.Place, f.What)
		if f.Has {
			fmt.Fprintf(&b, "=%v%s", f.Value, f.Unit)
		}
		for _, s := range []string{f.Word, f.Said, f.To, strings.Join(f.From, "+")} {
			if s != "" {
				fmt.Fprintf(&b, " %s", s)
			}
		}
		if f.Told {
			fmt.Fprintf(&b, " @%s", f.At.Time().In(floorZone()).Format("02 15:04"))
		}
		if f.Urgent {
			b.WriteString(" urgent")
		}
		for _, d := range f.Doubt {
			fmt.Fprintf(&b, " ?%s", d.What)
		}
		b.WriteString("]")
	}
	return b.String()
}

// TestYardstick: every line of the committed table is right.
func TestYardstick(t *testing.T) {
	n := floorGrade(t, "yardstick.tsv", true)
	t.Logf("%+v", n)
	if n.right != n.lines || n.lines != 80 {
		t.Errorf("%d of %d lines right", n.right, n.lines)
	}
}

// TestMadeUpSeen: the first made-up table was looked at while the words were written.
func TestMadeUpSeen(t *testing.T) {
	n := floorGrade(t, "made-up-1.tsv", testing.Verbose())
	t.Logf("%+v", n)
	n.atLeast(t, 0.86, 0.01)
}

// TestMadeUpUnseen: the second was not looked at until the reader had been measured on it once. On
// that first run 63 of its 158 lines were right, 66 asked back, 23 wrong and said back, 6 wrong
// and taken, one of them about coffee that moves. The floor here is of the reader as mended since.
func TestMadeUpUnseen(t *testing.T) {
	n := floorGrade(t, "made-up-2.tsv", testing.Verbose())
	t.Logf("%+v", n)
	n.atLeast(t, 0.52, 0.01)
}

// TestMadeUpFresh: the third was written after the reader, by others, and looked at by nobody who
// changed it before it was measured once. On that run 95 of its 160 lines were right, 41 asked
// back, 19 wrong and said back, 5 wrong and taken: two of these by the table's own words, one rain
// that was water in the pipe, and two about who is absent, of which one was meant for the next day.
// The floor here is of the reader as mended since.
func TestMadeUpFresh(t *testing.T) {
	n := floorGrade(t, "made-up-3.tsv", testing.Verbose())
	t.Logf("%+v", n)
	n.atLeast(t, 0.62, 0.01)
}

// TestMadeUpStrange: the fourth and fifth, by people who had not seen the grammar. Their heads tell
// what became of them at first sight. None of their lines may be silently wrong now.
func TestMadeUpStrange(t *testing.T) {
	for name, right := range map[string]float64{"made-up-4.tsv": 0.84, "made-up-5.tsv": 0.68} {
		n := floorGrade(t, name, testing.Verbose())
		t.Logf("%s: %+v", name, n)
		n.atLeast(t, right, 0)
	}
}

// atLeast fails when fewer lines are right than a share, more are silently wrong than another, or
// any is silently wrong about what moves coffee, ends a call or names a person.
func (n floorTally) atLeast(t *testing.T, right, wrong float64) {
	t.Helper()
	lines := float64(n.lines)
	if float64(n.right) < right*lines {
		t.Errorf("%d of %d lines right, want %.0f %%", n.right, n.lines, right*100)
	}
	if float64(n.wrongTaken) > wrong*lines {
		t.Errorf("%d of %d lines silently wrong", n.wrongTaken, n.lines)
	}
	if n.grave > 0 {
		t.Errorf("%d lines silently wrong about coffee, calls or people", n.grave)
	}
}
