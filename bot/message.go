package bot

import (
	"strings"

	"lotbell/state"
)

// Address is where somebody is reached: a transport and that transport's own name for the chat.
type Address struct{ Via, ID string }

// String is the address as one word, "telegram:4711".
func (a Address) String() string { return a.Via + ":" + a.ID }

// MessageKind is what came in.
type MessageKind string

// The kinds of message. Edited replaces an earlier text with the same ID; Blocked and Unblocked
// say that the person shut or opened the chat; Moved says that the chat now has the address To.
const (
	Text      MessageKind = "text"
	Edited    MessageKind = "edited"
	Voice     MessageKind = "voice"
	Photo     MessageKind = "photo"
	Sticker   MessageKind = "sticker"
	Location  MessageKind = "location"
	Other     MessageKind = "other"
	Blocked   MessageKind = "blocked"
	Unblocked MessageKind = "unblocked"
	Moved     MessageKind = "moved"
	Document  MessageKind = "document"  // a text file
	Rehearsed MessageKind = "rehearsed" // from the program itself: the result of slow work
	Missed    MessageKind = "missed"    // from the program itself: messages from At to Until are lost
	Trouble   MessageKind = "trouble"   // from the program itself: Text is one of those below
	ClockWas  MessageKind = "clock-was" // from the program itself: its clock was wrong, At to Until
)

// What a Trouble is: somebody else fetches the messages; no copy of the journal can be written.
const (
	TakenAway = "taken-away"
	NoCopy    = "no-copy"
)

// Message is one thing a transport brought in, without any type of the transport.
type Message struct {
	From  Address
	ID    string        // the transport's own id of the message within the chat
	At    state.Instant // when it was sent
	Kind  MessageKind
	Text  string        // words, also of a caption or a pressed button
	File  string        `json:",omitempty"` // Document: its text; "" when it did not arrive
	Name  string        // how the sender calls themselves
	Lang  string        // two letters, "" when the transport does not tell
	Group bool          // From is a group
	By    Address       // the speaker's own address when From is a group, zero if not told
	To    Address       // Moved only
	Until state.Instant // Missed and ClockWas only
}

// Outgoing is one thing to be sent. Keys is a keyboard of plain texts: a press sends the text, so
// it never expires.
type Outgoing struct {
	Text    string
	Keys    [][]string `json:",omitempty"`
	ReplyTo string     `json:",omitempty"` // the ID of the message that is answered
	File    *File      `json:",omitempty"` // a text file that goes with it
	Picture *Picture   `json:",omitempty"` // goes with the beginning of the text
	Private bool       `json:"-"`          // never to a phone that several persons share
}

// File is a text file.
type File struct{ Name, Body string }

// ParseAddress reads an address written as one word.
func ParseAddress(s string) Address {
	via, id, _ := strings.Cut(s, ":")
	return Address{via, id}
}
