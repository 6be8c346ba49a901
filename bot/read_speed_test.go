package bot

import (
	"strings"
	"testing"

	"lotbell/bot/words"
	"lotbell/state"
)

// BenchmarkRead reads the yardstick's lines in turn. The aim is 20,000 lines a second on one core:
// 50 µs a line.
func BenchmarkRead(b *testing.B) {
	w, err := words.Load()
	if err != nil {
		b.Fatal(err)
	}
	lines := floorTable(b, "yardstick.tsv")
	contexts := make([]Context, len(lines))
	for i, l := range lines {
		contexts[i] = floorContext(l)
	}
	b.ReportAllocs()
	b.ResetTimer()
	for i := range b.N {
		n := i % len(lines)
		Read(lines[n].raw, contexts[n], w)
	}
}

// hostile are lines made to be slow: as long as a line may be, and full of what makes a reader
// work.
func hostile() map[string]string {
	all := map[string]string{
		"letters":  strings.Repeat("t", longestLine),
		"digits":   strings.Repeat("1", longestLine),
		"accents":  strings.Repeat("ñ", longestLine/2),
		"pictures": strings.Repeat("🌧", 1000),
		"huge":     strings.Repeat("t3 is rough and ready ", 182),
		"lines":    strings.Repeat("t1 21,5 y ph 4,4 no resbala, p1 tapado 530, d1 57 13,2 hum\n", 16),
	}
	for name, unit := range map[string]string{"unknown": "xqzvvk", "near": "slipperx",
		"places":  "t1 p1 d1",
		"figures": "1", "decimals": "13,2", "numbers": "two and", "not": "no", "marks": "t1 rough",
		"commas": "1,", "clocks": "at 5 y 10", "classes": "heavy 3", "order": "t1 wash",
		"moves": "moved p1 to d1 300 kg", "thousands": "4.200 kg", "talk": "ok later", "all": "all patios",
		"kinds": "tank 3", "things": "no water", "shift": "shift in", "same": "p1"} {
		times := min(mostTokens/len(strings.Fields(unit)), longestLine/(len(unit)+1))
		all[name] = strings.Repeat(unit+" ", times)
	}
	return all
}

// BenchmarkHostile reads the slowest lines known. The aim is below one millisecond.
func BenchmarkHostile(b *testing.B) {
	w, err := words.Load()
	if err != nil {
		b.Fatal(err)
	}
	c := floorContext(floorLine{lang: "es", post: "drums", context: "holds=d1,d2,t1,p1"})
	for name, line := range hostile() {
		b.Run(name, func(b *testing.B) {
			for range b.N {
				Read(line, c, w)
			}
		})
	}
}

// FuzzRead: whatever is typed, reading does not panic, its outcome is one of the five, its places
// are the mill's own, an asked line has a question, and reading again gives the same.
func FuzzRead(f *testing.F) {
	w, err := words.Load()
	if err != nil {
		f.Fatal(err)
	}
	for _, l := range floorTable(f, "yardstick.tsv") {
		f.Add(l.raw)
	}
	for _, line := range hostile() {
		f.Add(line)
	}
	c := floorContext(floorLine{lang: "es", post: "tanks", context: "holds=t1,t2,d1,p1; call=3,9"})
	known := map[string]bool{"": true, state.Whole: true}
	for _, p := range c.Places {
		known[p.Name] = true
	}
	f.Fuzz(func(t *testing.T, line string) {
		h := Read(line, c, w)
		switch h.Outcome {
		case IsTaken, IsSaidBack, IsPassedOn:
			if len(h.Facts) == 0 {
				t.Errorf("%q: %s without a fact", line, h.Outcome)
			}
		case IsAsked, IsRefused:
			if h.Ask == "" {
				t.Errorf("%q: %s without a question", line, h.Outcome)
			}
		default:
			t.Errorf("%q: outcome %q", line, h.Outcome)
		}
		for _, fact := range h.Facts {
			places := append([]string{fact.Place, fact.To}, fact.From...)
			for _, p := range places {
				if !known[p] {
					t.Errorf("%q: place %q is not the mill's", line, p)
				}
			}
			if fact.What == "" || fact.Value != fact.Value {
				t.Errorf("%q: a fact without meaning: %+v", line, fact)
			}
		}
		if again := Read(line, c, w); heardText(again) != heardText(h) {
			t.Errorf("%q: read twice, understood differently", line)
		}
	})
}
