package journal

import (
	"encoding/json"
	"math"

	"lotbell/state"
)

// A record is kind (1 byte), version (1), then as varints: how many places Msg lies before Seq,
// At, Heard less At, By; then the body as JSON. Seq is the record's key.
//
// The wire forms below are what stands on disk. They are apart from the nouns of state so that
// those may change. A flat body is converted whole: a field added to it does not compile here
// until its stored name is given, and so nothing is dropped in silence.
//
// A new field whose empty value is right for old records only needs a name, with omitempty. Any
// other change is the next version of its kind: the old wire form stays under a name with its
// version, and decodeBody lifts it to the noun of today. Records are never rewritten. Names of one
// or two letters keep a reading at some 50 bytes; a letter once used keeps its meaning.

// kind is a body's mark on disk. A letter is never used again for another body.
type kind byte

// The kinds, in the order of state.Body: the floor's four, and the rest.
const (
	kReading  kind = 'r'
	kNote     kind = 'n'
	kTag      kind = 't'
	kMove     kind = 'm'
	kAmend    kind = 'a'
	kSet      kind = 's'
	kPlace    kind = 'p'
	kMeasure  kind = 'w'
	kStaff    kind = 'f'
	kDuty     kind = 'd'
	kReach    kind = 'c'
	kAdopt    kind = 'b'
	kCallStep kind = 'k'
	kBlind    kind = 'g' // a gap
	kClock    kind = 'u' // a clock put right
	kStart    kind = 'o'
)

// version is the version that records of every kind are written in so far.
const version = 1

// wireReading is a measured value. x is in the unit of its quantity, s the figure as spoken.
type wireReading struct {
	Place  string      `json:"p,omitempty"`
	Lot    state.LotID `json:"l,omitempty"`
	What   string      `json:"w,omitempty"`
	Value  float64     `json:"x,omitempty"`
	Digits int8        `json:"d,omitempty"`
	Method string      `json:"m,omitempty"`
	Depth  string      `json:"z,omitempty"`
	Said   string      `json:"s,omitempty"`
	Hot    bool        `json:"h,omitempty"`
}

// wireNote is a mark: something seen or done.
type wireNote struct {
	Place string      `json:"p,omitempty"`
	Lot   state.LotID `json:"l,omitempty"`
	What  string      `json:"w,omitempty"`
}

// wireTag is an attribute of the coffee at a place.
type wireTag struct {
	Place string      `json:"p,omitempty"`
	Lot   state.LotID `json:"l,omitempty"`
	Name  string      `json:"n,omitempty"`
	Value string      `json:"x,omitempty"`
}

// wireMove is coffee that leaves (o) and arrives (i).
type wireMove struct {
	Act  string     `json:"w,omitempty"`
	Out  []wirePart `json:"o,omitempty"`
	In   []wirePart `json:"i,omitempty"`
	Said string     `json:"s,omitempty"`
}

// wirePart is one side of a move. Masses are whole grams; none is "not weighed".
type wirePart struct {
	Lot      state.LotID `json:"l,omitempty"`
	Place    string      `json:"p,omitempty"`
	Mass     state.Grams `json:"g,omitempty"`
	All      bool        `json:"a,omitempty"`
	Derived  bool        `json:"d,omitempty"`
	Moisture float64     `json:"m,omitempty"`
	Class    string      `json:"c,omitempty"`
}

// wireAmend holds a record within a record: the body that replaces the one of event "of", with a
// kind and version of its own, so that it is lifted like any other. Without one it withdraws.
type wireAmend struct {
	Of      state.Seq       `json:"of"`
	At      state.Instant   `json:"at,omitempty"`
	Kind    string          `json:"k,omitempty"` // "": withdrawn
	Version byte            `json:"v,omitempty"`
	Body    json.RawMessage `json:"b,omitempty"`
}

// wireSet is one fact about the site, as number or text.
type wireSet struct {
	Name   string  `json:"n,omitempty"`
	Number float64 `json:"x,omitempty"`
	Text   string  `json:"s,omitempty"`
}

// wirePlace names a place, or closes it.
type wirePlace struct {
	Name      string      `json:"n,omitempty"`
	Kind      state.Kind  `json:"k,omitempty"`
	Capacity  state.Grams `json:"g,omitempty"`
	Area      float64     `json:"a,omitempty"`
	DialWhere string      `json:"dw,omitempty"`
	DialUnit  string      `json:"du,omitempty"`
	Cover     string      `json:"cv,omitempty"`
	Probe     string      `json:"pr,omitempty"`
	Gone      bool        `json:"gone,omitempty"`
}

// wireMeasure is what a measure word weighs.
type wireMeasure struct {
	Word    string      `json:"w,omitempty"`
	Product string      `json:"p,omitempty"`
	Mass    state.Grams `json:"g,omitempty"`
}

// wireStaff is who somebody is for the mill. Names are not in it, nor in any other record.
type wireStaff struct {
	Person state.PersonID `json:"u,omitempty"`
	Roles  []state.Role   `json:"r,omitempty"`
	Posts  []state.Kind   `json:"p,omitempty"`
	Lang   string         `json:"l,omitempty"`
	Wakes  string         `json:"wk,omitempty"`
	Gone   bool           `json:"gone,omitempty"`
}

// wireDuty begins or ends a shift.
type wireDuty struct {
	Person state.PersonID `json:"u,omitempty"`
	On     bool           `json:"on,omitempty"`
	Over   bool           `json:"ov,omitempty"`
	Away   bool           `json:"aw,omitempty"`
	Until  state.Instant  `json:"t,omitempty"`
}

// wireReach is whether somebody can be reached. Not being there is "no".
type wireReach struct {
	Person state.PersonID `json:"u,omitempty"`
	OK     bool           `json:"ok,omitempty"`
}

// wireAdopt is a rule book, whole.
type wireAdopt struct {
	Version int    `json:"v,omitempty"`
	Text    string `json:"t,omitempty"`
	Why     string `json:"w,omitempty"`
}

// wireStep is a step of a call. It is the largest record but for books: the numbers it rested on
// stand in it, because they are never worked out anew.
type wireStep struct {
	Rule     string           `json:"r,omitempty"`
	Of       wireSubject      `json:"of"`
	What     string           `json:"w,omitempty"`
	Number   int              `json:"n,omitempty"`
	Priority int              `json:"q,omitempty"`
	To       []state.PersonID `json:"to,omitempty"`
	For      []state.PersonID `json:"for,omitempty"`
	Rung     int              `json:"g,omitempty"`
	Until    state.Instant    `json:"u,omitempty"`
	Since    state.Instant    `json:"s,omitempty"`
	Window   []state.Instant  `json:"win,omitempty"` // two, or none
	Why      []wireCompared   `json:"y,omitempty"`
	Book     int              `json:"b,omitempty"`
	Reason   string           `json:"z,omitempty"`
}

// wireSubject is what a rule is about; a stay is named by the event that opened it and its lot.
type wireSubject struct {
	Kind   string      `json:"k,omitempty"`
	Name   string      `json:"n,omitempty"`
	Opened state.Seq   `json:"o,omitempty"`
	Lot    state.LotID `json:"l,omitempty"`
}

// wireCompared is one comparison. Its figures may be missing.
type wireCompared struct {
	Text      string      `json:"t,omitempty"`
	L         figure      `json:"l,omitempty"`
	R         figure      `json:"r,omitempty"`
	LeftWord  string      `json:"lw,omitempty"`
	RightWord string      `json:"rw,omitempty"`
	Is        state.Truth `json:"is,omitempty"`
}

// wireBlind is a gap in which nothing could ring.
type wireBlind struct {
	From state.Instant `json:"f,omitempty"`
	To   state.Instant `json:"t,omitempty"`
}

// wireClock is a clock that was put right.
type wireClock struct {
	Was state.Instant `json:"w,omitempty"`
	Is  state.Instant `json:"i,omitempty"`
}

// wireStart is a start of the program.
type wireStart struct {
	Program string `json:"p,omitempty"`
}

// figure is a number that may be missing (NaN) or endless, which JSON has no numbers for.
type figure float64

// MarshalJSON writes a number, or "nan", "inf" or "-inf".
func (f figure) MarshalJSON() ([]byte, error) {
	switch v := float64(f); {
	case math.IsNaN(v):
		return []byte(`"nan"`), nil
	case math.IsInf(v, 1):
		return []byte(`"inf"`), nil
	case math.IsInf(v, -1):
		return []byte(`"-inf"`), nil
	}
	return json.Marshal(float64(f))
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (f *figure) UnmarshalJSON(b []byte) error {
	switch string(b) {
	case `"nan"`:
		*f = figure(math.NaN())
	case `"inf"`:
		*f = figure(math.Inf(1))
	case `"-inf"`:
		*f = figure(math.Inf(-1))
	default:
		return json.Unmarshal(b, (*float64)(f))
	}
	return nil
}
