package bot

import (
	"crypto/pbkdf2"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"regexp"
	"slices"
	"strings"
	"time"

	"lotbell/state"
)

// A shared phone gives an order only with the short code of whoever gives it. The code is kept as
// a salted hash in the address book; it is in no event, no word store, no answer and no log.

// How codes are slowed down: so many wrong ones from an address, and none is looked at for a time;
// so many from everywhere, and the keepers and the operator are told.
const (
	wrongAtOne = 5
	wrongAtAll = 20
	codesRest  = time.Hour
)

// everywhere is the row that counts the wrong codes of all addresses.
func everywhere() Address { return Address{"codes", "all"} }

// barred says whether no code from the address of the message in hand is looked at, and until when.
func (t *turn) barred() (state.Instant, bool) {
	p := t.pendingAt(t.msg.From)
	until := p.WrongAt.Add(codesRest)
	return until, p.Wrong >= wrongAtOne && t.at < until
}

// wrongCode counts a wrong code. The fifth within the hour begins an hour of rest.
func (t *turn) wrongCode() {
	t.countWrong(t.msg.From, wrongAtOne, "codes.one")
	t.countWrong(everywhere(), wrongAtAll+1, "codes.many")
}

// countWrong counts a wrong code in a row; when there are so many, the keepers and the operator
// are told, once.
func (t *turn) countWrong(a Address, most int, key string) {
	p := *t.pendingAt(a)
	if p.WrongAt == 0 || t.at.Sub(p.WrongAt) >= codesRest {
		p.Wrong, p.WrongAt = 0, t.at
	}
	if p.Wrong++; p.Wrong == most {
		p.WrongAt = t.at
		from := "?"
		if ids := t.people[a.String()]; len(ids) > 0 {
			from = t.names(ids)
		}
		if from != "?" || a == everywhere() {
			t.warnKeepers(key, "n", most, "who", from)
		}
		t.o.Report(t.voice.Say("en", key, "n", most, "who", a.Via))
	}
	t.keepPending(a, &p)
}

// warnKeepers tells every keeper where nobody else reads: also the one who is said to write now,
// for it may be somebody else.
func (t *turn) warnKeepers(key string, pairs ...any) {
	for _, p := range t.mill.Persons() {
		if p.Is(state.Keeper) {
			t.tell(p.ID, outRow(2, 0), Outgoing{Private: true,
				Text: t.voice.Say(t.langOf(p.ID), key, pairs...)})
		}
	}
}

// hashRounds makes a look at a code cost about a millisecond. Four digits can all the same be found
// by whoever has the file, which is why the file is its owner's alone.
const hashRounds = 2000

// hashed is a short code as it is kept: salt and hash.
func hashed(code, salt string) string {
	key, err := pbkdf2.Key(sha256.New, code, []byte(salt), hashRounds, sha256.Size)
	if err != nil { // only in a mode of the library that forbids short salts
		return ""
	}
	return salt + ":" + hex.EncodeToString(key)
}

// hashFits says whether a code is the one that was kept.
func hashFits(kept, code string) bool {
	salt, _, ok := strings.Cut(kept, ":")
	return ok && subtle.ConstantTimeCompare([]byte(hashed(code, salt)), []byte(kept)) == 1
}

// shortCode matches a short code.
var shortCode = regexp.MustCompile(`^[0-9]{4,8}$`)

// tooPlain says whether a short code is the first that anybody would try: one digit over and over,
// or digits in a row.
func tooPlain(code string) bool {
	step := int(code[1]) - int(code[0])
	for i := 1; i < len(code); i++ {
		if int(code[i])-int(code[i-1]) != step {
			return false
		}
	}
	return step >= -1 && step <= 1
}

// takeCode takes a short code off the end of the message in hand, so that it is kept nowhere:
// "t3 wash code 4711". It gives the code, "" when there is none.
func (t *turn) takeCode() string {
	words := strings.Fields(t.msg.Text)
	n := len(words)
	if n < 3 || !shortCode.MatchString(words[n-1]) || t.verb(words[n-2]) != "code" ||
		t.verb(words[0]) == "code" {
		return ""
	}
	text := strings.TrimSpace(t.msg.Text)
	text = strings.TrimSpace(strings.TrimSuffix(text, words[n-1]))
	t.msg.Text = strings.TrimSpace(strings.TrimSuffix(text, words[n-2]))
	return words[n-1]
}

// codeAmong says whether a code stands in one of several lines, where it would be kept with the
// others.
func (t *turn) codeAmong() bool {
	lines := strings.Split(strings.TrimSpace(t.msg.Text), "\n")
	return len(lines) > 1 && slices.ContainsFunc(lines, func(line string) bool {
		words := strings.Fields(line)
		for i, w := range words {
			if shortCode.MatchString(w) && (i > 0 && t.verb(words[i-1]) == "code" ||
				i > 1 && t.verb(words[0]) == "code") {
				return true
			}
		}
		return false
	})
}

// ordersKeeper says whether a line of the message in hand begins with a keeper's command.
func (t *turn) ordersKeeper() bool {
	for i, line := range strings.Split(strings.TrimSpace(t.msg.Text), "\n") {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		verb := t.verb(words[0])
		if verb != "" && !openTo(verb) && (i > 0 || len(words) > 1 || alone(verb)) {
			return true
		}
	}
	return false
}

// orders says whether the message in hand is an order, which a shared phone gives with a code only.
func (t *turn) orders(h Heard) bool {
	if t.person.Is(state.Keeper) && t.ordersKeeper() {
		return true
	}
	return find(h.Facts, state.WashOrdered) != nil || find(h.Facts, state.WashRefused) != nil ||
		find(h.Facts, state.OutOrdered) != nil
}

// unlocked says whether the message in hand may be done: it is no order, or not from a shared
// phone, or its sender's code came with it. An order without is kept and asked for its code.
func (t *turn) unlocked(h Heard, code string) bool {
	if !t.hereShared() {
		return true
	}
	p := t.pendingAt(t.msg.From)
	if text := strings.TrimSpace(t.msg.Text); shortCode.MatchString(text) {
		switch p.Do {
		case "coded":
			t.giveCode(text)
			return false
		case "uncoded":
			t.say("code.gone")
			return false
		}
	}
	if t.coded || !t.orders(h) {
		return true
	}
	switch {
	case t.msg.Kind != Text:
		t.say("code.no-edit")
		return false
	case t.cards[t.person.ID].Short == "":
		t.say("code.none", "name", t.name(t.person.ID))
		return false
	case code != "":
		return t.rightCode(code)
	}
	t.ask(Asked{What: "code"}, "coded", func(p *pending) { p.Text = t.msg.Text })
	t.say("code.ask", "name", t.name(t.person.ID))
	return false
}

// rightCode says whether a code is the present speaker's, and answers when it is not.
func (t *turn) rightCode(code string) bool {
	if until, no := t.barred(); no {
		t.say("code.rest", "time", t.clock(until))
		return false
	}
	if hashFits(t.cards[t.person.ID].Short, code) {
		return true
	}
	t.wrongCode()
	t.say("code.wrong")
	return false
}

// giveCode does the order that waited for a code.
func (t *turn) giveCode(code string) {
	if !t.rightCode(code) {
		return
	}
	p := *t.pendingAt(t.msg.From)
	t.answered()
	if p.Do != "coded" {
		t.say("code.right")
		return
	}
	t.coded = true
	t.msg.Text = p.Text
	t.hear()
	t.coded = false
}

// code sets the sender's short code, once: code 4711; another one: code 4711 5822; a keeper that
// of somebody else: code rosa 5822. On a shared phone it also answers the question for it.
func (t *turn) code(words []string) {
	c := t.cards[t.person.ID]
	switch {
	case t.o.Code == nil, c.Person == 0 && len(words) < 2, len(words) == 0, len(words) > 2,
		!shortCode.MatchString(words[len(words)-1]):
		t.bad("code.form", "example", "code 4826")
	case len(words) == 2 && shortCode.MatchString(words[0]):
		if t.rightCode(words[0]) {
			t.setCode(c.Person, words[1])
		}
	case len(words) == 2:
		t.codeFor(words[0], words[1])
	case c.Short == "" && t.hereShared() && t.privately(c.Person):
		t.say("code.own-phone", "name", c.Name)
	case c.Short == "":
		t.setCode(c.Person, words[0])
	default:
		t.giveCode(words[0])
	}
}

// codeFor sets somebody else's short code, by a keeper from a phone of their own.
func (t *turn) codeFor(name, code string) {
	id := t.personNamed(name)
	switch {
	case !t.person.Is(state.Keeper):
		t.say("keeper.only")
	case t.hereShared():
		t.say("rights.own-phone")
	case id == 0:
		t.bad("keeper.nobody", "about", cut(name, 30), "example", "code rosa 4826")
	default:
		t.setCode(id, code)
	}
}

// setCode keeps a short code. One that was set from a shared phone is told to the keepers, and to
// its owner where they are alone.
func (t *turn) setCode(id state.PersonID, code string) {
	if tooPlain(code) {
		t.bad("code.weak", "example", "code 4826")
		return
	}
	c := t.cards[id]
	c.Short = hashed(code, t.o.Code())
	t.card(c)
	t.say("code.set", "name", c.Name)
	if t.hereShared() {
		t.warnKeepers("code.told", "name", c.Name)
	}
}

// privately says whether somebody can be reached where nobody else reads.
func (d *Desk) privately(id state.PersonID) bool {
	for _, a := range d.cards[id].At {
		if !d.shared(a) {
			return true
		}
	}
	return false
}
