package rules

import (
	"errors"
	"math"
	"strings"
	"testing"

	"lotbell/state"
)

// TestConditionsPrintBack holds that a condition is written in one way, and that what is written
// reads again as the same tree.
func TestConditionsPrintBack(t *testing.T) {
	r := newRig(t, "")
	for _, x := range [][3]string{
		{"drum", "air > 60", "air > 60"},
		{"drum", "  air>60 ", "air > 60"},
		{"drum", "air ≥ 60 AND hum ≤ 20", "air >= 60 and hum <= 20"},
		{"drum", "air > 60 && !fire_out || smoke", "air > 60 and not fire_out or smoke"},
		{"drum", "air > 60 or hum < 20 and aw < 0.7", "air > 60 or hum < 20 and aw < 0.7"},
		{"drum", "not (air > 60)", "not (air > 60)"},
		{"drum", "not (air > 60 or smoke)", "not (air > 60 or smoke)"},
		{"drum", "not not smoke", "smoke"},
		{"drum", "not not not (air > 1)", "not (air > 1)"},
		{"drum", "(air > 60 or smoke) and not (hum > 3 and smoke)",
			"(air > 60 or smoke) and not (hum > 3 and smoke)"},
		{"drum", "air > 1 and (hum > 2 and smoke)", "air > 1 and hum > 2 and smoke"},
		{"drum", "50 < air < 60", "50 < air and air < 60"},
		{"drum", "air ≠ 60", "air != 60"},
		{"drum", "air > limit.drum_air_wet + 2", "air > limit.drum_air_wet + 2"},
		{"drum", "age > 1.5h", "age > 90min"},
		{"drum", "age > 20m", "age > 20min"},
		{"drum", "age > hours(2) + 40min", "age > 2h + 40min"},
		{"drum", "age > 48h", "age > 2d"},
		{"drum", "age > 90s", "age > 90s"},
		{"drum", "age > 0h", "age > 0s"},
		{"drum", "air - bean > 3", "air - bean > 3"},
		{"drum", "(air + bean) / 2 > 50", "(air + bean) / 2 > 50"},
		{"drum", "air + bean / 2 > 50", "air + bean / 2 > 50"},
		{"drum", "air - (bean - 2) > 50", "air - (bean - 2) > 50"},
		{"drum", "air - bean - 2 > 50", "air - bean - 2 > 50"},
		{"drum", "air / (bean / temp) > 1", "air / (bean / temp) > 1"},
		{"drum", "-air > -(bean + 2)", "-air > -(bean + 2)"},
		{"drum", "-(-(-air)) > -(-2)", "-air > 2"},
		{"drum", "air > (smoke ? 1 : held ? 2 : 3)", "air > (smoke ? 1 : held ? 2 : 3)"},
		{"drum", "air > ((smoke ? held : held) ? 1 : 2)", ""},
		{"drum", "abs(hum - target) > 1", "abs(hum - target) > 1"},
		{"drum", "min(air, bean) > max(1, 2)", "min(air, bean) > max(1, 2)"},
		{"drum", "air > (hum < 20 ? limit.drum_air_dry : limit.drum_air_wet)",
			"air > (hum < 20 ? limit.drum_air_dry : limit.drum_air_wet)"},
		{"drum", "(smoke and air > 3 ? air : bean) > 1", "(smoke and air > 3 ? air : bean) > 1"},
		{"drum", "process == “washed”", "process == 'washed'"},
		{"drum", `owner != "d\"or"`, `owner != 'd"or'`},
		{"drum", `owner == 'a\'b\\c' and age > 2h`, `owner == 'a\'b\\c' and age > 2h`},
		{"tank", "now ≥ spoil – 2h", "now >= spoil - 2h"},
		{"tank", "ready_early - now < 2h", ""}, // moves inside arithmetic
		{"tank", "spoil - ready_late > 3h", "spoil - ready_late > 3h"},
		{"tank", "now >= (wash_ordered ? spoil : spoil_warn)",
			"now >= (wash_ordered ? spoil : spoil_warn)"},
		{"mill", "hour == 16 and fuel_h < 9", "hour == 16 and fuel_h < 9"},
	} {
		c, err := compile(x[1], r.book, namesOn(x[0]))
		if x[2] == "" {
			if err == nil {
				t.Errorf("%s was read as %s", x[1], c)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", x[1], err)
			continue
		}
		if c.String() != x[2] {
			t.Errorf("%s was read as %s, want %s", x[1], c, x[2])
		}
		again, err := compile(c.String(), r.book, namesOn(x[0]))
		if err != nil || again.String() != c.String() {
			t.Errorf("%s printed as %s reads as %v (%v)", x[1], c, again, err)
		}
	}
}

// TestThreeTruths holds that a missing reading is "cannot tell", never no, and that what can be
// told without it is told. The drum has air 57, water activity 0.5 and no
// moisture.
func TestThreeTruths(t *testing.T) {
	r := newRig(t, "")
	r.say("1 10:00 d1 load p1\n1 11:00 d1 air_c 57\n1 11:00 d1 aw 0.5")
	yes, no, cannot := state.Yes, state.No, state.CannotTell
	for _, x := range []struct {
		text string
		want state.Truth
	}{
		{"air > 56", yes}, {"air > 57", no}, {"air >= 57", yes}, {"air < 57", no},
		{"air <= 57", yes}, {"air == 57", yes}, {"air != 57", no},
		{"hum > 12", cannot}, {"not (hum > 12)", cannot}, {"hum == hum", cannot},
		{"hum != hum", cannot},
		{"air > 56 or hum > 12", yes}, {"hum > 12 or air > 56", yes},
		{"air > 57 or hum > 12", cannot}, {"hum > 12 or air > 57", cannot},
		{"air > 56 and hum > 12", cannot}, {"hum > 12 and air > 56", cannot},
		{"air > 57 and hum > 12", no}, {"hum > 12 and air > 57", no},
		{"not (hum > 12 or air > 56)", no}, {"not (hum > 12 and air > 57)", yes},
		{"smoke", no}, {"not smoke", yes}, {"held", yes}, {"hum_known", no},
		// NaN < 20 would be false and choose 60.
		{"air > (hum < 20 ? 50 : 60)", cannot}, {"air > (hum_known ? 50 : 60)", no},
		{"air > (air > 50 ? 55 : bean)", yes},
		{"abs(hum - 12) > 1", cannot}, {"min(air, bean) > 1", cannot}, {"max(bean, air) > 1", cannot},
		// Division by zero is no number.
		{"1 / (aw - 0.5) > 0", cannot}, {"0 / (aw - 0.5) > 0", cannot},
		{"air / 0 > 1", cannot}, {"-1 / (aw - 0.5) < 0", cannot}, {"air / 2 == 28.5", yes},
		{"process == 'washed'", yes}, {"process != 'washed'", no},
		{"(hum > 3 ? process : owner) == 'washed'", cannot},
		{"(air > 3 ? process : owner) == 'washed'", yes},
		{"came + 1h <= came + 60min", yes},
	} {
		c := r.cond("drum", x.text)
		if got := c.Truth(r.view(r.of("d1"), on(1, "11:30"))); got != x.want {
			t.Errorf("%s is %v, want %v", x.text, got, x.want)
		}
	}
	if got := (*Cond)(nil).Truth(r.view(r.of("d1"), on(1, "11:30"))); got != cannot {
		t.Errorf("no condition is %v", got)
	}
}

// TestMistakes holds that what is not a condition is answered with place, reason and the fix.
func TestMistakes(t *testing.T) {
	r := newRig(t, "")
	for _, x := range []struct {
		text string
		kind MistakeKind
		col  int
		hint string // part of it
	}{
		{"airr > 60", NoSuchName, 1, "air"},
		{"air > limit.drum_air_wett", NoSuchName, 13, "limit.drum_air_wet"},
		{"air > drum_air_wet", NoSuchName, 7, ""},
		{"zzzzzzzzzz > 60", NoSuchName, 1, ""},
		{"spoil > now", NoSuchName, 1, ""},
		{"drying == 'stallling'", NoSuchName, 8, "stalling"},
		{"drying == 'x'", NoSuchName, 8, "surface-water"},
		{"'x' == drying", NoSuchName, 5, "surface-water"},
		{"hum > 12,5", DecimalComma, 9, "12.5"},
		{"abs(hum - 12) > 1,5", DecimalComma, 18, "1.5"},
		{"(hum > 12,5)", DecimalComma, 10, "12.5"},
		{"air = 60", BadSyntax, 5, "=="},
		{"age > 2 h", BadSyntax, 9, "without a space"},
		{"age > 40 min", BadSyntax, 10, "without a space"},
		{"air >", BadSyntax, 5, ""},
		{"air > 60 hum", BadSyntax, 10, ""},
		{"", BadSyntax, 1, ""},
		{"age > 2", MixedUnits, 5, "2h"},
		{"age > hum", MixedUnits, 5, "2h"},
		{"air > 2h", MixedUnits, 5, "2h"},
		{"air > hum", MixedUnits, 5, ""},
		{"hour > 2h", MixedUnits, 6, "plain number"},
		{"now > 5", MixedUnits, 5, "now >= "},
		{"now > 5h", MixedUnits, 5, ""},
		{"came + came > now", MixedUnits, 6, ""},
		{"process > 'washed'", MixedUnits, 9, "'washed'"},
		{"process == 3", MixedUnits, 9, ""},
		{"smoke == held", MixedUnits, 7, ""},
		{"-process == 'a'", MixedUnits, 1, ""},
		{"abs(process) == 'a'", MixedUnits, 1, ""},
		{"min(smoke, held) > 1", MixedUnits, 1, ""},
		{"hum", NotATruth, 1, "hum > 1"},
		{"age", NotATruth, 1, "age > 2h"},
		{"process and smoke", NotATruth, 1, "process == 'washed'"},
		{"smoke and drying", NotATruth, 11, "drying == 'good'"},
		{"2h and smoke", NotATruth, 1, ""},
		{"air + 1", NotATruth, 5, ""},
		{"not hum > 12", NotAllowed, 1, "not (hum > 12)"},
		{"age > air_age", MovesTwice, 5, ""},
		{"now - came > 2h", MovesInside, 1, ""},
		{"age + 1h > 2h", MovesInside, 1, ""},
		{"-age > 2h", MovesInside, 2, ""},
		{"min(age, 2h) > 1h", MovesInside, 5, ""},
		{"(smoke ? age : 1h) > 1h", MovesInside, 10, ""},
		{"age == 2h", EqualMoves, 5, "age >= 2h"},
		{"2h != age", EqualMoves, 4, "age >= 2h"},
		{"hum_now == 12", EqualMoves, 9, ""},
		{"all(air, # > 5)", NotATruth, 1, ""},
		{"count([air, hum], # > 5) > 1", NotAllowed, 1, ""},
		{"len('x') > 0", NotAllowed, 1, ""},
		{"air in [50, 60]", NotATruth, 5, ""},
		{"process matches '^w'", NotATruth, 9, ""},
		{"air ** 2 > 4", NotAllowed, 5, ""},
		{"air % 2 > 1", NotAllowed, 5, ""},
		{"(air ?? 3) > 2", NotAllowed, 6, ""},
		{"let x = 1; air > x", NotATruth, 5, ""},
		{"limit.drum_air_wet", NotATruth, 7, ""},
		{"limit > 3", NoSuchName, 1, ""},
		{"limit.a.b > 3", NotAllowed, 9, ""},
		{"air.x > 3", NotAllowed, 5, ""},
		{"$env > 3", NoSuchName, 1, ""},
		{"now() > 3", NotAllowed, 1, ""},
		{"air > date('2026')", NotAllowed, 7, ""},
		{strings.Repeat("(", 21) + "air > 1" + strings.Repeat(")", 21), TooDeep, 21, "20"},
		{strings.Repeat("air > 1 or ", 60) + "smoke", TooLong, 500, "500"},
		{strings.Repeat("(", 1_000_000), TooLong, 500, "500"},
	} {
		_, err := compile(x.text, r.book, namesOn("drum"))
		var m *Mistake
		if !errors.As(err, &m) {
			t.Errorf("%.40s: %v", x.text, err)
			continue
		}
		if m.Kind != x.kind || m.Col != x.col || !strings.Contains(m.Hint, x.hint) {
			t.Errorf("%.40s: %s at %d, hint %q: %v", x.text, m.Kind, m.Col, m.Hint, m)
		}
		if s := m.Error(); strings.ContainsAny(s, "가각갂") || len(s) > 250 {
			t.Errorf("%.40s is answered with %s", x.text, s)
		}
	}
}

// TestColumnsStayTrue holds that what is put right before reading does not move the columns.
func TestColumnsStayTrue(t *testing.T) {
	r := newRig(t, "")
	for text, col := range map[string]int{
		"air ≥ 60 and humm > 2":                            14,
		"age > 40min and age > 2h and humm > 3":            30,
		"process ≠ “washed” and humm > 1":                  24,
		"air_age > 1.25h AND hum_age > 30min AND humm > 1": 41,
	} {
		_, err := compile(text, r.book, namesOn("drum"))
		var m *Mistake
		if !errors.As(err, &m) || m.Word != "humm" || m.Col != col {
			t.Errorf("%s: %v, want column %d", text, err, col)
		}
	}
}

// TestWhy holds that the comparisons of a condition are given with their two sides.
func TestWhy(t *testing.T) {
	r := newRig(t, "")
	r.say("1 10:00 d1 load p1\n1 11:00 d1 air_c 63\n1 11:00 d1 hum_pct 18")
	v := r.view(r.of("d1"), on(1, "11:30"))
	yes := r.cond("drum", "(air > limit.drum_air_wet or smoke) and not fire_out and "+
		"process == 'washed'").Why(v)
	want := []state.Compared{
		{Text: "air > limit.drum_air_wet", L: 63, R: 60, Is: state.Yes},
		{Text: "not fire_out", Is: state.Yes},
		{Text: "process == 'washed'", LeftWord: "washed", RightWord: "washed", Is: state.Yes},
	}
	if len(yes) != len(want) {
		t.Fatalf("%+v", yes)
	}
	for i := range want {
		if yes[i] != want[i] {
			t.Errorf("%+v, want %+v", yes[i], want[i])
		}
	}
	no := r.cond("drum", "air > limit.drum_air_wet and hum < 12 and temp > 3").Why(v)
	if len(no) != 3 || no[1].Is != state.No || no[1].L != 18 || no[2].Is != state.CannotTell ||
		no[2].L != 0 || math.IsNaN(no[2].L) {
		t.Errorf("%+v", no)
	}
}
