package bot

import (
	"math"
	"strconv"
	"strings"
	"time"

	"lotbell/bot/voice"
	"lotbell/rules"
	"lotbell/state"
)

// plainNumber writes a number with so many decimals, without an empty end.
func plainNumber(x float64, digits int) string {
	s := strconv.FormatFloat(x, 'f', digits, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// kg writes a mass in kilograms: whole ones, as the scales of a mill show them.
func kg(g state.Grams) string { return strconv.Itoa(int(math.Round(g.Kg()))) }

// tonnes writes a mass in tonnes with one decimal.
func tonnes(kg float64) string { return plainNumber(kg/1000, 1) }

// clock is an instant on the mill's clock: 05:40, with the day when it is not today's.
func (d *Desk) clockAt(i, now state.Instant, lang string) string {
	z := d.mill.Zone()
	at, today := i.Time().In(z), now.Time().In(z)
	text := at.Format("15:04")
	switch days := int(midnight(at).Sub(midnight(today)).Round(24*time.Hour) / (24 * time.Hour)); {
	case days == 0:
		return text
	case days > -7 && days < 7:
		return d.voice.Say(lang, "day."+strings.ToLower(at.Weekday().String()[:3])) + " " + text
	}
	if today.Sub(at).Abs() > longestAgo {
		return at.Format("02.01.2006") + " " + text
	}
	return at.Format("02.01.") + " " + text
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// clock is an instant as the sender of the message in hand reads it.
func (t *turn) clock(i state.Instant) string { return t.clockAt(i, t.at, t.lang()) }

// span writes a time: 45 min, 2 h, 2 h 10, 3 d.
func spanWords(d time.Duration) string {
	d = d.Round(time.Minute)
	switch {
	case d < time.Hour:
		return strconv.Itoa(int(d.Minutes())) + " min"
	case d >= 48*time.Hour:
		return strconv.Itoa(int(d.Hours()/24)) + " d"
	}
	if m := int(d.Minutes()) % 60; m != 0 && d < 10*time.Hour {
		return strconv.Itoa(int(d.Hours())) + " h " + strconv.Itoa(m)
	}
	return strconv.Itoa(int(math.Round(d.Hours()))) + " h"
}

// spokenSpan reads 20m, 20 min, 2h, half an hour as the reader left it; false when it is none.
func spokenSpan(s string) (time.Duration, bool) {
	s = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), " ", "")
	i := strings.IndexFunc(s, func(r rune) bool { return (r < '0' || r > '9') && r != '.' })
	n, err := strconv.ParseFloat(s[:max(i, 0)], 64)
	if i < 0 {
		n, err = strconv.ParseFloat(s, 64)
		s, i = s+"m", len(s)
	}
	if err != nil || n <= 0 || n > 1e4 {
		return 0, false
	}
	switch s[i] {
	case 'h':
		return time.Duration(n * float64(time.Hour)), true
	case 'm':
		return time.Duration(n * float64(time.Minute)), true
	case 'd':
		return time.Duration(n * 24 * float64(time.Hour)), true
	}
	return 0, false
}

// value writes a fact as a sentence shows it: no finer than its instrument.
func (d *Desk) value(v rules.Value, u rules.Unit, lang string, now state.Instant) string {
	switch u {
	case rules.Word:
		if v.Word != "" {
			return v.Word
		}
	case rules.YesNo:
		return d.voice.Say(lang, "truth."+strings.ReplaceAll(v.Is.String(), " ", "-"))
	default:
		if math.IsNaN(v.Num) {
			break
		}
		switch u {
		case rules.Moment:
			return d.clockAt(state.Instant(v.Num), now, lang)
		case rules.Span:
			return spanWords(time.Duration(v.Num) * time.Millisecond)
		case rules.Celsius, rules.Kilo:
			return plainNumber(v.Num, 0)
		case rules.Plain:
			return plainNumber(v.Num, 2)
		}
		return plainNumber(v.Num, 1)
	}
	return d.voice.Say(lang, "not-known")
}

// fill words a sentence of the book about a subject as it was seen at an instant.
func (d *Desk) fill(v *rules.View, of state.Subject, says map[string]string, lang string,
	now state.Instant) string {
	text := says[lang]
	if text == "" {
		text = says["en"]
	}
	if text == "" {
		text = says["es"]
	}
	return voice.Fill(text, func(name string) (string, bool) {
		if name == "place" {
			return d.placeOf(of, lang), true
		}
		x, u, ok := v.Read(name)
		return d.value(x, u, lang, now), ok
	})
}

// placeOf is what a subject's place is called.
func (d *Desk) placeOf(of state.Subject, lang string) string {
	switch of.Name {
	case state.Floor, state.Whole:
		return d.voice.Say(lang, "place."+of.Name)
	}
	return of.Name
}

// names lists people, "ana, luis".
func (d *Desk) names(ids []state.PersonID) string {
	var out []string
	for _, id := range ids {
		out = append(out, d.name(id))
	}
	if len(out) == 0 {
		return "-"
	}
	return strings.Join(out, ", ")
}

// kindName is what a kind of place is called.
func (t *turn) kindName(k state.Kind) string {
	name, _, _ := strings.Cut(t.voice.Say(t.lang(), "kinds."+string(k)), " ")
	return name
}
