package bot

import (
	"slices"
	"strconv"
	"strings"

	"lotbell/bot/words"
	grading "lotbell/rules/grade"
	"lotbell/state"
)

// What the laboratory finds is kept of a lot as it was typed and worked out anew when it is told,
// so that no rounded figure is ever reckoned on: "s1 factor 250g 195.5g", "lot 4 cup 84.5".

// labSums are the sums that are kept of a lot.
var labSums = []string{"factor", "screens", "defects", "ico", "cup"}

// finds takes a line of the laboratory's and says whether it was one. A sum that cannot be is
// refused with its reason, and nothing is kept.
func (t *turn) finds() bool {
	typed := strings.Fields(t.msg.Text)
	lot, place, n := t.labSubject(typed)
	if n == 0 || n == len(typed) {
		return false
	}
	name := t.sumCalled(typed[n])
	if !slices.Contains(labSums, name) {
		return false
	}
	sum, err := t.reckon(typed[n:])
	if err != nil {
		t.lines = append(t.lines, t.sums.Refuse(t.lang(), err))
		return true
	}
	if t.mill.Lot(lot) == nil {
		t.say("lot.none", "about", strings.Join(typed[:n], " "))
		return true
	}
	t.said(t.msg.At, state.Tag{Place: place, Lot: lot, Name: name,
		Value: strings.Join(typed[n+1:], " ")})
	t.lines = append(t.lines, t.voice.Say(t.lang(), "lab.kept", "lot", int(lot), "what",
		t.sums.Tell(t.lang(), sum).Line))
	if line := t.exportable(lot); name == "factor" && line != "" {
		t.lines = append(t.lines, line)
	}
	return true
}

// sumCalled is the sum that a word names in any language; "" for none.
func (d *Desk) sumCalled(word string) string {
	f, _ := d.sumsNow().form(words.FoldText(word))
	return f.name
}

// labSubject is the lot that a line begins with, by its number or by where it lies, and of how many
// words; 0 words: no such beginning. A lot of number 0 is none that the book has.
func (t *turn) labSubject(typed []string) (lot state.LotID, place string, n int) {
	if len(typed) < 2 {
		return 0, "", 0
	}
	first := words.FoldText(typed[0])
	if t.talks(first, "lot") {
		id, err := strconv.ParseUint(strings.Trim(typed[1], "#,.:"), 10, 31)
		if err != nil {
			return 0, "", 0
		}
		return state.LotID(id), t.lotPlace(state.LotID(id)), 2
	}
	if _, ok := t.mill.Place(first); !ok {
		return 0, "", 0
	}
	return t.newest(first), first, 1
}

// labTold tells what the laboratory found of a lot, a line a sum.
func (t *turn) labTold(l *state.Lot) []string {
	var out []string
	for _, name := range labSums {
		typed := l.Tag(name)
		if typed == "" {
			continue
		}
		if sum, err := t.reckon(append([]string{name}, strings.Fields(typed)...)); err == nil {
			out = append(out, t.sums.Tell(t.lang(), sum).Line)
		}
	}
	if line := t.exportable(l.ID); line != "" {
		out = append(out, line)
	}
	return out
}

// exportable is about how much excelso a lot at the mill should give by its factor; "" where it has
// none or was not weighed.
func (t *turn) exportable(id state.LotID) string {
	typed := t.mill.Lot(id).Tag("factor")
	if typed == "" {
		return ""
	}
	sum, err := t.reckon(append([]string{"factor"}, strings.Fields(typed)...))
	if err != nil {
		return ""
	}
	held := state.Grams(0)
	for _, s := range t.mill.OpenStays() {
		if s.ID.Lot == id {
			held += s.Mass
		}
	}
	for _, v := range sum.Values {
		if y, err := grading.FromOutturn(v.Number); v.Name == "outturn_pct" && err == nil && held > 0 {
			return t.voice.Say(t.lang(), "lab.exportable", "kg", kg(state.Kg(y.ExcelsoKg(held.Kg()))),
				"held", kg(held))
		}
	}
	return ""
}
