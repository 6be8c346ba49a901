package bot

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
	"lotbell/state/journal"
)

// slotName is the cursor that keeps a summary's last hour.
func slotName(s *rules.Summary) string { return "summary/" + s.Name }

// slot is the last hour at which a summary was due and seen to; 0 before the mill has begun.
func (d *Desk) slot(s *rules.Summary) state.Instant {
	if at, ok := d.slots[s.Name]; ok {
		return at
	}
	at := d.mill.Heard()
	if text, err := d.db.Cursor(slotName(s)); err == nil && text != "" {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil {
			at = state.Instant(n)
		}
	}
	if at != 0 {
		d.slots[s.Name] = at
	}
	return at
}

// after is the hour of a summary that follows an instant, by the mill's clock; 0 for never.
func (d *Desk) after(s *rules.Summary, at state.Instant) state.Instant {
	if at == 0 {
		return 0
	}
	return state.At(s.Next(at.Time().In(d.mill.Zone())))
}

// nextSummary is when the next summary is due; 0 for never.
func (d *Desk) nextSummary() state.Instant {
	next := state.Instant(0)
	for _, s := range d.watch.Book.Summaries {
		if at := d.after(s, d.slot(s)); at != 0 && (next == 0 || at < next) {
			next = at
		}
	}
	return next
}

// summaryLate is how late a summary is sent before it is said to be late.
const summaryLate = 10 * time.Minute

// summaries sends what fell due: of each summary only the newest, once.
func (t *turn) summaries() {
	for _, s := range t.watch.Book.Summaries {
		due := t.after(s, t.slot(s))
		if due == 0 || due > t.at {
			continue
		}
		for x := t.after(s, due); x != 0 && x <= t.at; x = t.after(s, x) {
			due = x
		}
		t.slots[s.Name] = due
		t.b.Cursors[slotName(s)] = strconv.FormatInt(int64(due), 10)
		t.summary(s, due)
	}
}

// summary words one summary for each of its readers.
func (t *turn) summary(s *rules.Summary, due state.Instant) {
	var to []state.PersonID
	for _, w := range s.To {
		to = append(to, t.whom(w, state.Subject{})...)
	}
	for _, id := range to {
		late := ""
		if t.at.Sub(due) > summaryLate {
			late = "\n" + t.voice.Say(t.langOf(id), "summary.late", "time",
				t.clockAt(due, t.at, t.langOf(id)))
		}
		open := t.manager(s, t.langOf(id), due) + late
		t.alone = true
		own := Outgoing{Text: t.manager(s, t.langOf(id), due) + late,
			Picture: t.pictured(s, t.langOf(id), true)}
		t.alone = false
		t.tellOpen(id, journal.Out{Priority: 3, Key: slotName(s), Expires: t.at.Add(6 * time.Hour)},
			own, open)
	}
	t.groupSummary(s, due)
}

// shortest is the length of a plain message: what does not fit is left for the lines below.
const shortest = 160

// manager is the whole mill in one line that begins with what decides, get up or sleep on, in plain
// letters. What cannot wait comes first; what does not fit goes to lines of its own, and once
// something had to, only shorter things follow it there or here, in order.
func (t *turn) manager(s *rules.Summary, lang string, due state.Instant) string {
	u := &turn{Desk: t.Desk, at: t.at, msg: &Message{Lang: lang, At: t.at}, alone: t.alone}
	decide := u.toDecide()
	season := slices.Contains(s.Shows, "season")
	line := voice.Plain(u.opening(len(decide), season, lang, due))
	var rest []string
	for i, text := range append(decide, u.parts(s, lang, due)...) {
		fits := voice.Septets(line+" "+text) <= shortest
		if fits && (i >= len(decide) || i < mostDecide) {
			line += " " + voice.Plain(text)
		} else {
			rest = append(rest, text)
		}
	}
	if kg := u.expected(due); kg > 0 && u.hour(due) < morningEnds {
		rest = append(rest, u.peakLines(kg, due)...)
	}
	return strings.Join(append([]string{line}, rest...), "\n")
}

// mostDecide is how many decisions the first line has.
const mostDecide = 2

// parts are the parts of a summary that have something to tell, in its order.
func (t *turn) parts(s *rules.Summary, lang string, due state.Instant) []string {
	var out []string
	for _, part := range s.Shows {
		if part == "season" {
			out = append(out, t.seasonParts()...)
		} else if text := t.part(part, lang, due); text != "" {
			out = append(out, text)
		}
	}
	return out
}

// morningEnds is the hour until which a summary is one of the night before.
const morningEnds = 9

// hour is the hour of the mill's clock at an instant.
func (t *turn) hour(at state.Instant) int { return at.Time().In(t.mill.Zone()).Hour() }

// opening is the first words: get up or sleep on, later in the day with the hour.
func (t *turn) opening(n int, season bool, lang string, due state.Instant) string {
	key := "summary.up"
	if n == 0 {
		key = "summary.sleep"
	}
	switch {
	case season:
		key += "-season"
	case t.hour(due) >= morningEnds:
		key += "-at"
	}
	return t.voice.Say(lang, key, "n", n, "hour",
		due.Time().In(t.mill.Zone()).Format("15:04"))
}

// toDecide lists the calls that wait for a manager's word: the most urgent first, of those the one
// that can wait least.
func (t *turn) toDecide() []string {
	type decision struct {
		text     string
		priority int
		by       state.Instant
	}
	var all []decision
	for _, c := range t.mill.Calls() {
		rule := t.watch.Book.Rule(c.Rule)
		if rule == nil || c.State == state.Acknowledged || !t.toldManager(c) ||
			rule.Private && !t.alone {
			continue
		}
		text, by := t.decision(c, rule)
		all = append(all, decision{text, c.Priority, by})
	}
	slices.SortStableFunc(all, func(a, b decision) int {
		return cmp.Or(a.priority-b.priority, cmp.Compare(a.by, b.by))
	})
	var out []string
	for _, d := range all {
		out = append(out, d.text)
	}
	return out
}

// decision is what a call waits for in a few words, and until when it can wait.
func (t *turn) decision(c *state.Call, rule *rules.Rule) (string, state.Instant) {
	by := c.Rang.Add(rule.Respond)
	if rule.Respond == 0 {
		by = c.Rang.Add(oneDay)
	}
	text := t.placeOf(c.Of, t.lang()) + " " + t.callName(c.Rule, t.lang())
	if v := t.watch.Book.Look(t.mill, t.watch.Know, c.Of, t.at); rule.Asks == "wash" {
		if x, u, _ := v.Read("spoil_warn"); x.Num == x.Num {
			key := "summary.wash"
			if x.Num < float64(t.at) {
				key = "summary.wash-late"
			}
			by = state.Instant(x.Num)
			text = t.voice.Say(t.lang(), key, "place", c.Of.Name, "time",
				t.value(x, u, t.lang(), t.at))
		}
	}
	return text + ".", by
}

// toldManager says whether a call has been rung to a manager.
func (t *turn) toldManager(c *state.Call) bool {
	return slices.ContainsFunc(c.Told, func(id state.PersonID) bool {
		return t.mill.Person(id).Is(state.Manager)
	})
}

// part is one part of a summary; "" when there is nothing to tell.
func (t *turn) part(part, lang string, due state.Instant) string {
	switch part {
	case "next":
		return t.partNext()
	case "night":
		return t.partNight(due)
	case "free":
		return t.partFree()
	case "room":
		v, _ := t.look(state.Whole, t.at)
		if x, _, ok := v.Read("tank_room_kg"); ok && x.Num > 0 {
			return t.voice.Say(lang, "summary.room", "t", tonnes(x.Num))
		}
	case "patios":
		return t.partPatios()
	case "fuel":
		return t.fuelPart()
	case "intake":
		return t.partIntake()
	case "crew":
		return t.partCrew()
	}
	return ""
}

// partIntake tells what came today, since when the oldest waits, and when to stop.
func (t *turn) partIntake() string {
	f := t.today()
	if f.kg == 0 {
		return ""
	}
	text := t.voice.Say(t.lang(), "summary.in", "t", tonnes(f.kg))
	for _, p := range t.mill.Places() {
		if _, since := t.fruitAt(p); since != 0 {
			text += " " + t.voice.Say(t.lang(), "summary.oldest", "time", t.clock(since))
			break
		}
	}
	return text
}

// partCrew counts who is on shift, by post.
func (t *turn) partCrew() string {
	on := map[state.Kind]int{}
	for _, p := range t.mill.Persons() {
		if len(p.Posts) > 0 && p.OnDuty(t.at) {
			on[p.Posts[0]]++
		}
	}
	var out []string
	for _, k := range append(state.Kinds(), state.Safety) {
		if on[k] > 0 {
			out = append(out, strconv.Itoa(on[k])+" "+t.kindName(k))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return t.voice.Say(t.lang(), "summary.crew", "what", strings.Join(out, ", "))
}

// coming is a window that lies ahead.
type coming struct {
	at   state.Instant
	text string
}

// partNext lists the next windows of tanks and drums.
func (t *turn) partNext() string {
	var all []coming
	for _, s := range t.mill.OpenStays() {
		early, late, _ := t.windowOf(s)
		if early.IsZero() || late.Before(t.at.Time()) {
			continue
		}
		key := "summary.drum"
		if s.Kind == state.Tank {
			key = "summary.tank"
		}
		all = append(all, coming{state.At(early), t.voice.Say(t.lang(), key, "place", s.Place,
			"early", t.clock(state.At(early)), "late", t.clock(state.At(late)))})
	}
	slices.SortFunc(all, func(a, b coming) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.text, b.text))
	})
	var texts []string
	for _, c := range all[:min(3, len(all))] {
		texts = append(texts, c.text)
	}
	if len(texts) == 0 {
		return ""
	}
	return t.voice.Say(t.lang(), "summary.next", "what", strings.Join(texts, ", "))
}

// windowOf is when a tank or a drum is likely to be ready, and when a tank is to be tried by hand
// next; zero where nothing is known, and for all other places.
func (t *turn) windowOf(s *state.Stay) (early, late, test time.Time) {
	v := t.watch.Book.Look(t.mill, t.watch.Know, s.Subject(), t.at)
	switch s.Kind {
	case state.Tank:
		if process := s.Tag("process"); process == "" || process == "washed" {
			f := v.Tank()
			return f.Early, f.Late, f.NextTest
		}
	case state.Drum, state.Predryer:
		f := v.Dry()
		return f.Early, f.Late, time.Time{}
	}
	return
}

// partNight counts the calls of the night that are told of in the morning.
func (t *turn) partNight(due state.Instant) string {
	if n := len(t.mill.Calls()); n > 0 {
		return t.voice.Say(t.lang(), "summary.standing", "n", n)
	}
	return t.voice.Say(t.lang(), "summary.quiet")
}

// partFree lists the tanks, patios and drums that are free.
func (t *turn) partFree() string {
	var free []string
	for _, p := range t.mill.Places() {
		switch p.Kind {
		case state.Tank, state.Patio, state.Drum:
			if len(t.mill.StaysAt(p.Name)) == 0 {
				free = append(free, p.Name)
			}
		}
	}
	if len(free) == 0 {
		return t.voice.Say(t.lang(), "summary.full")
	}
	return t.voice.Say(t.lang(), "summary.free", "names", strings.Join(free, " "))
}

// partPatios lists the patios by moisture.
func (t *turn) partPatios() string {
	var out []string
	for _, p := range t.mill.Places() {
		if p.Kind != state.Patio || len(t.mill.StaysAt(p.Name)) == 0 {
			continue
		}
		text := p.Name
		v, _ := t.look(p.Name, t.at)
		if x, _, ok := v.Read("hum"); ok && x.Num == x.Num {
			text += " " + plainNumber(x.Num, 1) + " %"
		}
		out = append(out, text)
	}
	if len(out) == 0 {
		return ""
	}
	return t.voice.Say(t.lang(), "summary.patios", "what", strings.Join(out, ", "))
}
