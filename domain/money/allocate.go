package money

import (
	"math/bits"
	"slices"

	"winterbench/domain"
)

// Allocate shares total over the weights and loses no minor unit: each share is
// the exact one rounded towards zero, and what is left goes, one unit each, to
// the largest remainders; on equal remainders the earlier weight is served
// first. A negative total gives the mirrored shares. A weight of zero gets zero.
//
// It returns an Invalid error when there is no weight, a weight is negative, all
// weights are zero, or a figure is too large.
//
// Source: the largest remainder method, as used for the apportionment of seats.
func Allocate(total Amount, weights []int64) ([]Amount, error) {
	sum, err := weigh(total, weights)
	if err != nil {
		return nil, err
	}
	shares := make([]Amount, len(weights))
	rests := make([]uint64, len(weights))
	left := total.Abs()
	for i, w := range weights {
		hi, lo := bits.Mul64(uint64(total.Abs()), uint64(w))
		q, r := bits.Div64(hi, lo, sum)
		shares[i], rests[i] = Amount(q), r
		left -= shares[i]
	}
	for _, i := range byRest(rests)[:left] {
		shares[i]++
	}
	if total < 0 {
		for i := range shares {
			shares[i] = -shares[i]
		}
	}
	return shares, nil
}

// weigh checks what Allocate was given and returns the sum of the weights.
func weigh(total Amount, weights []int64) (uint64, error) {
	if err := total.Check(); err != nil {
		return 0, err
	}
	var sum uint64
	for i, w := range weights {
		if w < 0 {
			return 0, domain.Invalidf("weight %d is %d; a weight is zero or more", i+1, w)
		}
		if sum += uint64(w); sum > 1<<62 {
			return 0, domain.Invalidf("the weights are too large together; at most %d", int64(1)<<62)
		}
	}
	if sum == 0 {
		return 0, domain.Invalidf("there is nothing to share over: at least one weight must be above zero")
	}
	return sum, nil
}

// byRest returns the indices, the largest remainder first, equal ones in order.
func byRest(rests []uint64) []int {
	order := make([]int, len(rests))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case rests[i] > rests[j]:
			return -1
		case rests[i] < rests[j]:
			return 1
		}
		return 0
	})
	return order
}
