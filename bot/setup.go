package bot

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/bot/words"
	"lotbell/state"
)

// A set-up is some fifteen questions by which a mill becomes known, one line each, every one with
// "don't know". Answers become the same events as a keeper's strict commands. How far it has come
// is a small row beside the fold, so that it goes on after a restart, days later, or never.

// question is one of them. Its sentence is setup.NAME, its example setup.NAME.eg, and what holds
// when nobody knows setup.NAME.else.
type question struct {
	name    string
	take    func(t *turn, a answer) (said, wrong string) // wrong: the word not understood
	unknown func(t *turn) string                         // makes the default; gives its names
	known   func(t *turn) string                         // what is known already; "" for nothing
}

// setupCursor is where the progress is kept.
const setupCursor = "setup"

// setupRow is how far the set-up has come.
type setupRow struct {
	By    state.PersonID // who answers
	Asked int            // the question that waits, from 1; 0: none
	At    state.Instant  // when it was asked
	Heard string         // a letter a question: '-' not asked, 'k' told, 'u' not known
}

// setupWaits is how long a question waits for the next line; after it `setup` goes on.
const setupWaits = time.Hour

// setupAt is the progress, as this turn has left it.
func (t *turn) setupAt() setupRow {
	text, here := t.b.Cursors[setupCursor]
	if !here {
		var err error
		if text, err = t.db.Cursor(setupCursor); err != nil {
			t.o.Report("cannot read how far the set-up is: " + err.Error())
		}
	}
	var s setupRow
	if text == "" || json.Unmarshal([]byte(text), &s) != nil || len(s.Heard) != t.asking {
		return setupRow{Heard: strings.Repeat("-", t.asking)}
	}
	return s
}

// keepSetup keeps the progress with this turn.
func (t *turn) keepSetup(s setupRow) {
	raw, err := json.Marshal(s)
	if err != nil {
		t.o.Report("cannot keep how far the set-up is: " + err.Error())
		return
	}
	t.b.Cursors[setupCursor] = string(raw)
}

// setsUp takes a line that asks for the set-up or answers its question, and says whether it did.
func (t *turn) setsUp(h Heard) bool {
	text := words.FoldText(strings.TrimSpace(t.msg.Text))
	if rest, ok := t.setupWord(text); ok {
		switch n, all := setupNumber(rest); {
		case !t.person.Is(state.Keeper):
			t.say("keeper.only")
		case n > 0:
			t.setupAsk(n)
		case all || !strings.Contains(t.setupAt().Heard, "-"):
			t.setupDone()
		default:
			t.setupAsk(strings.Index(t.setupAt().Heard, "-") + 1)
		}
		return true
	}
	s := t.setupAt()
	if s.Asked == 0 || !t.person.Is(state.Keeper) || s.By != t.person.ID ||
		t.at.Sub(s.At) > setupWaits || t.pendingAt(t.msg.From).AskedAt > s.At {
		return false
	}
	if ws := strings.Fields(text); len(ws) == 0 || t.verb(ws[0]) != "" ||
		strings.HasSuffix(text, "?") || t.talks(text, SaysOk) || t.talks(text, SaysLater) ||
		t.talks(text, SaysUndo) || t.talks(text, SaysDue) {
		return false // it is said of something else
	}
	return t.setupAnswer(s, text, h)
}

// offerSetup tells a keeper of a mill without places how to begin.
func (t *turn) offerSetup() {
	if t.person.Is(state.Keeper) && len(t.mill.Places()) == 0 {
		t.say("slate.none")
	}
}

// setupWord finds the word for the set-up at the front of a line, in any language.
func (t *turn) setupWord(text string) (rest string, ok bool) {
	for _, lang := range t.voice.Langs() {
		for _, word := range strings.Split(t.voice.Say(lang, "verb.setup"), ",") {
			word = words.FoldText(strings.TrimSpace(word))
			if rest, is := strings.CutPrefix(text, word); is && (rest == "" || rest[0] == ' ') {
				return strings.TrimSpace(rest), true
			}
		}
	}
	return "", false
}

// setupNumber reads the number behind the word; a question mark asks for the whole.
func setupNumber(rest string) (n int, all bool) {
	if x, ok := figureOf(rest); ok && x >= 1 && x <= float64(len(questions())) {
		return int(x), false
	}
	return 0, rest != ""
}

// setupAsk asks a question, with what is known already and an answer that works.
func (t *turn) setupAsk(n int) {
	s := t.setupAt()
	s.By, s.Asked, s.At = t.person.ID, n, t.at
	t.keepSetup(s)
	q := questions()[n-1]
	t.say("setup."+q.name, "no", n, "of", len(questions()))
	if known := q.known(t); known != "" {
		t.say("setup.now", "what", known)
	}
	t.say("setup.example", "example", t.voice.Say(t.lang(), "setup."+q.name+".eg"))
	t.keys = [][]string{{t.voice.Say(t.lang(), "key.dont-know")}}
}

// setupAnswer takes an answer. It is false for a line of the floor that came in between.
func (t *turn) setupAnswer(s setupRow, text string, h Heard) bool {
	if pressing(h) {
		return false
	}
	q := questions()[s.Asked-1]
	a := t.answerOf(t.msg.Text)
	if t.means(text, "setup.dont-know") || find(h.Facts, SaysUnknown) != nil ||
		t.talks(text, SaysUnknown) {
		t.say("setup."+q.name+".else", "what", q.unknown(t))
		t.setupNext(s, 'u')
		return true
	}
	said, wrong := q.take(t, a)
	switch {
	case wrong == "":
		t.say("setup.understood", "what", cut(said, 120))
		if q.name == "people" {
			t.say("setup.invite")
		}
		t.setupNext(s, 'k')
	case t.ofFloor(h, wrong):
		return false
	default:
		s.At = t.at
		t.keepSetup(s)
		t.say("setup.wrong", "about", cut(wrong, 30), "example",
			t.voice.Say(t.lang(), "setup."+q.name+".eg"))
	}
	return true
}

// pressing says that a line cannot wait for what the set-up makes of it: danger, or the answer to a
// call by its number.
func pressing(h Heard) bool {
	return h.Outcome != IsAsked && slices.ContainsFunc(h.Facts, func(f Fact) bool {
		return f.Urgent || f.Has && (f.What == SaysOk || f.What == SaysLater)
	})
}

// talks says whether a whole line is one word of the conversation.
func (t *turn) talks(text, name string) bool {
	line := strings.Fields(text)
	n, is := t.words.Match(line)
	return n > 0 && n == len(line) && slices.ContainsFunc(is, func(m words.Meaning) bool {
		return m.In == words.Talk && m.Name == name
	})
}

// ofFloor says that what is no answer is a line of the floor, which never waits: a mark, an act or
// a reading that was understood.
func (t *turn) ofFloor(h Heard, wrong string) bool {
	if h.Outcome == IsAsked || h.Outcome == IsRefused && find(h.Facts, SaysUnsafe) == nil {
		return false
	}
	_, isPlace := t.mill.Place(wrong)
	if _, isFigure := figureOf(wrong); isFigure || isPlace {
		return true
	}
	_, is := t.words.Match([]string{words.FoldText(wrong)})
	return slices.ContainsFunc(is, func(m words.Meaning) bool {
		switch m.In {
		case words.Mark, words.Act, words.Order, words.Quantity, words.Talk, words.Danger:
			return true
		}
		return false
	})
}

// setupNext notes what became of a question and goes on with the next that was never asked, at the
// end tells where the mill stands. A question asked again by its number only tells what it woke.
func (t *turn) setupNext(s setupRow, how byte) {
	again := !strings.Contains(s.Heard, "-")
	marks := []byte(s.Heard)
	marks[s.Asked-1] = how
	s.Heard, s.At = string(marks), t.at
	n := strings.Index(s.Heard, "-") + 1
	s.Asked = 0
	t.keepSetup(s)
	switch {
	case n > 0:
		t.setupAsk(n)
	case again:
		t.say("setup.still", "n", t.asleepNow())
	default:
		t.setupDone()
	}
}

// setupDone tells what the mill is now, which calls are asleep, and which answer wakes them.
func (t *turn) setupDone() {
	s := t.setupAt()
	key := "setup.done"
	if strings.Contains(s.Heard, "-") {
		key = "setup.so-far"
	}
	t.say(key, "places", len(t.mill.Places()), "people", len(t.mill.Persons()), "n", t.asleepNow())
	for _, x := range t.sleepers() {
		key := "setup.asleep"
		if x.why == nobody {
			key = "setup.nobody"
		}
		t.say(key, "what", strings.Join(x.calls, ", "), "no", x.question,
			"why", t.voice.Say(t.lang(), "wakes."+x.why))
	}
	var open []string
	for i, q := range questions() {
		if s.Heard[i] == 'u' {
			open = append(open, strconv.Itoa(i+1)+" "+t.voice.Say(t.lang(), "setup."+q.name+".name"))
		}
	}
	if len(open) > 0 {
		t.say("setup.open", "what", strings.Join(open, ", "))
	}
	t.say("setup.change")
}
