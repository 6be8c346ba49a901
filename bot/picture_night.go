package bot

import (
	"slices"
	"strings"
	"time"

	"lotbell/bot/draw"
	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
)

// nightShown is how far ahead the picture of the night reaches.
const nightShown = 12 * time.Hour

// mostTests is how many tests by hand one line of an answer tells.
const mostTests = 6

// mostBars is how many places it has room for; those that wait longest are left out.
const mostBars = 14

// night answers what comes in the next hours and who is on shift, and shows it: night.
func (t *turn) night([]string) {
	said := slices.DeleteFunc([]string{t.partNext(), t.partTests(), t.partCrew()},
		func(part string) bool { return part == "" })
	if len(said) == 0 {
		said = []string{t.voice.Say(t.lang(), "picture.quiet")}
	}
	said[0] = voice.Plain(said[0])
	t.lines = append(t.lines, said...)
	t.picture = t.nightPicture(true)
}

// partTests lists the next tests by hand of tanks.
func (t *turn) partTests() string {
	var all []string
	for _, b := range t.bars() {
		for _, at := range b.Tests {
			all = append(all, b.Name+" "+t.clock(state.At(at)))
		}
	}
	if len(all) == 0 {
		return ""
	}
	all = all[:min(len(all), mostTests)]
	return t.voice.Say(t.lang(), "picture.tests", "what", strings.Join(all, ", "))
}

// bars are the places where something comes in the next hours, the first to come first.
func (t *turn) bars() []draw.Bar {
	var out []draw.Bar
	end := t.at.Add(nightShown).Time()
	for _, s := range t.mill.OpenStays() {
		if b := t.barOf(s); len(b.Windows)+len(b.Tests) > 0 && begins(b).Before(end) {
			out = append(out, b)
		}
	}
	slices.SortStableFunc(out, func(a, b draw.Bar) int { return begins(a).Compare(begins(b)) })
	return out[:min(len(out), mostBars)]
}

// nightPicture is when tanks and drums are ready and tanks are to be tried in the next hours, and
// if wanted who is on shift; nil when nothing comes.
func (t *turn) nightPicture(crew bool) *Picture {
	from, to := t.at.Time(), t.at.Add(nightShown)
	n := draw.Night{Zone: t.mill.Zone(), From: from, To: to.Time(),
		Title:  t.voice.Say(t.lang(), "picture.night", "from", t.clock(t.at), "to", t.clock(to)),
		Window: t.voice.Say(t.lang(), "picture.ready"),
		Test:   t.voice.Say(t.lang(), "call.name.hand-test"), Bars: t.bars()}
	if len(n.Bars) == 0 {
		return nil
	}
	if crew {
		n.Foot = t.onShift()
	}
	body, err := n.PNG()
	return t.drawn(t.voice.Say(t.lang(), "verb.night"), body, err)
}

// pictured is the picture of a summary that has one, for a reader of a language.
func (t *turn) pictured(s *rules.Summary, lang string, crew bool) *Picture {
	if !slices.Contains(s.Shows, "picture") {
		return nil
	}
	u := &turn{Desk: t.Desk, at: t.at, msg: &Message{Lang: lang, At: t.at}}
	return u.nightPicture(crew)
}

// begins is the first instant of a bar that has one.
func begins(b draw.Bar) time.Time {
	var all []time.Time
	for _, w := range b.Windows {
		all = append(all, w.From)
	}
	return slices.MinFunc(append(all, b.Tests...), time.Time.Compare)
}

// barOf is what comes of one stay: its window, unless that is over, and its next test by hand.
func (t *turn) barOf(s *state.Stay) draw.Bar {
	b := draw.Bar{Name: s.Place}
	early, late, test := t.windowOf(s)
	if !early.IsZero() && late.After(t.at.Time()) {
		b.Windows = []draw.Span{{From: early, To: late}}
	}
	if test.After(t.at.Time()) {
		b.Tests = []time.Time{test}
	}
	return b
}

// onShift names who is on shift.
func (t *turn) onShift() string {
	var names []string
	for _, p := range t.mill.Persons() {
		if len(p.Posts) > 0 && p.OnDuty(t.at) {
			names = append(names, t.name(p.ID))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return t.voice.Say(t.lang(), "summary.crew", "what", strings.Join(names, ", "))
}
