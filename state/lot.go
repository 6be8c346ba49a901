package state

import (
	"maps"
	"math"
	"slices"
	"sort"
)

// LotID is a lot's number. It is given when the coffee is first heard of and kept in the event,
// so that no refold renumbers a lot. 0 is no lot.
type LotID uint32

// Grams is a mass. 0 is "not weighed", which is not the same as nothing.
type Grams int64

// mostKg bounds what a mass may be, so that no sum of masses can leave the range of Grams: far
// above any mill, far below 9.2e15 kg.
const mostKg = 1e9

// Kg turns kilograms into Grams, to the nearest gram: at most a million tonnes either way; 0 for
// what is no number.
func Kg(kg float64) Grams {
	if math.IsNaN(kg) {
		return 0
	}
	return Grams(math.Round(max(-mostKg, min(kg, mostKg)) * 1000))
}

// Kg is the mass in kilograms.
func (g Grams) Kg() float64 { return float64(g) / 1000 }

// Share is a parent of a lot and what came from it (0: not weighed).
type Share struct {
	Lot  LotID
	Mass Grams
}

// Lot is an identified quantity of coffee with its parents. Tags hold class, process, owner,
// claim and hold; a child keeps what all its parents agree on. Born is when its oldest fruit was
// first heard of.
type Lot struct {
	ID      LotID
	Parents []Share
	Tags    map[string]string
	Born    Instant
	Found   Grams // arrived without parents
}

// Tag is an attribute of the lot, "" when it has none or its parents disagreed.
func (l *Lot) Tag(name string) string {
	if l == nil {
		return ""
	}
	return l.Tags[name]
}

// again is the same lot, to be changed without changing this one.
func (l *Lot) again() *Lot {
	same := *l
	same.Parents, same.Tags = slices.Clip(l.Parents), maps.Clone(l.Tags)
	return &same
}

// Split shares total grams in the proportion of weights by largest remainder, so that the parts
// sum to total exactly. Weights of nothing share equally.
func Split(total Grams, weights []Grams) []Grams {
	if len(weights) == 0 {
		return nil
	}
	if len(weights) == 1 {
		return []Grams{total}
	}
	var sum float64
	for _, w := range weights {
		sum += float64(w)
	}
	parts, rest := make([]Grams, len(weights)), make([]float64, len(weights))
	given, order := Grams(0), make([]int, len(weights))
	for i, w := range weights {
		exact := float64(total) / float64(len(weights))
		if sum > 0 {
			exact = float64(total) * float64(w) / sum
		}
		parts[i] = Grams(exact)
		rest[i], order[i] = exact-float64(parts[i]), i
		given += parts[i]
	}
	sort.SliceStable(order, func(a, b int) bool { return rest[order[a]] > rest[order[b]] })
	for i := 0; given != total; i = (i + 1) % len(order) {
		step := Grams(1)
		if given > total {
			step = -1
		}
		parts[order[i]] += step
		given += step
	}
	return parts
}
