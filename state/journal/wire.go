package journal

import (
	"encoding/json"
	"math"

	"lotbell/state"
)

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

type wireNote struct {
	Place string      `json:"p,omitempty"`
	Lot   state.LotID `json:"l,omitempty"`
	What  string      `json:"w,omitempty"`
}

type wireTag struct {
	Place string      `json:"p,omitempty"`
	Lot   state.LotID `json:"l,omitempty"`
	Name  string      `json:"n,omitempty"`
	Value string      `json:"x,omitempty"`
}

type wireMove struct {
	Act string     `json:"w,omitempty"`
	Out []wirePart `json:"o,omitempty"`
	In  []wirePart `json:"i,omitempty"`
}

type wirePart struct {
	Lot      state.LotID `json:"l,omitempty"`
	Place    string      `json:"p,omitempty"`
	Mass     state.Grams `json:"g,omitempty"`
	All      bool        `json:"a,omitempty"`
	Derived  bool        `json:"d,omitempty"`
	Moisture float64     `json:"m,omitempty"`
	Class    string      `json:"c,omitempty"`
}

type wireAmend struct {
	Of      state.Seq       `json:"of"`
	At      state.Instant   `json:"at,omitempty"`
	Kind    string          `json:"k,omitempty"` // "": withdrawn
	Version byte            `json:"v,omitempty"`
	Body    json.RawMessage `json:"b,omitempty"`
}

type wireSet struct {
	Name   string  `json:"n,omitempty"`
	Number float64 `json:"x,omitempty"`
	Text   string  `json:"s,omitempty"`
}

type wirePlace struct {
	Name      string      `json:"n,omitempty"`
	Kind      state.Kind  `json:"k,omitempty"`
	Capacity  state.Grams `json:"g,omitempty"`
	Area      float64     `json:"a,omitempty"`
	DialWhere string      `json:"dw,omitempty"`
	DialUnit  string      `json:"du,omitempty"`
	Gone      bool        `json:"gone,omitempty"`
}

type wireMeasure struct {
	Word    string      `json:"w,omitempty"`
	Product string      `json:"p,omitempty"`
	Mass    state.Grams `json:"g,omitempty"`
}

type wireStaff struct {
	Person state.PersonID `json:"u,omitempty"`
	Roles  []state.Role   `json:"r,omitempty"`
	Posts  []state.Kind   `json:"p,omitempty"`
	Lang   string         `json:"l,omitempty"`
	Gone   bool           `json:"gone,omitempty"`
}

type wireDuty struct {
	Person state.PersonID `json:"u,omitempty"`
	On     bool           `json:"on,omitempty"`
}

type wireReach struct {
	Person state.PersonID `json:"u,omitempty"`
	OK     bool           `json:"ok,omitempty"`
}

type wireAdopt struct {
	Version int    `json:"v,omitempty"`
	Text    string `json:"t,omitempty"`
	Why     string `json:"w,omitempty"`
}

type wireStep struct {
	Rule     string           `json:"r,omitempty"`
	Of       wireSubject      `json:"of"`
	What     string           `json:"w,omitempty"`
	Number   int              `json:"n,omitempty"`
	Priority int              `json:"q,omitempty"`
	To       []state.PersonID `json:"to,omitempty"`
	Rung     int              `json:"g,omitempty"`
	Until    state.Instant    `json:"u,omitempty"`
	Since    state.Instant    `json:"s,omitempty"`
	Window   []state.Instant  `json:"win,omitempty"` // two, or none
	Why      []wireCompared   `json:"y,omitempty"`
	Book     int              `json:"b,omitempty"`
	Reason   string           `json:"z,omitempty"`
}

type wireSubject struct {
	Kind   string      `json:"k,omitempty"`
	Name   string      `json:"n,omitempty"`
	Opened state.Seq   `json:"o,omitempty"`
	Lot    state.LotID `json:"l,omitempty"`
}

type wireCompared struct {
	Text      string      `json:"t,omitempty"`
	L         figure      `json:"l,omitempty"`
	R         figure      `json:"r,omitempty"`
	LeftWord  string      `json:"lw,omitempty"`
	RightWord string      `json:"rw,omitempty"`
	Is        state.Truth `json:"is,omitempty"`
}

type wireBlind struct {
	From state.Instant `json:"f,omitempty"`
	To   state.Instant `json:"t,omitempty"`
}

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
