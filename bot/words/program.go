package words

import "sort"

// Section groups the program's words by what a reader does with them.
type Section string

// The sections, in the order of the language files.
const (
	Kind     Section = "kind"     // kinds of place
	Letter   Section = "letter"   // letters as they are spoken, for names like t3
	Number   Section = "number"   // number words
	Quantity Section = "quantity" // what is measured
	Depth    Section = "depth"
	Method   Section = "method"
	Mark     Section = "mark"  // what is seen or done: words of state.Marks
	Thing    Section = "thing" // what can be out, short or back: see [State]
	State    Section = "state" // how a thing is: "power" and "gone" together are a power cut
	Act      Section = "act"   // coffee that has moved
	Order    Section = "order" // what is wished, ordered or asked for
	Class    Section = "class"
	Unit     Section = "unit"
	Measure  Section = "measure"
	Weigh    Section = "weigh"
	Product  Section = "product"
	Time     Section = "time"
	Join     Section = "join"
	Detail   Section = "detail" // a further word beside a mark
	Talk     Section = "talk"   // the conversation itself
	Danger   Section = "danger" // wishes that are refused
	Hedge    Section = "hedge"  // what makes a statement less than one
	Filler   Section = "filler"
	Cry      Section = "cry" // what makes a line a cry for help, or a question about the program
)

// Meaning is one program word. Lang names the languages in which a floor word means it, apart by
// blanks; it is "" in the list of [Program].
type Meaning struct {
	In   Section
	Name string
	Lang string
}

// program is the whole list: each section with its words, apart by blanks.
func program() map[Section]string {
	return map[Section]string{
		Kind:   "intake pulper tank channel waiting patio bed predryer drum silo lab store meter air mill",
		Letter: "c d l m p r s t",
		Number: "0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 " +
			"30 40 50 60 70 80 90 100 200 300 400 500 600 700 800 900 1000 point half with",
		Quantity: "temp mass_c air_c bean_c ambient_c rh_pct hum_pct ph aw weight_kg depth_cm " +
			"bags float_pct unripe_pct fuel_h",
		Depth:  "top middle bottom",
		Method: "meter oven bite hand colour",
		Mark: "slippery rough full turned covered uncovered rewetted fire-out fire-low fire-lit " +
			"stopped running cleaned not-clean rinsed soak-start sampled smell foam mould smoke " +
			"overflow insects warm cracked mistake bite-dry compared rain-start rain-coming rain-over " +
			"power-out power-back water-out water-back water-short fuel-out help help-over",
		Thing:   "power water fire fuel room slime",
		State:   "gone back low on empty off coming good put taken",
		Act:     "add wash spread gather load unload store move ship receipt",
		Order:   "wash unload covered uncovered turned load spread store move",
		Class:   "1 2 3 4 5 floats",
		Unit:    "kg lb t C F degree % cm h min day",
		Measure: "sack basin cajuela fanega lata debe box basket quintal carga arroba barrow",
		Weigh:   "gross tare net",
		Product: "cherry pulped wet dry green",
		Time: "now at ago yesterday today tomorrow morning noon afternoon night midnight dawn " +
			"am pm quarter to less past sharp while about",
		Join:   "and from to in not nothing or still no-more all but with if is the number asks who",
		Detail: "vinegar burnt belt motor wood husk plastic cloth thin thick broom chimney leak animals pump",
		Talk: "yes no ok later undo why due how slate words shift-in shift-out lang-es lang-en " +
			"lang-pt say-again correct count hello done thumb wants-room group farm book " +
			"picked honey natural washed hold lot preship approved rejected cups call received " +
			"same ready unknown other left absent holds",
		Danger: "enter reach open douse fumigate pay gossip",
		Hedge:  "almost future think if much after",
		Filler: "filler",
		Cry: "fire tended no at goods gear fuel lights burns body harm gas shock quench water " +
			"ask ask-me about small",
	}
}

// Program lists every word of the program that a language file must give floor words for.
func Program() []Meaning {
	var all []Meaning
	for in, names := range program() {
		for _, n := range fields(names) {
			all = append(all, Meaning{In: in, Name: n})
		}
	}
	sort.Slice(all, func(i, j int) bool {
		a, b := all[i], all[j]
		return a.In < b.In || a.In == b.In && a.Name < b.Name
	})
	return all
}
