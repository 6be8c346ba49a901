package grade

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// ICOMark is the identification mark of an export consignment: country, exporter, shipment (ITC
// Coffee Guide, Identification of exports). Shipments start at 1 in each coffee year, so the same
// three numbers return every year and Year is part of the identity. It may be compared with ==.
type ICOMark struct {
	Year     int // coffee year: the calendar year in which it began, 1 October
	Country  int // at most 3 digits
	Exporter int // at most 4
	Shipment int // at most 5: four read, five in a trade article on the 2022 rules
}

// MarkError is a text that is no identification mark.
type MarkError struct{ Text, Why string }

// Error gives the text, the reason, and a mark that works.
func (e MarkError) Error() string {
	return fmt.Sprintf("ICO mark %q: %s, for example 002/1961/0978", e.Text, e.Why)
}

// ParseICOMark reads a mark in any of its spellings (slashes, hyphens or blanks between, leading
// zeros or none) for a shipment on a day; only the day's date counts. It fails with a [MarkError].
func ParseICOMark(text string, shipped time.Time) (ICOMark, error) {
	between := func(r rune) bool { return strings.ContainsRune("/-–. ", r) }
	parts := strings.FieldsFunc(text, between)
	if len(parts) != 3 {
		return ICOMark{}, MarkError{text, "must be three numbers: country, exporter, shipment"}
	}
	var n [3]int
	for i, most := range []int{3, 4, 5} {
		v, err := strconv.ParseUint(parts[i], 10, 32)
		if err != nil || len(parts[i]) > most || v == 0 {
			name := []string{"country", "exporter", "shipment"}[i]
			why := fmt.Sprintf("%s must be 1 to %d digits and not 0", name, most)
			return ICOMark{}, MarkError{text, why}
		}
		n[i] = int(v)
	}
	return ICOMark{CoffeeYear(shipped), n[0], n[1], n[2]}, nil
}

// String is the mark as it is stencilled, with leading zeros: 002/1961/0978. The year is not part
// of it.
func (m ICOMark) String() string {
	return fmt.Sprintf("%03d/%04d/%04d", m.Country, m.Exporter, m.Shipment)
}

// CoffeeYear is the calendar year in which the coffee year of a day began; it runs from 1 October
// to 30 September.
func CoffeeYear(day time.Time) int {
	if day.Month() >= time.October {
		return day.Year()
	}
	return day.Year() - 1
}
