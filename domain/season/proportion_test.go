package season

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// The limits of Newcombe's table and more digits of the same formula; the sources
// stand in testdata/proportions.csv, row by row.
func TestSharesMeetNewcombe(t *testing.T) {
	rows := table(t, "proportions.csv")
	if len(rows) < 9 {
		t.Errorf("%d rows, want nine or more", len(rows))
	}
	for _, r := range rows {
		k, n, at := int(number(t, r["k"])), int(number(t, r["n"])), r["k"]+" of "+r["n"]
		low, high := Wilson(k, n)
		near(t, at+", low", low, number(t, r["wilson_lo"]), 1e-8)
		near(t, at+", high", high, number(t, r["wilson_hi"]), 1e-8)
		if r["published_wilson_lo"] != "" {
			near(t, at+", printed low", low, number(t, r["published_wilson_lo"]), 5e-5)
			near(t, at+", printed high", high, number(t, r["published_wilson_hi"]), 5e-5)
		}
		low, high = Jeffreys(k, n)
		near(t, at+", low by Jeffreys", low, number(t, r["jeffreys_lo"]), 1e-8)
		near(t, at+", high by Jeffreys", high, number(t, r["jeffreys_hi"]), 1e-8)
	}
	for name, f := range map[string]func(k, n int) (float64, float64){"Wilson": Wilson, "Jeffreys": Jeffreys} {
		if low, high := f(0, 0); low != 0 || high != 1 {
			t.Errorf("%s without cases %v to %v, want 0 to 1", name, low, high)
		}
	}
}

// The general-purpose library of distributions gives the same quantiles.
func TestJeffreysAsInTheLibrary(t *testing.T) {
	for k := 1; k < 12; k++ {
		b := distuv.Beta{Alpha: float64(k) + 0.5, Beta: float64(12-k) + 0.5}
		low, high := Jeffreys(k, 12)
		if math.Abs(b.CDF(low)-0.025) > 1e-9 || math.Abs(b.CDF(high)-0.975) > 1e-9 {
			t.Errorf("%d of 12: %v to %v are not the quantiles", k, low, high)
		}
	}
}
