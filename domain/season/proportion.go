package season

import "math"

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

// FewCases is below how many cases a share is not told, only the cases themselves.
// Our rule, no source.
const FewCases = 5
