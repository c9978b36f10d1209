package season

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// z95 is the normal score that 95 % of all cases lie within.
const z95 = 1.9599639845400545

// Wilson returns the limits within which the true share lies with 95 % confidence
// when k of n cases had it. Both are from 0 to 1; without cases they are 0 and 1.
//
// Source: Wilson (1927), as in Newcombe (1998), Statistics in Medicine 17, method 3.
func Wilson(k, n int) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	p, m := float64(k)/float64(n), float64(n)
	z2 := z95 * z95
	centre := (p + z2/(2*m)) / (1 + z2/m)
	half := z95 * math.Sqrt(p*(1-p)/m+z2/(4*m*m)) / (1 + z2/m)
	low, high = max(0, centre-half), min(1, centre+half)
	if k == 0 {
		low = 0
	}
	if k == n {
		high = 1
	}
	return low, high
}

// Jeffreys returns the limits within which the true share lies with 95 % belief when k
// of n cases had it, believed beforehand as a beta of 1/2 and 1/2. The lower is 0
// without any such case, the upper 1 when all cases had it; without cases both are so.
//
// Source: Brown, Cai and DasGupta (2001), Statistical Science 16.
func Jeffreys(k, n int) (low, high float64) {
	low, high = 0, 1
	a, b := float64(k)+0.5, float64(n-k)+0.5
	if n > 0 && k > 0 {
		low = mathext.InvRegIncBeta(a, b, 0.025)
	}
	if n > 0 && k < n {
		high = mathext.InvRegIncBeta(a, b, 0.975)
	}
	return low, high
}

// FewCases is below how many cases a share is not told, only the cases themselves.
// Our rule, no source.
const FewCases = 5
