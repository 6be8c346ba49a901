package bot

import (
	"time"

	"lotbell/state"
)

// Context is what is known when a line is read: plain values made by the desk, so that reading
// needs no mill and can be tried, tabled and fuzzed alone. The zero value knows nothing.
type Context struct {
	At       state.Instant  // when the line was sent
	Zone     *time.Location // nil: UTC
	Lang     string         // the sender's; words of every language are understood all the same
	Posts    []state.Kind   // the sender's posts, the present one first
	Decides  bool           // may order a wash or an unloading
	Asked    *Asked         // the question this person was last asked, minutes ago
	Places   []PlaceView
	Calls    []int // numbers of the calls that stand for this person
	People   []string
	Decimal  byte                          // '.', ',' or 0: not told
	Measures map[string]map[string]float64 // measure word, product ("" any), kg
	Waiting  bool                          // coffee has left a place and reached no other

	names []string // of Places, folded; nil: to be made
}

// Asked is a question that waits for an answer of this person.
type Asked struct {
	Place string
	What  string // a quantity ("hum_pct"), an act ("kg"), or Confirm
	Facts []Fact // what a "yes" would take
	Line  string // the line that was asked about, where only its place is missing
}

// Confirm is the Asked.What of a question that takes yes or no.
const Confirm = "yes-no"

// PlaceView is what a reader must know of a place.
type PlaceView struct {
	Name     string
	Kind     state.Kind
	Holds    bool // coffee is in it
	Closed   bool // a tank that was called full
	Washed   bool // the coffee there is washed
	Soaking  bool
	Capacity float64 // kg; 0: not told
	Usual    float64 // kg of a usual load here; 0: not known
	Dial     string  // "C", "F" or ""
	Moisture float64 // last known, % wet basis; 0: not known
	Since    state.Instant
	Lit      bool // a drum with its fire lit
}

// Outcome is what becomes of a line.
type Outcome string

// The outcomes. Taken needs no word more; SaidBack is taken with its guess said; Asked stores only
// the words until it is answered; PassedOn goes to whoever decides; Refused is impossible, unsafe
// or not kept here, and says so kindly.
const (
	IsTaken    Outcome = "taken"
	IsSaidBack Outcome = "said-back"
	IsAsked    Outcome = "asked"
	IsPassedOn Outcome = "passed-on"
	IsRefused  Outcome = "refused"
)

// Fact is one thing understood from a line. What is a quantity of state.Quantities, a mark of
// state.Marks, an act of state.Acts, or one of the words below.
type Fact struct {
	Place   string
	From    []string // moves: where the coffee comes from, when said
	To      string   // moves: where it goes, when said
	What    string
	Value   float64 // in Unit
	Has     bool    // Value was said
	Unit    string  // "kg", "C", "%", "pH", a measure word, "bag", …
	Said    string  // figure and unit as spoken, where converted; what was counted besides
	Derived bool    // Value was worked out from what the mill says that a measure weighs
	Digits  int8
	Word    string // further word: a class, a depth, a method, a supplier, a person, a call's word
	At      state.Instant
	Told    bool        // the instant was said, not taken from the message
	Urgent  bool        // pass on at once
	Product string      // of an amount: cherry, pulped, wet, dry or green; "": not said
	Lot     state.LotID // a lot named by its number; 0: none
	Doubt   []Doubt
}

// Doubt is a guess inside a fact: what was guessed, how surely, and what would settle it.
type Doubt struct {
	What   string  // "place", "unit", "decimal", "time", "what", "mass", …
	Sure   float64 // 0 to 1
	Settle string  // the question's key: "dial?", "which-place", "kg?", …
}

// The further words of Fact.What: the conversation itself.
const (
	SaysYes     = "yes"
	SaysNo      = "no"
	SaysOk      = "ok"    // takes a call; Value its number when Has
	SaysLater   = "later" // puts a call aside; Value its number, Said the time
	SaysUndo    = "undo"
	SaysWhy     = "why"
	SaysDue     = "due"
	SaysHow     = "how" // "t3?"
	SaysMill    = "slate"
	SaysHelpMe  = "words"     // how do I use this
	SaysOn      = "shift-in"  // on duty
	SaysOff     = "shift-out" // off duty
	SaysLang    = "lang"
	SaysAgain   = "say-again"
	SaysCorrect = "correct"    // "no, 480": the last line's figure was wrong
	SaysLot     = "whole-lot"  // "lot 4?"
	SaysCount   = "count"      // counted bags: private to the manager
	SaysClass   = "class"      // one class of a channel's split; Word its name
	SaysCap     = "wants-room" // asks whether a drum or patio is free
	SaysUnsafe  = "unsafe"     // enter, climb, reach in
	SaysPrivate = "not-kept"   // pay, gossip
	SaysHello   = "hello"
	SaysAsks    = "asks"     // wants something done: Word is the mark or act ("covered", "load")
	SaysPicked  = "picked"   // when fruit was picked: At
	SaysReject  = "rejected" // part of a delivery that was turned away: Value in Unit
	SaysHolds   = "holds"    // handing over: coffee is in this place
	SaysHold    = "hold"     // the lot here, or Lot, is not to be moved
	SaysProcess = "process"  // Word: washed, honey or natural
	SaysSample  = "sample"   // a buyer's answer: Word approved or rejected, Said the reason
	SaysNot     = "not"      // looked at and not so, or not done: Word is the mark or act denied
	SaysTrouble = "trouble"  // something no rule knows, for the manager: Word leak, animals, fire
	SaysUnknown = "unknown"  // the answer to a question: not known
	SaysBy      = "supplier" // the answer to "who brought it": Word
	SaysFuel    = "fuel"     // fuel left: Value in Unit, Word wood or husk
)

// Heard is what was understood from a line. The facts of an asked or refused line are what a "yes"
// would take. A line that is taken or said back may carry a question all the same.
type Heard struct {
	Outcome Outcome
	Facts   []Fact
	Spanish bool     // its words are Spanish or Portuguese, and none is English alone
	Left    []Fact   // what a question leaves open of which the rest is taken: its choices
	Ask     string   // the key of the question to ask back, "" for none: see AskAgain and others
	About   string   // the word or figure the question is about
	Place   string   // where, when no fact tells it
	Near    string   // the nearest word, place or figure, when a near miss was seen
	Room    []string // the choices that the question leaves: places, quantities or calls
}
