package bot

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lotbell/state"
)

// put states a fact about the site.
func (t *turn) put(name string, x float64, text string) {
	t.said(t.msg.At, state.Set{Name: name, Number: x, Text: text})
}

// takeClock reads a language, a zone (by its name, a city of it, or what the clock shows now) and
// the decimal mark: "es Bogota 0,5".
func (t *turn) takeClock(a answer) (string, string) {
	lang, zone, mark := "", "", ""
	var left []string
	for _, w := range strings.Fields(a.raw) {
		w = strings.TrimRight(w, ",;")
		plain := strings.ToLower(w)
		switch {
		case t.voice.Speaks(plain):
			lang = plain
		case t.langCalled(plain) != "":
			lang = t.langCalled(plain)
		case t.means(plain, "answer.comma") || plain == "0,5" || plain == "1,5":
			mark = ","
		case t.means(plain, "answer.point") || plain == "0.5" || plain == "1.5":
			mark = "."
		case zone == "" && t.zoneByHour(plain) != "":
			zone = t.zoneByHour(plain)
		case !t.idle(plain):
			left = append(left, w)
		}
	}
	if len(left) > 0 {
		if zone = zoneByName(strings.Join(left, " ")); zone == "" {
			return "", left[0]
		}
	}
	if lang+zone+mark == "" {
		return "", a.raw
	}
	var said []string
	if lang != "" {
		s := state.Staff{Person: t.person.ID, Roles: t.person.Roles, Posts: t.person.Posts, Lang: lang,
			Wakes: t.person.Wakes}
		t.said(t.msg.At, s)
		t.put(state.SetLang, 0, lang)
		said = append(said, lang)
	}
	if zone != "" {
		t.put(state.SetZone, 0, zone)
		said = append(said, zone+" ("+t.clock(t.at)+")")
	}
	if mark != "" {
		t.put(state.SetDecimal, 0, mark)
		said = append(said, "0"+mark+"5")
	}
	return strings.Join(said, ", "), ""
}

// langCalled finds a language by what its speakers or others call it.
func (t *turn) langCalled(word string) string {
	for _, lang := range t.voice.Langs() {
		if t.talks(word, "lang-"+lang) {
			return lang
		}
	}
	return ""
}

// zoneByName finds a zone of the IANA database by its name or by a city of it.
func zoneByName(text string) string {
	parts := strings.Split(strings.ReplaceAll(strings.TrimSpace(text), " ", "_"), "/")
	for i, p := range parts {
		words := strings.Split(strings.ToLower(p), "_")
		for j, w := range words {
			if len(w) > 0 {
				words[j] = strings.ToUpper(w[:1]) + w[1:]
			}
		}
		parts[i] = strings.Join(words, "_")
	}
	name := strings.Join(parts, "/")
	if strings.EqualFold(name, "utc") || strings.EqualFold(name, "gmt") {
		return "UTC"
	}
	for _, front := range [...]string{"", "America/", "Africa/", "Asia/", "Pacific/", "Europe/"} {
		if z, err := time.LoadLocation(front + name); err == nil && len(name) > 2 && name != "Local" {
			return z.String()
		}
	}
	return ""
}

// zoneByHour is the zone in which the clock shows an hour now: Etc/GMT+5 is five hours behind
// Greenwich (the signs of these names are turned round in the database). "" for what is no hour or
// not within five minutes of a whole hour's zone.
func (t *turn) zoneByHour(text string) string {
	shown, err := time.Parse("15:04", text)
	if err != nil {
		return ""
	}
	now := t.at.Time()
	ahead := shown.Hour()*60 + shown.Minute() - now.Hour()*60 - now.Minute()
	hours := int(math.Round(float64(ahead) / 60))
	if off := ahead - 60*hours; off > 5 || off < -5 {
		return ""
	}
	switch hours = (hours + 36) % 24; { // -12 to 11, put 12 up
	case hours == 12:
		return "UTC"
	case hours < 12:
		return fmt.Sprintf("Etc/GMT+%d", 12-hours)
	}
	return fmt.Sprintf("Etc/GMT-%d", hours-12)
}

// footM is the international foot in metres, exact.
const footM = 0.3048

// takeSite reads height and position: "1500 m 4.6 -75.6", "4.6 N 75.6 W".
func (t *turn) takeSite(a answer) (string, string) {
	height, at := math.NaN(), []float64(nil)
	for i := 0; i < len(a.words); {
		w := a.words[i]
		x, n := t.amountAt(a.words[i:])
		switch {
		case n > 0 && (x.unit == "m" || x.unit == "ft"):
			if height = x.x; x.unit == "ft" {
				height *= footM
			}
		case n > 0 && x.unit == "" && len(at) == 0 && math.IsNaN(height) && x.x > 90:
			height = x.x
		case n > 0 && x.unit == "" && len(at) < 2:
			at = append(at, x.x)
		case len(at) > 0 && slices.Contains([]string{"s", "w", "o", "sur", "south", "west", "oeste"}, w):
			at[len(at)-1], n = -math.Abs(at[len(at)-1]), 1
		case len(at) > 0 && slices.Contains([]string{"n", "e", "norte", "north", "east", "este"}, w),
			t.idle(w):
			n = 1
		default:
			return "", w
		}
		i += max(n, 1)
	}
	switch {
	case len(at) == 1, len(at) == 2 && (math.Abs(at[0]) > 90 || math.Abs(at[1]) > 180):
		return "", plainNumber(at[0], 4)
	case len(at) == 0 && math.IsNaN(height):
		return "", a.raw
	case height < -400 || height > 5000:
		return "", plainNumber(height, 0) + " m"
	}
	if !math.IsNaN(height) {
		t.put(state.SetAltitude, math.Round(height), "")
	}
	if len(at) == 2 {
		t.put(state.SetLat, at[0], "")
		t.put(state.SetLon, at[1], "")
	}
	return t.settings(state.SetAltitude, state.SetLat, state.SetLon), ""
}

// takeHours reads the usual hours from filling to washing: "18 h", "16-24 h", "cold 24 warm 16".
func (t *turn) takeHours(a answer) (string, string) {
	cold, warm, last := 0.0, 0.0, ""
	for i := 0; i < len(a.words); {
		w := a.words[i]
		low, high, isSpan := strings.Cut(w, "-")
		x, n := t.amountAt(a.words[i:])
		from, ok1 := figureOf(low)
		to, ok2 := figureOf(strings.TrimRight(high, "h"))
		switch {
		case isSpan && ok1 && ok2:
			warm, cold, n = min(from, to), max(from, to), 1
		case n > 0 && (x.unit == "" || x.unit == "h"):
			if x.x < 4 || x.x > 96 {
				return "", w
			}
			if last == "cold" || warm > 0 && last == "" {
				cold = x.x
			} else {
				warm = x.x
			}
			last = ""
		case t.means(w, "answer.cold"):
			last, n = "cold", 1
		case t.means(w, "answer.warm"):
			last, n = "warm", 1
		case t.idle(w) || t.unitOf(w) == "h" || t.means(w, "answer.to"):
			n = 1
		default:
			return "", w
		}
		i += max(n, 1)
	}
	for _, x := range []float64{cold, warm} {
		if x != 0 && (x < 4 || x > 96) {
			return "", plainNumber(x, 1)
		}
	}
	if cold == 0 && warm == 0 {
		return "", a.raw
	}
	if warm > 0 {
		t.put(state.SetUsual, warm, "")
	}
	if cold > 0 {
		t.put(state.SetUsualCold, cold, "")
	}
	return t.settings(state.SetUsual, state.SetUsualCold), ""
}
