package bot

import (
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// The most that is read of a message: more is no line of the floor.
const (
	longestLine = 1000 // letters
	mostLines   = 16
	mostTokens  = 120 // words, figures and marks of one line
	mostFacts   = 32
)

// reader is one reading of one line. Its passes join neighbours into items that say more; then the
// items are parted by places into clauses, and the clauses become facts.
type reader struct {
	c         Context
	w         *words.Words
	zone      *time.Location
	names     []string // the places', folded
	tokens    []token
	texts     []string // of the tokens
	items     []item
	spare     []item // the other half of the passes' two buffers
	backwards bool   // words stand behind their figures
	looked    int    // unknown words compared with the vocabulary
	last      []int  // the places of the clause before
	lastMark  string // its mark
	h         Heard
	open      []Fact      // not taken before the question is answered
	must, no  bool        // the question must be answered; the line is refused
	foreign   int         // words of Spanish or Portuguese that are none of English
	english   bool        // a word that is only English
	oneOpen   bool        // that question is only what one figure is
	dropped   int         // known words that no rule could use
	unknowns  int         // words that nobody knows here
	content   int         // items that were used
	classes   int         // words of density classes in the line
	channels  int         // channels named in the line
	verbal    bool        // the line tells of something seen, done or wished
	spoken    *state.Kind // the kind of place the line speaks of, once worked out
	shifting  bool        // somebody comes on or goes off
	person    string      // somebody of the mill who is named
	decided   bool        // the outcome is there already
	cried     []cryWord   // the words of cries, see [reader.cryWords]
	hedge     string      // a word that makes the line less than a statement
}

// Read understands a line of the floor: what is said, with its doubts, and whether that can be
// taken, is said back, asked back, passed on or refused. It is pure: the same words in the same
// context always give the same. Facts of an asked or refused line are what a "yes" would take.
// Words of every language are understood, whatever the sender's. An empty, foreign or huge text is
// asked about, never an error.
//
// The rules apply in this order: help with the program, cries for help, unsafe and private wishes,
// the answer to the last question, the conversation's own words, then the clauses. The passes of
// [reader.understand] are the whole grammar.
func Read(text string, c Context, w *words.Words) Heard {
	r := &reader{c: c, w: w, zone: c.Zone, names: c.names}
	if r.names == nil {
		r.names = foldedNames(c.Places)
	}
	if r.zone == nil {
		r.zone = time.UTC
	}
	folded := words.FoldText(text)
	if strings.Contains(folded, ".m") {
		folded = strings.NewReplacer("p.m.", "pm", "a.m.", "am", "p.m", "pm", "a.m", "am").
			Replace(folded)
	}
	if r.thumb(text, folded) {
		return r.h
	}
	if len(folded) > longestLine {
		return r.tooLong(folded)
	}
	lines := strings.FieldsFunc(folded, func(c rune) bool { return c == '\n' || c == ';' })
	if len(lines) > mostLines {
		return r.tooLong(folded)
	}
	for _, line := range lines {
		r.line(line)
		if len(r.tokens) > mostTokens || len(r.h.Facts)+len(r.open) > mostFacts {
			return r.tooLong(folded)
		}
	}
	if !r.decided {
		r.decide()
	}
	return r.h
}

// line reads one line of a message and adds its facts.
func (r *reader) line(line string) {
	r.tokens, r.texts, r.items = r.tokens[:0], r.texts[:0], r.items[:0]
	r.scan(line)
	if len(r.tokens) > mostTokens {
		return
	}
	r.itemise()
	r.understand()
	ws := r.cryWords()
	switch {
	case r.asksHelp(ws):
	case r.endangers(ws), r.private():
	case r.answer():
	case r.talk():
	default:
		for _, cl := range r.clauses() {
			for _, part := range cl.byHours() {
				r.clause(&part)
			}
		}
	}
}

// understand runs the passes of the grammar, each from left to right, the first rule that applies
// winning.
func (r *reader) understand() {
	r.pass(r.numberRule)
	r.pass(r.quarterRule)
	r.grades()
	r.classes, r.spoken = r.countClasses(), nil
	r.pairs()
	r.pass(r.placeRule)
	r.pass(r.listRule)
	r.pass(r.roleRule)
	r.verbal = r.tellsVerb()
	r.pass(r.spanRule)
	r.pass(r.agoRule, r.clockRule)
	r.pass(r.unitRule, r.measureFirst)
	r.backwards = r.facesBack()
	r.pass(r.readingRule, r.classRule)
	r.pass(r.moreRule)
	r.pass(r.markRule)
	for i := range r.items {
		switch x := &r.items[i]; x.kind {
		case isPlace:
			if r.c.Places[x.ps[0]].Kind == state.Channel {
				r.channels++
			}
			r.content++
		case isOther:
			r.unknowns++
		case isStop:
		default:
			r.content++
		}
		if r.items[i].kind == isHedge && r.hedge == "" {
			r.hedge = r.items[i].name
		}
	}
}

// tooLong answers a text that is no line: help is heard all the same.
func (r *reader) tooLong(folded string) Heard {
	r.h, r.open, r.must, r.no = Heard{}, nil, false, false
	for _, word := range strings.Fields(folded) {
		_, is := r.w.Match([]string{strings.Trim(word, ".,;:!?()")})
		for i := range is {
			if is[i].In == words.Mark && is[i].Name == state.Help {
				r.add(Fact{Place: state.Whole, What: state.Help, At: r.c.At, Urgent: true})
				r.decide()
				return r.h
			}
		}
	}
	r.ask(AskLong, "", "")
	r.decide()
	return r.h
}

// add notes a fact; help comes first of all.
func (r *reader) add(f Fact) *Fact {
	if f.At == 0 {
		f.At = r.c.At
	}
	for i := range r.h.Facts {
		if g := &r.h.Facts[i]; !f.Has && g.What == f.What && g.Place == f.Place && g.To == f.To &&
			(g.Word == f.Word || f.What != state.Cleared) {
			return g // said twice in one line
		}
	}
	if f.What == state.Help {
		r.h.Facts = append([]Fact{f}, r.h.Facts...)
		return &r.h.Facts[0]
	}
	r.h.Facts = append(r.h.Facts, f)
	return &r.h.Facts[len(r.h.Facts)-1]
}

// place is the name of a place by its index.
func (r *reader) place(i int) string { return r.c.Places[i].Name }
