package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
	"lotbell/state"
)

// questions are the set-up's, in the order in which they are asked: first what everything else is
// read by, then the coffee's way, then the people.
func questions() []question {
	nothing := func(*turn) string { return "" }
	set := func(names ...string) func(t *turn) string {
		return func(t *turn) string { return t.settings(names...) }
	}
	return []question{
		{"clock", (*turn).takeClock, (*turn).zoneName, set(state.SetZone, state.SetDecimal)},
		{"site", (*turn).takeSite, nothing, set(state.SetAltitude, state.SetLat, state.SetLon)},
		{"hours", (*turn).takeHours, nothing, set(state.SetUsual, state.SetUsualCold)},
		places("tanks", placing{kind: state.Tank, prefix: "t", least: 100, bare: 200, vat: true}, 4),
		{"way", (*turn).takeWay, (*turn).usualWay, set(state.SetRoute, state.SetPulp)},
		places("patios", placing{kind: state.Patio, prefix: "p", least: 10, bare: 100, area: true}, 3),
		places("drums", placing{kind: state.Drum, prefix: "d", least: 100, bare: 600, dial: true,
			also: []state.Kind{state.Predryer}}, 2),
		places("silos", placing{kind: state.Silo, prefix: "s", least: 100, bare: 200,
			also: []state.Kind{state.Store, state.Lab, state.Meter}}, 2),
		{"air", (*turn).takeAir, nothing, placesKnown(state.Air)},
		{"measures", (*turn).takeMeasures, nothing, (*turn).measuresKnown},
		{"target", (*turn).takeTarget, limitNow("target", "rest_normal"),
			set(state.SetTarget, state.SetPrepares, state.SetCertified, state.SetOwners)},
		{"heat", (*turn).takeHeat, limitNow("drum_air_wet", "drum_air_dry"),
			limitNow("drum_air_wet", "drum_air_dry")},
		{"fuel", (*turn).takeFuel, nothing, set(state.SetFuel, state.SetSack, state.SetGenerator,
			state.SetWater, state.SetPermit)},
		{"people", (*turn).takePeople, func(t *turn) string { return t.name(t.person.ID) },
			(*turn).peopleKnown},
		{"help", (*turn).takeHelp, nothing, set(state.SetTell)},
	}
}

// places is the question for the places of a kind. Who does not know gets so many by the usual
// names, of unknown size, unless the mill has some or its coffee never comes by there.
func places(name string, p placing, usual int) question {
	q := question{name: name, known: placesKnown(append([]state.Kind{p.kind}, p.also...)...)}
	q.take = func(t *turn, a answer) (string, string) {
		sets, wrong := t.readPlaces(a, p)
		if wrong != "" {
			return "", wrong
		}
		for _, s := range sets {
			t.said(t.msg.At, t.over(s))
		}
		if len(sets) == 0 {
			return t.voice.Say(t.lang(), "setup.none"), ""
		}
		return t.placesText(sets), ""
	}
	q.unknown = func(t *turn) string {
		if known := q.known(t); known != "" {
			return known
		}
		if s, ok := t.mill.Setting(state.SetRoute); ok &&
			!strings.Contains(" "+s.Text+" ", " "+string(p.kind)+" ") {
			return t.voice.Say(t.lang(), "setup.none")
		}
		var sets []state.SetPlace
		for i := range usual {
			s := state.SetPlace{Name: p.prefix + strconv.Itoa(i+1), Kind: p.kind}
			t.said(t.msg.At, s)
			sets = append(sets, s)
		}
		return t.placesText(sets)
	}
	return q
}

// placesKnown tells the places of some kinds.
func placesKnown(kinds ...state.Kind) func(t *turn) string {
	return func(t *turn) string {
		var sets []state.SetPlace
		for _, p := range t.mill.Places() {
			for _, k := range kinds {
				if p.Kind == k {
					sets = append(sets, p.SetPlace)
				}
			}
		}
		return t.placesText(sets)
	}
}

// over lays what was said of a place over what is known of it.
func (t *turn) over(s state.SetPlace) state.SetPlace {
	old, ok := t.mill.Place(s.Name)
	if !ok || old.Kind != s.Kind {
		return s
	}
	if s.Capacity == 0 {
		s.Capacity = old.Capacity
	}
	if s.Area == 0 {
		s.Area = old.Area
	}
	if s.DialWhere == "" {
		s.DialWhere = old.DialWhere
	}
	if s.DialUnit == "" {
		s.DialUnit = old.DialUnit
	}
	if s.Cover == "" {
		s.Cover = old.Cover
	}
	if s.Probe == "" {
		s.Probe = old.Probe
	}
	return s
}

// placesText lists places with what is known of each, those alike together: t1 t2 6000 kg, t3.
func (t *turn) placesText(sets []state.SetPlace) string {
	var out []string
	last := ""
	for _, s := range sets {
		about := ""
		if s.Capacity > 0 {
			about += " " + kg(s.Capacity) + " kg"
		}
		if s.Area > 0 {
			about += " " + plainNumber(s.Area, 0) + " m2"
		}
		if s.DialWhere != "" {
			about += " " + t.voice.Say(t.lang(), "is."+s.DialWhere)
		}
		if s.DialUnit != "" {
			about += " " + s.DialUnit
		}
		if s.Cover != "" {
			about += " " + t.voice.Say(t.lang(), "is."+s.Cover)
		}
		if s.Probe != "" {
			about += " " + t.voice.Say(t.lang(), "is.probe-"+s.Probe)
		}
		if n := len(out); n > 0 && about == last {
			out[n-1] = strings.TrimSuffix(out[n-1], about) + " " + s.Name + about
			continue
		}
		out, last = append(out, s.Name+about), about
	}
	return strings.Join(out, ", ")
}

// settings tells what is known of some facts about the site: "20 h in warm weeks, 1500 m".
func (t *turn) settings(names ...string) string {
	var out []string
	for _, name := range names {
		if s, ok := t.mill.Setting(name); ok {
			text := s.Text
			switch {
			case name == state.SetPrepares, name == state.SetGenerator:
				text = t.voice.Say(t.lang(), "truth."+text)
			case name == state.SetFuel:
				text = t.shown(words.Detail, text)
			case text == "none":
				text = t.voice.Say(t.lang(), "setup.none")
			case text == "":
				text = plainNumber(s.Number, 4)
			}
			out = append(out, t.voice.Say(t.lang(), "is."+name, "value", text))
		}
	}
	return strings.Join(out, ", ")
}

// limitNow tells limits of the book in force.
func limitNow(names ...string) func(t *turn) string {
	return func(t *turn) string {
		var out []string
		for _, name := range names {
			if l, ok := t.watch.Book.Limits[name]; ok {
				out = append(out, name+" "+plainNumber(l.Value, 2)+" "+l.Unit)
			}
		}
		return strings.Join(out, ", ")
	}
}

func (t *turn) zoneName() string { return t.mill.Zone().String() }

// shown is the floor's word, in the language of the answer, for a word of the program.
func (t *turn) shown(in words.Section, name string) string {
	if w := t.words.Show(t.lang(), in, name); w != "" {
		return w
	}
	return name
}
