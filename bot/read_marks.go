package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// What is seen, done or wished, with the "no" before it. This is where "ya no resbala" becomes
// ready: a denied mark turns into its opposite where it has one, and is kept as denied where it
// has none.
//
//	ya no resbala, no slime now       rough
//	todavia no esta aspera            slippery
//	p3 not covered                    uncovered
//	no smoke, ya no huele             clear: what was seen is gone, and its call ends
//	se fue el humo                    the same
//	resbala no                        asked: half the floor means the opposite
//	full of foam                      foam, not a full tank
//	si esta aspera lavela             a condition, not a finding: asked
//	bajo de 14 a 12,5                 the moisture fell, nothing was taken out

// markRule turns words into what is seen, done, moved or wished, with the "no" before them, and a
// thing and its state into a mark: "ya no resbala", "se fue la luz", "no more wood".
func (r *reader) markRule(before *item, at []item) (item, int) {
	if sole(at[0].is, words.Hedge, "much") && at[0].kind == isWord { // "ya no resbala tanto"
		if before.kind == isMark && r.hedge == "" {
			r.hedge = "almost"
		}
		return item{kind: isSkipped}, 1
	}
	not, n := negation(at)
	for i := range at[:n] {
		if not && r.hedge == "" && at[i].says(words.Hedge, "much") {
			r.hedge = "almost"
		}
	}
	if n >= len(at) {
		return item{}, 0
	}
	x := &at[n]
	if x.kind == isKind && not && x.role == 0 && roomy(x.name) { // "no hay patio"
		return item{kind: isTalk, name: SaysCap, word: x.name, text: textOf(at[:n+1])}, n + 1
	}
	if n == 0 && r.lowers(at) {
		r.dropped++
		return item{kind: isSkipped}, 2
	}
	if n == 0 && at[0].says(words.Act, state.ActUnload) && r.falls(at) {
		return item{kind: isSkipped}, 1
	}
	if m := 1; n == 0 && at[0].says(words.State, "coming") {
		for m < len(at) && at[m].joins("the") {
			m++
		}
		if m < len(at) && at[m].says(words.Mark, state.RainStart) { // "viene un aguacero"
			return item{kind: isMark, name: state.RainComing, text: textOf(at[:m+1])}, m + 1
		}
	}
	if to, used := r.gone(at); used > 0 {
		return to, used
	}
	if to, used := r.thing(at[n:], not); used > 0 {
		to.near = x.near
		return to, n + used
	}
	if n > 0 && !not { // only "is", "still": let it be, so that the word after it is seen
		return item{}, 0
	}
	to := item{text: x.text, near: x.near, not: not, is: x.is}
	switch {
	case x.says(words.Danger, ""):
		to.kind = isDanger
		to.name, _ = x.of(words.Danger)
		return to, n + 1
	case x.says(words.Talk, SaysUnknown) && len(r.items) < 4,
		x.says(words.Talk, SaysUndo) && !r.hasPlaces(), // "apagar": of a drum its fire, else the line
		x.says(words.Talk, "") && x.says(words.Act, "") && !r.atIntake():
		return item{}, 0
	case x.says(words.Hedge, "if") && n == 0 && r.conditional(at):
		to.kind, to.name = isHedge, "if"
		return to, 1
	case x.says(words.Hedge, "if") && len(x.is) > 1:
		if !before.stops("\n") || !r.supposes(at[n:]) { // "si, lavelo"; "cuando sale la d1"
			return item{}, 0
		}
		to.kind, to.name = isHedge, "if"
		return to, n + 1
	case x.says(words.Hedge, "") && !not:
		to.kind = isHedge
		to.name, _ = x.of(words.Hedge)
		return to, n + 1
	}
	return r.told(before, to, at, n)
}

// told makes a mark, a wish or an act of the word at index n, in this order: what is seen weighs
// more than what the same word may mean as an act.
func (r *reader) told(before *item, to item, at []item, n int) (item, int) {
	x, ok := &at[n], false
	if to.not && x.says(words.Talk, "ready") {
		to.kind, to.name = isMark, "ready"
		return to, n + 1
	}
	if to.name, ok = x.of(words.Mark); ok {
		return r.mark(to, at, n)
	}
	if to.name, ok = x.of(words.Order); ok {
		to.kind, to.both = isOrder, x.says(words.Act, "")
		return to, n + 1
	}
	if to.name, ok = x.of(words.Act); ok {
		if x.says(words.Depth, "") && before.kind != isPlace && !r.says(words.Kind, "drum") {
			return item{}, 0
		}
		to.kind = isAct
		if n+1 < len(at) && at[n+1].joins("nothing") { // "loaded nothing"
			to.not = true
			n++
		}
		if to.name == state.ActAdd && r.comesIn() {
			to.name = state.ActIntake
		}
		return to, n + 1
	}
	return item{}, 0
}

// comesIn says that what "came in" is fruit at the intake: the sender works there, and the line
// names no other place.
func (r *reader) comesIn() bool {
	if len(r.c.Posts) == 0 || r.c.Posts[0] != state.Intake {
		return false
	}
	for i := range r.items {
		if x := &r.items[i]; x.kind == isPlace && r.c.Places[x.ps[0]].Kind != state.Intake ||
			x.kind == isKind && x.name != string(state.Intake) {
			return false
		}
	}
	return true
}

// supposes says that a line begins with a condition, not with a question or a yes: a place or a
// mark follows, and something wished or done as well.
func (r *reader) supposes(at []item) bool {
	about, wish := false, false
	for i := 1; i < len(at); i++ {
		x := &at[i]
		about = about || x.says(words.Mark, "") || i == 1 && x.kind == isPlace || x.kind == isReading
		wish = wish || x.says(words.Order, "") || x.says(words.Act, "") || x.says(words.Mark, "")
		if x.stops("?") || x.stops(",") && i == 1 {
			return false
		}
	}
	return about && wish
}

// conditional says that a word such as "if" stands behind what is wished or moved and before what is
// waited for: "t3 lavar si raspa", "mande d3 a s1 cuando baje de 11". A "si" that may be a yes
// needs a wish before it.
func (r *reader) conditional(at []item) bool {
	wish, waits := false, false
	for _, x := range r.items[:len(r.items)-len(at)] {
		wish = wish || x.says(words.Order, "") || x.says(words.Act, "") && !at[0].says(words.Talk, SaysYes)
	}
	for i := range at[1:] {
		x := &at[i+1]
		waits = waits || x.says(words.Mark, "") || x.says(words.Act, "") || x.says(words.Thing, "") ||
			x.says(words.Talk, "ready") || x.kind == isReading || x.kind == isFigure || x.kind == isOther
	}
	return wish && waits
}

// atIntake says that the sender works where fruit comes in, or that the line speaks of it.
func (r *reader) atIntake() bool {
	for i := range r.items {
		if x := &r.items[i]; x.kind == isPlace && r.c.Places[x.ps[0]].Kind == state.Intake {
			return true
		}
	}
	return len(r.c.Posts) > 0 && r.c.Posts[0] == state.Intake
}

// lowers says that a word for taking out stands before the fire: less fire, nothing moves.
func (r *reader) lowers(at []item) bool {
	if !at[0].says(words.Act, state.ActUnload) && !at[0].says(words.State, "low") {
		return false
	}
	return len(at) > 2 && (at[1].joins("to", "the")) &&
		at[2].says(words.Thing, "fire") || len(at) > 1 && at[1].says(words.Thing, "fire") &&
		at[0].says(words.Act, state.ActUnload)
}

// falls says that a word for taking out stands before "to" and a figure: the moisture or the heat
// fell, nothing was taken out ("bajo de 14 a 12,5").
func (r *reader) falls(at []item) bool {
	n := 1
	for n < len(at) && (at[n].joins("to", "from")) {
		n++
	}
	return n > 1 && n < len(at) && at[n].kind == isFigure && at[n].fig.v < 150 && !r.weighs()
}

// weighs says that a line has an amount in it.
func (r *reader) weighs() bool {
	for i := range r.items {
		if r.items[i].kind == isAmount {
			return true
		}
	}
	return false
}

// mark finishes a mark: turned round by a "no" before it, left open by a bare one behind it.
func (r *reader) mark(to item, at []item, n int) (item, int) {
	to.kind = isMark
	n++
	if to.name == state.WaterOut && n < len(at) && at[n].kind == isPlace && at[n].role == 'f' {
		return item{kind: isSkipped}, n // "let the water out of t2"
	}
	if to.name == state.RainComing || to.name == state.RainStart {
		if m := r.rainComes(to.name, at, n); m > 0 && !to.not {
			to.name, n = state.RainComing, m
		}
	}
	if to.name == state.Full && n < len(at) && at[n].says(words.Join, "to") {
		to.both = true // "full up to the second line"
		return to, n + 1
	}
	if to.name == state.Full && n < len(at) && (at[n].says(words.Join, "from") ||
		at[n].says(words.Mark, state.Foam)) { // "full of foam"
		return item{kind: isSkipped}, n
	}
	if to.name == state.Uncovered && !to.not && n < len(at) && at[n].says(words.Mark, "") {
		return item{kind: isSkipped}, n // "descobri mofo": found
	}
	if m := deniedAfter(at, n); m > 0 && !to.not {
		to.not, n = true, n+m
		r.dropped++ // said back
	}
	if to.not && n+1 == len(at) && at[n].joins("not") { // "nao lavei nao"
		n++
	}
	if to.not {
		opposite, has := opposites()[to.name]
		if has {
			to.word = clearedOf(to.name)
			to.name, to.not = opposite, false
		}
		return to, n
	}
	if n < len(at) && (at[n].says(words.Join, "not") || at[n].says(words.Talk, "no")) &&
		(n+1 == len(at) || at[n+1].kind == isStop) {
		to.both = true // "resbala no": half the floor means the opposite
		n++
	}
	return to, n
}

// negation reads the words before a mark that may turn it round. It gives how many there are.
func negation(at []item) (not bool, n int) {
	for n < len(at) && n < 5 {
		x := &at[n]
		switch {
		case x.says(words.Join, "no-more"),
			x.says(words.Join, "nothing") && n+1 < len(at) && at[n+1].says(words.Join, "from"):
			not = true
		case not && (x.says(words.Join, "from") || x.says(words.Hedge, "much")):
		case x.says(words.Join, "not") || x.says(words.Talk, "no") && !x.says(words.Join, "in"):
			if n+1 < len(at) && at[n+1].stops(",") {
				return false, 0
			}
			not = true
		case x.says(words.Join, "still"), x.says(words.Join, "is"),
			not && (x.says(words.Act, "add") && len(x.text) < 5 || x.text == "e" || x.text == "a" ||
				x.joins("the", "all", "in")):
		default:
			return not, n
		}
		n++
	}
	return not, n
}

// rainComes says up to where "se viene el aguacero" and "shower coming" reach: rain that has not come;
// 0 for what is here.
func (r *reader) rainComes(mark string, at []item, n int) int {
	for n < len(at) && at[n].joins("the", "is") {
		n++
	}
	if n < len(at) && (mark == state.RainComing && at[n].says(words.Mark, state.RainStart) ||
		mark == state.RainStart && at[n].says(words.State, "coming")) {
		return n + 1
	}
	return 0
}

// deniedAfter is how many items behind a mark deny it to the end of what is said: "de babosa ya no
// tiene nada"; 0 when they do not.
func deniedAfter(at []item, n int) int {
	m := n
	for m < len(at) && at[m].kind == isWord {
		switch {
		case m == n && (at[m].joins("no-more", "nothing") || at[m].joins("not") &&
			n+1 < len(at) && at[n+1].joins("is")): // "mal olor no tiene"
		case m > n && (at[m].joins("is", "nothing", "all", "no-more") || at[m].says(words.Talk, "left")):
		default:
			return 0
		}
		m++
	}
	if m < len(at) && at[m].kind != isStop {
		return 0
	}
	return m - n
}

// clearedOf is what a line says is gone, of the marks that [state.Cleared] ends; "" for others.
func clearedOf(mark string) string {
	if state.Clears(mark) {
		return mark
	}
	return ""
}

// gone reads a mark that has gone: "se fue el humo", "smoke is gone". It uses no word of a thing,
// which [reader.thing] has taken before.
func (r *reader) gone(at []item) (item, int) {
	n, mark, went := 0, "", false
	for n < len(at) && n < 5 && (mark == "" || !went) {
		x := &at[n]
		switch name, ok := x.of(words.Mark); {
		case ok && mark == "" && state.Clears(name):
			mark = name
		case x.says(words.State, "gone") && !went:
			went = true
		case !x.joins("is", "the", "no-more", "all"):
			return item{}, 0
		}
		n++
	}
	if mark == "" || !went {
		return item{}, 0
	}
	return item{kind: isMark, name: state.Cleared, word: mark, text: textOf(at[:n])}, n
}

// opposites is what a mark becomes when it is denied. A mark that is not here has no opposite: its
// denial tells nothing.
func opposites() map[string]string {
	return map[string]string{
		state.Slippery: state.Rough, state.Rough: state.Slippery,
		state.Covered: state.Uncovered, state.Uncovered: state.Covered,
		state.RainStart: state.RainOver, state.RainOver: state.RainStart,
		state.FireLit: state.FireOut, state.FireOut: state.FireLit,
		state.Stopped: state.Running, state.Running: state.Stopped,
		state.Cleaned: state.NotClean, state.NotClean: state.Cleaned,
		state.PowerOut: state.PowerBack, state.PowerBack: state.PowerOut,
		state.WaterOut: state.WaterBack, state.WaterBack: state.WaterOut,
		state.Smoke: state.Cleared, state.Smell: state.Cleared, state.Foam: state.Cleared,
		state.Mould: state.Cleared, state.Insects: state.Cleared, state.Warm: state.Cleared,
		state.Overflow: state.Cleared,
	}
}
