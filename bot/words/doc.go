// Package words holds the floor's words: one file a language, embedded, each mapping the program's
// own words (the table of [Program]) to what people at a mill type. It knows no sentence and
// decides nothing; it finds the longest phrase at a place in a line, and the nearest word to a
// mistyped one.
//
// # Adding a language
//
// Copy en.toml to a new file named by the two letters of the language, say sw.toml, and put the
// floor's words to the right of every program word. No code is touched. A list is one string,
// words apart by commas; a phrase of several words is written as it is typed:
//
//	[mark]
//	rough = "rough, gritty, like sand, no slime now"
//
// Case and accents do not matter (write them or not). Put the word people use most first: it is
// the one Lotbell shows. Write the misspellings that are heard every day too; a single wrong
// letter in a word of six letters or more is found without that, but is asked about.
//
// Where people write as they speak, "alike" at the top of the file says which letters sound the
// same ("v b, z s, h"): a word that is not known is then the one it sounds like. Leave it out where
// spelling follows no sound.
//
// A word that means two things in one language is named under "ambiguous" at the top of the file,
// so that nobody makes one by mistake; the reader then chooses by what stands beside it. Loading
// refuses, with the file and the place in it: a program word that does not exist, one that has no
// word in this language, and a double meaning that is not listed or a listed one that is none.
//
// The words of [Cry] stand apart: they are looked for by themselves, may mean anything else besides,
// and make a cry for help of what no single word does ("the belt grabbed her arm").
//
// Checked against: the tests of this package over the three files, and the tables of floor lines
// in testdata/floor. The words themselves are common practice, no source.
package words
