package money

import (
	"fmt"
	"math/big"
	"math/bits"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Mode says what happens to a part smaller than the last place that is kept.
// All modes mirror: what holds for an amount holds for its negative. The empty
// mode is HalfUp.
type Mode string

// The modes.
const (
	HalfUp   Mode = "half_up"   // to the nearest, a half away from zero
	HalfDown Mode = "half_down" // to the nearest, a half towards zero (New Zealand's GST Act 1985 s. 19O)
	HalfEven Mode = "half_even" // to the nearest, a half to the even neighbour
	Down     Mode = "down"      // towards zero
)

// Modes lists the modes, the usual one first.
func Modes() []Mode { return []Mode{HalfUp, HalfDown, HalfEven, Down} }

// Valid reports whether the mode is known. The empty mode is.
func (m Mode) Valid() bool {
	switch m {
	case "", HalfUp, HalfDown, HalfEven, Down:
		return true
	}
	return false
}

// up reports whether a magnitude is raised to the next whole unit: half is the
// sign of (twice the rest - the divisor), odd says whether the quotient is odd.
func (m Mode) up(half int, odd bool) bool {
	switch m {
	case "", HalfUp:
		return half >= 0
	case HalfDown:
		return half > 0
	case HalfEven:
		return half > 0 || half == 0 && odd
	case Down:
		return false
	}
	panic(fmt.Sprintf("money: %q is no rounding mode", string(m)))
}

// quo divides n by d > 0 and rounds once.
func quo(n, d *big.Int, mode Mode) *big.Int {
	q, r := new(big.Int).QuoRem(n, d, new(big.Int))
	if r.Sign() == 0 {
		return q
	}
	half := r.Abs(r).Lsh(r, 1).Cmp(d)
	if mode.up(half, q.Bit(0) == 1) {
		q.Add(q, big.NewInt(int64(n.Sign())))
	}
	return q
}

// mulDiv returns a x n / d, rounded once. It needs n <= d and 0 < d < 2^63, so
// that the result is never larger than a.
func mulDiv(a Amount, n, d uint64, mode Mode) Amount {
	hi, lo := bits.Mul64(uint64(a.Abs()), n)
	q, r := bits.Div64(hi, lo, d)
	if r != 0 {
		half := 0
		switch rest := d - r; {
		case r > rest:
			half = 1
		case r < rest:
			half = -1
		}
		if mode.up(half, q&1 == 1) {
			q++
		}
	}
	if a < 0 {
		return -Amount(q)
	}
	return Amount(q)
}

// pow10 returns ten to the power n >= 0.
func pow10(n int32) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
}

// ratio returns d as a fraction in whole numbers.
func ratio(d decimal.Decimal) (n, m *big.Int) {
	if e := d.Exponent(); e < 0 {
		return d.Coefficient(), pow10(-e)
	}
	return new(big.Int).Mul(d.Coefficient(), pow10(d.Exponent())), big.NewInt(1)
}

// Round returns d with at most that many decimal places (negative: tens,
// hundreds ...), rounded once. It panics on a mode that Valid refuses.
func Round(d decimal.Decimal, places int32, mode Mode) decimal.Decimal {
	if d.Exponent() >= -places {
		return d
	}
	return decimal.NewFromBigInt(quo(d.Coefficient(), pow10(-places-d.Exponent()), mode), -places)
}

// RoundTo returns the multiple of step next to d in the sense of the mode. A
// step of zero or less leaves d as it is.
func RoundTo(d, step decimal.Decimal, mode Mode) decimal.Decimal {
	if step.Sign() <= 0 {
		return d
	}
	dn, dm := ratio(d)
	sn, sm := ratio(step)
	steps := quo(dn.Mul(dn, sm), dm.Mul(dm, sn), mode)
	return decimal.NewFromBigInt(steps, 0).Mul(step)
}

// RoundStep returns the amount that can be paid with coins of at least step
// minor units: the multiple of step next to a. A step of 1 or less leaves a as
// it is. What is given or taken this way is never part of a tax.
//
// Source: Budget 2012 (Canada) and CRA info sheet GI-131: the final balance of
// a cash payment goes to the nearest five cents and the tax stays.
func RoundStep(a, step Amount, mode Mode) Amount {
	if step <= 1 {
		return a
	}
	return step * mulDiv(a, 1, uint64(step), mode)
}

// MulRound returns a x factor, rounded once to the minor unit. It returns an
// Invalid error when the mode is unknown, the factor has more than 24 decimal
// places or the result is beyond MaxAmount.
func MulRound(a Amount, factor decimal.Decimal, mode Mode) (Amount, error) {
	if !mode.Valid() {
		return 0, domain.Invalidf("%q is no rounding mode; write half_up, half_down, half_even or down", string(mode))
	}
	if err := a.Check(); err != nil {
		return 0, err
	}
	if !tame(factor) {
		return 0, domain.Invalidf("the factor has too many digits")
	}
	n, m := ratio(factor)
	return amountOf(quo(n.Mul(n, big.NewInt(int64(a))), m, mode))
}

// amountOf turns n into an amount, or says that it is too large.
func amountOf(n *big.Int) (Amount, error) {
	if !n.IsInt64() {
		return 0, errTooLarge()
	}
	a := Amount(n.Int64())
	return a, a.Check()
}

// Inside returns the part of a that is a tax of percent on the rest: a x
// percent / (100 + percent), rounded once. It serves a deposit that the shop
// keeps, where each tax is inside by its own fraction.
//
// Source: Revenu Quebec, Deposits: 50 x 5/105 = 2.38 and 50 x 9.975/109.975 = 4.54.
func Inside(a Amount, percent decimal.Decimal, mode Mode) (Amount, error) {
	f := domain.Fields{}
	checkPercent(f, "percent", percent)
	if !mode.Valid() {
		f.Add("mode", "must be one of: half_up, half_down, half_even, down")
	}
	f.AddErr("amount", a.Check())
	if err := f.Err(); err != nil {
		return 0, err
	}
	n := parts(percent)
	return mulDiv(a, n, whole+n, mode), nil
}
