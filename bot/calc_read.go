package bot

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"lotbell/rules/air"
	grading "lotbell/rules/grade"
)

// calcPair is a name, as the tables have it, and its amount: broken=9.
type calcPair struct {
	key string
	calcQuantity
}

// calcWords is a sum taken apart. Each accessor takes what it finds, so that what is left over was
// not understood; the first thing missing is kept in err and the accessors after it give zeros.
type calcWords struct {
	sums   *Sums
	name   string // of the sum
	called string // the same as typed
	qs     []calcQuantity
	pairs  []calcPair
	words  []string
	err    error
}

// read takes folded words apart; the first is what the sum was called.
func (s *Sums) read(f calcForm, words []string) (*calcWords, error) {
	a := &calcWords{sums: s, name: f.name, called: words[0]}
	for i := 1; i < len(words); i++ {
		w := words[i]
		key, amount, pair := strings.Cut(w, "=")
		if !pair {
			key, amount = "", w
		}
		switch {
		case strings.ContainsAny(amount[:min(1, len(amount))], "+-.0123456789"):
		case pair:
			return nil, a.fault(w, "sum.why.no-amount", "key", key)
		default:
			if !s.filler(w) {
				a.words = append(a.words, w)
			}
			continue
		}
		for i+1 < len(words) && s.joins(amount, words[i+1]) {
			i++
			amount, w = amount+words[i], w+" "+words[i]
		}
		q, err := a.quantity(amount, w, pair)
		if err != nil {
			return nil, err
		}
		if pair {
			a.pairs = append(a.pairs, calcPair{s.mean(key), q})
		} else {
			a.qs = append(a.qs, q)
		}
	}
	return a, nil
}

// filler says whether a word only joins: 53% to 10.5%.
func (s *Sums) filler(word string) bool {
	w := s.mean(word)
	return w == "to" || w == "rh" || w == "wb"
}

// joins says whether the next word is the unit of a number that has none yet ("25 C"), the basis of
// a percentage ("10.5% db"), or the half of a screen ("12 1/2").
func (s *Sums) joins(amount, next string) bool {
	number, unit := calcCut(amount)
	switch {
	case unit == "" && next == "1/2":
		return !strings.ContainsAny(number, ".,")
	case unit == "":
		_, _, ok := s.unit(next)
		return ok
	}
	w := s.mean(next)
	return unit == "%" && (w == "db" || w == "wb" || w == "rh")
}

// fault is an error at a word, with this sum's example: a key of the voice, then names and values.
func (a *calcWords) fault(word, why string, with ...any) CalcError {
	return CalcError{Word: word, Why: Sentence{why, with}, Sum: a.name, Called: a.called}
}

// explain makes what a package of rules refused into an error with this sum's example. Any other
// error stays as it is.
func (a *calcWords) explain(err error) error {
	var out grading.RangeError
	var dry air.RangeError
	var unknown grading.UnknownError
	var offset grading.OffsetError
	var mix grading.MixError
	var open grading.ClosureError
	var e CalcError
	switch {
	case errors.As(err, &out):
		e = a.outOfRange(out)
	case errors.As(err, &dry):
		e = a.fault(a.called, "sum.why.air", "what", Phrase{Text: dry.What}, "value",
			calcAny(dry.Value), "unit", dry.Unit, "low", calcAny(dry.Low), "high",
			calcAny(dry.High), "example", Phrase{Text: dry.Example})
	case errors.As(err, &unknown):
		e = a.notInTable(unknown)
	case errors.As(err, &offset):
		e = a.fault(a.called, "sum.why.offset", "method", Phrase{Text: offset.Method})
	case errors.As(err, &mix):
		e = a.fault(a.called, "sum.why.mix", "table", mix.Table, "want", calcAny(mix.WantG), "got",
			calcAny(mix.GotG))
		if len(mix.Fits) > 0 {
			e.Why = Sentence{"sum.why.mix-fits", append(e.Why.With, "fits", calcPhrases(mix.Fits))}
		}
	case errors.As(err, &open):
		e = a.fault(a.called, "sum.why.closure", "held", fmt.Sprintf("%.6g", open.SumG), "start",
			fmt.Sprintf("%.6g", open.StartG), "off", fmt.Sprintf("%+.2f", open.Pct), "most",
			calcAny(open.MostPct))
		e.No = true
	default:
		return err
	}
	e.Err = err
	return e
}

// outOfRange says which figure cannot be, and why.
func (a *calcWords) outOfRange(e grading.RangeError) CalcError {
	with := []any{"of", Phrase{Text: e.Of}, "limit", calcAny(e.Limit)}
	return a.fault(a.called, "sum.why.figure", "what", Phrase{e.What, with}, "value",
		calcAny(e.Value), "unit", Phrase{Text: e.Unit}, "why", Phrase{e.Why, with}, "example",
		Phrase{e.Example, with})
}

// notInTable says which word a table does not have, with the nearest that it has, else with all.
func (a *calcWords) notInTable(e grading.UnknownError) CalcError {
	in, known := any(""), calcPhrases(e.Known)
	if e.In != "" {
		in = Sentence{"sum.why.in", []any{"in", e.In}}
	}
	with := []any{"what", Phrase{Text: e.What}, "word", fmt.Sprintf("%q", e.Word), "in", in}
	if near := a.near(e); near != "" {
		return a.fault(a.called, "sum.why.near", append(with, "near", near)...)
	}
	return a.fault(a.called, "sum.why.none", append(with, "known", known)...)
}

// near is the nearest word that a table has, or that the language in which the sum was asked for
// has for one of them.
func (a *calcWords) near(e grading.UnknownError) string {
	if e.Near != "" {
		return e.Near
	}
	var others []string
	for _, lang := range a.sums.voice.Langs() {
		if !slices.Contains(a.sums.called(lang, a.name), a.called) {
			continue
		}
		for _, word := range e.Known {
			if w := a.sums.phrase(lang, Phrase{Text: word}); w != word {
				others = append(others, w)
			}
		}
	}
	return grading.Nearest(e.Word, others)
}

// calcPhrases is a list of words of the tables, to be said with commas between them.
func calcPhrases(texts []string) (all []any) {
	for _, t := range texts {
		all = append(all, Phrase{Text: t})
	}
	return all
}

// calcAny is a number of any size, as a package of rules gives it.
func calcAny(v float64) string { return fmt.Sprintf("%g", v) }
