package bot

import "strings"

// How a run of letters and digits is taken apart. The order matters: a name of the mill first,
// then a word of the vocabulary ("1a", "2nd"), then a clock time ("5y10"), then a figure, and only
// then the seams between letters and digits.

// cut takes a run of letters and digits apart.
func (r *reader) cut(run string) {
	switch {
	case !strings.ContainsAny(run, "0123456789"):
		r.put(run, inLetters)
		return
	case r.named(run) >= 0 || r.w.Has(run):
		r.put(run, inLetters)
		return
	}
	if clock, ok := clockShape(run); ok {
		r.put(clock, inDigits)
		return
	}
	if whole := mend(run); whole != "" {
		r.figures(whole)
		return
	}
	for i := 0; i < len(run); {
		if isDigit(run[i]) || strings.IndexByte(".,:", run[i]) >= 0 {
			n := figureEnd(run[i:])
			if text := mend(run[i : i+n]); strings.Trim(text, ".,:") != "" {
				r.figures(text)
			}
			i += n
		} else {
			i += r.lettersOf(run[i:])
		}
	}
}

// lettersOf puts the letters at the front of a run, with the digits after them where both are a
// place's name or look like one.
func (r *reader) lettersOf(run string) int {
	n := strings.IndexAny(run, "0123456789.,:")
	if n < 0 {
		r.put(run, inLetters)
		return len(run)
	}
	end := n
	for end < len(run) && (isDigit(run[end]) || run[end] == 'o') {
		end++
	}
	for e := end; e > n; e-- { // t1o is t10, or else t1 and an o; t33 is not t3
		if e < end && isDigit(run[e]) {
			break
		}
		if name := run[:n] + mend(run[n:e]); r.named(name) >= 0 {
			r.put(name, inLetters)
			return e
		}
	}
	if end > n && end-n <= 3 && r.prefix(run[:n]) && (end == len(run) || wordy(rune(run[end]))) {
		r.put(run[:end], inLetters) // looks like a place, but is none
		return end
	}
	r.put(run[:n], inLetters)
	return n
}

// figureEnd is the length of the figure at the front of a run, which may hold letters O and l.
func figureEnd(run string) int {
	i := 0
	for i < len(run) {
		switch c := run[i]; {
		case isDigit(c), c == '.', c == ',', c == ':':
		case c == 'o' && (i+1 == len(run) || strings.IndexByte("0123456789o.,kcf%", run[i+1]) >= 0):
		case c == 'l' && i+1 < len(run) && (isDigit(run[i+1]) || run[i+1] == '.' || run[i+1] == ','):
		default:
			return i
		}
		i++
	}
	return i
}

// mend writes the digits that letters O and l stand for among digits; "" when there are others.
func mend(run string) string {
	if strings.Trim(run, "0123456789.,:") == "" {
		return run
	}
	if strings.Trim(run, "0123456789ol.,") != "" || strings.HasSuffix(run, "l") {
		return ""
	}
	return strings.NewReplacer("o", "0", "l", "1").Replace(run)
}

// clockShape reads 5y10, 5h10 and 05h10 as a clock time, 5:10.
func clockShape(run string) (string, bool) {
	i := strings.IndexAny(run, "yh")
	if i < 1 || i > 2 || len(run) != i+3 || strings.Trim(run[:i]+run[i+1:], "0123456789") != "" {
		return "", false
	}
	return run[:i] + ":" + run[i+1:], true
}

// figures puts a figure, or several that commas alone keep apart ("20,23,25").
func (r *reader) figures(text string) {
	if strings.Count(text, ":") > 1 || strings.HasPrefix(text, ":") ||
		strings.Contains(text, ":") && strings.ContainsAny(text, ".,") {
		for _, p := range strings.Split(text, ":") {
			if strings.Trim(p, ".,") != "" {
				r.put(p, inDigits)
			}
		}
		return
	}
	for _, mark := range [2]string{",", "."} {
		parts := strings.Split(text, mark)
		if len(parts) < 3 || strings.Trim(text, "0123456789"+mark) != "" || inThousands(parts) {
			continue
		}
		for _, p := range parts {
			r.put(p, inDigits)
		}
		return
	}
	r.put(text, inDigits)
}

// inThousands says that all groups after the first have three digits.
func inThousands(parts []string) bool {
	for _, p := range parts[1:] {
		if len(p) != 3 {
			return false
		}
	}
	return true
}
