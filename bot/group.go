package bot

import (
	"slices"
	"strings"
	"time"

	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// People speak in private chats. A group is answered once with that, and never read, save for a cry
// for help; a keeper may let it have the summaries.

// groupsName is the cursor that lists the groups that get summaries: "address=language", apart by
// blanks.
const groupsName = "groups"

// group answers a message from a group.
func (t *turn) group() {
	var by *state.Person
	if ids := t.people[t.msg.By.String()]; len(ids) == 1 {
		by = t.mill.Person(ids[0])
	}
	if h := Read(t.msg.Text, t.context(), t.words); find(h.Facts, state.Help) != nil {
		t.person = by
		t.help(h)
		return
	}
	t.person = nil
	if t.msg.Kind == Edited {
		return
	}
	t.openCode()
	if by.Is(state.Keeper) && t.groupCommand(by) {
		return
	}
	p := *t.pendingAt(t.msg.From)
	if p.Answered != 0 {
		return
	}
	p.Answered = t.at
	t.keepPending(t.msg.From, &p)
	t.say("group.private")
}

// groupCommand does "group summaries" and "group off", said in the group by a keeper.
func (t *turn) groupCommand(by *state.Person) bool {
	words := strings.Fields(strings.ToLower(t.msg.Text))
	says := func(word, key string) bool {
		return slices.ContainsFunc(t.voice.Langs(), func(lang string) bool {
			return slices.Contains(strings.Fields(t.voice.Say(lang, key)), word)
		})
	}
	if len(words) != 2 || !says(words[0], "group.word") {
		return false
	}
	groups := t.groups()
	here := t.msg.From.String()
	lang := t.langOf(by.ID)
	switch {
	case says(words[1], "group.summaries-word"):
		groups[here] = lang
		t.lines = append(t.lines, t.voice.Say(lang, "group.summaries"))
	case says(words[1], "group.off-word"):
		delete(groups, here)
		t.lines = append(t.lines, t.voice.Say(lang, "group.off"))
	default:
		return false
	}
	t.keepGroups(groups)
	return true
}

// openCode ends an invitation whose code was shown to a group, and tells the keepers.
func (t *turn) openCode() {
	words := strings.Fields(t.msg.Text)
	if len(words) != 2 || !joinWord(words[0]) {
		return
	}
	for _, id := range t.peopleIDs() {
		if c := t.cards[id]; c.Code != "" && c.Until != 0 && strings.EqualFold(c.Code, words[1]) {
			c.Code, c.Until = "", 0
			t.card(c)
			t.tellRole(state.Keeper, "keeper.code-shown", "name", c.Name)
		}
	}
}

// groups are the groups that get summaries, each with its language.
func (t *turn) groups() map[string]string {
	text, here := t.b.Cursors[groupsName]
	if !here {
		var err error
		if text, err = t.db.Cursor(groupsName); err != nil {
			t.o.Report("cannot read which groups get summaries: " + err.Error())
		}
	}
	out := map[string]string{}
	for _, w := range strings.Fields(text) {
		a, lang, _ := strings.Cut(w, "=")
		out[a] = lang
	}
	return out
}

func (t *turn) keepGroups(groups map[string]string) {
	var words []string
	for _, a := range sortedKeys(groups) {
		words = append(words, a+"="+groups[a])
	}
	t.b.Cursors[groupsName] = strings.Join(words, " ")
}

// groupShut follows a group that Lotbell was put out of or into: it gets nothing until a keeper
// says so again.
func (t *turn) groupShut() {
	groups := t.groups()
	if _, is := groups[t.msg.From.String()]; is && t.msg.Kind == Blocked {
		delete(groups, t.msg.From.String())
		t.keepGroups(groups)
	}
}

// regroup follows a group that has a new address.
func (t *turn) regroup(from, to string) {
	groups := t.groups()
	if lang, is := groups[from]; is {
		delete(groups, from)
		groups[to] = lang
		t.keepGroups(groups)
	}
}

// groupParts are the parts of a summary that a group may read: places and hours, no person, no
// count and no loss.
func groupParts() []string { return []string{"next", "night", "free", "room", "patios", "fuel"} }

// groupSummary sends a summary to the groups that get them.
func (t *turn) groupSummary(s *rules.Summary, due state.Instant) {
	groups := t.groups()
	short := *s
	short.Shows = slices.DeleteFunc(slices.Clone(s.Shows), func(part string) bool {
		return !slices.Contains(groupParts(), part)
	})
	for _, a := range sortedKeys(groups) {
		t.post(ParseAddress(a), 0, journal.Out{Priority: 4, Key: slotName(s),
			Expires: t.at.Add(6 * time.Hour)}, Outgoing{Text: t.manager(&short, groups[a], due),
			Picture: t.pictured(s, groups[a], false)})
	}
}
