package season

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// MedianLimits are the minutes within which the true median lies with the given
// chance, above 0 and below 1, as much on either side: Student's t.
func (b Belief) MedianLimits(chance float64) (low, high float64) {
	t := distuv.StudentsT{Sigma: 1, Nu: b.Nu}.Quantile((1+chance)/2) * b.Spread / math.Sqrt(b.Kappa)
	return math.Exp(b.Mean - t), math.Exp(b.Mean + t)
}

// QuantileLimits are the minutes within which the true quantile p of the work lies
// with the given chance, both above 0 and below 1, as much on either side. The true
// quantile is what p of all such tasks stay under; unlike [Belief.Quantile] it asks
// nothing of the next one.
//
// Source: with a belief that comes from the work alone this is the one-sided factor
// of normal tolerance limits, as in the NIST/SEMATECH handbook, 7.2.6.3.
func (b Belief) QuantileLimits(p, chance float64) (low, high float64) {
	score := distuv.UnitNormal.Quantile(p)
	spreads := b.spreads()
	at := func(want float64) float64 {
		lo, hi := b.Mean-60*b.Spread, b.Mean+60*b.Spread
		for range 40 {
			mid := (lo + hi) / 2
			if b.below(mid, score, spreads) < want {
				lo = mid
			} else {
				hi = mid
			}
		}
		return math.Exp((lo + hi) / 2)
	}
	return at((1 - chance) / 2), at((1 + chance) / 2)
}

// spreadSteps is into how many equally likely parts the spread is cut. It leaves the
// factors of the tests within 3 in 1,000.
const spreadSteps = 400

// spreads lists equally likely spreads: Nu times the squared spread over the true
// one is chi-squared.
func (b Belief) spreads() []float64 {
	chi := distuv.ChiSquared{K: b.Nu}
	out := make([]float64, spreadSteps)
	for i := range out {
		x := chi.Quantile((float64(i) + 0.5) / spreadSteps)
		out[i] = b.Spread * math.Sqrt(b.Nu/x)
	}
	return out
}

// below is the chance that the true quantile, so many standard deviations over the
// mean, is below a logarithm of minutes.
func (b Belief) below(log, score float64, spreads []float64) float64 {
	sum := 0.0
	for _, s := range spreads {
		if s == 0 {
			if log >= b.Mean {
				sum++
			}
			continue
		}
		sum += distuv.UnitNormal.CDF(math.Sqrt(b.Kappa) * ((log-b.Mean)/s - score))
	}
	return sum / float64(len(spreads))
}

// Off is the chance that the true median is more than the factor away from so many
// minutes, above them or below; the factor is above 1.
func (b Belief) Off(minutes, factor float64) float64 {
	return b.Over(minutes*factor) + 1 - b.Over(minutes/factor)
}
