// Package state holds the nouns of the mill and the fold that makes them from what was heard.
//
// Read it in this order: [Event] and its bodies (event.go), [Place] and the words of marks, acts
// and quantities (place.go), [Lot] (lot.go), [Stay] (stay.go), [Person] (person.go), [Call]
// (call.go), [Mill] and Apply (mill.go), what an event touches (touched.go), the ledger of moves
// and [Mill.May] (moves.go), what a move takes and what its sum is (taking.go), whose child a lot
// is (kin.go), the mill as text for tests and repair (picture.go).
//
// The fold has one rule above all others: what happened is never refused, only doubted. A move
// always arrives; what it could not take from where it said is booked as found, what arrives less
// as lost, so that for every move of every history taken + found = arrived + lost, in grams. What
// contradicts the rest is listed as a [Conflict], with the event, the reason and the amounts.
//
// Floor events (readings, notes, tags, moves) count from the instant they happened; any order of
// hearing them gives the same mill. All others count in the order they were heard.
//
// The package never reads a clock, touches a file or knows a rule.
package state
