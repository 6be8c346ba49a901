package grade_test

import (
	"fmt"
	"time"

	"lotbell/rules/grade"
)

// A made-up sample: four partial blacks and nine broken beans make one full defect each, the
// fractions over make none.
func ExampleDefectTable_Count() {
	t, err := grade.Shipped()
	if err != nil {
		fmt.Println(err)
		return
	}
	table, err := t.For("sca-2018", 350)
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := table.Count(grade.Sample{Grams: 350, Found: []grade.Found{
		{Class: "partial-black", Amount: 4}, {Class: "broken", Amount: 9}}})
	fmt.Println(c.Full, c.Primary, c.Secondary, c.Verdict, err)
	fmt.Printf("%.2f before rounding; not measured: %v\n", c.Raw, c.Unchecked)
	fmt.Println(c.Mark.Words())
	// Output:
	// 2 0 2 speciality <nil>
	// 3.13 before rounding; not measured: [quakers moisture]
	// read in a copy: check the original before quoting it
}

// A table of one sample mass never counts a sample of another.
func ExampleTables_For() {
	t, _ := grade.Shipped()
	_, err := t.For("sca-2018", 300)
	fmt.Println(err)
	_, err = t.For("sca-2081", 350)
	fmt.Println(err)
	// Output:
	// sca-2018 counts a sample of 350 g, not 300 g: its numbers hold for no other mass; for 300 g there is brazil-2003, brazil-ny, iso-10470-2004, scaa-300
	// no defect table "sca-2081": perhaps sca-2018
}

// A made-up screening of 300 g.
func ExampleSieves_Sieve() {
	t, _ := grade.Shipped()
	s, err := t.Sieves.Sieve([]grade.Held{{Screen: 18, G: 96}, {Screen: 17, G: 123},
		{Screen: 16, G: 42}, {G: 38.4}}, 300)
	for _, h := range s.On {
		fmt.Printf("%s %.1f%%, ", grade.ScreenName(h.Screen), h.G)
	}
	fmt.Printf("17 and up %.1f%%, closure %+.1f%% %v\n", s.UpPct(17), s.ClosurePct, err)
	_, err = t.Sieves.Sieve([]grade.Held{{Screen: 18, G: 96}, {G: 200}}, 300)
	fmt.Println(err)
	// Output:
	// 18 32.1%, 17 41.1%, 16 14.0%, pan 12.8%, 17 and up 73.1%, closure -0.2% <nil>
	// the screens hold 296 of 300, -1.33 %: more than 0.5 % off, weigh again
}

// The 5 mm hole has two numbers.
func ExampleSieves_Hole() {
	t, _ := grade.Shipped()
	iso, sold, _ := t.Sieves.Hole(5)
	fmt.Printf("ISO screen %s, sold as %g in %s\n", grade.ScreenName(iso.Number), sold[0].Number,
		sold[0].Where)
	// Output: ISO screen 12 1/2, sold as 13 in India, Vietnam
}

// The same numbers return every coffee year.
func ExampleParseICOMark() {
	september := time.Date(2025, 9, 30, 12, 0, 0, 0, time.UTC)
	a, _ := grade.ParseICOMark("2-1961-978", september)
	b, _ := grade.ParseICOMark("002/1961/0978", september.AddDate(0, 0, 1))
	fmt.Println(a, b, a == b, a.Year, b.Year)
	// Output: 002/1961/0978 002/1961/0978 false 2024 2025
}
