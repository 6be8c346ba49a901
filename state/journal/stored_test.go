package journal

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"unsafe"

	"pgregory.net/rapid"

	"lotbell/state"
)

// bodies has one of every kind of body, empty.
func bodies() []state.Body {
	return []state.Body{state.Reading{}, state.Note{}, state.Tag{}, state.Move{}, state.Amend{},
		state.Set{}, state.SetPlace{}, state.SetMeasure{}, state.Staff{}, state.Duty{},
		state.Reach{}, state.Adopt{}, state.CallStep{}, state.Blind{}, state.Clock{},
		state.Start{}}
}

// fill draws a value for every field of v, so that a field without a stored name is seen.
func fill(t *rapid.T, v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			fill(t, v.Field(i))
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(t, v.Index(i))
		}
	case reflect.Slice:
		if n := rapid.IntRange(0, 3).Draw(t, "length"); n > 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
		}
		for i := range v.Len() {
			fill(t, v.Index(i))
		}
	case reflect.String:
		v.SetString(rapid.OneOf(rapid.SampledFrom([]string{"", "t3", "mass_c", `\ufffd`, "<&>"}),
			rapid.String()).Draw(t, "text"))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, "yes"))
	case reflect.Float64:
		v.SetFloat(rapid.Float64Range(-1e300, 1e300).Draw(t, "number"))
	case reflect.Interface: // the body of an amendment
		if rapid.Bool().Draw(t, "withdrawn") {
			return
		}
		b := reflect.New(reflect.TypeOf(rapid.SampledFrom(bodies()).Draw(t, "inner"))).Elem()
		if b.Type() != reflect.TypeOf(state.Amend{}) { // one level is enough
			fill(t, b)
		}
		v.Set(b)
	default:
		if v.CanInt() {
			v.SetInt(rapid.Int64().Draw(t, "whole"))
		} else {
			v.SetUint(rapid.Uint64().Draw(t, "count"))
		}
	}
}

// anyEvent draws an event of any kind for a place in the journal.
func anyEvent(t *rapid.T, seq state.Seq) state.Event {
	b := reflect.New(reflect.TypeOf(rapid.SampledFrom(bodies()).Draw(t, "body"))).Elem()
	fill(t, b)
	return state.Event{
		Seq: seq, Msg: state.Seq(rapid.Uint64Range(0, uint64(seq)).Draw(t, "msg")),
		At:    state.Instant(rapid.Int64Range(-1<<50, 1<<50).Draw(t, "at")),
		Heard: state.Instant(rapid.Int64Range(-1<<50, 1<<50).Draw(t, "heard")),
		By:    state.PersonID(rapid.Uint32().Draw(t, "by")),
		Body:  b.Interface().(state.Body),
	}
}

// TestStoredBack stores events of every kind with every field filled and reads them back.
func TestStoredBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anyEvent(t, state.Seq(rapid.Uint64Range(1, math.MaxUint64).Draw(t, "seq")))
		b, err := encodeEvent(&e)
		if err != nil {
			t.Fatal(err)
		}
		back, err := decodeEvent(e.Seq, b, vocabulary{})
		if err != nil || !reflect.DeepEqual(back, e) {
			t.Fatalf("%s\nis %#v (%v)\nnot %#v", b, back, err, e)
		}
	})
}

// TestStoredForm pins what stands on disk: records of today must be read for ever.
func TestStoredForm(t *testing.T) {
	at := state.Instant(1_000)
	for _, c := range []struct {
		body state.Body
		want string
	}{
		{state.Reading{Place: "t3", What: state.PH, Value: 4.2, Digits: 1},
			`r|{"p":"t3","w":"ph","x":4.2,"d":1}`},
		{state.Note{Place: "t3", What: state.Rough}, `n|{"p":"t3","w":"rough"}`},
		{state.Tag{Place: "t3", Name: "class", Value: "A"}, `t|{"p":"t3","n":"class","x":"A"}`},
		{state.Move{Act: state.ActLoad, Out: []state.Part{{Place: "p1", All: true}},
			In: []state.Part{{Place: "d1", Lot: 7, Mass: 2500}}},
			`m|{"w":"load","o":[{"p":"p1","a":true}],"i":[{"l":7,"p":"d1","g":2500}]}`},
		{state.Amend{Of: 4}, `a|{"of":4}`},
		{state.Amend{Of: 4, At: at, Body: state.Note{Place: "t3"}},
			`a|{"of":4,"at":1000,"k":"n","v":1,"b":{"p":"t3"}}`},
		{state.Set{Name: state.SetZone, Text: "UTC"}, `s|{"n":"zone","s":"UTC"}`},
		{state.SetPlace{Name: "t3", Kind: state.Tank}, `p|{"n":"t3","k":"tank"}`},
		{state.SetMeasure{Word: "lata", Mass: 20_000}, `w|{"w":"lata","g":20000}`},
		{state.Staff{Person: 2, Roles: []state.Role{state.Manager}}, `f|{"u":2,"r":["manager"]}`},
		{state.Duty{Person: 2, On: true}, `d|{"u":2,"on":true}`},
		{state.Reach{Person: 2, OK: true}, `c|{"u":2,"ok":true}`},
		{state.Adopt{Version: 1, Text: "x"}, `b|{"v":1,"t":"x"}`},
		{state.CallStep{Rule: "warm", Of: state.Subject{Kind: state.OfStay, Name: "t3",
			Stay: state.StayID{Opened: 5, Lot: 7}}, What: state.Rang, Since: at,
			Window: [2]state.Instant{1, 2},
			Why:    []state.Compared{{Text: "a < b", L: math.Inf(-1), R: 2, Is: state.Yes}}},
			`k|{"r":"warm","of":{"k":"stay","n":"t3","o":5,"l":7},"w":"rang","s":1000,` +
				`"win":[1,2],"y":[{"t":"a \u003c b","l":"-inf","r":2,"is":2}]}`},
		{state.Blind{From: 1, To: 2}, `g|{"f":1,"t":2}`},
		{state.Clock{Was: 2, Is: 1}, `u|{"w":2,"i":1}`},
		{state.Start{Program: "1"}, `o|{"p":"1"}`},
	} {
		k, js, err := encodeBody(c.body)
		if got := fmt.Sprintf("%c|%s", k, js); err != nil || got != c.want {
			t.Errorf("%#v\nis stored as %s (%v)\nwant        %s", c.body, got, err, c.want)
		}
		if back, err := decodeBody(k, 1, js, nil); err != nil || !reflect.DeepEqual(back, c.body) {
			t.Errorf("%s read back as %#v (%v)", js, back, err)
		}
	}
}

// TestMissingFigure keeps a number that was missing when a call rang.
func TestMissingFigure(t *testing.T) {
	s := state.CallStep{Why: []state.Compared{{L: math.NaN(), R: math.Inf(1)}}}
	k, js, err := encodeBody(s)
	if err != nil {
		t.Fatal(err)
	}
	back, err := decodeBody(k, version, js, nil)
	if err != nil {
		t.Fatal(err)
	}
	why := back.(state.CallStep).Why[0]
	if !math.IsNaN(why.L) || !math.IsInf(why.R, 1) {
		t.Fatalf("%s read back as %v", js, why)
	}
}

// TestUnstorable refuses what JSON would change or cannot say.
func TestUnstorable(t *testing.T) {
	for _, c := range []struct {
		body state.Body
		want string
	}{
		{state.Adopt{Text: "caf\xe9"}, "not UTF-8"},
		{state.Amend{Of: 1, Body: state.Note{What: "caf\xe9"}}, "not UTF-8"},
		{state.Reading{Value: math.NaN()}, "NaN"},
		{nil, "cannot be stored"},
		{&state.Note{}, "cannot be stored"},
	} {
		if _, _, err := encodeBody(c.body); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%#v: %v, want %q", c.body, err, c.want)
		}
	}
}

// TestLaterKind tells a kind or version of tomorrow from damage.
func TestLaterKind(t *testing.T) {
	for _, b := range []string{"z\x01\x00\x00\x00\x00{}", "r\x02\x00\x00\x00\x00{}",
		"a\x01\x00\x00\x00\x00" + `{"of":1,"k":"z","v":1,"b":{}}`} {
		_, err := decodeEvent(9, []byte(b), nil)
		var later laterKind
		if !errors.As(err, &later) {
			t.Errorf("%q: %v", b, err)
		}
	}
	for _, b := range []string{"", "r", "r\x01", "r\x01\x00\x00", "r\x01\x00\x00\x00\x00{"} {
		_, err := decodeEvent(9, []byte(b), nil)
		var later laterKind
		if err == nil || errors.As(err, &later) {
			t.Errorf("%q: %v", b, err)
		}
	}
}

// FuzzRecord reads any bytes as a record: it may fail, and what it takes can be stored again and
// read back the same.
func FuzzRecord(f *testing.F) {
	for i, b := range bodies() {
		rec, err := encodeEvent(&state.Event{Seq: 9, Msg: 8, At: -5, Heard: 7, By: 3, Body: b})
		if err != nil {
			f.Fatal(i, err)
		}
		f.Add(rec)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := decodeEvent(9, b, vocabulary{})
		if err != nil {
			return
		}
		again, err := encodeEvent(&e)
		if err != nil {
			t.Fatalf("%q is %#v, which is not stored: %v", b, e, err)
		}
		back, err := decodeEvent(9, again, vocabulary{})
		if err != nil || fmt.Sprintf("%#v", back) != fmt.Sprintf("%#v", e) { // NaN is not itself
			t.Fatalf("%q is %#v and then %#v, %v", b, e, back, err)
		}
	})
}

// TestWordsAreShared keeps one copy of a place's name for all events.
func TestWordsAreShared(t *testing.T) {
	v := vocabulary{}
	var first *byte
	for i := range 3 {
		b, err := decodeBody(kReading, version, []byte(`{"p":"tank-3","w":"ph"}`), v)
		if err != nil {
			t.Fatal(err)
		}
		at := unsafe.StringData(b.(state.Reading).Place)
		if i > 0 && at != first {
			t.Fatal("a second copy of the place's name")
		}
		first = at
	}
}

// TestCastagnoli checks the CRC against RFC 3720, appendix B.4, and against the check value of
// CRC-32/ISCSI in the catalogue of parametrised CRC algorithms.
func TestCastagnoli(t *testing.T) {
	up := make([]byte, 32)
	for i := range up {
		up[i] = byte(i)
	}
	for _, c := range []struct {
		in   string
		want uint32
	}{
		{strings.Repeat("\x00", 32), 0x8A9136AA},
		{strings.Repeat("\xff", 32), 0x62A8AB43},
		{string(up), 0x46DD794E},
		{"123456789", 0xE3069283},
	} {
		for cut := range len(c.in) - 1 { // name, key and value together are one text
			got := sum(c.in[:cut], []byte(c.in[cut:cut+2]), []byte(c.in[cut+2:]))
			if got != c.want {
				t.Fatalf("%q cut at %d: %#x, want %#x", c.in, cut, got, c.want)
			}
		}
	}
}
