package mass_test

import (
	"fmt"

	"lotbell/rules/mass"
)

// FAO/ICO, Determination of moisture content: 1000 kg at 12 % are 967 kg at 9 %, though three
// points of a tonne are 30 kg.
func ExampleAt() {
	kg, err := mass.At(1000, 12, 9)
	fmt.Printf("%.0f kg %v\n", kg, err)
	_, err = mass.At(1000, 100, 9)
	fmt.Println(err)
	// Output:
	// 967 kg <nil>
	// moisture 100 % wet basis: 100 % would be water alone, for example 53
}

// A made-up drum: 1000 kg at 53 % went in, 515 kg at 11 % came out.
func ExampleBetween() {
	l, _ := mass.Between(mass.Weighing{Kg: 1000, Moisture: 53}, mass.Weighing{Kg: 515, Moisture: 11})
	fmt.Printf("%.0f kg gone: %.1f water, %.1f not explained (%.1f %%), %s\n", l.Total, l.Water,
		l.Unexplained, l.Pct, mass.Judge(515+l.Unexplained, 515))
	// Output: 485 kg gone: 471.9 water, 13.1 not explained (2.5 %), ask
}

// A kilogram in three equal parts, to the gram.
func ExampleSplit() {
	fmt.Println(mass.Split(1000, []int64{1, 1, 1}))
	// Output: [334 333 333] <nil>
}
