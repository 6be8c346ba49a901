package bot

import (
	"strconv"
	"strings"

	"lotbell/bot/words"
)

// Numbers as they are spoken into a phone, in any of the languages: "veintiuno y medio", "ten
// point six two thousand ten", "treze virgula dois", "13 con 2", "2 mil". Which words are numbers
// is data; how they add up is the same in all three languages.
//
// Rules, in this order: words add up while each is smaller than what the one before left room for
// ("two hundred" "ten", but "ten" "six" are two numbers); a point takes the digits after it, up to
// the word before the next hundred or thousand; "and a half" adds a half; "con" and one digit are
// tenths.

// numberRule joins number words, and figures with what follows them: "twenty one and a half",
// "21 y medio", "13 con 2", "10 punto 6".
func (r *reader) numberRule(before *item, at []item) (item, int) {
	f, n := r.number(before, at)
	if n == 0 {
		return item{}, 0
	}
	used := n
	if n+1 < len(at) && at[n].says(words.Join, "and") && at[n+1].says(words.Number, "half") {
		f.v, f.digits, used = f.v+0.5, 1, n+2
	} else if n < len(at) && at[n].text == "½" {
		f.v, f.digits, used = f.v+0.5, 1, n+1
	} else if m := r.decimals(&f, at[n:]); m > 0 {
		used = n + m
	}
	if n < len(at) && n == 1 && at[0].kind == isFigure && f.whole() && f.v < 100 && f.v > 0 &&
		at[n].says(words.Number, "1000") { // "2 mil"
		f.v, f.raw, f.clock, used = f.v*1000, "", -1, n+1
	}
	if used == 1 && at[0].kind == isFigure {
		return item{}, 0
	}
	return item{kind: isFigure, text: textOf(at[:used]), fig: f}, used
}

// number is a figure, or number words that make one.
func (r *reader) number(before *item, at []item) (figure, int) {
	if at[0].kind == isFigure {
		return at[0].fig, 1
	}
	n, used := spoken(at)
	if used == 0 {
		return figure{}, 0
	}
	if used == 1 && n == 1 && !countable(before, at[1:]) { // "un", "a one": an article
		return figure{}, 0
	}
	f := figure{v: float64(n), clock: -1, ints: len(strconv.Itoa(n))}
	if n > 0 && n < 10 && used < len(at) && at[used].says(words.Number, "half") &&
		at[used].says(words.Number, "6") { // digit by digit: "sete meia" is 76
		f.v, f.ints, f.guess, used = f.v*10+6, 2, true, used+1
	}
	return f, used
}

// countable says that a lone word for one is a number here, not an article.
func countable(before *item, after []item) bool {
	if before.kind == isKind || before.says(words.Letter, "") || before.says(words.Kind, "") ||
		before.joins("the", "number") || before.says(words.Class, "") ||
		before.says(words.Quantity, "") || before.says(words.Time, "at") {
		return true
	}
	return len(after) > 0 && (after[0].says(words.Measure, "") || after[0].says(words.Unit, "") ||
		after[0].says(words.Number, ""))
}

// spoken adds up number words: "dos mil diez", "two hundred and ten", "vinte e um". A word that
// does not go on from the ones before it begins another number.
func spoken(at []item) (total, used int) {
	current, room := 0, 1000000
	for i := 0; i < len(at); {
		j := i
		if i > 0 && at[i].says(words.Join, "and") && i+1 < len(at) {
			j++
		}
		name, ok := at[j].of(words.Number)
		n, err := strconv.Atoi(name)
		if !ok || err != nil || at[j].says(words.Depth, "") || at[j].says(words.Class, "") ||
			at[j].says(words.Number, "half") {
			break
		}
		switch {
		case n == 1000 && total == 0:
			total, current, room = max(current, 1)*1000, 0, 1000
		case n == 100 && current > 1 && current < 100 && total == 0:
			current, room = current*100, 100
		case current == 10 && j > i && n > 5 && n < 10: // "diez y ocho"
			current, room = current+n, 1
		case n < room && n < 1000 && !(i > 0 && n == 0):
			current += n
			room = roomAfter(n)
		default:
			return total + current, used
		}
		i, used = j+1, j+1
	}
	return total + current, used
}

// roomAfter is what a number word must be below to be added to one of this size.
func roomAfter(n int) int {
	switch {
	case n >= 100:
		return 100
	case n >= 20 && n%10 == 0:
		return 10
	}
	return 1
}

// decimals reads what follows a whole number: a point and digits, or "con 2".
func (r *reader) decimals(f *figure, at []item) int {
	if len(at) < 2 || !f.whole() || f.v >= 100 || f.clock >= 0 {
		return 0
	}
	switch {
	case at[0].says(words.Number, "point"):
		text, used := "", 1
		for used < len(at) && len(text) < 3 {
			digit, n := tail(at[used:])
			if n == 0 || len(digit) > 1 && text != "" {
				break
			}
			text, used = text+digit, used+n
			if len(digit) > 1 || at[used-1].kind == isFigure {
				break
			}
		}
		if text == "" {
			return 0
		}
		f.v, _ = strconv.ParseFloat(strconv.Itoa(int(f.v))+"."+text, 64)
		f.digits = int8(len(text))
		return used
	case at[0].says(words.Number, "with"):
		digit, n := tail(at[1:])
		if n == 0 || len(digit) != 1 || 1+n < len(at) && at[1+n].says(words.Measure, "") {
			return 0
		}
		f.v, _ = strconv.ParseFloat(strconv.Itoa(int(f.v))+"."+digit, 64)
		f.digits, f.guess = 1, true
		return 1 + n
	}
	return 0
}

// tail is one word or figure of decimals. A word before a hundred or a thousand begins the next
// number instead: "ten point six two thousand ten".
func tail(at []item) (digits string, used int) {
	if at[0].kind == isFigure && at[0].fig.whole() && len(at[0].fig.raw) <= 2 {
		return at[0].fig.raw, 1
	}
	name, ok := at[0].of(words.Number)
	if n, err := strconv.Atoi(name); !ok || err != nil || n > 99 {
		return "", 0
	}
	if len(at) > 1 && (at[1].says(words.Number, "1000") || at[1].says(words.Number, "100")) {
		return "", 0
	}
	n, used := spoken(at[:min(len(at), 3)])
	return strconv.Itoa(n), used
}

// textOf is the text of several items.
func textOf(at []item) string {
	if len(at) == 1 {
		return at[0].text
	}
	parts := make([]string, len(at))
	for i := range at {
		parts[i] = at[i].text
	}
	return strings.Join(parts, " ")
}
