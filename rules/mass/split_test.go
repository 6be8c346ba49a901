package mass

import (
	"errors"
	"math"
	"math/big"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSplit(t *testing.T) {
	for _, c := range []struct {
		total   int64
		weights []int64
		want    []int64
	}{
		{100, []int64{1, 1, 1}, []int64{34, 33, 33}},
		{10, []int64{3, 0, 7}, []int64{3, 0, 7}},
		{1, []int64{1, 1}, []int64{1, 0}},
		{1, []int64{1, 2}, []int64{0, 1}},
		{0, []int64{5, 5}, []int64{0, 0}},
		// The usual textbook example of the method: 100 000 votes, 10 seats, Hare quota.
		{10, []int64{47000, 16000, 15800, 12000, 6100, 3100}, []int64{5, 2, 1, 1, 1, 0}},
		{math.MaxInt64, []int64{math.MaxInt64, 1}, []int64{math.MaxInt64 - 1, 1}},
	} {
		got, err := Split(c.total, c.weights)
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("Split(%d, %v) = %v, %v; want %v", c.total, c.weights, got, err, c.want)
		}
	}
}

func TestSplitRefuses(t *testing.T) {
	for why, c := range map[string]struct {
		total   int64
		weights []int64
		part    int
	}{
		"cannot be negative":       {-1, []int64{1}, -1},
		"no part has a share":      {1, nil, -1},
		"a share cannot":           {1, []int64{1, -1}, 1},
		"more than can be counted": {1, []int64{math.MaxInt64, math.MaxInt64, math.MaxInt64}, 2},
	} {
		_, err := Split(c.total, c.weights)
		var s SplitError
		if !errors.As(err, &s) || s.Part != c.part || !strings.Contains(err.Error(), why) {
			t.Errorf("%s: %v", why, err)
		}
	}
}

// TestSplitConserves: parts add up to the whole, and none is a gram or more off its exact quota,
// which is worked out in big integers.
func TestSplitConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64Range(0, math.MaxInt64).Draw(t, "total")
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1<<59), 1, 9).Draw(t, "weights")
		var sum int64
		for _, w := range weights {
			sum += w
		}
		if sum == 0 {
			t.Skip("nothing to share by")
		}
		parts, err := Split(total, weights)
		if err != nil {
			t.Fatal(err)
		}
		var all int64
		for i, p := range parts {
			all += p
			off := new(big.Int).Mul(big.NewInt(p), big.NewInt(sum))
			off.Sub(off, new(big.Int).Mul(big.NewInt(total), big.NewInt(weights[i])))
			if off.CmpAbs(big.NewInt(sum)) >= 0 {
				t.Fatalf("part %d of %v is a gram or more off", i, parts)
			}
		}
		if all != total {
			t.Fatalf("%v adds up to %d, want %d", parts, all, total)
		}
	})
}

func BenchmarkSplit(b *testing.B) {
	weights := []int64{1450000, 380000, 95000, 20000, 7000}
	for b.Loop() {
		if _, err := Split(1952001, weights); err != nil {
			b.Fatal(err)
		}
	}
}
