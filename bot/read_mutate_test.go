package bot

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lotbell/bot/words"
	"lotbell/state"
)

// The tables' lines as they would have come on a worse day: mistyped, run together, spoken into a
// phone, shouted, with the place far from its figure, two in one. What a line means is what the
// table says of it; a change that no reader of the floor would misunderstand may cost a question,
// but never moves coffee or begins or ends a call by itself.

// change is one way of spoiling a line; it gives "" for a line that it cannot be done to.
type change struct {
	name string
	do   func(l floorLine, r *rand.Rand) string
}

func changes() []change {
	return []change{
		{"letters swapped", func(l floorLine, r *rand.Rand) string {
			return oneWord(l.raw, r, func(w []byte, i int) []byte {
				w[i], w[i+1] = w[i+1], w[i]
				return w
			})
		}},
		{"letter missing", func(l floorLine, r *rand.Rand) string {
			return oneWord(l.raw, r, func(w []byte, i int) []byte { return append(w[:i], w[i+1:]...) })
		}},
		{"letter doubled", func(l floorLine, r *rand.Rand) string {
			return oneWord(l.raw, r, func(w []byte, i int) []byte {
				return append(w[:i+1], append([]byte{w[i]}, w[i+1:]...)...)
			})
		}},
		{"place last", func(l floorLine, _ *rand.Rand) string {
			place, rest, ok := strings.Cut(l.raw, " ")
			if !ok || !placeWritten.MatchString(place) || placesWritten.MatchString(rest) ||
				strings.ContainsAny(rest, ",;?") || strings.HasPrefix(rest, "is ") { // that would ask
				return ""
			}
			return rest + " " + place
		}},
		{"figure glued to its word", func(l floorLine, _ *rand.Rand) string {
			return replaced(l.raw, figureWord, "$1$2")
		}},
		{"place glued", func(l floorLine, _ *rand.Rand) string {
			return replaced(l.raw, regexp.MustCompile(`^([tpds]\d) ([a-z]{4})`), "$1$2")
		}},
		{"shouted", func(l floorLine, _ *rand.Rand) string { return strings.ToUpper(l.raw) }},
		{"O for nought", func(l floorLine, _ *rand.Rand) string {
			return replaced(l.raw, regexp.MustCompile(`([1-9])0(\D|$)`), "${1}O$2")
		}},
		{"numbers spoken", spokenAloud},
		{"by ear", byEar},
		{"place far away", func(l floorLine, _ *rand.Rand) string {
			place, rest, ok := strings.Cut(l.raw, " ")
			if !ok || !placeWritten.MatchString(place) {
				return ""
			}
			return place + map[string]string{"es": " mire jefe ya fui a ver y ", "en": " hi boss i just " +
				"checked and ", "pt": " olha chefe ja fui ver e "}[l.lang[:2]] + rest
		}},
	}
}

var (
	placeWritten  = regexp.MustCompile(`^[tpds]\d$`)
	placesWritten = regexp.MustCompile(`\b[tpdsrc]\d\b`)
	figureWord    = regexp.MustCompile(`\b(\d+(?:[.,]\d+)?) ` +
		`(kg|kilos|C|grados|degrees|graus|humedad|hum|sacos)\b`)
	plainFig = regexp.MustCompile(`(^| )(\d{1,2})([.,]\d)?( |$)`)
)

// replaced is a text with a pattern replaced; "" where it is not there.
func replaced(text string, p *regexp.Regexp, by string) string {
	if !p.MatchString(text) {
		return ""
	}
	return p.ReplaceAllString(text, by)
}

// oneWord changes one long word of small letters, at a letter that is not its first.
func oneWord(text string, r *rand.Rand, do func(word []byte, i int) []byte) string {
	all := regexp.MustCompile(`[a-z]{6,}`).FindAllStringIndex(text, -1)
	if len(all) == 0 {
		return ""
	}
	at := all[r.IntN(len(all))]
	word := []byte(text[at[0]:at[1]])
	i := 1 + r.IntN(len(word)-2)
	return text[:at[0]] + string(do(word, i)) + text[at[1]:]
}

// spokenAloud writes a line's small figures in words, as a phone that is spoken to does.
func spokenAloud(l floorLine, _ *rand.Rand) string {
	w := tableWords
	m := plainFig.FindStringSubmatch(l.raw)
	if m == nil {
		return ""
	}
	lang := l.lang[:2]
	say := func(n string) string {
		v, _ := strconv.Atoi(n)
		if one := w.Show(lang, words.Number, strconv.Itoa(v)); one != "" {
			return one
		}
		return w.Show(lang, words.Number, strconv.Itoa(v/10*10)) + " " + map[string]string{"es": "y ",
			"en": "", "pt": "e "}[lang] + w.Show(lang, words.Number, strconv.Itoa(v%10))
	}
	said := say(m[2])
	if m[3] != "" {
		said += " " + w.Show(lang, words.Number, "point") + " " + say(m[3][1:])
	}
	return strings.Replace(l.raw, m[0], m[1]+said+m[4], 1)
}

// byEar spells a line as it sounds.
func byEar(l floorLine, _ *rand.Rand) string {
	pairs := map[string][]string{
		"es": {"ch", "ch", "v", "b", "ll", "y", "z", "s", "ce", "se", "ci", "si", "qu", "k", "h", ""},
		"pt": {"ch", "x", "nh", "nh", "lh", "lh", "ss", "s", "z", "s"}}[l.lang[:2]]
	if pairs == nil {
		return ""
	}
	if text := strings.NewReplacer(pairs...).Replace(l.raw); text != l.raw {
		return text
	}
	return ""
}

var tableWords *words.Words

// callsOrCoffee says that a fact moves coffee, is a wish, a mark, a correction or a word about a call
// or about who is here: what may never be guessed in silence.
func callsOrCoffee(f Fact) bool {
	switch f.What {
	case SaysOk, SaysLater, SaysOff, SaysOn, SaysUndo, SaysCorrect, state.WashOrdered,
		state.WashAsked, state.WashRefused, state.OutOrdered, state.OutAsked:
		return true
	}
	return moved(f.What) || isMarkWord(f.What)
}

// silently lists what a taken line says of coffee or calls that was not meant, and what it loses.
func silently(h Heard, c Context, l floorLine, all []floorWant) []string {
	var wrong []string
	if h.Outcome != IsTaken {
		return nil
	}
	for _, f := range h.Facts {
		meant := floorHarmless(f, l)
		for i := range all {
			if all[i].matches(f, c) {
				all[i].seen, meant = true, true
			}
		}
		if !meant && callsOrCoffee(f) {
			wrong = append(wrong, f.Place+" "+f.What)
		}
	}
	for i := range all {
		w := &all[i]
		if !w.seen && !w.denied && callsOrCoffee(Fact{What: w.what}) && !floorOptional(w, h) {
			wrong = append(wrong, "no "+w.place+" "+w.what)
		}
		w.seen = false
	}
	return wrong
}

// TestSpoiltLines: of every table line that is read right, spoilt in every way it can be, none
// tells in silence anything of coffee or calls that was not meant, or loses it; of the rest no more
// than one in a hundred is silently wrong.
func TestSpoiltLines(t *testing.T) {
	var err error
	if tableWords, err = words.Load(); err != nil {
		t.Fatal(err)
	}
	loose, lines := 0, 0
	tried, asked := map[string]int{}, map[string]int{}
	for _, name := range []string{"yardstick.tsv", "made-up-1.tsv", "made-up-2.tsv", "made-up-3.tsv",
		"made-up-4.tsv", "made-up-5.tsv"} {
		r := rand.New(rand.NewPCG(7, 11))
		for _, l := range floorTable(t, name) {
			c := floorContext(l)
			if verdict, _ := floorCompare(l, c, Read(l.raw, c, tableWords)); verdict != "right" {
				continue
			}
			all, _ := floorExpected(l, c)
			for _, ch := range append(changes(), changes()[:3]...) { // typing goes wrong in many ways
				text := ch.do(l, r)
				if text == "" || text == l.raw {
					continue
				}
				h := Read(text, c, tableWords)
				tried[ch.name]++
				if h.Outcome == IsAsked {
					asked[ch.name]++
				}
				m := l
				m.raw = text
				if v, _ := floorCompare(m, c, h); v == "taken" {
					loose++
				}
				if wrong := silently(h, c, l, all); wrong != nil {
					t.Errorf("%s: %q (was %q) silently tells %s\n     want %s\n     got  %s", ch.name, text,
						l.raw, strings.Join(wrong, ", "), l.facts, heardText(h))
				}
			}
		}
	}
	for _, n := range tried {
		lines += n
	}
	if t.Logf("%d of %d lines taken wrong", loose, lines); loose*100 > lines {
		t.Errorf("more than 1 in 100")
	}
	for _, ch := range changes() {
		t.Logf("%-26s %4d lines, %4d asked back", ch.name, tried[ch.name], asked[ch.name])
		if tried[ch.name] < 30 {
			t.Errorf("%s: only %d lines", ch.name, tried[ch.name])
		}
	}
}

// TestTwoInOne: two lines of one sender about two places, written as one, tell of each place what
// they told apart, or are asked about.
func TestTwoInOne(t *testing.T) {
	w, err := words.Load()
	if err != nil {
		t.Fatal(err)
	}
	tableWords = w
	plain := regexp.MustCompile(`^holds=[a-z0-9,]+$`)
	var alone []floorLine
	for _, name := range []string{"made-up-1.tsv", "made-up-3.tsv", "made-up-4.tsv", "made-up-5.tsv"} {
		for _, l := range floorTable(t, name) {
			c := floorContext(l)
			v, _ := floorCompare(l, c, Read(l.raw, c, w))
			first, _, _ := strings.Cut(l.raw, " ")
			if v == "right" && plain.MatchString(l.context) && placeWritten.MatchString(first) &&
				len(placesWritten.FindAllString(l.raw, -1)) == 1 && !strings.HasPrefix(l.note, "ASK") {
				alone = append(alone, l)
			}
		}
	}
	r, tried := rand.New(rand.NewPCG(3, 5)), 0
	for range 6000 {
		a, b := alone[r.IntN(len(alone))], alone[r.IntN(len(alone))]
		if a.lang != b.lang || a.post != b.post || a.raw[:2] == b.raw[:2] {
			continue
		}
		tried++
		l := a
		l.raw = a.raw + []string{", ", " ", " y ", "; "}[r.IntN(4)] + b.raw
		l.context = fmt.Sprintf("%s,%s", a.context, strings.TrimPrefix(b.context, "holds="))
		c := floorContext(l)
		first, _ := floorExpected(a, c)
		second, _ := floorExpected(b, c)
		h := Read(l.raw, c, w)
		if wrong := silently(h, c, l, append(first, second...)); wrong != nil {
			t.Errorf("%q silently tells %s\n     want %s | %s\n     got  %s", l.raw,
				strings.Join(wrong, ", "), a.facts, b.facts, heardText(h))
		}
	}
	if tried < 40 {
		t.Errorf("only %d pairs", tried)
	}
	t.Logf("%d pairs of %d lines", tried, len(alone))
}
