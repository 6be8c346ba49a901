// Package bot is the conversation: it reads what people write, keeps it, rings whom the rule book
// says, and words every answer.
//
// One message's way, file by file:
//
//	a transport stores it raw in the durable inbox        console, telegram; journal.Receive
//	the desk takes what waits and decodes it              desk.go: Run, step, turn.take
//	what is too much from one phone waits in its place    pace.go
//	who wrote, what kind it is; help before anything      hear.go, cry.go; phone.go, group.go
//	who may: invitations, short codes, who is of it       invite.go, rights.go, people.go
//	answers of the set-up; a shift received; bad days     setup*.go, handover.go, day*.go
//	strict commands of the keeper; who is away            keeper.go, roster.go
//	the line and its context become facts with doubt      context.go, read*.go; words
//	facts become conversation or events                   converse.go, take.go, enter.go, edit.go
//	guards ask, pass on or forbid                         enter.go: order, guards; package rules
//	the caution of an act is said, which no rule rules    safety.go, safety.toml
//	the fold takes the events                             package state
//	the rules look, and say whom to call                  package rules: Watch.Step, tell
//	calls are worded for each person                      ring.go, figures.go; voice
//	one commit: events, call steps, outbox, cursors       desk.go: finish
//	a transport sends what waits in the outbox            console, telegram
//
// What else happens of its own accord: summaries at their hours (summary.go), the end of a hand-over
// that nobody received (handover.go), a clock that is put right (clock.go). What people ask for:
// how it is somewhere and in the whole mill (slate.go), the same drawn (picture*.go; package
// draw), what an answer rests on (why*.go), a lot from fruit to shipment (lot_book.go) and what
// the laboratory found of it (lab.go), how well the forecasts did (score.go), the trade's sums
// (calc*.go), how to write (menu.go, which has the menus of a phone too; keyboard.go the keys
// that go with an answer). Scripts and tried lines run the same desk under a made clock
// (script.go, try.go); tally.go counts what they rang.
//
// The package asks no clock, and knows no type of a transport outside that transport's folder.
package bot
