// Package money does the shop's sums: amounts in whole minor units, rounding,
// sharing to the cent, taxes by kind of line, bills, and the ceiling of an
// estimate.
//
// Everything is a pure function on plain values. No amount is ever a floating
// point number; every rounding is one exact division with a named mode, and it
// mirrors for negative amounts, so that a refund undoes a bill to the cent.
//
// Rates, exemptions and consumer-law limits are settings. Nothing here is tax
// or legal advice: the owner checks them against the law of the place.
package money

import (
	"math/big"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Amount is money in whole minor units of the shop's currency (cents), negative
// for what flows the other way. Zero is nothing owed.
type Amount int64

// MaxAmount is the largest amount, either way, that the program works with:
// ten million million in a currency with two decimals. Sums that could pass it
// are refused, so that nothing overflows.
const MaxAmount Amount = 1_000_000_000_000_000

// Neg returns the amount with the opposite sign.
func (a Amount) Neg() Amount { return -a }

// Abs returns the amount without its sign.
func (a Amount) Abs() Amount {
	if a < 0 {
		return -a
	}
	return a
}

// Sign returns -1, 0 or +1.
func (a Amount) Sign() int {
	switch {
	case a < 0:
		return -1
	case a > 0:
		return 1
	}
	return 0
}

// Check returns an Invalid error when the amount is beyond MaxAmount either way.
func (a Amount) Check() error {
	if a > MaxAmount || a < -MaxAmount {
		return errTooLarge()
	}
	return nil
}

func errTooLarge() error {
	return domain.Invalidf("the amount is too large; at most %d minor units are worked with", int64(MaxAmount))
}

// Add returns the sum of the amounts, or an Invalid error when one of them or
// the running sum is beyond MaxAmount.
func Add(amounts ...Amount) (Amount, error) {
	var sum Amount
	for _, a := range amounts {
		if err := a.Check(); err != nil {
			return 0, err
		}
		sum += a
		if err := sum.Check(); err != nil {
			return 0, err
		}
	}
	return sum, nil
}

// Decimals beyond these bounds are refused before any arithmetic, because a
// number such as 1e9999 would cost more time than any bill is worth.
const (
	maxPlaces = 12  // decimal places of a quantity or a price
	maxBits   = 128 // size of the digits
)

// tame reports whether d is small enough to work with.
func tame(d decimal.Decimal) bool {
	if d.IsZero() {
		return true
	}
	return d.Exponent() >= -2*maxPlaces && d.Exponent() <= 24 && d.Coefficient().BitLen() <= maxBits
}

// finer reports whether d needs more decimal places than that.
func finer(d decimal.Decimal, places int32) bool {
	extra := -d.Exponent() - places
	if extra <= 0 {
		return false
	}
	return new(big.Int).Rem(d.Coefficient(), pow10(extra)).Sign() != 0
}
