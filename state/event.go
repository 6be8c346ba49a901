package state

import (
	"strconv"
	"strings"
	"time"
)

// Seq is an event's place in the journal, given once by the one writer. 0 is no event.
type Seq uint64

// PersonID names a person. Names and addresses live in the address book of the journal, where
// they can be erased; events hold only this. 0 is Lotbell itself.
type PersonID uint32

// Instant is a moment in UTC, in whole milliseconds since 1970. 0 means "not given".
type Instant int64

// At turns a clock time into an Instant.
func At(t time.Time) Instant {
	if t.IsZero() {
		return 0
	}
	return Instant(t.UnixMilli())
}

// Time is the same moment as a clock time in UTC; the zero Instant is the zero Time.
func (i Instant) Time() time.Time {
	if i == 0 {
		return time.Time{}
	}
	return time.UnixMilli(int64(i)).UTC()
}

// Add moves an Instant by d.
func (i Instant) Add(d time.Duration) Instant { return i + Instant(d.Milliseconds()) }

// Sub is the time from j to i.
func (i Instant) Sub(j Instant) time.Duration { return time.Duration(i-j) * time.Millisecond }

// Event is one thing heard. Reading, Note, Tag and Move count from At, ties in journal order; all
// other bodies count in the order they were heard. Msg is the first event of the same line of
// chat, which is what undo takes back. By is 0 for what Lotbell does itself.
type Event struct {
	Seq, Msg  Seq
	At, Heard Instant
	By        PersonID
	Body      Body
}

// Body is what an event says. The set is closed: Reading, Note, Tag, Move (the floor's), and
// Amend, Set, SetPlace, SetMeasure, Staff, Duty, Reach, Adopt, CallStep, Blind, Clock, Start.
type Body interface{ body() }

// Reading is one measured value at a place. Value is in the unit of What (see Quantities); Said
// keeps the figure and unit as spoken when they differ ("130 F").
type Reading struct {
	Place  string
	Lot    LotID // 0: whatever was there
	What   string
	Value  float64
	Digits int8 // decimals as spoken: nothing is shown finer
	Method string
	Depth  string // "top", "middle", "bottom", or "" for not said
	Said   string
	Hot    bool // taken from hot coffee: reads low near the end
}

// Note is something seen or done: a word from Marks at a place. The place Whole stands for the
// mill (power, water, rain, help).
type Note struct {
	Place string
	Lot   LotID
	What  string
}

// Tag gives the coffee at a place an attribute: class, process, owner, claim or hold.
type Tag struct {
	Place       string
	Lot         LotID
	Name, Value string
}

// Move is coffee that leaves and arrives: filled, washed, spread, loaded, unloaded, stored,
// shipped. What it cannot take from where it says is found; what arrives less is lost.
type Move struct {
	Act  string // one of Acts
	Said string // the amount as spoken, where it was worked out: "12 debe", "1850 lb"
	Out  []Part
	In   []Part
}

// Each is the measure that a move was both counted and weighed in, and what one of it weighed:
// "35 sack" of 2065 kg. No measure, when it was not weighed or not counted.
func (b Move) Each() (measure string, each Grams) {
	var mass Grams
	for _, p := range b.In {
		if p.Derived {
			return "", 0
		}
		mass += p.Mass
	}
	figure, measure, ok := strings.Cut(b.Said, " ")
	n, err := strconv.ParseFloat(figure, 64)
	if !ok || err != nil || !(n >= 1) || mass <= 0 || measure == "lb" || measure == "t" ||
		strings.Contains(measure, " ") {
		return "", 0
	}
	return measure, Grams(float64(mass) / n)
}

// Part is one side of a move. Among Out, Lot 0 is whatever lies there and All takes all of it.
// Among In, Lot is a fresh number, used unless the coffee keeps its own. Mass 0 is not weighed.
type Part struct {
	Lot      LotID
	Place    string
	Mass     Grams
	All      bool
	Derived  bool    // the mass was worked out from a measure or a share, not weighed
	Moisture float64 // % wet basis beside the mass; 0: not known
	Class    string  // In: the class the part goes by from here on
}

// Amend replaces the floor event Of, or withdraws it when Body is nil. The event keeps its
// identity; the last amendment wins.
type Amend struct {
	Of   Seq
	At   Instant // 0: as before
	Body Body
}

// Set states one fact about the site: a name from Settings, as a number or as text.
type Set struct {
	Name   string
	Number float64
	Text   string
}

// SetPlace names a place of the mill, or closes it.
type SetPlace struct {
	Name      string
	Kind      Kind
	Capacity  Grams   // 0: not told
	Area      float64 // m², patios; 0: not told
	DialWhere string  // "inlet", "exhaust", "coffee"; "": not told
	DialUnit  string  // "C", "F"; "": not told
	Cover     string  // tanks: "open", "covered" or "water" (the coffee is under it); "": not told
	Probe     string  // tanks: "yes" or "no", a thermometer; "": not told
	Gone      bool
}

// SetMeasure says what a measure word weighs here, for one product.
type SetMeasure struct {
	Word, Product string
	Mass          Grams
}

// Staff says who somebody is for the mill: roles, posts, language; or that they have left.
type Staff struct {
	Person PersonID
	Roles  []Role
	Posts  []Kind
	Lang   string
	Wakes  string // off shift, at night: "" all, "urgent" only what burns or hurts, "never"
	Gone   bool
}

// Duty says that somebody begins or ends a shift. On ends by itself after DutyEnds. Who goes off
// keeps their calls until somebody has received them; Over ends that. Who is Away is not called at
// all, until an instant or, with none, until they come on.
type Duty struct {
	Person PersonID
	On     bool
	Over   bool    // off: what was in hand has been received or has gone up the ladder
	Away   bool    // off: not at the mill
	Until  Instant // Away: 0: not told
}

// Reach says whether somebody can be reached: false after the transport was told so.
type Reach struct {
	Person PersonID
	OK     bool
}

// Adopt puts a rule book in force. Version counts from 1; the text is the whole book.
type Adopt struct {
	Version int
	Text    string
	Why     string
}

// Blind is a gap in which Lotbell was not running: nothing could ring in it.
type Blind struct{ From, To Instant }

// Clock says that the clock had been ahead: it had come to Was, and Is was right. What was heard
// before has happened by then: whatever stands later counts as at Is. It is the one event that is
// heard earlier than the one before it.
type Clock struct{ Was, Is Instant }

// Start is one start of the program, with its version.
type Start struct{ Program string }

func (Reading) body()    {}
func (Note) body()       {}
func (Tag) body()        {}
func (Move) body()       {}
func (Amend) body()      {}
func (Set) body()        {}
func (SetPlace) body()   {}
func (SetMeasure) body() {}
func (Staff) body()      {}
func (Duty) body()       {}
func (Reach) body()      {}
func (Adopt) body()      {}
func (CallStep) body()   {}
func (Blind) body()      {}
func (Clock) body()      {}
func (Start) body()      {}

// key orders floor events: by instant, ties by journal place.
type key struct {
	at  Instant
	seq Seq
}

func (e *Event) key() key { return key{e.At, e.Seq} }

func (k key) before(o key) bool { return k.at < o.at || k.at == o.at && k.seq < o.seq }
