package mass

import (
	"fmt"
	"math/bits"
	"sort"
)

// SplitError is a splitting that cannot be done.
type SplitError struct {
	Total int64
	Part  int // index of the weight at fault; −1: the whole
	Why   string
}

// Error says which part was at fault and why.
func (e SplitError) Error() string {
	if e.Part < 0 {
		return fmt.Sprintf("split %d g: %s, for example 1000 g by 7 and 3", e.Total, e.Why)
	}
	return fmt.Sprintf("split %d g, part %d: %s, for example 1000 g by 7 and 3",
		e.Total, e.Part+1, e.Why)
}

// Split shares total grams out in proportion to the weights (grams, bags or any whole measure) by
// largest remainder (Hamilton's method): each part gets its quota rounded down, and the grams left
// over go one each to the largest remainders, the earlier part first when equal. The parts add up
// to total exactly, none is a gram off its quota, and a weight of 0 gets nothing. It is done in
// whole numbers, so every machine splits alike.
//
// It fails with a [SplitError] on a negative total or weight and when all weights are 0.
func Split(total int64, weights []int64) ([]int64, error) {
	if total < 0 {
		return nil, SplitError{total, -1, "a mass cannot be negative"}
	}
	var sum uint64
	for i, w := range weights {
		if w < 0 {
			return nil, SplitError{total, i, "a share cannot be negative"}
		}
		next, carry := bits.Add64(sum, uint64(w), 0)
		if carry != 0 {
			return nil, SplitError{total, i, "the shares add up to more than can be counted"}
		}
		sum = next
	}
	if sum == 0 {
		return nil, SplitError{total, -1, "no part has a share"}
	}
	return largestRemainder(uint64(total), weights, sum), nil
}

// largestRemainder does the sharing; sum is that of the weights and not 0.
func largestRemainder(total uint64, weights []int64, sum uint64) []int64 {
	parts, rest := make([]int64, len(weights)), make([]uint64, len(weights))
	order, left := make([]int, len(weights)), total
	for i, w := range weights {
		hi, lo := bits.Mul64(total, uint64(w)) // hi < sum, because w ≤ sum and total < 2⁶³
		quota, rem := bits.Div64(hi, lo, sum)
		parts[i], rest[i], order[i] = int64(quota), rem, i
		left -= quota
	}
	sort.SliceStable(order, func(a, b int) bool { return rest[order[a]] > rest[order[b]] })
	for _, i := range order[:left] {
		parts[i]++
	}
	return parts
}
