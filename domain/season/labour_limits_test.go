package season

import (
	"math"
	"testing"
)

// One-sided factors of normal tolerance limits: 43 values, 90 % of the rest, certain
// to 99 %: 1.8752. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3,
// by the noncentral t distribution; the value from memory.
//
// 10 values, 90 %, certain to 95 %: 2.355. Source: tables of one-sided tolerance
// factors, such as Natrella (1963), table A-7; the value from memory.
func TestQuantileLimitsAreToleranceLimits(t *testing.T) {
	for _, c := range []struct {
		n             float64
		p, sure, want float64
		by            float64
	}{{43, 0.90, 0.99, 1.8752, 3e-3}, {10, 0.90, 0.95, 2.355, 3e-3}} {
		b := Belief{Mean: 2, Kappa: c.n, Spread: 0.4, Nu: c.n - 1}
		_, high := b.QuantileLimits(c.p, 2*c.sure-1)
		if got := (math.Log(high) - b.Mean) / b.Spread; math.Abs(got-c.want) > c.by {
			t.Errorf("%g values: got the factor %.5f, want %.4f", c.n, got, c.want)
		}
	}
}

// The limits of the median stand in testdata/calibration.json, worked out apart.
func TestMedianLimits(t *testing.T) {
	b := FromTemplate(20, 40, 20*math.Exp(2*1.2815515655446004*0.35)).After([]float64{38, 52, 47, 81, 60, 44, 95})
	low, high := b.MedianLimits(0.9)
	if math.Abs(low-41.1582573489816) > 1e-6 || math.Abs(high-60.620921442817966) > 1e-6 {
		t.Errorf("limits %.6f to %.6f, want 41.158257 to 60.620921", low, high)
	}
	if got, want := b.Off(40, 1.15), b.Over(46)+1-b.Over(40/1.15); math.Abs(got-want) > 1e-12 || got < b.Over(46) {
		t.Errorf("off by 15 %%: %g, want %g", got, want)
	}
}

// A spread of nothing has limits of nothing.
func TestLimitsWithoutSpread(t *testing.T) {
	b := Belief{Mean: math.Log(40), Kappa: 4, Nu: 6}
	low, high := b.QuantileLimits(0.8, 0.8)
	if math.Abs(low-40) > 1e-6 || math.Abs(high-40) > 1e-6 {
		t.Errorf("from %g to %g, want 40", low, high)
	}
}
