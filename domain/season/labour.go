package season

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Belief is what is thought of the minutes of a task: their logarithms are normal,
// and mean and spread are not known for sure. The mean counts as if it had been seen
// Kappa times, the spread Nu times.
//
// Source: the conjugate normal model, as in P. Hoff, A First Course in Bayesian
// Statistical Methods, chapter 5.
type Belief struct {
	Mean   float64 // of the logarithm of minutes
	Kappa  float64
	Spread float64 // standard deviation of the logarithm
	Nu     float64
}

// What a template's own figures weigh against clocked work. Source: our choice, by
// the study behind docs/season.md.
const (
	templateKappa = 4
	templateNu    = 6
	tenToNinety   = 2 * 1.2815515655446004 // standard deviations between P10 and P90
)

// FromTemplate is the belief before any work: low, typical and high minutes, all
// above 0, are read as P10, P50 and P90.
func FromTemplate(low, typical, high float64) Belief {
	return Belief{Mean: math.Log(typical), Kappa: templateKappa, Spread: math.Log(high/low) / tenToNinety, Nu: templateNu}
}

// After is the belief after clocked work; minutes that are not above 0 are left out.
func (b Belief) After(minutes []float64) Belief {
	n, mean := 0.0, 0.0
	for _, m := range minutes {
		if m > 0 {
			n++
			mean += math.Log(m)
		}
	}
	if n == 0 {
		return b
	}
	mean /= n
	squares := 0.0
	for _, m := range minutes {
		if m > 0 {
			d := math.Log(m) - mean
			squares += d * d
		}
	}
	kappa, nu := b.Kappa+n, b.Nu+n
	d := mean - b.Mean
	variance := (b.Nu*b.Spread*b.Spread + squares + b.Kappa*n/kappa*d*d) / nu
	return Belief{Mean: (b.Kappa*b.Mean + n*mean) / kappa, Kappa: kappa, Spread: math.Sqrt(variance), Nu: nu}
}

// Median is the likely minutes of the next such task.
func (b Belief) Median() float64 { return math.Exp(b.Mean) }

// Quantile is the minutes that the next such task stays under with probability p,
// above 0 and below 1: Student's t, for the spread is not known for sure.
func (b Belief) Quantile(p float64) float64 {
	t := distuv.StudentsT{Sigma: 1, Nu: b.Nu}.Quantile(p)
	return math.Exp(b.Mean + t*b.Spread*math.Sqrt(1+1/b.Kappa))
}

// Over is the chance that the true median is above so many minutes.
func (b Belief) Over(minutes float64) float64 {
	return 1 - distuv.StudentsT{Sigma: 1, Nu: b.Nu}.CDF((math.Log(minutes)-b.Mean)/(b.Spread/math.Sqrt(b.Kappa)))
}
