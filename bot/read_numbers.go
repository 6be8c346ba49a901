package bot

import (
	"math"
	"strconv"
	"strings"
)

// Figures and number words. A figure keeps the way it was typed, because that decides later
// whether it can be a clock time (0510), thousands (4.200) or a moisture (13,2).
//
//	13,2 13.2 .58    decimals, as spoken: nothing is ever shown finer
//	1.450 4,200      a mark before exactly three digits: both readings are kept, the mill's first
//	1.450.000        thousands
//	0510 05:10       surely a clock time
//	530 2010         perhaps a clock time: see bareClock

// figure is a number as it was said, with the other way in which it may be meant.
type figure struct {
	v      float64
	alt    float64 // the other reading of a mark before three digits; 0: none
	digits int8    // decimals as spoken
	raw    string  // as typed; "" when spoken in words
	ints   int     // digits before the mark, as typed
	clock  int     // minutes since midnight, when shaped like a clock time; -1 else
	sure   bool    // cannot be meant otherwise: a colon, a leading zero of four
	guess  bool    // put together ("13 con 2")
	minus  bool    // a minus stood before it; v is the figure without
}

// whole says that a figure was said without decimals.
func (f figure) whole() bool { return f.digits == 0 && f.v == math.Trunc(f.v) }

// figure reads digits with their marks. A mark before exactly three digits leaves both readings
// open: the one the mill writes comes first.
func (r *reader) figure(text string) figure {
	f := figure{raw: text, clock: -1}
	f.ints = strings.IndexAny(text+".", ".,:")
	if i := strings.IndexByte(text, ':'); i > 0 {
		h, _ := strconv.Atoi(text[:i])
		m, err := strconv.Atoi(text[i+1:])
		if err == nil && h < 24 && m < 60 {
			f.v, f.clock, f.sure = float64(h*100+m), h*60+m, true
		}
		return f
	}
	mark := strings.LastIndexAny(text, ".,")
	if mark < 0 {
		f.v, _ = strconv.ParseFloat(text, 64)
		if n := int(min(f.v, 2400)); n < 2400 && len(text) >= 3 && len(text) <= 4 && n%100 < 60 {
			f.clock, f.sure = n/100*60+n%100, len(text) == 4 && text[0] == '0'
		}
		return f
	}
	first := strings.IndexAny(text, ".,")
	whole := func(s string) string {
		return strings.ReplaceAll(strings.ReplaceAll(s, ".", ""), ",", "")
	}
	if first != mark && text[first] == text[mark] { // 1.450.000
		f.v, _ = strconv.ParseFloat(whole(text), 64)
		return f
	}
	decimal, _ := strconv.ParseFloat(whole(text[:mark])+"."+text[mark+1:], 64)
	f.v, f.digits = decimal, int8(min(len(text)-mark-1, 9))
	if len(text)-mark-1 == 3 && mark >= 1 && mark <= 3 && text[0] != '0' && first == mark {
		f.alt, _ = strconv.ParseFloat(whole(text), 64)
		if r.c.Decimal != text[mark] {
			f.v, f.alt, f.digits = f.alt, f.v, 0
		}
	}
	return f
}

// turn takes the other reading of a figure.
func (f *figure) turn() {
	f.v, f.alt = f.alt, f.v
	f.digits = 0
	if f.v != math.Trunc(f.v) || f.v < f.alt {
		f.digits = 3
	}
}

// show writes a figure as it was said.
func show(g figure) string {
	text := g.raw
	if text == "" {
		text = strconv.FormatFloat(g.v, 'f', int(g.digits), 64)
	}
	if g.minus {
		return "-" + text
	}
	return text
}

// round rounds to a number of decimals.
func round(v float64, digits int) float64 {
	s := strconv.FormatFloat(v, 'f', digits, 64)
	v, _ = strconv.ParseFloat(s, 64)
	return v
}
