package bot

import (
	"lotbell/bot/words"
	"lotbell/state"
)

// Looking into a clause.

// has finds the first part of a kind; nil when there is none.
func (c *clause) has(k itemKind) *item {
	for i := range c.parts {
		if c.parts[i].kind == k {
			return &c.parts[i]
		}
	}
	return nil
}

// named says that a place of any role was said.
func (c *clause) named() bool { return len(c.places)+len(c.from)+len(c.to)+len(c.except) > 0 }

// empty says that nothing at all is in a clause.
func (c *clause) empty() bool { return !c.named() && len(c.parts) == 0 && !c.asks }

// moves says that an act has another end besides its place.
func moves(act string) bool { return act != state.ActIntake && act != state.ActWash }

// mark is the mark of a clause with a name; nil when it has none.
func (c *clause) mark(name string) *item {
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isMark && x.name == name {
			return x
		}
	}
	return nil
}

// kindWord is a kind of place said without a number in a clause, and the item.
func (c *clause) kindWord() *item {
	return c.has(isKind)
}

// kindSaid says that a clause speaks of a kind of place.
func (c *clause) kindSaid(kind string) bool {
	for i := range c.parts {
		if c.parts[i].kind == isKind && c.parts[i].name == kind {
			return true
		}
	}
	return false
}

// says tells whether a left-over word of the clause may mean a program word.
func (c *clause) says(in words.Section, name string) bool {
	for i := range c.parts {
		if c.parts[i].says(in, name) {
			return true
		}
	}
	return false
}

// detail is a further word in a clause: one of the given program words; "" for none.
func (c *clause) detail(of ...string) string {
	for i := range c.parts {
		if w, ok := c.parts[i].of(words.Detail); ok {
			for _, o := range of {
				if o == w {
					return w
				}
			}
		}
	}
	return ""
}

// hedged says that a word of the clause makes it less than a statement in this way.
func (c *clause) hedged(how string) bool {
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isHedge && x.name == how {
			return true
		}
	}
	return false
}

// subject is the place that readings and marks of a clause are about; -1 when there is none.
func (c *clause) subject() int {
	if len(c.places) == 0 {
		return -1
	}
	return c.places[0]
}

// kind is the kind of the clause's place; "" when it has none.
func (r *reader) kind(c *clause) state.Kind {
	if p := c.subject(); p >= 0 {
		return r.c.Places[p].Kind
	}
	return ""
}

// past says that a clause tells of a time gone by: what it says has happened.
func (c *clause) past() bool {
	t := c.has(isTime)
	return t != nil && !t.at.ahead && !c.hedged("future") && !c.hedged("after") && c.tellings() < 2
}

// when is the time said in a clause, or the length of time that something has lasted; nil for
// none.
func (c *clause) when(r *reader, from int) (at *moment, text string) {
	var told *item // an hour counts for more than a part of the day
	for i := range c.parts {
		if x := &c.parts[i]; x.kind == isTime && (told == nil || told.at.vague && !x.at.vague) {
			told = x
		}
	}
	if told != nil {
		return &told.at, told.text
	}
	s := c.lasting()
	if s == nil || from >= len(r.h.Facts) || !tells(r.h.Facts[from].What) {
		return nil, ""
	}
	back := state.Instant(s.fig.v * 60000)
	return &moment{at: r.c.At - back, told: true, vague: true}, s.text
}

// lasting is the length of time that stands beside what was seen, "apagada 2 horas"; nil when other
// words stand between: "huele y apenas lleva doce horas".
func (c *clause) lasting() *item {
	for i := range c.parts {
		x := &c.parts[i]
		if x.kind != isSpan {
			continue
		}
		if i > 0 && c.parts[i-1].joins("in") { // "en 40 min": to come
			return nil
		}
		for j := i - 1; j >= 0 && c.parts[j].kind != isMark; j-- {
			if y := &c.parts[j]; y.kind == isAct || y.joins("and") {
				return nil
			}
		}
		return x
	}
	return nil
}

// soon says that a length of time in a clause is still to pass: "llego en 40 min".
func (c *clause) soon() bool {
	for i := 1; i < len(c.parts); i++ {
		if c.parts[i].kind == isSpan && c.parts[i-1].joins("in") {
			return true
		}
	}
	return false
}

// untimed says that a word of time is left in a clause which no rule could place.
func (c *clause) untimed() bool {
	for i := range c.parts {
		x := &c.parts[i]
		if name, ok := x.of(words.Time); ok && name != "now" && name != "about" && name != "at" &&
			!x.says(words.Join, "") {
			return true
		}
	}
	return false
}
